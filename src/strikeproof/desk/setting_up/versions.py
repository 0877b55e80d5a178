"""The files of a campaign that is being set up, each state saved so that it can be undone.

`campaign.toml` is always the last state that was whole, so that recording and loading can go on from it. A
state with something missing or wrong is beside it in `draft.toml`, whose first line says what it was made
from: when a person has changed campaign.toml by hand since, theirs holds.
"""

from __future__ import annotations

import hashlib
import shutil
from dataclasses import dataclass
from pathlib import Path
from typing import Final, Literal

from strikeproof.campaign.text import read_text
from strikeproof.campaign.whole_file import whole_folder, write_whole
from strikeproof.desk.workspace.places import DRAFT

__all__ = [
    "CALIBRATION",
    "State",
    "keep_step",
    "read_state",
    "read_step",
    "step_back",
    "steps",
    "write_state",
]

CALIBRATION: Final = "calibration.csv"
"""Where the browser keeps calibration readings."""

Stack = Literal["earlier", "later"]
_MOST: Final = 50
_BASE: Final = "# not whole yet, made from "


@dataclass(frozen=True, slots=True)
class State:
    """What is in the files: the text of the campaign, and of its calibration sheet or None."""

    campaign: str
    calibration: str | None = None

    @property
    def mark(self) -> str:
        """Separates one state from any other."""
        return hashlib.sha256(f"{self.campaign}\0{self.calibration}".encode()).hexdigest()[:16]


def read_state(folder: Path) -> State:
    """The state that is there.

    Raises
    ------
    BadFile
        If a file cannot be read as text.
    """
    sheet = folder / CALIBRATION
    calibration = read_text(sheet, is_sheet=True) if sheet.is_file() and sheet.stat().st_size else None
    whole, draft = folder / "campaign.toml", folder / DRAFT
    if draft.is_file():
        base, _newline, text = read_text(draft).partition("\n")
        if base == _BASE + _mark(whole):
            return State(text, calibration)
    return State(read_text(whole), calibration)


def _mark(path: Path) -> str:
    return hashlib.sha256(path.read_bytes()).hexdigest() if path.is_file() else "nothing"


def write_state(folder: Path, state: State, *, whole: bool) -> None:
    """Put a state in place, as campaign.toml when it is complete, else as a draft.

    Raises
    ------
    StoreError
        If a file cannot be written.
    """
    path, draft = folder / "campaign.toml", folder / DRAFT
    if state.calibration is not None:
        write_whole(folder / CALIBRATION, state.calibration)
    if whole:
        write_whole(path, state.campaign)
        draft.unlink(missing_ok=True)  # stopped before this line, it is known to be made from another file
    else:
        write_whole(draft, f"{_BASE}{_mark(path)}\n{state.campaign}")


def steps(folder: Path, stack: Stack) -> list[Path]:
    """The saved states, the oldest first."""
    place = folder / stack
    return sorted(each for each in place.iterdir() if each.name.isdecimal()) if place.is_dir() else []


def keep_step(folder: Path, stack: Stack, state: State) -> None:
    """Keep a state as the newest of a stack; the oldest goes when there are very many.

    Raises
    ------
    StoreError
        If it cannot be written.
    """
    kept = steps(folder, stack)
    number = int(kept[-1].name) + 1 if kept else 1
    with whole_folder(folder / stack / f"{number:06d}") as new:
        write_whole(new / "campaign.toml", state.campaign)
        if state.calibration is not None:
            write_whole(new / CALIBRATION, state.calibration)
    for old in kept[: max(0, len(kept) + 1 - _MOST)]:
        shutil.rmtree(old, ignore_errors=True)


def step_back(folder: Path, stack: Stack) -> State | None:
    """Take the newest state off a stack; None when it is empty."""
    kept = steps(folder, stack)
    if not kept:
        return None
    state = read_step(kept[-1])
    shutil.rmtree(kept[-1])
    return state


def read_step(place: Path) -> State:
    """A saved state."""
    sheet = place / CALIBRATION
    return State(
        read_text(place / "campaign.toml"), read_text(sheet, is_sheet=True) if sheet.is_file() else None
    )
