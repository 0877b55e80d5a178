"""A slow rise out of a quiet zero, separated from a zero that drifts; and when a rise began."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from strikeproof.quantity import BoolArray, FloatArray
from strikeproof.trace.rise_fit import (
    fit_held_rise,
    fit_rise,
    fit_rises,
    polynomial_misfits,
    sigmoid_misfit,
    swing_misfit,
)
from strikeproof.trace.zero import robust_sd

__all__ = ["Onset", "Rise", "find_onset", "find_rise", "longest_row", "may_be_swing"]

MOST_BLOCKS = 240  # of a log that are looked at: a slow rise needs no more
NEARLY = 0.9  # of the largest height: what comes after may be a rest
LASTING_S = 1.0  # a knock is over by then
QUIET_S = 0.3  # before a rise, at the least
LEAST_SD = 8.0  # noise deviations that a rise is high: noise alone never gets there
STRAIGHT = 6.0  # noise variances by which a rise must fit better than a straight line
CURVED = 2.0  # the same for a parabola
SMOOTHER = 9.0  # by which a cubic must not fit better than a rise
HELD_STRAIGHT, HELD_CURVED, HELD_SMOOTHER = 5.0, 3.5, 6.0  # of a rise that is held after that
STILL_UP = 0.8  # of the largest height: the load is still on
SWINGS = 1.5  # noise variances that a swing may leave, to be one
SURE = 6.0  # noise variances by which a rise must fit better than any smooth course, to be no drift


@dataclass(frozen=True, slots=True)
class Rise:
    """First sample of a rise, +1 when the reading rises, how far it goes, and whether a zero that drifts
    explains it as well."""

    first: int
    sign: int
    height: float
    maybe_drift: bool


@dataclass(frozen=True, slots=True)
class Onset:
    """When a rise began, in samples, its standard uncertainty, and whether it leaps as from a blow."""

    at: float
    uncertainty: float
    leaps: bool


def find_rise(level: FloatArray, step_s: float) -> Rise | None:
    """Where the level (n,) leaves a quiet zero, however slowly; None where it does not, or only drifts.

    Until it is nearly as far off as it ever gets, a zero followed by a rise must fit the level better than a
    straight line and a parabola, and no worse than a cubic: a zero drifts smoothly, from the first sample on.
    Or the same must hold as long as the load is on, of a rise that is held when it is over: its second
    corner says as much as the first. It stays away for longer than a knock: knocks that each fall back to
    the zero gain nothing.

    Parameters
    ----------
    level : (n,)
        In even steps. [reading]
    step_s
        [s]

    References
    ----------
    Derived here; how often it is right is in docs/detector.md.
    """
    each = max(1, -(-level.size // MOST_BLOCKS))
    blocks = level[: level.size // each * each].reshape(-1, each).mean(axis=1)
    lasting = max(5, round(LASTING_S / (each * step_s))) | 1
    if blocks.size < 3 * lasting:
        return None
    course = _running_median(blocks, lasting)
    off = np.abs(course - np.median(course[:lasting]))
    until = int(np.argmax(off >= NEARLY * off.max())) + 1
    scatter = 5 * robust_sd(blocks - course)
    blocks = np.clip(blocks, course - scatter, course + scatter)
    quiet = max(2, round(QUIET_S / (each * step_s)))
    if until < quiet + lasting:
        return None
    misfit, first, zero = fit_rise(blocks[:until], quiet)
    height = float(course[until - 1] - zero) / NEARLY
    variance = max(misfit / until, 1e-300)
    noise = min(_noise(level, first * each), float(np.sqrt(variance * each)))
    if (
        longest_row((course - zero) * np.sign(height) > 0.5 * abs(height)) < lasting
        or abs(height) < LEAST_SD * noise
        or _swings(blocks, variance, quiet, lasting)
    ):
        return None
    rises = _stands_out(blocks[:until], misfit, (STRAIGHT, CURVED, SMOOTHER))
    if rises and not _is_smooth(blocks[:until], misfit):
        return Rise(first * each, 1 if height > 0 else -1, abs(height), False)
    loaded = blocks[: int(np.flatnonzero(off >= STILL_UP * off.max())[-1]) + 1]
    held = fit_held_rise(loaded, quiet, lasting)
    holds = held is not None and _stands_out(loaded, held.misfit, (HELD_STRAIGHT, HELD_CURVED, HELD_SMOOTHER))
    if held is None or not (rises or holds):
        return None
    maybe_drift = not holds or _is_smooth(loaded, held.misfit)
    return Rise((first if rises else held.first) * each, 1 if height > 0 else -1, abs(height), maybe_drift)


def _running_median(values: FloatArray, width: int) -> FloatArray:
    padded = np.pad(values, width // 2, mode="edge")
    return np.asarray(np.median(np.lib.stride_tricks.sliding_window_view(padded, width), axis=1))


def longest_row(marks: BoolArray) -> int:
    """How many of the marks (n,) are set in a row, at the most."""
    edges = np.flatnonzero(np.diff(np.r_[False, marks, False].astype(np.int8)))
    return int((edges[1::2] - edges[::2]).max(initial=0))


def _noise(level: FloatArray, quiet: int) -> float:
    """Scatter of one sample: by differences too where there are few quiet ones."""
    sd = robust_sd(level[:quiet])
    return sd if quiet >= 12 else max(sd, robust_sd(np.diff(level)) / np.sqrt(2))


def _stands_out(level: FloatArray, misfit: float, bounds: tuple[float, float, float]) -> bool:
    """Whether a rise that leaves this misfit explains the level better than a zero that drifts."""
    variance = max(misfit / level.size, 1e-300)
    line, parabola, cubic = polynomial_misfits(level)
    return bool(
        line - misfit >= bounds[0] * variance
        and parabola - misfit >= bounds[1] * variance
        and misfit - cubic <= bounds[2] * variance
    )


def _is_smooth(level: FloatArray, misfit: float) -> bool:
    """Whether a cubic or a logistic curve explains the level about as well as a rise with this misfit."""
    smooth = min(polynomial_misfits(level)[2], sigmoid_misfit(level))
    return smooth - misfit < SURE * max(misfit / level.size, 1e-300)


def _swings(level: FloatArray, variance: float, quiet: int, lasting: int) -> bool:
    """Whether all of the level (n,) is one slow swing, which mains hum leaves at a low sample rate.

    Not so where a rise that is held fits all of it better.
    """
    left = swing_misfit(level, 0.8)
    if left >= SWINGS * variance * level.size:
        return False
    held = fit_held_rise(level, quiet, lasting)
    return held is None or left < held.misfit


def may_be_swing(level: FloatArray, step_s: float) -> bool:
    """Whether one slow swing, or a part of one, explains a level about as well as a rise that is held.

    Parameters
    ----------
    level : (n,)
        At even steps. [reading]
    step_s
        Between them. [s]
    """
    each = max(1, -(-level.size // MOST_BLOCKS))
    blocks = level[: level.size // each * each].reshape(-1, each).mean(axis=1)
    lasting, quiet = (max(2, round(time / (each * step_s))) for time in (LASTING_S, QUIET_S))
    variance = robust_sd(np.diff(blocks, 2)) ** 2 / 6.0
    left = swing_misfit(blocks, 0.1)
    if left >= SWINGS * variance * blocks.size:
        return False
    held = fit_held_rise(blocks, quiet, lasting)
    return held is None or left - held.misfit < SURE * max(held.misfit / blocks.size, 1e-300)


def find_onset(level: FloatArray, quiet: int, height: float, stair: float) -> Onset:
    """When a level (n,) whose first `quiet` samples are still leaves them for good, to rise by `height`.

    A leap is between two samples. A climb of a few samples is followed back to the zero along a line, a slow
    rise by a parabola from each start, weighted by how well it fits. Blows that are not seen, one in `stair`
    samples, leave it open by one.

    Parameters
    ----------
    level : (n,)
        In even steps, rising. [reading]
    quiet
        Samples before the start, 1 or more.
    height
        > 0. [reading]
    stair
        Usual interval of blows. [samples]

    References
    ----------
    Derived here; the crossing of a fitted line: JCGM 100:2008 (GUM), eq. 10.
    """
    still = level[:quiet]
    zero, sd = float(np.median(still)), float(np.std(still))
    bound = max(5 * sd, 0.01 * height)
    first = _first_above(level, zero + bound, quiet)
    slow = _first_above(level, zero + 2 * bound, first) - first
    if slow <= 1:
        while first > quiet and level[first - 1] - zero > 4 * sd:
            first -= 1
        return _follow_back(level - zero, first, sd, stair) or Onset(first - 0.5, 1 / np.sqrt(12), True)
    until = max(_first_above(level, zero + min(4 * bound, 0.9 * height), first) + 1, first + 8)
    begin = max(0, min(first - 8 * slow, quiet - 8))
    each = max(1, -(-(until - begin) // MOST_BLOCKS))
    part = level[begin : begin + (until - begin) // each * each].reshape(-1, each).mean(axis=1)
    starts = np.linspace(1, min((first - begin) / each + 1, part.size - 3), 200)
    misfit, _ = fit_rises(part, starts)
    variance = max(misfit.min() / max(part.size - 4, 1), sd**2 / each, 1e-300)
    weight = np.exp((misfit.min() - misfit) / (2 * variance))
    mean = float(np.average(starts, weights=weight))
    spread = float(np.average((starts - mean) ** 2, weights=weight))
    at = begin + (mean + 0.5) * each - 0.5
    return Onset(at, float(np.sqrt(each**2 * (spread + 1 / 12) + stair**2 / 12)), False)


def _follow_back(net: FloatArray, first: int, sd: float, stair: float) -> Onset | None:
    """Where a straight climb of the level (n,) net of zero, plain from sample `first` on, left the zero.

    A steep climb takes a sample or two to clear the noise. Its line through four samples meets the zero with
    the uncertainty of a crossing of a fitted line. None where it leaps, which the sample before would show.
    """
    climb = net[first : first + 4]
    if climb.size < 4:
        return None
    off = np.arange(4) - 1.5
    mean, slope = float(climb.mean()), float(off @ climb) / 5
    misfit = float(np.abs(climb - mean - slope * off).max())
    unseen = mean - 2.5 * slope - max(float(net[first - 1]), 0.0)
    if slope <= 4 * sd / np.sqrt(5) or unseen > 5 * sd or misfit > max(4 * sd, 0.25 * slope):
        return None
    back = mean / slope
    variance = (sd / slope) ** 2 * (1 / 4 + back**2 / 5) + stair**2 / 12
    return Onset(first + 1.5 - back, float(np.sqrt(variance)), False)


def _first_above(level: FloatArray, bound: float, begin: int) -> int:
    above = level[begin:] > bound
    return begin + int(np.argmax(above)) if above.any() else begin
