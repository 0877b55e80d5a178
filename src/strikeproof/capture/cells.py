"""What one cell of a log may be: a number, a missing value, an overload word, a clock time, a date."""

from __future__ import annotations

import csv
import re
from functools import lru_cache
from typing import Literal

from strikeproof.capture.stamp_forms import CLOSE_STAMP, NAMED_DATE, YEAR_BEHIND

__all__ = ["MISSING", "OVERFLOW_PATTERN", "CellKind", "cell_kind", "split_line"]

CellKind = Literal["number", "missing", "overflow", "clock", "date", "stamp", "text"]

MISSING = (
    "",
    "nan",
    "NaN",
    "NAN",
    "na",
    "NA",
    "n/a",
    "N/A",
    "null",
    "NULL",
    "None",
    "-",
    "--",
    "---",
    "----",
)
OVERFLOW_PATTERN = (
    r"(?i)^(?:[+-]?(?:ol|o\.l\.?|ovl|ovld|ovf|ovfl|ovrng|over.*|inf|infinity|1[.,]#inf\d*)|#+|>+|<+|\*+)$"
)

_LONGEST_VALUE = 64
_HALF = r"(?:[AaPp]\.?[Mm]\.?)"
_CLOCK = (
    rf"(?:{_HALF}\s*)?\d{{1,2}}:\d{{2}}(?::\d{{2}}(?::\d{{3}}(?:\d{{3}})?)?)?(?:[.,]\d+)?(?:\s*{_HALF})?"
    r"(?:\s*(?:Z|UTC|[+-]\d{2}(?::?\d{2})?))?"
)
_DATE = r"(?:\d{4}[-/.]\d{1,2}[-/.]\d{1,2}|\d{1,2}[-/.]\d{1,2}[-/.](?:\d{4}|\d{2}))"
_PATTERNS: tuple[tuple[CellKind, re.Pattern[str]], ...] = (
    ("number", re.compile(r"[+-]?(?:\d+(?:[.,]\d*)?|[.,]\d+)(?:[eE][+-]?\d+|[dD][+-]\d+)?", re.ASCII)),
    ("number", re.compile(r"[+-]?\d{1,3}(?:[.,'’ \u00a0\u2009\u202f]\d{3})+(?:[.,]\d+)?", re.ASCII)),
    ("number", re.compile(r"[+-]?\d{1,2}(?:,\d{2})+,\d{3}", re.ASCII)),
    ("number", re.compile(r"\(\d+(?:[.,]\d*)?\)|\d+(?:[.,]\d*)?-|-\s+\d+(?:[.,]\d*)?", re.ASCII)),
    ("clock", re.compile(_CLOCK, re.ASCII)),
    ("date", re.compile(_DATE, re.ASCII)),
    ("stamp", re.compile(rf"{_DATE}(?:T|,?\s)\s*{_CLOCK}", re.ASCII)),
    ("stamp", re.compile(rf"(?:{NAMED_DATE}),?\s+{_CLOCK}|{YEAR_BEHIND}|{CLOSE_STAMP}")),
    ("date", re.compile(NAMED_DATE)),
    ("overflow", re.compile(OVERFLOW_PATTERN)),
)


def cell_kind(cell: str) -> CellKind:
    """What a stripped cell looks like."""
    return "text" if len(cell) > _LONGEST_VALUE else _short_kind(cell)


@lru_cache(maxsize=4096)  # the same cells come again as each separator is tried
def _short_kind(cell: str) -> CellKind:
    if cell in MISSING:
        return "missing"
    return next((kind for kind, pattern in _PATTERNS if pattern.fullmatch(cell)), "text")


def split_line(line: str, separator: str) -> list[str]:
    """The stripped cells of one line; a space as separator means any run of blanks."""
    if separator == " ":
        return line.split()
    if '"' not in line:
        return [cell.strip() for cell in line.split(separator)]
    try:
        return [cell.strip() for cell in next(csv.reader([line], delimiter=separator, skipinitialspace=True))]
    except (csv.Error, StopIteration):
        return [cell.strip() for cell in line.replace('"', "").split(separator)]
