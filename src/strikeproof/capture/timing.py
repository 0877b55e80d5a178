"""The rhythm of a log's time stamps: its period, gaps, repeats, backward steps, and stamps too coarse."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from strikeproof.capture.log import Finding
from strikeproof.quantity import FloatArray

__all__ = ["Rhythm", "find_rhythm", "median_period"]

_LAG = 50


@dataclass(frozen=True, slots=True)
class Rhythm:
    """(n,) times [s] from the first sample, their median period [s], and findings by sample index."""

    time: FloatArray
    period: float
    findings: tuple[Finding, ...]


def median_period(time: FloatArray) -> float:
    """Median time a sample takes, over many samples at once so that rounded stamps do not spoil it. [s]"""
    lag = max(1, min(_LAG, len(time) // 20))
    return float(np.median(np.diff(time[::lag]))) / lag


def find_rhythm(time: FloatArray, rate: float | None = None) -> Rhythm | None:
    """What the stamps say of the sampling; None when they are too coarse to say anything.

    Parameters
    ----------
    time
        (n,) with n >= 2, from the first sample. [s]
    rate
        Sampling rate if known from elsewhere; it serves only where stamps must be spread. [Hz]
    """
    even = _spread(time, rate)
    if even is not None:
        period = median_period(even)
        return Rhythm(even, period, (_tell_spread(time, period), *_find_gaps(np.diff(even), period)))
    steps: FloatArray = np.diff(time)
    repeated, backward = np.flatnonzero(steps == 0), np.flatnonzero(steps < 0)
    coarse = 2 * repeated.size > steps.size
    if coarse and rate is not None:
        return _given_rhythm(time, rate)
    period = (time[-1] - time[0]) / len(steps) if coarse else median_period(time)
    if coarse and (period <= 0 or len(np.unique(time)) < 3):
        return None
    findings = [] if coarse or period <= 0 else [*_find_gaps(steps, period)]
    if repeated.size:
        detail = "time stamps that equal the one before, in no regular pattern; left as recorded"
        findings.append(Finding("repeated-time", None, int(repeated[0]) + 1, int(repeated.size), detail))
    if backward.size:
        detail = f"time steps back, by up to {-steps.min():.6g} s; left as recorded"
        findings.append(Finding("backward-time", None, int(backward[0]) + 1, int(backward.size), detail))
    return Rhythm(time, period, tuple(findings))


def _given_rhythm(time: FloatArray, rate: float) -> Rhythm:
    repeated = np.flatnonzero(np.diff(time) == 0)
    detail = f"the time stamps are too coarse to use; the samples are spread evenly at the {rate:g} Hz given"
    finding = Finding("repeated-time", None, int(repeated[0]) + 1, int(repeated.size), detail)
    return Rhythm(np.arange(len(time)) / rate, 1.0 / rate, (finding,))


def _find_gaps(steps: FloatArray, period: float) -> tuple[Finding, ...]:
    """Steps in which at least one sample is missing, beyond what repeats and rounded stamps explain."""
    if steps.max() <= 1.5 * period:
        return ()
    low, high = np.percentile(steps, (5, 95))
    jitter = high - low if high < 3 * period else 0.0
    moves = np.flatnonzero(steps != 0)
    missing = steps[moves] - np.diff(moves, prepend=-1) * period
    gaps = missing > 0.5 * period + jitter
    if not gaps.any():
        return ()
    longest = steps[moves[gaps]].max()
    detail = f"samples are missing for {missing[gaps].sum():.4g} s in all, {longest:.4g} s the longest step"
    return (Finding("gap", None, int(moves[gaps][0]) + 1, int(gaps.sum()), detail),)


def _spread(time: FloatArray, rate: float | None) -> FloatArray | None:
    """(n,) times [s] spread evenly where stamps are coarser than the sampling; None where they are not.

    A clock that counts in steps of q gives sample i the stamp q floor(i T / q) for a period T < q, so every
    stamp that is s above the one before counts for s / T samples, give or take one.
    """
    steps = np.diff(time)
    if np.any(steps < 0) or np.mean(steps == 0) < 0.2:
        return None
    starts = np.flatnonzero(np.diff(time, prepend=time[0] - 1.0) > 0)
    if len(starts) < 3:
        return None
    counts = np.diff(starts).astype(np.float64)[1:]
    lasts = np.diff(time[starts])[1:]  # of whole stamps only: the first and the last one are cut
    rough = _rough_period(counts, lasts)
    ends = np.array([starts[1], len(time) - starts[-1]])
    off = lasts / rough - counts
    early = off < -1.0 - 1e-6 - 0.1 * counts
    gaps = off > 1.5 + 0.1 * counts
    is_regular = (
        early.mean() <= 0.05 and 2 * gaps.sum() <= len(gaps) and gaps.sum() <= max(2, 0.05 * len(gaps))
    )
    if not is_regular or np.any(ends > counts.max() + 1):
        return None
    lost: FloatArray = np.zeros(len(time))
    lost[starts[2:][gaps]] = np.round(off[gaps])
    places: FloatArray = np.arange(len(time), dtype=np.float64) + np.cumsum(lost)
    period = _fitted_period(places[starts[1:]], time[starts[1:]])
    if rate is not None and abs(period * rate - 1) < 0.05:
        period = 1.0 / rate
    return np.asarray(places * period, dtype=np.float64)


def _rough_period(counts: FloatArray, lasts: FloatArray) -> float:
    """Period over all stamps that stand for about as many samples as most do. [s]"""
    rate = counts / lasts
    usual = np.abs(rate - np.median(rate)) <= 0.5 * np.median(rate) + 1.0 / lasts
    return float(lasts[usual].sum() / counts[usual].sum())


def _fitted_period(places: FloatArray, stamps: FloatArray) -> float:
    """Least-squares slope of the stamps against the sample at which each first shows. [s]"""
    centred = places - places.mean()
    return float(centred @ (stamps - stamps.mean()) / (centred @ centred))


def _tell_spread(time: FloatArray, period: float) -> Finding:
    repeated = np.flatnonzero(np.diff(time) == 0)
    detail = (
        f"{len(time) - repeated.size} time stamps for {len(time)} samples: the clock is coarser than the "
        f"sampling, so the samples are spread evenly, {period:.6g} s apart"
    )
    return Finding("repeated-time", None, int(repeated[0]) + 1, int(repeated.size), detail)
