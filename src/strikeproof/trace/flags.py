"""What to know before trusting a run. Each finder returns the flags it raises, none or some."""

from __future__ import annotations

from functools import reduce

import numpy as np

from strikeproof.kernels import kernel
from strikeproof.language import say, say_many, write_figures
from strikeproof.quantity import BoolArray, FloatArray
from strikeproof.trace.blows import SURE
from strikeproof.trace.records import Flag, TraceSettings
from strikeproof.trace.rise import may_be_swing
from strikeproof.trace.rise_fit import least_rise
from strikeproof.trace.samples import Grid, Samples
from strikeproof.trace.score import Course
from strikeproof.trace.wander import wandering
from strikeproof.trace.zero import noise_of_mean, robust_sd

__all__ = [
    "flag_clipping",
    "flag_doubtful_rise",
    "flag_flat",
    "flag_samples",
    "flag_short_zero",
    "flag_train",
    "flag_window",
    "flag_zero",
    "odd_intervals",
    "too_slow_for_blows",
]

SAMPLES_PER_BLOW = 5.0
LEAST_DEVIATIONS = 10.0  # of the noise: a rise of that is found where the log allows it
STEADY = 0.01  # of the height: what a level may change by and still stay
FASTEST_USUAL_HZ = 40.0  # where the tool's rate is unknown (common practice, no source)


def too_slow_for_blows(rate_hz: float, nominal_hz: float | None) -> bool:
    """Whether single blows cannot be seen at this sample rate.

    Parameters
    ----------
    rate_hz
        Samples a second. [Hz]
    nominal_hz
        Blows a second, where they are known; 40 otherwise. [Hz]
    """
    return rate_hz < SAMPLES_PER_BLOW * (nominal_hz or FASTEST_USUAL_HZ)


def flag_samples(samples: Samples) -> list[Flag]:
    """Missing, frozen, disordered and stray samples."""
    flags = []
    lost = _say_lost(samples)
    if lost:
        flags.append(Flag("dropout", lost))
    if samples.out_of_order or samples.repeated:
        text = say(
            "{backward} backward and {repeated} repeated times",
            backward=samples.out_of_order,
            repeated=samples.repeated,
        )
        flags.append(Flag("time-order", text))
    if samples.spikes:
        text = say_many("{count} stray sample left out", "{count} stray samples left out", samples.spikes)
        flags.append(Flag("spikes", text))
    return flags


def _say_lost(samples: Samples) -> str:
    """What is missing of the samples, empty where nothing is."""
    lost = []
    if samples.without_value:
        lost.append(
            say_many(
                "{count} sample without a value", "{count} samples without a value", samples.without_value
            )
        )
    if samples.gaps:
        lost.append(
            say_many(
                "{count} gap of {longest} s",
                "{count} gaps, the longest {longest} s",
                len(samples.gaps),
                longest=write_figures(f"{max(b - a for a, b in samples.gaps):.3g}"),
            )
        )
    if samples.frozen:
        lost.append(
            say(
                "frozen for {lasts} s from {first} s",
                lasts=write_figures(f"{sum(b - a for a, b in samples.frozen):.3g}"),
                first=write_figures(f"{samples.frozen[0][0]:.3f}"),
            )
        )
    return reduce(lambda before, end: before + "; " + end, lost) if lost else ""


def flag_window(course: Course, settings: TraceSettings) -> list[Flag]:
    """A window that the hammering or the log does not fill."""
    duration = settings.duration_s
    slack = max(0.05 * duration, 2 * course.grid.step_s)
    missing = course.start_s + duration - course.log_end_s
    length = course.log_end_s - course.grid.begin_s
    if course.end_s is not None and course.end_s - course.start_s < min(duration, duration - missing) - slack:
        text = say(
            "hammering lasted {lasted} s of {duration} s",
            lasted=write_figures(f"{course.end_s - course.start_s:.2f}"),
            duration=write_figures(f"{duration:g}"),
        )
        return [Flag("too-short", text)]
    if missing <= 0.02 * duration:
        return []
    if length < 0.98 * duration:
        text = say(
            "the log holds {length} s, the timed window is {duration} s",
            length=write_figures(f"{length:.2f}"),
            duration=write_figures(f"{duration:g}"),
        )
        return [Flag("too-short", text)]
    late = course.start_s - course.grid.begin_s
    text = say(
        "hammering begins {late} s into the log, which ends {missing} s early",
        late=write_figures(f"{late:.2f}"),
        missing=write_figures(f"{missing:.2f}"),
    )
    return [Flag("late-start", text)]


def flag_zero(course: Course, height: float, after_noise: float) -> list[Flag]:
    """A zero that is elsewhere after the run, or creeps before it.

    Parameters
    ----------
    course
        Its zero, and how far it was off after the run.
    height
        Largest excursion of the run. [reading]
    after_noise
        Variance of the reading after the run. [reading²]

    References
    ----------
    Bounds of 4 and 5 standard uncertainties, 0.5 and 1 % of the height: derived here (docs/detector.md).
    """
    zero, window = course.zero, (course.end_s or course.log_end_s) - course.start_s
    shift = course.zero_shift
    bound = 4 * np.sqrt(zero.uncertainty**2 + after_noise) + 0.005 * height + course.resolution
    if shift is not None and abs(shift) > bound:
        text = say("by {shift} from before to after the run", shift=write_figures(f"{shift:+.4g}"))
        return [Flag("zero-moved", text)]
    creep = zero.creep_per_s * window
    if abs(zero.creep_per_s) > 5 * zero.creep_uncertainty and abs(creep) > 0.01 * height:
        creeps = write_figures(f"{zero.creep_per_s:+.3g}")
        return [Flag("zero-moved", say("creeping by {creeps} a second before the start", creeps=creeps))]
    return []


def flag_short_zero(grid: Grid, window_s: float) -> list[Flag]:
    """A log in which no test could separate a rise of ten deviations of the noise from a zero that drifts.

    Parameters
    ----------
    grid
        The whole log.
    window_s
        Length of the timed window. [s]

    References
    ----------
    `least_rise`.
    """
    least = least_rise(grid.level.size * grid.step_s, grid.step_s, window_s)
    noise = robust_sd(np.diff(grid.level)) / np.sqrt(2)
    if least <= LEAST_DEVIATIONS or noise == 0:
        return []
    height = least * noise
    if not np.isfinite(least):
        return [Flag("short-zero", say("no rise would stand out of drift"))]
    text = say(
        "a steady rise of less than {height}, {least} times the noise, would not stand out of drift",
        height=write_figures(f"{height:.2g}"),
        least=write_figures(f"{least:.0f}"),
    )
    return [Flag("short-zero", text)]


WANDERS_BY = 3.5  # standard deviations: as far as chance carries a reading that wanders
WANDERS_BESIDE_S = 4.0  # before and after the timed window


def flag_doubtful_rise(
    course: Course, settings: TraceSettings, *, height: float, maybe_drift: bool
) -> list[Flag]:
    """A rise without blows that a zero that drifts or wanders, or a single step, explains as well.

    Parameters
    ----------
    course
        Of a run without a train of blows.
    settings
        Length of the window.
    height
        How far the rise goes. [reading]
    maybe_drift
        Whether a smooth drift explains the reading as well (`find_rise`).
    """
    if maybe_drift:
        text = say("a zero that drifts smoothly explains the reading as well as a rise")
        return [Flag("maybe-drift", text)]
    grid = course.grid
    lasts = min(grid.level.size * grid.step_s, settings.duration_s + WANDERS_BESIDE_S)
    wanders = wandering(grid.level, grid.step_s, lasts)
    if height < WANDERS_BY * wanders:
        text = say(
            "the reading wanders by about {wanders} in such a time, and the rise is {height}",
            wanders=write_figures(f"{wanders:.2g}"),
            height=write_figures(f"{height:.2g}"),
        )
        return [Flag("maybe-drift", text)]
    if may_be_swing(grid.level, grid.step_s):
        text = say("a slow swing, as mains hum leaves, explains the reading as well")
        return [Flag("maybe-drift", text)]
    begin = grid.index(course.start_s) + max(2, round(0.2 / grid.step_s))
    level = grid.level[begin : grid.index(min(course.start_s + settings.duration_s, course.log_end_s))]
    third = level.size // 3
    if third < 3:
        return []
    change = abs(float(level[-third:].mean() - level[:third].mean()))
    noise = 3 * np.sqrt(2 * noise_of_mean(course.zero.quiet, third))
    rough = robust_sd(np.diff(level)) > 1.5 * robust_sd(np.diff(course.zero.quiet))
    if rough or change > max(noise, STEADY * abs(float(level.mean()))):
        return []
    return [Flag("one-step", say("the reading goes up in one step and then stays where it is"))]


FLAT = 0.002  # of the height: what the steps of a tool that hammers on do not stay within
MOSTLY = 0.5  # of the timed window


def flag_flat(course: Course, settings: TraceSettings) -> list[Flag]:
    """A level that rises and then stays for most of the window, of a run whose last blow is not seen.

    The tool may have been let go, or the bolt may not have turned any more: nothing in the log says which.

    Parameters
    ----------
    course
        Its level net of zero, and where its hammering ends if that is seen.
    settings
        Length of the window.
    """
    grid = course.grid
    begin = grid.index(course.start_s)
    level = grid.level[begin : grid.index(min(course.start_s + settings.duration_s, course.log_end_s))]
    each = max(1, round(0.1 / grid.step_s))
    count = level.size // each
    if course.end_s is not None or count < 10:
        return []
    means = level[level.size - count * each :].reshape(-1, each).mean(axis=1)
    last = float(np.median(means[-(count // 4) :]))
    bound = max(FLAT * abs(last), 4.0 * float(np.sqrt(noise_of_mean(course.zero.quiet, each))))
    moving = np.flatnonzero(np.abs(means - last) > bound)
    if not moving.size:  # one step and nothing else has its own flag
        return []
    rises_s = (int(moving[-1]) + 1) * each * grid.step_s
    seen_s = float(course.blow_times[-1]) - course.start_s if course.blow_times.size else 0.0
    stays_s = count * each * grid.step_s - max(rises_s, seen_s)  # while blows are seen the tool is at work
    if stays_s <= MOSTLY * settings.duration_s:
        return []
    text = say(
        "no rise in the last {stays} s of {duration} s",
        stays=write_figures(f"{stays_s:.1f}"),
        duration=write_figures(f"{settings.duration_s:g}"),
    )
    return [Flag("flat", text)]


def odd_intervals(times: FloatArray) -> tuple[BoolArray, BoolArray]:
    """Which intervals (m - 1,) between blows are far too short, and which hold a missing blow.

    Against the running median of eleven neighbours, since a tool may slow down.

    Parameters
    ----------
    times : (m,)
        Of blows, increasing. [s]
    """
    gaps = np.diff(times)
    if gaps.size < 5:
        return np.zeros(gaps.size, bool), np.zeros(gaps.size, bool)
    half = min(5, (gaps.size - 1) // 2)
    padded = np.pad(gaps, half, mode="reflect")
    usual = np.median(np.lib.stride_tricks.sliding_window_view(padded, 2 * half + 1), axis=1)
    usual = np.maximum(usual, 0.85 * np.median(gaps))  # second strikes close together lower the median
    return gaps < 0.6 * usual, gaps > 1.6 * usual


def flag_train(
    times: FloatArray,
    strength: FloatArray,
    odd: tuple[BoolArray, BoolArray],
    blind: tuple[tuple[float, float], ...],
    nominal_hz: float | None,
) -> list[Flag]:
    """Second strikes, holes and an unusual rate in the train of blows (m,) with its `odd_intervals`.

    A hole counts where its neighbours stand out so far that a blow could not have been lost in noise,
    and no sample is missing (`blind` stretches).

    Parameters
    ----------
    times : (m,)
        Of blows, increasing, m ≥ 2. [s]
    strength : (m,)
        Over the noise.
    odd
        Intervals (m - 1,) that are too short, and that hold a missing blow.
    blind
        Stretches without samples, from and to. [s]
    nominal_hz
        Of the tool, where it is known; more than 15 % off is flagged. [Hz]
    """
    double, hole = odd[0].copy(), odd[1]
    seen = np.minimum(strength[:-1], strength[1:]) > 2 * SURE
    double &= np.minimum(strength[:-1], strength[1:]) > 1.5 * SURE
    usual = float(np.median(np.diff(times)))
    for begin, end in blind:
        seen &= (times[1:] < begin) | (times[:-1] > end)
        double &= (times[1:] < begin - 2 * usual) | (times[:-1] > end + 2 * usual)
    flags = []
    if double.any():
        first = times[1:][double][0]
        text = say(
            "{double} of {blows} blows, the first at {first} s",
            double=int(double.sum()),
            blows=times.size,
            first=write_figures(f"{first:.3f}"),
        )
        flags.append(Flag("double-blows", text))
    if (hole & seen).any():
        first = times[:-1][hole & seen][0]
        text = say_many(
            "{count} hole in {blows} blows, after {first} s",
            "{count} holes in {blows} blows, the first after {first} s",
            int((hole & seen).sum()),
            blows=times.size,
            first=write_figures(f"{first:.3f}"),
        )
        flags.append(Flag("missed-blows", text))
    rate = 1 / usual
    if nominal_hz is not None and abs(rate / nominal_hz - 1) > 0.15:
        text = say(
            "{rate} blows a second, {usual} is usual",
            rate=write_figures(f"{rate:.1f}"),
            usual=write_figures(f"{nominal_hz:g}"),
        )
        flags.append(Flag("rate-off", text))
    return flags


def flag_clipping(samples: Samples, course: Course, *, sign: int, settings: TraceSettings) -> list[Flag]:
    """A reading at its upper stop within the timed window.

    Without noise as large as the converter's step a settled level repeats itself too; then only a level
    stopped in full growth counts.

    Parameters
    ----------
    samples
        As they came, spikes marked.
    course
        When the timed window begins.
    sign
        +1 where the reading rises under load, -1 where it falls.
    settings
        Length of the window, and the full scale where it is known.
    """
    a, b = np.searchsorted(samples.time, (course.start_s, course.start_s + settings.duration_s))
    full_scale = settings.full_scale
    if b - a < 8:
        return []
    q = samples.resolution
    stop, at, below, longest, first = top_counts(
        samples.reading[a:b], samples.spiky[a:b], float(sign), 0.5 * q
    )
    text = say(
        "{samples} samples at {stop}, first at {first} s",
        samples=int(at),
        stop=write_figures(f"{sign * stop:.6g}"),
        first=write_figures(f"{samples.time[a + first]:.3f}"),
    )
    if full_scale is not None and at >= 3 and abs(stop) >= full_scale * (1 - 1e-6):
        return [Flag("clipped", text)]
    if course.zero.sd > 0.6 * q:
        clipped = longest >= 5 and at >= 10 and at > 2 * below
    else:
        clipped = longest >= 5 and _stopped_in_growth(samples, (int(a), int(a + first), int(b)), at, q)
    return [Flag("clipped", text)] if clipped else []


def _stopped_in_growth(samples: Samples, span: tuple[int, int, int], at: int, q: float) -> bool:
    """Whether growth just before the stop, going on, would have led 20 converter steps beyond it."""
    begin, first, end = span
    back = max(begin, first - max(3, int(0.3 * samples.rate_hz)))
    if first - back < 2 or at < 0.9 * (end - first):
        return False
    slope = abs(samples.reading[first] - samples.reading[back]) / (first - back)
    height = abs(samples.reading[first] - samples.reading[begin])
    return bool(slope * (end - first) > max(20 * q, 0.1 * height))


@kernel()
def top_counts(reading, left_out, sign, half_step):  # type: ignore[no-untyped-def]
    """Largest reading, counts of it and of the one a step lower, its longest run and first place.

    Parameters
    ----------
    reading, left_out : (n,)
        Readings, and which of them do not count.
    sign
        +1 or -1: the largest of `sign` times the reading is looked for.
    half_step
        Half of the converter's step. [reading]

    Returns
    -------
    Largest value, its count, count of those up to 1.5 steps below it, longest row of it, first place.
    """
    top = -np.inf
    for i in range(reading.size):
        if not left_out[i] and sign * reading[i] > top:
            top = sign * reading[i]
    at, below, longest, run, first = 0, 0, 0, 0, -1
    for i in range(reading.size):
        off = top - sign * reading[i]
        if abs(off) <= 0.1 * half_step:
            at += 1
            run += 1
            longest = max(longest, run)
            if first < 0:
                first = i
        else:
            run = 0
            if 0 < off <= 3 * half_step:
                below += 1
    return top, at, below, longest, max(first, 0)
