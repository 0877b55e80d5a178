"""Single blows in an even trace: their usual interval, and the blows themselves."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from scipy import fft

from strikeproof.kernels import kernel
from strikeproof.quantity import FloatArray, IntArray
from strikeproof.trace.fronts import Rising, front_strength, matched_strength
from strikeproof.trace.zero import middle

__all__ = [
    "FEWEST",
    "INTERVALS_S",
    "LIKELY",
    "SURE",
    "Blows",
    "between_samples",
    "fill_train",
    "find_blows",
    "move_to_first",
    "pick_peaks",
    "pick_strong",
    "usual_interval",
    "usual_profile",
]

SURE = 4.8  # noise deviations that make a blow: one false one in about a hundred runs
LIKELY = 3.2  # enough where the train says that a blow is due
INTERVALS_S = (1 / 90, 1 / 5)  # hammers strike 5 to 90 times a second (common practice, no source)
STEEPER = 4.0  # noise deviations over what lies between, which chance among so many samples does not reach
FEWEST = 5  # blows that make a train


@dataclass(frozen=True, slots=True, eq=False)
class Blows:
    """Times (m,) since the grid's first sample [s], strength (m,) over the noise, usual interval [s]."""

    times: FloatArray
    strength: FloatArray
    interval_s: float


def find_blows(rising: Rising, *, nominal_rate_hz: float | None) -> Blows | None:
    """The blows of a rising level, or None when no train of them can be seen.

    Blows come as the strongest fronts at least 0.6 intervals apart, first fronts before their own
    ringing; then by the shape that these have in common (a matched filter); then weaker ones where the
    train has a hole, and second strikes that stand out of the usual ringing.

    Parameters
    ----------
    rising
        The level with its noise.
    nominal_rate_hz
        Of the tool, where it is known: intervals are then looked for from 0.4 to 2.5 of its own. [Hz]

    References
    ----------
    Derived here; how often it is right is in docs/detector.md.
    """
    strength = front_strength(rising)
    interval = usual_interval(strength[rising.quiet :], rising.step_s, nominal_rate_hz)
    if interval is None:
        return None
    span = max(1, round(interval / rising.step_s))
    peaks = pick_strong(strength, span)
    if peaks.size < FEWEST or not _stand_out(strength, peaks):
        return None
    reach = round(min(0.25 * interval, 0.008) / rising.step_s)
    peaks = np.unique(move_to_first(strength, peaks, reach, SURE))
    strength, peaks = _look_again(rising, strength, peaks, span)
    peaks = fill_train(strength, peaks, usual_profile(strength, peaks, span), span, SURE, LIKELY)
    within = between_samples(strength, peaks)
    onset = _onset(rising.level, peaks, max(3, reach), max(1.0, 0.003 / rising.step_s)) - float(
        np.mean(within)
    )
    times = (peaks + within + onset) * rising.step_s
    return Blows(times, strength[peaks], float(np.median(np.diff(times))))


def pick_strong(strength: FloatArray, span: int) -> IntArray:
    """The strongest fronts that are sure, at least 0.6 of a usual interval (`span`) apart.

    Parameters
    ----------
    strength : (n,)
        Over the noise.
    span
        Samples to a usual interval.

    Returns
    -------
    In order of time, (m,).
    """
    peaks: IntArray = pick_peaks(strength, _tops(strength, SURE), max(1, int(0.6 * span)))
    return peaks


def _stand_out(strength: FloatArray, peaks: IntArray) -> bool:
    """Whether the fronts stand over what lies between them too: on a steady slope none does."""
    between = strength[peaks[0] : peaks[-1] + 1 : max(1, (peaks[-1] - peaks[0]) // 4096)]
    return middle(strength[peaks]) - middle(between) > STEEPER


def _look_again(
    rising: Rising, strength: FloatArray, peaks: IntArray, span: int
) -> tuple[FloatArray, IntArray]:
    """Strength and peaks by the blows' common shape, twice if the first look changed much."""
    for _ in range(2):
        matched = matched_strength(rising, strength, peaks, span)
        found = peaks if matched is None else pick_strong(matched, span)
        if matched is None or found.size < FEWEST:
            break
        settled = abs(found.size - peaks.size) <= 0.03 * peaks.size
        strength, peaks = matched, found
        if settled:
            break
    return strength, peaks


def usual_interval(strength: FloatArray, step_s: float, nominal_rate_hz: float | None) -> float | None:
    """The shortest lag at which the fronts repeat nearly as well as at any. [s]

    Parameters
    ----------
    strength : (n,)
        Over the noise.
    step_s
        Of the grid, > 0. [s]
    nominal_rate_hz
        Of the tool, where it is known. [Hz]

    Returns
    -------
    None where no lag stands out or the log is shorter than four of the longest.

    References
    ----------
    Derived here from the autocovariance of the fronts (docs/detector.md, step 5).
    """
    shortest, longest = INTERVALS_S
    if nominal_rate_hz is not None:
        shortest, longest = max(shortest, 0.4 / nominal_rate_hz), min(longest, 2.5 / nominal_rate_hz)
    low, high = max(2, int(shortest / step_s)), int(longest / step_s) + 2
    if strength.size < 4 * high:
        return None
    likeness = _likeness(strength, max(1, round(0.003 / step_s)), high + 2)
    inner = likeness[low : high + 1]
    top = (inner >= likeness[low - 1 : high]) & (inner > likeness[low + 1 : high + 2])
    lags = np.flatnonzero(top & (inner >= 0.6 * inner[top].max(initial=0.0)) & (inner > 0))
    return (low + int(lags[0])) * step_s if lags.size else None


def _likeness(strength: FloatArray, blur: int, lags: int) -> FloatArray:
    """Autocovariance of the fronts, held to their usual height and blurred by the scatter of intervals."""
    tall = strength[strength > SURE]
    if not tall.size:
        return np.zeros(lags)
    fronts = np.where(strength > LIKELY, np.minimum(strength, np.median(tall)), 0.0)
    total = np.r_[0.0, np.cumsum(fronts)]
    fronts = total[blur:] - total[:-blur]
    size = fft.next_fast_len(fronts.size + lags, real=True)
    power = np.abs(fft.rfft(fronts - fronts.mean(), size)) ** 2
    return np.asarray(fft.irfft(power, size)[:lags], dtype=np.float64)


def _tops(strength: FloatArray, above: float) -> IntArray:
    """Local maxima above a bound, the strongest first."""
    middle = strength[1:-1]
    tops = 1 + np.flatnonzero((middle > above) & (middle >= strength[:-2]) & (middle > strength[2:]))
    return np.asarray(tops[np.argsort(-strength[tops], kind="stable")], dtype=np.int64)


def between_samples(strength: FloatArray, peaks: IntArray) -> FloatArray:
    """Offset of the parabola's top from each peak, in samples.

    Parameters
    ----------
    strength : (n,)
        Over the noise.
    peaks : (m,)
        Samples of local maxima.

    Returns
    -------
    (m,), from -0.5 to 0.5.
    """
    inner = np.clip(peaks, 1, strength.size - 2)
    left, middle, right = strength[inner - 1], strength[inner], strength[inner + 1]
    bend = np.minimum(left - 2 * middle + right, -1e-12)
    return np.asarray((0.5 * (left - right) / bend).clip(-0.5, 0.5), dtype=np.float64)


def _onset(level: FloatArray, peaks: IntArray, reach: int, furthest: float) -> float:
    """Samples from the peaks to where the blows' mean course has risen by a tenth: the strike."""
    some = peaks[(peaks >= 2 * reach) & (peaks + reach < level.size)]
    if some.size < FEWEST:
        return 0.0
    around = level[some[:, None] + np.arange(-2 * reach, reach + 1)]
    course = np.median(around - around[:, :reach].mean(axis=1, keepdims=True), axis=0)
    highest = float(course.max())
    risen = int(np.argmax(course >= 0.5 * highest))
    low = np.flatnonzero(course[:risen] < 0.1 * highest)
    if not low.size:
        return 0.0
    foot = int(low[-1])
    rest = (0.1 * highest - course[foot]) / (course[foot + 1] - course[foot])
    return float(np.clip(foot + rest - 2 * reach, -furthest, furthest))


def usual_profile(strength: FloatArray, peaks: IntArray, span: int) -> FloatArray:
    """Usual strength after a blow over the blow's own, up to `span` later: ringing, not second strikes.

    Parameters
    ----------
    strength : (n,)
        Over the noise.
    peaks : (m,)
        Samples of the blows.
    span
        Samples to a usual interval.

    Returns
    -------
    (span + 1,), 0 or more; all 0 with fewer than five blows.
    """
    some = peaks[peaks + span < strength.size][:: max(1, peaks.size // 150)]
    if some.size < 5:
        return np.zeros(span + 1)
    around = strength[some[:, None] + np.arange(span + 1)] / strength[some][:, None]
    return np.asarray(np.quantile(around, 0.6, axis=0).clip(min=0.0), dtype=np.float64)


@kernel()
def pick_peaks(strength, tops, apart):  # type: ignore[no-untyped-def]
    """Of tops in falling order, those with no stronger one closer than `apart`, in order of time.

    Parameters
    ----------
    strength : (n,)
        Over the noise.
    tops : (k,)
        Samples of local maxima, the strongest first.
    apart
        Samples, 1 or more.

    Returns
    -------
    (m,)
    """
    taken = np.zeros(strength.size, np.bool_)
    kept = np.zeros(strength.size, np.bool_)
    for top in tops:
        if not taken[top]:
            kept[top] = True
            taken[max(0, top - apart) : top + apart + 1] = True
    return np.flatnonzero(kept)


@kernel()
def move_to_first(strength, peaks, reach, above):  # type: ignore[no-untyped-def]
    """Move each peak to the earliest front within `reach` before it that is half as strong.

    Parameters
    ----------
    strength : (n,)
        Over the noise.
    peaks : (m,)
        Samples of the blows.
    reach
        Samples.
    above
        Least strength of a front.

    Returns
    -------
    (m,), not all different.
    """
    out = peaks.copy()
    for k in range(peaks.size):
        floor = max(above, 0.5 * strength[peaks[k]])
        for i in range(max(1, peaks[k] - reach), peaks[k]):
            top = strength[i] >= strength[i - 1] and strength[i] > strength[i + 1]
            apart = strength[i : peaks[k]].min() < 0.6 * strength[i]  # no wiggle on the peak's own slope
            if strength[i] > floor and top and apart:
                out[k] = i
                break
    return out


@kernel()
def fill_train(strength, peaks, profile, span, sure, likely):  # type: ignore[no-untyped-def]
    """Add second strikes between blows, and weak blows where one is due, to `peaks` in order of time.

    Parameters
    ----------
    strength : (n,)
        Over the noise.
    peaks : (m,)
        Samples of the blows, in order of time.
    profile : (span + 1,)
        Usual ringing, as `usual_profile` gives it.
    span
        Samples to a usual interval.
    sure, likely
        Strength that makes a blow by itself, and one where a blow is due.

    Returns
    -------
    More than m, or as many, in order of time.
    """
    out = np.empty(strength.size, np.int64)
    count = 0
    for k in range(peaks.size):
        here = peaks[k]
        out[count] = here
        count += 1
        until = peaks[k + 1] if k + 1 < peaks.size else min(here + span, strength.size - 1)
        local = strength[here] if k + 1 == peaks.size else min(strength[here], strength[until])
        while until - here > 1.5 * span:
            found, most = -1, likely
            for i in range(here + int(0.75 * span), min(here + int(1.25 * span) + 1, until - span // 2)):
                if strength[i] > most and strength[i] >= 0.2 * local:
                    found, most = i, strength[i]
            here = found if found >= 0 else here + span
            if found >= 0:
                out[count] = found
                count += 1
        here = peaks[k]
        found, most = -1, max(sure, 0.4 * local, 0.25 * strength[peaks[k]])
        for i in range(here + int(0.2 * span), min(here + int(0.75 * span), until - int(0.2 * span))):
            left = strength[i] - 1.3 * strength[here] * profile[i - here]
            if left > most and strength[i] >= strength[i - 1] and strength[i] > strength[i + 1]:
                found, most = i, left
        if found >= 0:
            out[count] = found
            count += 1
    return np.unique(out[:count])
