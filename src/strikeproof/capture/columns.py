"""The columns of a log as its format gives them, before time is separated from channels."""

from __future__ import annotations

import re
from collections.abc import Callable
from dataclasses import dataclass, replace
from pathlib import Path
from typing import Any

import numpy as np

from strikeproof.campaign.text import bad_file
from strikeproof.capture.cells import MISSING, CellKind
from strikeproof.capture.heading import clean_names
from strikeproof.capture.log import Finding
from strikeproof.quantity import BoolArray, FloatArray, IntArray

__all__ = ["Columns", "Numbers", "find_numbers", "refuse_claim", "row_lines", "with_plain_names"]

_MOST_CELLS = 500_000_000  # of a packed or binary file, which may claim more than anyone can hold
_FEW_CELLS = 5_000_000  # 40 MB: so many may be claimed by any file, such as one of silence
_CELLS_PER_BYTE = (
    32  # speech at 16 kbit/s has 24; a load with noise in it has less than 2, however it is packed
)
_TWO_WAYS = re.compile(r"[+-]?\d{1,3}[.,]\d{3}", re.ASCII)


def refuse_claim(path: Path, cells: int, size: int) -> None:
    """Let nobody make room for more cells than a file of `size` bytes can hold.

    Raises
    ------
    BadFile
        If it claims to hold more than that.
    """
    if cells > min(_MOST_CELLS, max(_FEW_CELLS, _CELLS_PER_BYTE * size)):
        raise bad_file(path, f"claims {cells} cells, too many to read", "split it, one run a file")


@dataclass(frozen=True, slots=True)
class Numbers:
    """A column of numbers: (n,) values, NaN where a cell holds none, and which of these say "overload".

    `cells` are the cells as written, None where every one is a number or missing. `decimal_by_others` is the
    decimal mark where only the file's other columns show it, so that 1.020 here is taken for a thousand.
    """

    values: FloatArray
    overflow: BoolArray
    cells: Any = None
    decimal_by_others: str | None = None

    def describe(self, index: int) -> str:
        """What is in a cell that is no number."""
        cell = self.cells[index].as_py() if self.cells is not None else None
        if cell is None or cell in MISSING:
            return "a cell is empty"
        told = "can be read in two ways" if self.has_two_meanings(index) else "is not a number"
        return f"{cell[:40]!r} {told}"

    def has_two_meanings(self, index: int) -> bool:
        """Whether a cell that is read as no number may be one with decimals or one of thousands."""
        cell = self.cells[index].as_py() if self.cells is not None else None
        return bool(cell and _TWO_WAYS.fullmatch(cell))


@dataclass(frozen=True, slots=True)
class Columns:
    """The columns of one log by position: numbers, and texts that are clock times, dates or both.

    `find_lines` gives the (n,) line of each row in the file; it takes a moment, so only findings ask for it.
    `started` is when the first sample was taken, where that is apart from the rows.
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


def with_plain_names(columns: Columns) -> Columns:
    """The columns with names and units as texts may be; a finding says where they were not."""
    pairs, odd = clean_names(list(zip(columns.names, columns.units, strict=True)))
    if tuple(pairs) == tuple(zip(columns.names, columns.units, strict=True)):
        return columns
    detail = "characters that no text may hold, or too many, are left out of names and units of columns"
    found = (Finding("odd-name", None, None, odd, detail),) if odd else ()
    return replace(
        columns,
        names=tuple(name for name, _ in pairs),
        units=tuple(unit for _, unit in pairs),
        findings=(*columns.findings, *found),
    )


def find_numbers(values: FloatArray) -> Numbers:
    """(n,) values, used and changed in place: what is infinite said "overload" and becomes NaN."""
    overflow = np.isinf(values)
    values[overflow] = np.nan
    return Numbers(values, overflow)


def row_lines(raw: bytes, first_line: int) -> IntArray:
    """(n,) the line of each row, where blank lines are no rows."""
    ends = np.flatnonzero(np.frombuffer(raw + b"\n", dtype=np.uint8) == 10)
    lengths = np.diff(ends, prepend=-1) - 1
    return np.asarray(np.flatnonzero(lengths > 0) + first_line, dtype=np.int64)
