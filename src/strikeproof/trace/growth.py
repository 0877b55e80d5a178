"""Settled level after each blow, and the growth curve."""

from __future__ import annotations

import numpy as np

from strikeproof.quantity import BoolArray, FloatArray

__all__ = ["MOST_POINTS", "growth_of_blows", "growth_of_samples", "settled_levels", "unsettled"]

MOST_POINTS = 400  # enough for a screen; the facts of every blow are stored beside
SETTLED_FROM = 0.5  # share of an interval after which ringing has died away
GUARD_S = 0.0015  # before the next blow: its front is filtered and placed within a millisecond


def settled_levels(
    level: FloatArray, step_s: float, times: FloatArray, interval_s: float
) -> tuple[FloatArray, FloatArray]:
    """Mean level (m,) of the settled part after each blow and how many samples (m,) it averages.

    The part runs from half an interval after the blow, or half-way to the next one, to just before the next.

    Parameters
    ----------
    level : (n,)
        In even steps. [reading]
    step_s
        [s]
    times : (m,)
        Of blows, increasing, from the middle of the first sample. [s]
    interval_s
        Usual one: the settled part ends there where no blow follows. [s]

    References
    ----------
    Half an interval is derived here: a blow rings for milliseconds (docs/detector.md, step 6).
    """
    until = np.minimum(np.r_[times[1:], np.inf], times + interval_s)
    begin = times + SETTLED_FROM * (until - times)
    first = np.ceil(begin / step_s).astype(np.int64)
    last = np.floor((until - max(GUARD_S, step_s)) / step_s).astype(np.int64) + 1
    first = np.clip(first, 0, level.size - 1)
    last = np.clip(np.maximum(last, first + 1), 1, level.size)
    total = np.r_[0.0, np.cumsum(level)]
    return (total[last] - total[first]) / (last - first), (last - first).astype(np.float64)


def unsettled(level: FloatArray, step_s: float, times: FloatArray, interval_s: float) -> float:
    """How far the settled parts still move: later halves less the whole, mean of the last 40 blows.

    Parameters
    ----------
    level : (n,)
        In even steps. [reading]
    step_s
        [s]
    times : (m,)
        Of blows, increasing, from the middle of the first sample. [s]
    interval_s
        Usual one. [s]

    Returns
    -------
    [reading]
    """
    times = times[-40:]
    whole, count = settled_levels(level, step_s, times, interval_s)
    later, fewer = settled_levels(level, step_s, times + 0.25 * interval_s, 0.75 * interval_s)
    return float(np.mean(later - whole)) if count.min() > 1 and fewer.min() > 0 else 0.0


def growth_of_blows(times: FloatArray, levels: FloatArray, start_s: float) -> tuple[FloatArray, FloatArray]:
    """Growth curve from blows (m,): the start, then every blow or an even choice of them.

    Parameters
    ----------
    times, levels : (m,)
        Of blows [s], and the settled level after each [reading].
    start_s
        On the same clock. [s]

    Returns
    -------
    Times since the start [s] and levels, (k,), k ≤ 401; the first is 0 at 0.
    """
    chosen = np.unique(np.linspace(0, times.size - 1, min(times.size, MOST_POINTS)).round().astype(np.int64))
    return np.r_[0.0, times[chosen] - start_s], np.r_[0.0, levels[chosen]]


def growth_of_samples(
    time: FloatArray, level: FloatArray, good: BoolArray, start_s: float
) -> tuple[FloatArray, FloatArray]:
    """Growth curve from samples (n,) after the start: the start, then means of at most 400 bins.

    Parameters
    ----------
    time, level : (n,)
        From the start on. [s, reading]
    good : (n,)
        Where a sample fell.
    start_s
        On the same clock. [s]

    Returns
    -------
    Times since the start [s] and levels, (k,), k ≤ 401; the first is 0 at 0.
    """
    time, level = time[good], level[good]
    each = max(1, -(-level.size // MOST_POINTS))
    whole = level.size // each * each
    at = time[:whole].reshape(-1, each).mean(axis=1) - start_s
    return np.r_[0.0, at], np.r_[0.0, level[:whole].reshape(-1, each).mean(axis=1)]
