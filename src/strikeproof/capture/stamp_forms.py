"""Dates and clock times of many exporters rewritten in the one form that is read: names of months, no
separators, the half of the day in front, thousandths behind a colon.
"""

from __future__ import annotations

import re
from typing import Any, Final

import pyarrow as pa
import pyarrow.compute as pc

__all__ = ["CLOSE_STAMP", "NAMED_DATE", "YEAR_BEHIND", "plain_stamp", "plain_stamps"]

_MONTHS: Final = (
    ("jan", "january", "januar"),
    ("feb", "february", "februar"),
    ("mar", "march", "mär", "märz", "mrz"),
    ("apr", "april"),
    ("may", "mai"),
    ("jun", "june", "juni"),
    ("jul", "july", "juli"),
    ("aug", "august"),
    ("sep", "sept", "september"),
    ("oct", "october", "okt", "oktober"),
    ("nov", "november"),
    ("dec", "december", "dez", "dezember"),
)
"""English and German, in full and short."""
_NUMBER: Final = {name: i for i, names in enumerate(_MONTHS, 1) for name in names}
_MONTH: Final = "(?i:" + "|".join(sorted(_NUMBER, key=len, reverse=True)) + r")\.?"
_WEEKDAY: Final = r"(?:(?i:mon|tue|wed|thu|fri|sat|sun|mo|di|mi|do|fr|sa|so)[a-z]*\.?,?\s+)?"
_CLOCK: Final = r"\d{1,2}:\d{2}:\d{2}(?:[.,]\d+)?"
NAMED_DATE: Final = rf"{_WEEKDAY}(?:\d{{1,2}}[-.\s]+{_MONTH}[-,\s]+\d{{4}}|{_MONTH}\s+\d{{1,2}},?\s+\d{{4}})"
YEAR_BEHIND: Final = rf"{_WEEKDAY}{_MONTH}\s+\d{{1,2}}\s+{_CLOCK}\s+\d{{4}}"
"""Such as Tue Mar 17 08:30:00 2026."""
CLOSE_STAMP: Final = r"\d{8}T\d{6}(?:[.,]\d+)?(?:Z|[+-]\d{2}(?::?\d{2})?)?"
"""The basic format of ISO 8601, such as 20260317T083000."""

_CLOSE: Final = re.compile(r"(\d{4})(\d{2})(\d{2})T(\d{2})(\d{2})(\d{2})")
_DAY_FIRST: Final = re.compile(rf"{_WEEKDAY}(\d{{1,2}})[-.\s]+({_MONTH})[-,\s]+(\d{{4}})")
_MONTH_FIRST: Final = re.compile(rf"{_WEEKDAY}({_MONTH})\s+(\d{{1,2}}),?\s+(\d{{4}})")
_YEAR_BEHIND: Final = re.compile(rf"{_WEEKDAY}({_MONTH})\s+(\d{{1,2}})\s+({_CLOCK})\s+(\d{{4}})")
_HALF_FIRST: Final = re.compile(r"(.*?)([AaPp]\.?[Mm]\.?)\s*(\d.*)")
_COLON: Final = re.compile(r"(\d{1,2}:\d{2}:\d{2}):(\d{3}(?:\d{3})?)(?!\d)")
_COMMA: Final = re.compile(r"(\d{2,4}),\s+(?=\d{1,2}:)")
_SEEN: Final = 60


def plain_stamps(cells: Any) -> Any:
    """The cells of a column in the form that is read; a column that has it already is not touched."""
    if all(text is None or plain_stamp(text) == text for text in _texts(cells[:_SEEN])):
        return cells
    return pa.array([None if text is None else plain_stamp(text) for text in _texts(cells)], pa.string())


def _texts(cells: Any) -> list[str | None]:
    """The cells as they are written; bytes that are no text in a damaged log stay marked as such."""
    raw = pc.cast(cells, pa.binary()).to_pylist()
    return [None if each is None else each.decode("utf-8", "replace") for each in raw]


def plain_stamp(text: str) -> str:
    """One date, clock time or both, as year-month-day and clock with the half of the day behind it."""
    text = _CLOSE.sub(r"\1-\2-\3 \4:\5:\6", text, count=1)
    if found := _YEAR_BEHIND.fullmatch(text.strip()):
        return f"{_date(found[4], found[1], found[2])} {found[3]}"
    if found := _DAY_FIRST.match(text):
        text = _date(found[3], found[2], found[1]) + " " + text[found.end() :].lstrip(" ,")
    elif found := _MONTH_FIRST.match(text):
        text = _date(found[3], found[1], found[2]) + " " + text[found.end() :].lstrip(" ,")
    if found := _HALF_FIRST.fullmatch(text):
        text = f"{found[1]}{found[3]} {found[2]}"
    return _COMMA.sub(r"\1 ", _COLON.sub(r"\1.\2", text)).strip() if text else text


def _date(year: str, month: str, day: str) -> str:
    return f"{year}-{_NUMBER[month.casefold().rstrip('.')]:02d}-{int(day):02d}"
