"""Which column of a log is its time, and the time of every sample."""

from __future__ import annotations

import re
from dataclasses import dataclass, replace

import numpy as np

from strikeproof.capture.columns import Columns
from strikeproof.capture.heading import is_index_name, is_time_name
from strikeproof.capture.stamps import (
    Stamps,
    is_time_unit,
    join_date_and_clock,
    read_number_stamps,
    read_text_stamps,
)
from strikeproof.quantity import FloatArray
from strikeproof.quantity.unit_table import find_factors

__all__ = ["Clock", "read_clock"]


@dataclass(frozen=True, slots=True)
class Clock:
    """The time of a log: its column's name and stamps, None where it has none, and the columns it takes.

    `other` is a further column of times of the same name that differs: channels beside it are on that clock.
    """

    name: str | None
    stamps: Stamps | None
    taken: frozenset[int]
    counts_only: bool = False
    other: str | None = None


def read_clock(columns: Columns, rate: float | None) -> Clock:
    """Time from numbers called so, else from clock times and dates, else from a first column that rises.

    `counts_only` says that the first column merely counts 0, 1, 2 and nothing says what.
    """
    texts = _read_texts(columns)
    taken = frozenset(columns.texts) | {i for i in columns.numbers if _counts(columns, i)}
    called = [i for i in columns.numbers if _is_called_time(columns, i)]
    if called:
        fraction = _find_fraction(columns, called[0])
        values = columns.numbers[called[0]].values
        if fraction is not None:
            values = values + _seconds(columns, fraction)
            taken |= {fraction}
        stamps = read_number_stamps(values, columns.units[called[0]], rate)
        same, other = _find_further(columns, called, stamps, rate)
        taken |= same
        if texts and stamps.started is None:
            stamps = Stamps(stamps.seconds, texts[1].started, stamps.assumed or texts[1].assumed)
        return Clock(columns.names[called[0]], stamps, taken | {called[0]}, other=other)
    if texts:
        return Clock(texts[0], texts[1], taken)
    return _read_unnamed(columns, rate, taken)


def _read_texts(columns: Columns) -> tuple[str, Stamps] | None:
    by_kind: dict[str, int] = {}
    for i in columns.texts:
        by_kind.setdefault(columns.kinds[i], i)
    if "stamp" in by_kind:
        at = by_kind["stamp"]
        return columns.names[at], read_text_stamps(columns.texts[at])
    if "clock" in by_kind and "date" in by_kind:
        joined = join_date_and_clock(columns.texts[by_kind["date"]], columns.texts[by_kind["clock"]])
        return columns.names[by_kind["clock"]], read_text_stamps(joined)
    for at in by_kind.values():
        return columns.names[at], read_text_stamps(columns.texts[at])
    return None


def _is_called_time(columns: Columns, i: int) -> bool:
    unit = columns.units[i]
    if unit is not None and not is_time_unit(unit):
        return False
    rises = unit is not None and bool(np.all(np.diff(columns.numbers[i].values) >= 0))
    name = re.sub(r"[\s_]*(?:\(?\d+\)?)$", "", columns.names[i])  # Time 2, Time (2)
    return columns.has_header and (is_time_name(name) or rises)


def _seconds(columns: Columns, i: int) -> FloatArray:
    return np.asarray(columns.numbers[i].values * _factor(columns, i), dtype=np.float64)


def _factor(columns: Columns, i: int) -> float:
    return next(iter(find_factors(columns.units[i] or "s", "time")), 1.0)


def _find_fraction(columns: Columns, first: int) -> int | None:
    """A column that holds the parts of a second, beside one of whole seconds: milli-, micro-, nanoseconds."""
    values = columns.numbers[first].values
    if _factor(columns, first) != 1.0 or not np.all(values == np.floor(values)):
        return None
    for i in columns.numbers:
        parts = columns.numbers[i].values
        unit = columns.units[i]
        if i == first or unit is None or not is_time_unit(unit):
            continue
        is_part = _factor(columns, i) < 1.0 and np.all(parts >= 0) and np.all(_seconds(columns, i) < 1.0)
        rises = np.all(
            np.diff(values + _seconds(columns, i)) >= 0
        )  # else it is a time between blows, or the like
        if is_part and rises and np.all(parts == np.floor(parts)) and np.any(np.diff(parts) < 0):
            return i
    return None


def _find_further(
    columns: Columns, called: list[int], stamps: Stamps, rate: float | None
) -> tuple[frozenset[int], str | None]:
    """Further columns of times that say the same, and the name of one alike that says something else."""
    same, other = set(), None
    name, others = columns.names[called[0]], called[1:]
    for i in others:
        further = read_number_stamps(columns.numbers[i].values, columns.units[i], rate).seconds
        step = np.nanmedian(np.abs(np.diff(stamps.seconds))) if len(stamps.seconds) > 1 else 0.0
        if np.array_equal(np.isnan(further), np.isnan(stamps.seconds)) and np.all(
            np.abs(np.nan_to_num(further - stamps.seconds)) <= 0.5 * step
        ):
            same.add(i)
        elif _base(columns.names[i]) == _base(name):
            other = other or columns.names[i]
    return frozenset(same), other


def _base(name: str) -> str:
    return re.sub(r"[\s\d()_]+", "", name).casefold()


def _counts(columns: Columns, i: int) -> bool:
    """Whether a column by its name and values merely numbers the samples."""
    if not columns.has_header or columns.units[i] is not None:
        return False
    steps = np.diff(columns.numbers[i].values)
    if is_index_name(columns.names[i]):
        return bool(np.all(steps >= 1))
    return columns.names[i] == f"column {i + 1}" and bool(np.all(steps == 1))


def _read_unnamed(columns: Columns, rate: float | None, taken: frozenset[int]) -> Clock:
    """Where no name or unit says, a first of several columns that rises evenly is the time."""
    free = [i for i in columns.numbers if i not in taken]
    if len(free) < 2 or columns.units[free[0]] is not None:
        return Clock(None, None, taken)
    values = columns.numbers[free[0]].values
    steps = np.diff(values)
    if np.all(steps == 1.0):
        return Clock(None, None, taken | {free[0]}, counts_only=True)
    if not _is_even(steps[np.isfinite(steps)]):
        return Clock(None, None, taken)
    stamps = read_number_stamps(values, None, rate)
    if rate is not None and not 0.8 < rate * _mean_step(stamps.seconds) < 1.25:
        return Clock(None, None, taken)
    assumed = stamps.assumed or f"{columns.names[free[0]]!r} rises evenly and is read as time in seconds"
    return Clock(columns.names[free[0]], replace(stamps, assumed=assumed), taken | {free[0]})


def _is_even(steps: FloatArray) -> bool:
    """Whether the steps are those of a clock: upward, and alike but for repeats and rare gaps."""
    upward = steps[steps > 0]
    if not upward.size or np.mean(steps < 0) > 0.02:
        return False
    low, high = np.percentile(upward, (5, 95))
    return bool(high <= 3 * low)


def _mean_step(seconds: FloatArray) -> float:
    known = seconds[np.isfinite(seconds)]
    return float(known[-1] - known[0]) / max(len(known) - 1, 1)
