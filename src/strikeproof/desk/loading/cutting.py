"""A log that holds several runs: what would become of it is shown first, and written when it is confirmed."""

from __future__ import annotations

import unicodedata
from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from strikeproof.campaign.gate import read_small
from strikeproof.campaign.text import read_file
from strikeproof.capture.cutting import Piece, find_pieces, write_pieces
from strikeproof.errors import BadInput
from strikeproof.plain_json import to_json
from strikeproof.plain_text import TextKind, TextProblem, judge_text

__all__ = ["LEFT_OUT", "Cut", "cut_log"]

LEFT_OUT = "-"
"""What is in place of a run's name where a piece is left out."""

_LONGEST_BYTES = 255  # of the name of a file on the usual disks
_SUFFIXES = {".gz", ".xlsx", ".xls", ".ods"}


@dataclass(frozen=True, slots=True)
class Cut:
    """The pieces of a log, and the file of each; None where it is left out. `written`: they are on disk."""

    log: Path
    pieces: tuple[Piece, ...]
    targets: tuple[Path | None, ...]
    written: bool

    def as_json(self) -> dict[str, Any]:
        """As the command line prints it."""
        rows = [
            to_json(piece) | {"file": target} for piece, target in zip(self.pieces, self.targets, strict=True)
        ]
        return {"log": self.log, "written": self.written, "runs": rows}


def cut_log(
    log: Path,
    runs: Sequence[str] = (),
    *,
    out: Path | None = None,
    write: bool = False,
    sample_rate_hz: float | None = None,
) -> Cut:
    """The runs of a log, each to be a file of its own in `out`, else in the log's folder.

    Parameters
    ----------
    runs
        Their names in the order of the log, "-" for one to leave out; a file is called after its run.
        Without names the files are called after the log and numbered.
    write
        Whether the files are written; else it is only said what they would be. The log itself stays as it is.

    Raises
    ------
    BadFile
        If the log cannot be read, holds another number of runs than were named, or a file is there already.
    BadInput
        If a name cannot be one, or is there twice.
    """
    for i, run in enumerate(runs):
        _require_name(run, again=_as_disk(run) in map(_as_disk, runs[:i]))
    content = read_file(log)
    pieces: tuple[Piece, ...] = read_small(log, content, find_pieces, log, sample_rate_hz)
    if runs and len(runs) != len(pieces):
        raise BadInput(
            f"{len(runs)} names for {len(pieces)} runs",
            where="RUNS",
            allowed=f"{len(pieces)} names",
            fix=f"give one name a run, in their order, and {LEFT_OUT} for one to leave out",
        )
    folder = log.parent if out is None else out
    names = runs or [f"{_stem(log)}-{i}" for i in range(1, len(pieces) + 1)]
    for name in names:
        _require_short(name)
    targets = tuple(None if name == LEFT_OUT else folder / f"{name}.csv" for name in names)
    if write and len(pieces) > 1:
        read_small(log, content, write_pieces, log, targets, sample_rate_hz)
    return Cut(log, pieces, targets, write and len(pieces) > 1)


def _require_name(run: str, *, again: bool) -> None:
    judged = judge_text(run, TextKind.FILE)
    if run != LEFT_OUT and isinstance(judged, TextProblem):
        raise BadInput(f"{run!r}: {judged.what}", where="RUNS", allowed="a run's name", fix=judged.fix)
    if run != LEFT_OUT and (again or "/" in run):
        what = "is there twice, as some disks see it" if again else "is no name of a file"
        raise BadInput(
            f"{run!r} {what}", where="RUNS", allowed="a name a run", fix="give each run its own name"
        )


def _as_disk(run: str) -> str:
    """A name as a disk may see it that takes capital and small letters for the same."""
    return unicodedata.normalize("NFC", run).casefold()


def _require_short(name: str) -> None:
    over = len(f"{name}.csv".encode()) - _LONGEST_BYTES
    if over > 0:
        raise BadInput(
            f"{name[:30]!r}... is {over} bytes too long for the name of a file",
            where="RUNS",
            allowed=f"{_LONGEST_BYTES - 4} bytes",
            fix="give shorter names",
        )


def _stem(log: Path) -> str:
    name = log
    while name.suffix in _SUFFIXES:
        name = name.with_suffix("")
    return name.stem or "run"
