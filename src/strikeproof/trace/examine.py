"""From a trace to a run's facts."""

from __future__ import annotations

import dataclasses
from dataclasses import dataclass

import numpy as np

from strikeproof.language import say, say_many, write_figures
from strikeproof.quantity import BoolArray, FloatArray
from strikeproof.trace.blows import FEWEST, Blows, find_blows
from strikeproof.trace.flags import (
    flag_clipping,
    flag_doubtful_rise,
    flag_flat,
    flag_samples,
    flag_short_zero,
    flag_train,
    flag_window,
    flag_zero,
    odd_intervals,
    too_slow_for_blows,
)
from strikeproof.trace.fronts import RINGING_S, Rising
from strikeproof.trace.growth import growth_of_blows, growth_of_samples, settled_levels, unsettled
from strikeproof.trace.hammering import (
    Excursion,
    begins_hammering,
    find_excursion,
    last_activity,
    only_knocks,
    steady_train,
)
from strikeproof.trace.hum import remove_hum
from strikeproof.trace.records import Flag, RunFacts, TraceSettings
from strikeproof.trace.rise import find_onset
from strikeproof.trace.samples import Grid, Samples, clean_samples, even_grid
from strikeproof.trace.score import TYPICAL_INTERVAL_S, Course, find_score, rounding_uncertainty
from strikeproof.trace.zero import find_zero, find_zero_after, noise_of_mean, robust_sd

__all__ = ["examine_trace"]

FEWEST_SAMPLES = 8
NOTHING = np.zeros(0)


def examine_trace(time: FloatArray, reading: FloatArray, *, settings: TraceSettings) -> RunFacts:
    """All that one trace shows of its run: zero, blows, growth curve, score and flags.

    Parameters
    ----------
    time : (n,)
        As logged; NaN, gaps, repeated and backward times are left out or sorted, and flagged. [s]
    reading : (n,)
        As logged; may hold NaN. [reading]
    settings
        What the campaign fixes about every run.

    Raises
    ------
    BadInput
        If the two arrays differ in length or are not one-dimensional.

    References
    ----------
    docs/detector.md.
    """
    samples = clean_samples(time, reading)
    flags = flag_samples(samples)
    if samples.time.size < FEWEST_SAMPLES:
        text = say_many("only {count} usable sample", "only {count} usable samples", samples.time.size)
        few = Flag("no-hammering", text)
        return _no_facts(samples, [*flags, few])
    grid = even_grid(samples)
    excursion = find_excursion(grid.level, grid.step_s)
    if excursion is None and begins_hammering(grid.level):
        return _no_facts(samples, [*flags, Flag("no-zero", say("hammering is on from the first sample"))])
    if excursion is None:
        drifts = Flag("no-hammering", say("the reading only drifts or scatters about its zero"))
        return _no_facts(samples, [*flags, *flag_short_zero(grid, settings.duration_s), drifts])
    if excursion.quiet < 3:
        return _no_facts(samples, [*flags, Flag("no-zero", say("no quiet samples before the start"))])
    return _facts(samples, grid, excursion, settings, flags)


def _no_facts(samples: Samples, flags: list[Flag]) -> RunFacts:
    return RunFacts(
        zero=None,
        zero_sd=None,
        zero_after=None,
        start_s=None,
        end_s=None,
        duration_s=None,
        blow_times=NOTHING,
        blow_steps=NOTHING,
        blow_levels=NOTHING,
        blow_rate_hz=None,
        blow_rate_cv=None,
        growth_time=NOTHING,
        growth_level=NOTHING,
        score=None,
        score_uncertainty=None,
        score_reason=flags[-1].detail,
        flags=tuple(flags),
        sample_rate_hz=samples.rate_hz,
    )


def _facts(
    samples: Samples, grid: Grid, excursion: Excursion, settings: TraceSettings, flags: list[Flag]
) -> RunFacts:
    flags += _backwards(excursion, settings)
    upright = grid.with_level(remove_hum(excursion.sign * grid.level, grid.step_s, excursion.quiet))
    train, why_not = _find_train(upright, excursion, samples, settings)
    if train is None and only_knocks(upright.level, grid.step_s, excursion, settings.duration_s / 2):
        knocks = Flag("no-hammering", say("the reading falls back to its zero after each knock"))
        return _no_facts(samples, [*flags, knocks])
    flags += why_not
    course, after = _course(upright, excursion, train, samples)
    clipped = flag_clipping(samples, course, sign=excursion.sign, settings=settings)
    if clipped:  # no blow shows at the stop, so the last one seen ends nothing
        course = dataclasses.replace(course, end_s=None)
    score = find_score(course, settings)
    if train is None:
        flags += flag_doubtful_rise(
            course, settings, height=excursion.height, maybe_drift=excursion.maybe_drift
        )
    reason = score.reason + ("; the reading is at its limit, the load may be higher" if clipped else "")
    flags += clipped or flag_flat(course, settings)
    flags += flag_window(course, settings)
    flags += flag_zero(course, excursion.height, noise_of_mean(course.zero.quiet, 8))
    odd = odd_intervals(course.blow_times)
    if train is not None:
        blind = samples.gaps + samples.frozen
        nominal = settings.nominal_blow_rate_hz
        flags += flag_train(course.blow_times, train.strength, odd, blind, nominal)
    rate, cv = _rate(course.blow_times, odd)
    growth_time, growth_level = _growth(course, settings)
    return RunFacts(
        zero=excursion.sign * course.zero.level,
        zero_sd=course.zero.sd,
        zero_after=None if after is None else excursion.sign * after,
        start_s=course.start_s,
        end_s=course.end_s,
        duration_s=None if course.end_s is None else course.end_s - course.start_s,
        blow_times=course.blow_times,
        blow_steps=np.diff(course.blow_levels, prepend=0.0),
        blow_levels=course.blow_levels,
        blow_rate_hz=rate,
        blow_rate_cv=cv,
        growth_time=growth_time,
        growth_level=growth_level,
        score=score.value,
        score_uncertainty=score.uncertainty,
        score_reason=reason,
        flags=tuple(flags),
        sample_rate_hz=samples.rate_hz,
    )


def _backwards(excursion: Excursion, settings: TraceSettings) -> list[Flag]:
    expected = 1 if settings.direction == "tighten" else -1
    if excursion.sign == (-expected if settings.falls else expected):
        return []
    return [Flag("backwards", _say_backwards(settings.direction, rises=excursion.sign > 0))]


def _say_backwards(direction: str, *, rises: bool) -> str:
    if direction == "tighten":
        if rises:
            return say("the reading rises when asked to tighten; taken as turned round")
        return say("the reading falls when asked to tighten; taken as turned round")
    if rises:
        return say("the reading rises when asked to loosen; taken as turned round")
    return say("the reading falls when asked to loosen; taken as turned round")


@dataclass(frozen=True, slots=True, eq=False)
class _Train:
    """Blows of the run, on the clock of the log; `fading` when the last ones sink into noise."""

    times: FloatArray
    strength: FloatArray
    interval_s: float
    fading: bool


def _find_train(
    grid: Grid, excursion: Excursion, samples: Samples, settings: TraceSettings
) -> tuple[_Train | None, list[Flag]]:
    nominal = settings.nominal_blow_rate_hz
    rate = samples.rate_hz
    if too_slow_for_blows(rate, nominal):
        shown = write_figures(f"{rate:.4g}")
        text = say("{rate} samples a second cannot show single blows", rate=shown)
        return None, [Flag("rate-too-low", text)]
    quiet = excursion.quiet
    each = max(1.0, grid.step_s * rate)
    sd = robust_sd(grid.level[:quiet]) * np.sqrt(each)
    rounding = rounding_uncertainty(samples.resolution, float(sd))
    rising = Rising(grid.level, grid.step_s, quiet, grid.clear_by(RINGING_S), rounding)
    blows = find_blows(rising, nominal_rate_hz=nominal)
    train = None if blows is None else _trim(blows, grid.begin_s)
    if train is None:
        return None, [Flag("blows-faint", say("no single blows stand out of the noise"))]
    if rate * train.interval_s < SEEN_SAMPLES:
        shown = write_figures(f"{rate * train.interval_s:.1f}")
        return None, [Flag("rate-too-low", say("{rate} samples a blow cannot show it", rate=shown))]
    if not train.fading:
        return train, []
    after = write_figures(f"{train.times[-1]:.2f}")
    return train, [Flag("blows-faint", say("blows sink into the noise after {after} s", after=after))]


SEEN_SAMPLES = 4.0  # to a blow, at the least


def _trim(blows: Blows, begin_s: float) -> _Train | None:
    """The longest train, without strays at either end."""
    times, interval = blows.times, blows.interval_s
    a, b = steady_train(times, interval)
    gaps = np.diff(times[a:b])
    if b - a < FEWEST or np.median(np.abs(gaps / np.median(gaps) - 1)) > 0.25:
        return None
    strength = blows.strength[a:b]
    return _Train(
        times[a:b] + begin_s, strength, float(np.median(gaps)), bool(np.median(strength[-12:]) < FADING)
    )


FADING = 7.5  # noise deviations under which a blow now and then goes unseen


def _course(
    grid: Grid, excursion: Excursion, train: _Train | None, samples: Samples
) -> tuple[Course, float | None]:
    """Zero, start, end and levels of the run, and the reading after the load was taken off."""
    start, start_u, by_blow = (train.times[0], 0.0, True) if train else _start_of_rise(grid, excursion)
    before = max(2, min(grid.index(start) - 1, excursion.loaded + 1))
    zero = find_zero(grid.level[:before], grid.step_s)
    end = _end(grid, train, excursion, zero.quiet)
    net = grid.with_level(grid.level - zero.level)
    tail = grid.level[grid.index(end if end is not None else start) :]
    after = find_zero_after(tail, zero.level, excursion.height, grid.step_s)
    course = Course(
        grid=net,
        zero=zero,
        start_s=float(start),
        start_u=start_u,
        starts_with_blow=by_blow,
        end_s=end,
        blow_times=NOTHING,
        blow_levels=NOTHING,
        blow_noise=0.0,
        interval_s=None,
        unsettled=0.0,
        resolution=samples.resolution,
        zero_shift=None if after is None else after - zero.level,
    )
    return (course if train is None else _with_blows(course, train)), after


def _start_of_rise(grid: Grid, excursion: Excursion) -> tuple[float, float, bool]:
    """Onset where no train is seen [s], its standard uncertainty [s], and whether a blow makes it."""
    stair = TYPICAL_INTERVAL_S / grid.step_s
    onset = find_onset(grid.level, excursion.quiet, excursion.height, stair)
    return grid.begin_s + onset.at * grid.step_s, onset.uncertainty * grid.step_s, onset.leaps


def _with_blows(course: Course, train: _Train) -> Course:
    grid = course.grid
    levels, counts = settled_levels(grid.level, grid.step_s, train.times - grid.begin_s, train.interval_s)
    noise = noise_of_mean(course.zero.quiet, int(np.median(counts)))
    return dataclasses.replace(
        course,
        blow_times=train.times,
        blow_levels=levels,
        blow_noise=noise,
        interval_s=train.interval_s,
        unsettled=unsettled(grid.level, grid.step_s, train.times - grid.begin_s, train.interval_s),
    )


def _end(grid: Grid, train: _Train | None, excursion: Excursion, quiet: FloatArray) -> float | None:
    """Last blow, or end of activity where single blows cannot be seen; None where neither is known."""
    if train is not None and not train.fading:
        return float(train.times[-1])
    first = excursion.loaded
    active = last_activity(grid.level[first:], grid.step_s, quiet)
    return None if active is None else grid.begin_s + first * grid.step_s + active


def _rate(times: FloatArray, odd: tuple[BoolArray, BoolArray]) -> tuple[float | None, float | None]:
    """Blow rate, and the scatter of the regular intervals over their mean."""
    if times.size < FEWEST:
        return None, None
    gaps = np.diff(times)
    double, hole = odd
    before_double = np.r_[False, double[:-1]]  # the rest of an interval that a second strike has cut
    regular = gaps[~(double | hole | before_double)]
    cv = float(np.std(regular, ddof=1) / np.mean(regular)) if regular.size > 2 else None
    return 1 / float(np.median(gaps)), cv


def _growth(course: Course, settings: TraceSettings) -> tuple[FloatArray, FloatArray]:
    until = min(course.start_s + settings.duration_s, course.log_end_s)
    if course.blow_times.size:
        inside = course.blow_times <= until
        return growth_of_blows(course.blow_times[inside], course.blow_levels[inside], course.start_s)
    grid = course.grid
    part = slice(grid.index(course.start_s), grid.index(until))
    return growth_of_samples(grid.time()[part], grid.level[part], grid.good[part], course.start_s)
