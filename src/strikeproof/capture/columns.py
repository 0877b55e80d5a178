"""The columns of a log as its format gives them, before time is told from channels."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from typing import Any

import numpy as np

from strikeproof.capture.cells import MISSING, CellKind
from strikeproof.capture.log import Finding
from strikeproof.quantity import BoolArray, FloatArray, IntArray

__all__ = ["MOST_CELLS", "Columns", "Numbers", "find_numbers", "row_lines"]

MOST_CELLS = 500_000_000  # of a packed or binary file, which may claim more than anyone can hold


@dataclass(frozen=True, slots=True)
class Numbers:
    """A column of numbers: (n,) values, NaN where a cell holds none, and which of these say "overload".

    `cells` are the cells as written, None where every one is a number or missing.
    """

    values: FloatArray
    overflow: BoolArray
    cells: Any = None

    def describe(self, index: int) -> str:
        """What stands in a cell that is no number."""
        cell = self.cells[index].as_py() if self.cells is not None else None
        return "a cell is empty" if cell is None or cell in MISSING else f"{cell[:40]!r} is not a number"


@dataclass(frozen=True, slots=True)
class Columns:
    """The columns of one log by position: numbers, and texts that are clock times, dates or both.

    `find_lines` gives the (n,) line of each row in the file; it takes a moment, so only findings ask for it.
    `started` is when the first sample was taken, where that stands apart from the rows.
    """

    names: tuple[str, ...]
    units: tuple[str | None, ...]
    kinds: tuple[CellKind, ...]
    has_header: bool
    sample_rate_hz: float | None
    numbers: dict[int, Numbers]
    texts: dict[int, Any]
    findings: tuple[Finding, ...]
    find_lines: Callable[[], IntArray]
    started: str | None = None

    @property
    def row_count(self) -> int:
        """Rows of the log."""
        first = next(iter(self.numbers.values()), None)
        return len(first.values) if first else max((len(each) for each in self.texts.values()), default=0)


def find_numbers(values: FloatArray) -> Numbers:
    """(n,) values, taken over and changed in place: what is infinite said "overload" and becomes NaN."""
    overflow = np.isinf(values)
    values[overflow] = np.nan
    return Numbers(values, overflow)


def row_lines(raw: bytes, first_line: int) -> IntArray:
    """(n,) the line of each row, where blank lines are no rows."""
    ends = np.flatnonzero(np.frombuffer(raw + b"\n", dtype=np.uint8) == 10)
    lengths = np.diff(ends, prepend=-1) - 1
    return np.asarray(np.flatnonzero(lengths > 0) + first_line, dtype=np.int64)
