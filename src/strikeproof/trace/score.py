"""The score of a run by the campaign's rule, with its standard uncertainty."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from strikeproof.quantity import FloatArray
from strikeproof.trace.records import TraceSettings
from strikeproof.trace.samples import Grid
from strikeproof.trace.zero import Zero, noise_of_mean

__all__ = [
    "TYPICAL_INTERVAL_S",
    "Course",
    "Score",
    "estimate_last_level",
    "find_score",
    "rounding_uncertainty",
]

MOST_ITEMS = 16  # levels that enter an estimate; over more of them growth is no parabola
WALK_ITEMS = 40  # levels that show how steps scatter
TYPICAL_INTERVAL_S = 1 / 25  # between blows where they cannot be seen (common practice, no source)


@dataclass(frozen=True, slots=True, eq=False)
class Course:
    """A run's level net of zero: on the grid, and after each blow (m,) where blows can be seen.

    `start_u` is the standard uncertainty of the start where no train shows it [s], `starts_with_blow` whether
    it is the time of a blow and not the foot of a slow rise, `blow_noise` the variance of a settled level
    from noise alone; `end_s` the last blow, None where not seen; `unsettled` how far settled levels still
    move; `zero_shift` how far the zero was off after the run, None where not seen.
    """

    grid: Grid
    zero: Zero
    start_s: float
    start_u: float
    starts_with_blow: bool
    end_s: float | None
    blow_times: FloatArray
    blow_levels: FloatArray
    blow_noise: float
    interval_s: float | None
    unsettled: float
    resolution: float
    zero_shift: float | None

    @property
    def log_end_s(self) -> float:
        """Time of the last sample. [s]"""
        return self.grid.begin_s + self.grid.step_s * (self.grid.level.size - 1)


@dataclass(frozen=True, slots=True)
class Score:
    """A score with its standard uncertainty, or None and the reason why."""

    value: float | None
    uncertainty: float | None
    reason: str


def find_score(course: Course, settings: TraceSettings) -> Score:
    """The score by the campaign's rule.

    Parameters
    ----------
    course
        Level net of zero, with what is known of its start, end and blows.
    settings
        The rule, and the length of the window.

    References
    ----------
    docs/detector.md, step 7; uncertainties combine after JCGM 100:2008 (GUM), eq. 10.
    """
    rule, duration = settings.score, settings.duration_s
    if rule.kind == "time to":
        return _time_to(course, float(settings.level_reading or 0.0), duration)
    if rule.kind == "peak":
        at = _time_of_peak(course, duration)
        return _level_score(course, at, f"highest settled level, {at - course.start_s:.2f} s after the start")
    after = duration if rule.kind == "end" else float(rule.at_s or 0.0)
    at, missing = course.start_s + after, course.start_s + after - course.log_end_s
    if rule.kind == "at" and missing > 2 * course.grid.step_s:
        return Score(None, None, f"the log ends {missing:.2f} s before the time of the score rule")
    said = f"level {after:g} s after the start"
    if missing > 0.02 * duration:
        said = f"level at the end of the log, {missing:.2f} s short of the timed window"
    elif course.end_s is not None and course.end_s < at - 0.05 * duration:
        said += f", held since hammering ended after {course.end_s - course.start_s:.2f} s"
    return _level_score(course, min(at, course.log_end_s), said)


def _level_score(course: Course, at: float, said: str) -> Score:
    value, variance = _level_at(course, at)
    moved = course.start_u * _slope_at(course, at)
    return Score(value, float(np.sqrt(variance + moved**2 + _common_variance(course, at))), said)


def _slope_at(course: Course, at: float) -> float:
    """How fast the level moves in the second before a time, or in eight samples. [reading/s]"""
    if course.start_u == 0:
        return 0.0
    grid, last = course.grid, max(course.grid.index(at), 2)
    half = min(max(4, round(0.5 / grid.step_s)), last // 2)
    later, earlier = grid.level[last - half : last], grid.level[last - 2 * half : last - half]
    return float(later.mean() - earlier.mean()) / (half * grid.step_s)


def _common_variance(course: Course, at: float) -> float:
    """Variance of what all levels share: the zero, its creep or shift, and rounding of both readings."""
    shift = abs(course.zero_shift or 0.0) / np.sqrt(3)  # up to all of it, rectangular (GUM 4.3.7)
    parts = (
        course.zero.uncertainty,
        course.zero.creep(at - course.start_s),
        shift,
        course.unsettled / np.sqrt(3),
        np.sqrt(2) * rounding_uncertainty(course.resolution, course.zero.sd),
    )
    return float(sum(part**2 for part in parts))


def rounding_uncertainty(resolution: float, sd: float) -> float:
    """Standard uncertainty left in a mean of rounded readings (GUM F.2.2.1), which noise `sd` dithers away.

    The factor exp(-2 pi^2 sd^2 / q^2) is that of the first harmonic of the rounding error's mean: Widrow &
    Kollár, *Quantization Noise*, 2008, from memory.

    Parameters
    ----------
    resolution
        Step of the converter; 0 or less where there is none. [reading]
    sd
        Of one sample. [reading]
    """
    if resolution <= 0:
        return 0.0
    return float(resolution / np.sqrt(12) * np.exp(-2 * (np.pi * sd / resolution) ** 2))


def _level_at(course: Course, at: float) -> tuple[float, float]:
    """Level at a time and its variance from noise and the scatter of steps."""
    pause = max(0.1, 2.5 * (course.interval_s or 0.0))
    struck = int(np.searchsorted(course.blow_times, at, side="right"))
    if struck >= 3 and _unbroken(course.blow_times[max(struck - MOST_ITEMS, 0) : struck], at, course):
        return estimate_last_level(course.blow_levels[:struck], course.blow_noise, lag=0.0)
    return _level_of_samples(course, at, pause)


def _unbroken(times: FloatArray, at: float, course: Course) -> bool:
    """Whether the last blows (m,) up to a time lack none: their levels are steps of one stair."""
    longest = float(np.diff(times, append=at).max())
    ended = course.end_s is not None and at > course.end_s
    return longest <= (2.5 if ended else 1.6) * (course.interval_s or 0.0)


def _level_of_samples(course: Course, at: float, pause: float) -> tuple[float, float]:
    """Level at a time from the samples before it, back to the start or to the end of hammering."""
    grid = course.grid
    last = max(grid.index(at + 1e-9 * grid.step_s), 1)
    held = course.end_s is not None and at > course.end_s + pause
    since = (course.end_s or 0.0) + 0.05 if held else course.start_s
    span = max(0.5, 20 * grid.step_s)
    first = min(max(grid.index(since), last - int(span / grid.step_s)), last - 1)
    level = grid.level[first:last][grid.good[first:last]]
    if not level.size:
        level = grid.level[last - 1 : last]
    size = max(1, level.size // WALK_ITEMS)
    whole = level.size // size * size
    batches = level[level.size - whole :].reshape(-1, size).mean(axis=1)
    behind = (at - grid.begin_s) / grid.step_s - (last - 1) + (size - 1) / 2  # middle of the last batch
    return estimate_last_level(batches, noise_of_mean(course.zero.quiet, size), lag=behind / size)


def estimate_last_level(levels: FloatArray, noise: float, *, lag: float) -> tuple[float, float]:
    """Last level of a smooth course whose steps scatter, seen through noise, and its variance.

    Generalised least squares (Aitken 1935): level k before the last is F - s (k + lag) + c (k + lag)^2, off
    by `noise` and by the scatter of the steps between, v min(j, k); v from the second differences of `levels`
    (m,), whose mean square is 2 v + 6 noise.

    Parameters
    ----------
    levels : (m,)
        In order of time, evenly apart. [reading]
    noise
        Variance of one level. [reading²]
    lag
        How far behind the wanted time the last level is, in levels.

    Returns
    -------
    Level [reading] and variance [reading²]; with fewer than six levels the last one.
    """
    if levels.size < 6:
        return float(levels[-1]), noise + (float(np.var(levels)) if levels.size > 1 else 0.0)
    bends = np.diff(levels[-WALK_ITEMS:], 2)
    walk = max(float(np.mean(bends**2)) - 6 * noise, 0.0) / 2
    levels = levels[-MOST_ITEMS:]
    floor = 1e-18 * float(np.max(levels**2)) + 1e-300
    back = np.arange(levels.size)[::-1] + lag
    covariance = walk * np.minimum.outer(back, back) + (noise + floor) * np.eye(levels.size)
    design = np.vander(back, 3 if levels.size > 8 else 2, increasing=True)
    weighted = np.linalg.solve(covariance, design)
    spread = np.linalg.inv(design.T @ weighted)
    return float((spread @ (weighted.T @ levels))[0]), float(spread[0, 0])


def _time_of_peak(course: Course, duration: float) -> float:
    """When the level, smoothed over five blows or a quarter second, is highest within the window."""
    until = min(course.start_s + duration, course.log_end_s)
    grid = course.grid
    a, b = grid.index(course.start_s), max(grid.index(until), grid.index(course.start_s) + 1)
    width = max(3, round(5 * (course.interval_s or 0.05) / grid.step_s))
    level = grid.level[a:b]
    if level.size <= width:
        return until
    total = np.r_[0.0, np.cumsum(level)]
    top = int(np.argmax(total[width:] - total[:-width]))
    return min(until, course.start_s + (top + width) * grid.step_s)


def _time_to(course: Course, target: float, duration: float) -> Score:
    """Seconds from the start to the blow that brings the level to `target`."""
    seen = course.blow_times.size >= 5
    times, levels, noise = _items(course, duration, target)
    reached = np.flatnonzero(levels >= target)
    if not reached.size:
        top = float(levels.max(initial=0.0))
        return Score(None, None, f"the level {target:g} was not reached (highest {top:.4g})")
    k = _first_lasting(levels, target, int(reached[0]))
    interval = course.interval_s or TYPICAL_INTERVAL_S
    at, u_level, slope = _crossing(times, levels, k, target, noise)
    u = np.sqrt(u_level**2 + _common_variance(course, at)) / max(slope, 1e-300)
    if seen:
        at = float(times[min(int(np.searchsorted(times, at - 1e-9)), times.size - 1)])
        count = u / interval  # blows that the crossing may be off: one wrong costs a whole interval
        variance = u**2 + interval**2 * (count if count < 1 / 12 else 1 / 12)
    else:
        at += interval / 2 if course.starts_with_blow else 0.0  # else the start is as much before its blow
        variance = u**2 + interval**2 / 12 + course.grid.step_s**2 / 12 + course.start_u**2
    return Score(at - course.start_s, float(np.sqrt(variance)), f"seconds to reach a level of {target:g}")


def _items(course: Course, duration: float, target: float) -> tuple[FloatArray, FloatArray, float]:
    """Times and levels of blows, else means of samples so long that they rise plainly where they cross the
    target; and the variance of a level from noise."""
    if course.blow_times.size >= 5:
        return course.blow_times, course.blow_levels, course.blow_noise
    length = SHORTEST_MEAN_S
    times, levels, noise = _means(course, duration, length)
    while length < LONGEST_MEAN_S and not _rises_plainly(levels, target, noise):
        length *= 2
        times, levels, noise = _means(course, duration, length)
    return times, levels, noise


SHORTEST_MEAN_S, LONGEST_MEAN_S = 0.02, 1.0


def _means(course: Course, duration: float, length: float) -> tuple[FloatArray, FloatArray, float]:
    grid = course.grid
    a, b = grid.index(course.start_s), grid.index(course.start_s + duration)
    each = max(1, round(length / grid.step_s))
    whole = (b - a) // each * each
    times = grid.time()[a : a + whole].reshape(-1, each).mean(axis=1)
    levels = grid.level[a : a + whole].reshape(-1, each).mean(axis=1)
    return times, levels, noise_of_mean(course.zero.quiet, each)


def _rises_plainly(levels: FloatArray, target: float, noise: float) -> bool:
    """Whether six levels about the crossing rise by six deviations of their noise."""
    reached = np.flatnonzero(levels >= target)
    if not reached.size:
        return False
    k = _first_lasting(levels, target, int(reached[0]))
    part = levels[max(0, k - 3) : k + 3]
    return bool(part[-1] - part[0] > 6 * np.sqrt(noise))


def _first_lasting(levels: FloatArray, target: float, first: int) -> int:
    """The first item from which on the median of three items is at the target: one stray item is not it."""
    for k in range(first, levels.size - 2):
        if np.median(levels[k : k + 3]) >= target:
            return k
    return first


def _crossing(
    times: FloatArray, levels: FloatArray, k: int, target: float, noise: float
) -> tuple[float, float, float]:
    """Time at which a line through items around `k` meets the target, uncertainty of its level, and slope."""
    if k == 0:
        return float(times[0]), float(np.sqrt(noise)), max(float(levels[0]), 1e-300) / 0.02
    step = abs(float(levels[min(k + 1, levels.size - 1)] - levels[k - 1])) / 2
    reach = int(np.clip(np.ceil(2 * np.sqrt(noise) / max(step, 1e-300)), 1, 12))
    a, b = max(0, k - reach), min(levels.size, k + reach)
    middle = float(times[a:b].mean())
    off = times[a:b] - middle
    slope = max(float(off @ levels[a:b] / (off @ off)), np.sqrt(noise / (b - a)) / np.ptp(times[a:b]))
    at = middle + (target - float(levels[a:b].mean())) / slope
    return float(np.clip(at, times[a], times[b - 1])), float(np.sqrt(noise / (b - a))), slope
