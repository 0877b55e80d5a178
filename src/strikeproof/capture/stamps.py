"""From the cells of a time column to seconds: clock times, dates, and numbers of any time unit."""

from __future__ import annotations

import datetime
import math
import re
from dataclasses import dataclass, replace
from typing import Any

import numpy as np
import pyarrow as pa
import pyarrow.compute as pc

from strikeproof.campaign.day_order import DayOrder, find_day_order, read_date
from strikeproof.capture.stamp_forms import plain_stamps
from strikeproof.capture.wraps import find_wraps, unwrap
from strikeproof.quantity import FloatArray
from strikeproof.quantity.unit_table import find_factors

__all__ = ["Stamps", "is_time_unit", "join_date_and_clock", "read_number_stamps", "read_text_stamps"]

_DAY = 86400.0
_NOON_FALL = -_DAY / 2 + 60.0  # from 12:59:59 to 1:00:00, or a minute of it is missing
_STAMP = (
    r"^\s*(?:(?P<date>\d{1,4}[-/.]\d{1,2}[-/.]\d{1,4})(?:[T\s]\s*|$))?"
    r"(?:(?:(?P<h>\d{1,2}):)?(?P<m>\d{1,2}):(?P<s>\d{1,2}(?:[.,]\d+)?))?"
    r"\s*(?P<half>[AaPp])?(?:\.?[Mm]\.?)?\s*(?P<zone>Z|UTC|[+-]\d{2}(?::?\d{2})?)?\s*$"
)
_DATE = re.compile(r"\d+[-/.]\d+[-/.]\d+")
_EXCEL_EPOCH = datetime.datetime(1899, 12, 30)  # day 0 of serial dates after 1 March 1900
_UNIX_EPOCH = datetime.datetime(1970, 1, 1, tzinfo=datetime.UTC)


@dataclass(frozen=True, slots=True)
class Stamps:
    """(n,) times [s] from the first readable one, NaN where unreadable; absolute start; what was assumed.

    `begins_s` is what the file's own clock shows at the first, where nothing says on which day. [s]
    """

    seconds: FloatArray
    started: str | None
    assumed: str | None
    begins_s: float | None = None


def join_date_and_clock(dates: Any, clocks: Any) -> Any:
    """Two columns of text made one of stamps."""
    return pc.binary_join_element_wise(pc.cast(dates, pa.string()), pc.cast(clocks, pa.string()), " ")


def read_text_stamps(cells: Any) -> Stamps:
    """Clock times, dates or both; a clock that falls by more than half a day has passed midnight."""
    parts = pc.extract_regex(plain_stamps(cells), _STAMP)
    clock = _read_clock(parts)
    days, assumed = _read_dates(parts)
    zone = _by_value(parts.field("zone"), _read_zone)
    dated = not np.isnan(days).all()
    if not dated:
        days = _count_midnights(clock)
        zone = np.zeros_like(clock)
    first = _first_finite(days + clock)
    if first is None:
        return Stamps(np.full(len(cells), np.nan), None, None)
    seconds = (days - days[first]) * _DAY + (clock - clock[first]) - (zone - zone[first])
    mark = parts.field("zone")[first].as_py() if dated else ""
    started = _write_start(days[first], clock[first], mark) if dated and not assumed else None
    return Stamps(seconds, started, assumed, None if dated else float(clock[first]))


def _first_finite(values: FloatArray) -> int | None:
    found = np.flatnonzero(np.isfinite(values))
    return int(found[0]) if found.size else None


def _read_clock(parts: Any) -> FloatArray:
    """Seconds of the day; 0 where there is a date alone, NaN where nothing was read."""
    hours, minutes = _to_float(parts.field("h")), _to_float(parts.field("m"))
    seconds = _to_float(pc.replace_substring(parts.field("s"), ",", "."))
    half = np.asarray(pc.fill_null(pc.utf8_lower(parts.field("half")), "").to_numpy(zero_copy_only=False))
    hours = np.where(half == "p", hours % 12 + 12, np.where(half == "a", hours % 12, hours))
    clock = hours * 3600.0 + minutes * 60.0 + seconds
    empty = pc.and_(pc.equal(parts.field("date"), ""), pc.equal(parts.field("m"), ""))
    clock[np.asarray(pc.fill_null(empty, True))] = np.nan
    return np.asarray(clock, dtype=np.float64)


def _to_float(cells: Any) -> FloatArray:
    filled = pc.if_else(pc.equal(cells, ""), "0", cells).cast(pa.float64())
    return np.array(filled.to_numpy(zero_copy_only=False), dtype=np.float64)


def _by_value(cells: Any, read: Any) -> FloatArray:
    """`read` applied once to each different cell."""
    encoded = pc.fill_null(cells, "?").dictionary_encode()
    table = np.array([read(each) for each in encoded.dictionary.to_pylist()], dtype=np.float64)
    return np.asarray(table[encoded.indices.to_numpy()]) if len(table) else np.zeros(0)


def _read_dates(parts: Any) -> tuple[FloatArray, str | None]:
    """Day numbers, and a word where the order of day and month stays open: then only differences count."""
    cells = parts.field("date")
    different = [each for each in pc.unique(cells).to_pylist() if each]
    halves = pc.any(pc.not_equal(parts.field("half"), "")).as_py() or False
    order = find_day_order(different, half_days=halves, one_run=True)
    days = _by_value(cells, lambda text: _day_number(text, order))
    if order is not None or not different:
        return days, None
    return days, f"{different[0]!r} may be day or month first; the times are sure, the date is left out"


def _day_number(text: str, order: DayOrder | None) -> float:
    found = read_date(text, order) if _DATE.fullmatch(text) else None
    return math.nan if found is None else float(found.toordinal())


def _read_zone(text: str) -> float:
    """Seconds east of UTC."""
    match = re.fullmatch(r"([+-])(\d{2}):?(\d{2})?", text)
    if not match:
        return 0.0
    return (-1 if match[1] == "-" else 1) * (int(match[2]) * 3600.0 + int(match[3] or 0) * 60.0)


def _count_midnights(clock: FloatArray) -> FloatArray:
    """Days passed since the first; halves where a clock of twelve hours without AM or PM begins again."""
    known = np.flatnonzero(np.isfinite(clock))
    days = np.zeros_like(clock)
    steps = np.diff(clock[known])
    turns = (steps < -_DAY / 2).astype(np.float64)
    noon = (steps < _NOON_FALL) & (steps >= -_DAY / 2)
    if noon.any() and clock[known].max() < 13 * 3600.0 and clock[known].min() >= 3600.0:
        turns[noon] = 0.5
    days[known[1:]] = np.cumsum(turns)
    return days


def _write_start(day: float, clock: float, zone: str) -> str:
    start = datetime.datetime.fromordinal(int(day)) + datetime.timedelta(microseconds=round(clock * 1e6))
    shown = "+00:00" if zone in ("Z", "UTC") else zone
    if shown and ":" not in shown:
        shown = f"{shown[:3]}:{shown[3:] or '00'}"
    return start.isoformat() + shown


def read_number_stamps(values: FloatArray, unit: str | None, rate: float | None) -> Stamps:
    """Numbers as times: of the unit given, else absolute if they are large, else of the unit that fits a run.

    Parameters
    ----------
    values
        (n,), NaN where unreadable.
    unit
        As in the header.
    rate
        Sampling rate if known from elsewhere. [Hz]
    """
    first = _first_finite(values)
    if first is None:
        return Stamps(values, None, None)
    known = next(iter(find_factors(unit, "time")), None) if unit else None
    turn = find_wraps(values, known)
    values = values if turn is None else unwrap(values, turn)
    stamps = _read_numbers(values, first, known, rate)
    if turn is None:
        return stamps
    note = f"the time begins again at {turn:.10g} and is read on"
    return replace(stamps, assumed=stamps.assumed or note)


def _read_numbers(values: FloatArray, first: int, known: float | None, rate: float | None) -> Stamps:
    start = values[first]
    steps = values - start
    span = float(np.nanmax(np.abs(steps))) if len(values) > 1 else 0.0
    absolute = _read_absolute(start, span, known)
    if absolute:
        return Stamps(steps * absolute[0], absolute[1], None)
    if known:
        return Stamps(steps * known, None, None, float(start * known))
    factor = _guess_factor(values, span, rate)
    name = {1.0: "seconds", 1e-3: "milliseconds", 1e-6: "microseconds"}[factor]
    note = None if factor == 1.0 else f"the time column has no unit and is read as {name}"
    return Stamps(steps * factor, None, note, float(start * factor))


def _read_absolute(start: float, span: float, known: float | None) -> tuple[float, str] | None:
    """Factor and start of Unix times of any unit (2001 to 2096) and of serial dates (1968 to 2119)."""
    for factor in (1.0, 1e-3, 1e-6, 1e-9):
        if 1e9 <= start * factor < 4e9 and span * factor < _DAY and known in (None, factor):
            moment = _UNIX_EPOCH + datetime.timedelta(microseconds=round(start * factor * 1e6))
            return factor, moment.isoformat()
    if 25000 <= start < 80000 and 0 < span < 0.1 and known in (None, _DAY):
        moment = _EXCEL_EPOCH + datetime.timedelta(milliseconds=round(start * _DAY * 1e3))
        return _DAY, moment.isoformat()
    return None


def _guess_factor(values: FloatArray, span: float, rate: float | None) -> float:
    """The unit by which the log has a rate and a length that runs have; seconds when none or several fit."""
    period = span / max(len(values) - 1, 1)
    if rate and period > 0:
        fits = [factor for factor in (1.0, 1e-3, 1e-6) if 0.8 < period * factor * rate < 1.25]
        if fits:
            return fits[0]
    whole = bool(np.all(np.mod(values[np.isfinite(values)], 1.0) == 0.0))
    fits = [factor for factor in (1.0, 1e-3, 1e-6) if _is_likely(period * factor, span * factor)]
    if whole:
        return fits[0] if fits else 1.0
    return 1.0 if 1.0 in fits or not fits else fits[0]


def _is_likely(period: float, span: float) -> bool:
    return 5e-6 <= period <= 0.21 and 0.3 <= span <= 3600.0


def is_time_unit(unit: str) -> bool:
    """Whether the unit is one of time."""
    return len(find_factors(unit, "time")) == 1
