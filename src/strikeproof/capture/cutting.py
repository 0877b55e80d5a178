"""A log of several runs one after another, cut into a log a run."""

from __future__ import annotations

import io
from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Literal

import numpy as np

from strikeproof.campaign.text import bad_file, find_encoding, read_file, unpack
from strikeproof.campaign.whole_file import make_folder, write_whole
from strikeproof.campaign.workbook import is_workbook
from strikeproof.capture.clock import Clock, read_clock
from strikeproof.capture.columns import Columns
from strikeproof.capture.reading import log_text, read_rows
from strikeproof.capture.restarts import find_restarts
from strikeproof.capture.run_heads import Part, find_parts
from strikeproof.errors import StoreError
from strikeproof.quantity import FloatArray, IntArray

__all__ = ["Begin", "Piece", "find_pieces", "write_pieces"]

Begin = Literal["first", "time", "number", "pause"]
"""Why a piece begins: it is the first, the time begins again, a run number changes, nothing came for long."""

_RUN_NAMES = {
    "run",
    "run no",
    "run nr",
    "run number",
    "test",
    "test no",
    "test number",
    "cycle",
    "lauf",
    "versuch",
}
_WIDE = ("utf-16", "utf-16-le", "utf-16-be", "utf-32")
_MARKS = {
    b"\xef\xbb\xbf": "utf-8",
    b"\xff\xfe\x00\x00": "utf-32-le",
    b"\x00\x00\xfe\xff": "utf-32-be",
    b"\xff\xfe": "utf-16-le",
    b"\xfe\xff": "utf-16-be",
}
_LONGEST_PAUSE_S = 5.0
_MANY_PERIODS = 50.0
_FEWEST = 5  # samples of a piece


@dataclass(frozen=True, slots=True)
class Piece:
    """One run in a log of several: its lines in the file, and what it holds.

    `largest` is the largest value of the first channel, or of the one asked for, in its unit.
    """

    first_line: int
    last_line: int
    samples: int
    duration_s: float
    begins: Begin
    channel: str
    unit: str | None
    largest: float | None


def find_pieces(path: Path, sample_rate_hz: float | None = None) -> tuple[Piece, ...]:
    """The runs that a log holds, one piece where it is but one.

    Raises
    ------
    BadFile
        If it is no text and no workbook, or cannot be read.
    """
    return _pieces(path, log_text(path, unpack(path, read_file(path))), sample_rate_hz)[0]


def write_pieces(
    path: Path, targets: Sequence[Path | None], sample_rate_hz: float | None = None
) -> tuple[Piece, ...]:
    """Write each piece as a log of its own below its head; None leaves one out.

    The head is that of the log, or the piece's own where it has one; other lines between two pieces go with
    the later one. A folder that is not there is made. Encoding and line ends stay as they are; of a workbook
    the rows become lines of tabs.

    Raises
    ------
    BadFile
        As `find_pieces`; also if there are not as many targets as pieces, or a file is there already.
    StoreError
        If a folder or a file cannot be written.
    """
    raw = unpack(path, read_file(path))
    pieces, parts = _pieces(path, log_text(path, raw), sample_rate_hz)
    if len(targets) != len(pieces):
        what = f"holds {len(pieces)} runs, and {len(targets)} names were given"
        raise bad_file(path, what, "give one name a run, in their order, and - for one to leave out")
    for target in targets:
        if target is not None and target.exists():
            raise bad_file(target, "is there already", "cut into another folder, or give another name")
    mark, lines = _lines(path, raw)
    for part, target in zip(parts, targets, strict=True):
        if target is not None:
            _make_folder(target.parent)
            write_whole(target, b"".join((mark, *part.take(lines))))
    return pieces


def _make_folder(folder: Path) -> None:
    try:
        make_folder(folder)
    except OSError as cause:
        what = f"{folder}: this folder cannot be made: {cause.strerror}"
        raise StoreError(what, "choose another folder, or check its permissions") from cause


def _lines(path: Path, raw: bytes) -> tuple[bytes, list[bytes]]:
    """The byte-order mark of a log, and its lines with their ends."""
    if is_workbook(raw):
        return b"", log_text(path, raw).splitlines(keepends=True)
    encoding = find_encoding(path, raw)
    mark = next((each for each in _MARKS if raw.startswith(each)), b"")
    if encoding not in _WIDE:
        return mark, raw[len(mark) :].splitlines(keepends=True)  # of bytes only at CR and LF
    encoding = _MARKS.get(mark, encoding)
    text = io.StringIO(raw[len(mark) :].decode(encoding), newline="")
    return mark, [line.encode(encoding) for line in text]


def _pieces(
    path: Path, text: bytes, sample_rate_hz: float | None
) -> tuple[tuple[Piece, ...], tuple[Part, ...]]:
    columns = read_rows(path, text)
    clock, at = _read_time(path, columns, sample_rate_hz)
    begins = _begins(columns, clock, at)
    rows = columns.find_lines()[at]
    ends = [*list(begins)[1:], len(at)]
    spans = [(int(rows[begin]), int(rows[end - 1])) for begin, end in zip(begins, ends, strict=True)]
    lines = text.split(b"\n")
    parts = find_parts(path, text, spans, columns.names)
    pieces = []
    for (begin, why), end, span, part in zip(begins.items(), ends, spans, parts, strict=True):
        own, own_clock, own_at = columns, clock, at[begin:end]
        if part.own:  # what is above it may say other units, or other columns
            own = read_rows(path, b"\n".join((*part.take(lines), b"")))
            own_clock, own_at = _read_time(path, own, sample_rate_hz, span[0])
            if len(own_at) != end - begin or not (part.names_columns or own.names == columns.names):
                what = f"the run from here on cannot be read by the lines above it, up to line {span[1]}"
                raise bad_file(path, what, "export this run alone, or correct these lines in a copy", span[0])
        pieces.append(_describe(span, why, own, own_clock, own_at))
    return tuple(pieces), parts


def _read_time(
    path: Path, columns: Columns, sample_rate_hz: float | None, line: int | None = None
) -> tuple[Clock, IntArray]:
    """The clock of a log with a time column, and the rows whose time is known."""
    clock = read_clock(columns, sample_rate_hz or columns.sample_rate_hz)
    if clock.stamps is None:
        what = "has no time column, so nothing says where a run begins"
        raise bad_file(path, what, "export it with the time", line)
    at = np.flatnonzero(np.isfinite(clock.stamps.seconds))
    if at.size < 2:
        what = "holds fewer than two samples"
        raise bad_file(path, what, "check that the recording was finished", line)
    return clock, at


def _describe(span: tuple[int, int], why: Begin, columns: Columns, clock: Clock, at: IntArray) -> Piece:
    assert clock.stamps is not None  # else `_read_time` had refused it
    channels = (i for i in columns.numbers if i not in clock.taken and not _numbers_runs(columns, i))
    channel = next(channels, None)
    seconds = clock.stamps.seconds[at]
    return Piece(
        *span,
        len(at),
        float(seconds[-1] - seconds[0]),
        why,
        "" if channel is None else columns.names[channel],
        None if channel is None else columns.units[channel],
        None if channel is None else _largest(columns.numbers[channel].values[at]),
    )


def _largest(values: FloatArray) -> float | None:
    known = values[np.isfinite(values)]
    return float(known.max()) if known.size else None


def _begins(columns: Columns, clock: Clock, at: IntArray) -> dict[int, Begin]:
    """The samples at which a run begins, in their order, and why.

    Wherever the time begins again there is one, however few samples follow: such a log is no single run.
    """
    assert clock.stamps is not None  # else `_read_time` had refused it
    seconds = clock.stamps.seconds[at]
    restarts = [int(i) for i in find_restarts(seconds)]
    found: dict[int, Begin] = dict.fromkeys(_after_pauses(seconds), "pause")
    found |= dict.fromkeys(_new_numbers(columns, at), "number")
    found |= dict.fromkeys(restarts, "time")
    begins: dict[int, Begin] = {0: "first"}
    for i in sorted(found):
        after = next((each for each in restarts if each > i), len(seconds))
        if found[i] == "time" or min(i - max(begins), after - i) >= _FEWEST:
            begins[i] = found[i]
    return begins


def _after_pauses(seconds: FloatArray) -> list[int]:
    steps = np.diff(seconds)
    rises = steps[steps > 0]
    if not rises.size:
        return []
    longest = max(_LONGEST_PAUSE_S, _MANY_PERIODS * float(np.median(rises)))
    return [int(i) + 1 for i in np.flatnonzero(steps > longest)]


def _new_numbers(columns: Columns, at: IntArray) -> list[int]:
    """Where a column that is called a run's or test's number changes to another whole number."""
    for i, numbers in columns.numbers.items():
        values = numbers.values[at]
        if _numbers_runs(columns, i) and np.all(values == np.floor(values)):
            return [int(k) + 1 for k in np.flatnonzero(np.diff(values) != 0)]
    return []


def _numbers_runs(columns: Columns, i: int) -> bool:
    return columns.names[i].casefold().replace("_", " ").strip() in _RUN_NAMES
