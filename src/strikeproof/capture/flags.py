"""What is odd about the values of one channel: codes that mean "overload", and tops cut off flat."""

from __future__ import annotations

import numpy as np

from strikeproof.capture.log import Finding
from strikeproof.quantity import BoolArray, FloatArray, IntArray

__all__ = ["find_clipping", "find_overflow_codes"]

# Values by which instruments and converters say "over range": nines, ends of integer types, largest floats.
_CODES = np.array(
    [
        *(10.0**digits - 1 for digits in range(4, 10)),
        *(10.0**digits - 1 + 0.9 for digits in range(3, 7)),
        *(10.0**digits - 1 + 0.99 for digits in range(3, 6)),
        *(2.0**bits - 1 for bits in (15, 16, 23, 24, 31, 32)),
        *(2.0**bits for bits in (15, 23, 31)),
        9.9e37,
        9.91e37,
        1e37,
        1e38,
        3.4028234663852886e38,
        1.7976931348623157e308,
    ]
)
_SMALLEST_CODE = float(_CODES.min())
_SHORTEST_PLATEAU = 5
_LONGEST_PAUSE = 3


def find_overflow_codes(name: str, values: FloatArray) -> tuple[BoolArray, Finding | None]:
    """Which of the values are overload codes that stand apart from the rest by more than its whole span.

    The finding's line is the sample index.
    """
    none = np.zeros(len(values), dtype=np.bool_)
    finite = np.isfinite(values)
    if not finite.any() or max(np.nanmax(values), -np.nanmin(values)) < _SMALLEST_CODE:
        return none, None
    size = np.abs(values, where=finite, out=np.zeros_like(values))
    code = finite & (np.isin(size, _CODES) | (size >= 9e36) | _is_rounded_largest(size))
    rest = values[finite & ~code]
    if not code.any() or not rest.size:
        return none, None
    low, high = float(rest.min()), float(rest.max())
    apart = code & ((values - high > high - low) | (low - values > high - low))
    at = np.flatnonzero(apart)
    if not at.size:
        return none, None
    found = ", ".join(f"{each:g}" for each in np.unique(values[apart])[:4])
    detail = f"{found} stand apart from {low:.4g} to {high:.4g}, as overload codes do; left as they are"
    return apart, Finding("overflow-code", name, int(at[0]), int(at.size), detail)


def _is_rounded_largest(size: FloatArray) -> BoolArray:
    """The largest single-precision float as often printed, 3.4e38 or 3.403e+38."""
    return np.asarray(np.abs(size / 3.4028234663852886e38 - 1) < 2e-3)


def find_clipping(name: str, values: FloatArray, ignore: BoolArray) -> Finding | None:
    """A top or bottom cut off flat, into which a moving signal runs; the finding's line is the sample index.

    Common practice, no source: the extreme value is held far longer than any other, and the signal moved from
    sample to sample just before. So neither the rest before a run nor a load that levels off counts.
    """
    good = np.isfinite(values) & ~ignore
    at = range(len(values)) if good.all() else np.flatnonzero(good)
    kept = values[at] if len(at) < len(values) else values
    if len(kept) < 4 * _SHORTEST_PLATEAU:
        return None
    for extreme, word in ((kept.max(), "top"), (kept.min(), "bottom")):
        if kept[0] == extreme or np.count_nonzero(kept == extreme) < _SHORTEST_PLATEAU:
            continue
        starts, lengths = _find_plateaus(kept, extreme)
        if starts.size:
            count = int(lengths.sum())
            times = "" if starts.size == 1 else f", {starts.size} times"
            detail = f"{count} samples lie flat at the {word}, {extreme:.6g}{times}"
            return Finding("clipped-plateau", name, int(at[starts[0]]), count, detail)
    return None


def _find_plateaus(values: FloatArray, extreme: float) -> tuple[IntArray, IntArray]:
    """Where the signal runs into its extreme and stays, and for how many samples each."""
    starts = np.r_[0, np.flatnonzero(values[1:] != values[:-1]) + 1]
    lengths = np.diff(starts, append=len(values))
    there = values[starts] == extreme
    usual = float(np.percentile(lengths[~there], 99))
    long = np.flatnonzero(there & (lengths >= max(_SHORTEST_PLATEAU, 4.0 * usual)))
    before = np.array([lengths[max(i - 5, 0) : i][~there[max(i - 5, 0) : i]].max() for i in long[:1000]])
    moving = long[:1000][before <= _LONGEST_PAUSE] if long.size else long
    return starts[moving], lengths[moving]
