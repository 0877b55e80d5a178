"""Whether dates that end in their year begin with the day or with the month, as far as they show it."""

from __future__ import annotations

import re
from collections.abc import Collection
from datetime import date
from typing import Literal

__all__ = ["DayOrder", "find_day_order", "read_date"]

DayOrder = Literal["day first", "month first"]

_ORDERS: tuple[DayOrder, DayOrder] = ("day first", "month first")
_RUN_DAYS, _MONTH_DAYS = 2, 25


def find_day_order(dates: Collection[str], *, half_days: bool, one_run: bool = False) -> DayOrder | None:
    """The order of a column of dates, None where it can be read both ways.

    A number above 12 decides for all of them. Otherwise dots say that the day is first (`4.5.2026`), and AM
    or PM that the month is. Dates of one run lie close together, which may leave only one order.

    Parameters
    ----------
    dates
        As written, without the clock; those that begin with the year say nothing.
    half_days
        Whether AM or PM is beside them.
    one_run
        Whether they are all of one run.
    """
    split = [_split(text) for text in dates if not _begins_with_year(text)]
    by_day, by_month = any(a > 12 for a, _, _ in split), any(b > 12 for _, b, _ in split)
    if by_day or all(a == b for a, b, _ in split) or all("." in text for text in dates):
        return "day first" if by_day or not by_month else "month first"
    if by_month or half_days:
        return "month first"
    spans = [_span(dates, order) for order in _ORDERS]
    if one_run and min(spans) <= _RUN_DAYS and max(spans) >= _MONTH_DAYS:
        return _ORDERS[spans.index(min(spans))]
    return None


def read_date(text: str, order: DayOrder | None) -> date | None:
    """A date with dots, slashes or dashes; None where there is no such day."""
    try:
        a, b, c = _split(text)
        if _begins_with_year(text):
            return date(a, b, c)
        day, month = (b, a) if order == "month first" else (a, b)
        return date(c if c > 99 else 2000 + c, month, day)
    except ValueError:
        return None


def _split(text: str) -> tuple[int, int, int]:
    a, b, c = (int(part) for part in re.split(r"[-/.]", text))
    return a, b, c


def _begins_with_year(text: str) -> bool:
    return re.match(r"\d{3,4}", text) is not None


def _span(dates: Collection[str], order: DayOrder) -> int:
    days = [found.toordinal() for text in dates if (found := read_date(text, order))]
    return max(days) - min(days) if days else 0
