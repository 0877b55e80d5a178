"""What lies in the folder of recordings that no run is known by: a run cut short, or something else.

A killed recorder leaves its run there; so may a person, another program or a failing disk leave a file.
"""

from __future__ import annotations

import re
from collections.abc import Callable, Iterable
from dataclasses import dataclass
from pathlib import Path
from typing import Literal

from strikeproof.campaign.gate import read_bounded
from strikeproof.campaign.text import read_file
from strikeproof.capture.recording import HEAD_BYTES, Recorded, claims_to_be_ours, read_recording
from strikeproof.errors import BadFile, StoreError

__all__ = ["Leftover", "look_at_leftover", "sort_leftovers"]

Kind = Literal["run", "no samples", "damaged", "foreign"]
_CONTROL = re.compile(r"[\x00-\x1f\x7f-\x9f\ud800-\udfff]")
_WHY_ASIDE = {
    "damaged": "its beginning cannot be read",
    "no samples": "cut off or damaged before its first samples",
}


@dataclass(frozen=True, slots=True)
class Leftover:
    """One file: what it is, and what it holds when that is a run.

    `foreign` is what no recorder of ours wrote, or what cannot be opened at all.
    """

    path: Path
    kind: Kind
    recorded: Recorded | None = None


def look_at_leftover(path: Path) -> Leftover:
    """What a file is; it is only read."""
    if path.is_symlink() or not path.is_file():
        return Leftover(path, "foreign")
    try:
        found: Leftover = read_bounded(path, _look, path)
    except BadFile:  # the reader broke down on it
        return Leftover(path, "damaged" if _begins_like_ours(path) else "foreign")
    return found


def _begins_like_ours(path: Path) -> bool:
    try:
        with path.open("rb") as stream:
            return claims_to_be_ours(stream.read(HEAD_BYTES))
    except OSError:
        return False


def _look(path: Path) -> Leftover:
    try:
        raw = read_file(path)
    except BadFile:
        return Leftover(path, "foreign")
    ours = claims_to_be_ours(raw)
    try:
        found = read_recording(path, raw)
    except BadFile:
        return Leftover(path, "damaged" if ours else "foreign")
    cells = found.about.get("cells")
    if not _are_cells(cells):
        return Leftover(path, "damaged" if ours else "foreign")
    return Leftover(path, "run", found) if len(found.time) > 1 else Leftover(path, "no samples")


def _are_cells(cells: object) -> bool:
    """Whether they are the line of a run, with text in every cell that a sheet can hold."""
    return (
        isinstance(cells, dict)
        and all(isinstance(text, str) and not _CONTROL.search(text) for text in cells.values())
        and all(str(cells.get(name, "")).strip() for name in ("run", "article"))
    )


def sort_leftovers(
    paths: Iterable[Path], move_aside: Callable[[Path], str]
) -> tuple[list[tuple[Path, Recorded]], list[str]]:
    """The runs among the files, and what a person should know of all the others; no file is deleted.

    `move_aside` takes a recording that is no run out of the way and returns where it is then.
    """
    runs, aside, foreign = [], [], []
    messages: list[str] = []
    for found in map(look_at_leftover, paths):
        name = found.path.name
        if found.recorded is not None:
            runs.append((found.path, found.recorded))
        elif found.kind == "foreign":
            foreign.append(name)
        else:
            try:
                aside.append(f"{name} ({_WHY_ASIDE[found.kind]}; now {move_aside(found.path)})")
            except StoreError as wrong:
                messages.append(str(wrong))
    if aside:
        messages.append(f"moved aside, not deleted, because no run is in them: {', '.join(aside)}")
    if foreign:
        messages.append(f"not recordings of this program, left as they are in logs: {', '.join(foreign)}")
    return runs, messages
