"""Which column of a log is its time, and the time of every sample."""

from __future__ import annotations

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

__all__ = ["Clock", "read_clock"]


@dataclass(frozen=True, slots=True)
class Clock:
    """The time of a log: its column's name and stamps, None where it has none, and the columns it takes."""

    name: str | None
    stamps: Stamps | None
    taken: frozenset[int]
    counts_only: bool = False


def read_clock(columns: Columns, rate: float | None) -> Clock:
    """Time from numbers called so, else from clock times and dates, else from a first column that rises.

    `counts_only` says that the first column merely counts 0, 1, 2 and nothing tells what.
    """
    texts = _read_texts(columns)
    taken = frozenset(columns.texts) | {i for i in columns.numbers if _counts(columns, i)}
    called = [i for i in columns.numbers if _is_called_time(columns, i)]
    if called:
        numbers = columns.numbers[called[0]]
        stamps = read_number_stamps(numbers.values, columns.units[called[0]], rate)
        if texts and stamps.started is None:
            stamps = Stamps(stamps.seconds, texts[1].started, stamps.assumed or texts[1].assumed)
        return Clock(columns.names[called[0]], stamps, taken | {called[0]})
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
    return columns.has_header and (is_time_name(columns.names[i]) or rises)


def _counts(columns: Columns, i: int) -> bool:
    """Whether a column by its name and values merely numbers the samples."""
    named = columns.has_header and is_index_name(columns.names[i]) and columns.units[i] is None
    return named and bool(np.all(np.diff(columns.numbers[i].values) >= 1))


def _read_unnamed(columns: Columns, rate: float | None, taken: frozenset[int]) -> Clock:
    """Where no name or unit tells, a first of several columns that rises evenly is the time."""
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
