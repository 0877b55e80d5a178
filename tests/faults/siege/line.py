"""The siege of a rig's line, as one of the attacks: a number is a thousand hostile bytes."""

from __future__ import annotations

from pathlib import Path

from tests.faults.line_siege import besiege
from tests.faults.siege.attack import Tally

__all__ = ["play_line"]


def play_line(first: int, count: int, _folder: Path) -> Tally:
    """So many thousand bytes, from a seed that the first number is."""
    tally = Tally()
    try:
        done = besiege(1000 * count, 1 + first)
    except Exception as wrong:
        tally.fail("exceptions", f"{type(wrong).__name__}: {wrong}, {getattr(wrong, '__notes__', '')}")
        return tally
    for name in ("sent", "samples", "streams", "starts"):
        tally.count({"sent": "bytes", "starts": "runs seen"}.get(name, name), getattr(done, name))
    return tally
