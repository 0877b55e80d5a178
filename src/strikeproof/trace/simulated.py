"""Traces of known truth: what a load cell under a hammered bolt would give, with all that goes wrong.

Levels follow F_n = F_inf sqrt(1 - exp(-n / n0)): equal hammer energy a blow, loss in proportion to what
is stored (common practice, no source), optionally with a slow rise as the logarithm of the blows.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from strikeproof.campaign.records import Direction
from strikeproof.errors import BadInput
from strikeproof.kernels import kernel
from strikeproof.quantity import FloatArray

__all__ = ["SimulatedTrace", "TracePlan", "TraceTruth", "record_blows", "simulate_trace"]

LOWEST_INNER_RATE_HZ = 5000.0  # fine enough for a front of half a millisecond before band-limiting


@dataclass(frozen=True, slots=True)
class TracePlan:
    """A run to simulate; readings in any unit, times in seconds.

    There is no blow if `hammer_s` is below zero. `ring_share` (of the final level) rings at every blow,
    `overshoot_share` (of the step) on top. `growth_blows` is n0. `resolution` is the step of the converter.
    `dropouts` are (from, length) pairs in seconds, without a value or, with `dropout_reading`, frozen there.
    `release_after_s` takes the load off so long after the last blow; `zero_shift` is how far the zero is off
    by then.
    """

    sample_rate_hz: float = 10_000.0
    length_s: float = 12.0
    start_s: float = 1.0
    hammer_s: float = 10.2
    window_s: float = 10.0
    direction: Direction = "tighten"
    blow_rate_hz: float = 25.0
    interval_scatter: float = 0.03
    final_level: float = 100.0
    growth_blows: float = 60.0
    step_scatter: float = 0.15
    slow_rise_share: float = 0.0
    ring_share: float = 0.01
    overshoot_share: float = 0.3
    ring_hz: float = 320.0
    ring_decay_s: float = 0.004
    rise_s: float = 0.0004
    relaxation_share: float = 0.0
    relaxation_s: float = 0.5
    release_after_s: float | None = None
    zero: float = 2.0
    zero_shift: float = 0.0
    polarity: int = 1
    noise: float = 0.1
    hum: float = 0.0
    hum_hz: float = 50.0
    drift_per_s: float = 0.0
    spikes_per_s: float = 0.0
    spike_height: float = 20.0
    clip_level: float | None = None
    resolution: float = 0.0
    dropouts: tuple[tuple[float, float], ...] = ()
    dropout_reading: float | None = None
    double_share: float = 0.0
    missed_share: float = 0.0

    def __post_init__(self) -> None:
        if not 1.0 <= self.sample_rate_hz <= 1e6:
            raise BadInput(
                f"sample rate {self.sample_rate_hz} Hz", where="simulated trace", allowed="1 Hz to 1 MHz"
            )
        if self.length_s * self.sample_rate_hz < 2:
            raise BadInput(
                "fewer than two samples", where="simulated trace", allowed="length x sample rate >= 2"
            )
        if self.blow_rate_hz <= 0 or self.growth_blows <= 0:
            raise BadInput("blow rate or growth", where="simulated trace", allowed="above zero")


@dataclass(frozen=True, slots=True, eq=False)
class TraceTruth:
    """What really happened: blows, what each added, the level after it, and the level the score wants."""

    blow_times: FloatArray
    blow_steps: FloatArray
    blow_levels: FloatArray
    doubles: int
    missed: int
    start_s: float
    end_s: float
    score: float

    def level_at(self, time: float) -> float:
        """Net level right after the last blow at or before `time` [s], without relaxation. [reading]"""
        return float(np.r_[0.0, self.blow_levels][np.searchsorted(self.blow_times, time, side="right")])


@dataclass(frozen=True, slots=True, eq=False)
class SimulatedTrace:
    """Samples (n,) and the truth behind them."""

    time: FloatArray
    reading: FloatArray
    truth: TraceTruth


def simulate_trace(rng: np.random.Generator, *, plan: TracePlan) -> SimulatedTrace:
    """One trace as recorded: load, band-limited amplifier, noise and faults, converter.

    Parameters
    ----------
    rng
        The only source of chance.
    plan
        What to simulate.
    """
    return _record(rng, _strike(rng, plan), plan)


def record_blows(
    rng: np.random.Generator, times: FloatArray, levels: FloatArray, *, plan: TracePlan
) -> SimulatedTrace:
    """A trace of blows that are known already, as from a simulated drivetrain.

    Parameters
    ----------
    rng
        The only source of chance.
    times, levels : (m,)
        When each blow struck, counted from the first [s], and the net level after it [reading].
    plan
        How it is recorded; its own rate, growth and scatter of blows are not used.
    """
    struck = times - times[0] + plan.start_s
    at = plan.start_s + plan.window_s
    score = float(np.r_[0.0, levels][np.searchsorted(struck, at, side="right")])
    steps = np.diff(levels, prepend=0.0)
    truth = TraceTruth(struck, steps, levels, 0, 0, plan.start_s, float(struck[-1]), score)
    return _record(rng, truth, plan)


def _record(rng: np.random.Generator, truth: TraceTruth, plan: TracePlan) -> SimulatedTrace:
    time = np.arange(round(plan.length_s * plan.sample_rate_hz)) / plan.sample_rate_hz
    net = _amplify(truth, plan)[: time.size]
    load = net if plan.direction == "tighten" else plan.final_level - net
    reading = plan.zero + plan.polarity * load + _disturbances(rng, time, truth, plan)
    return SimulatedTrace(time, _convert(reading, time, plan), truth)


def growth_after(blows: FloatArray, plan: TracePlan) -> FloatArray:
    """Level after a number of blows, without scatter.

    Parameters
    ----------
    blows : (m,)
        How many, not only integers.
    plan
        Its final level, n₀ and slow rise.

    Returns
    -------
    (m,) [reading]
    """
    quick = np.sqrt(-np.expm1(-blows / plan.growth_blows))
    slow = plan.slow_rise_share * np.log1p(blows / plan.growth_blows)
    return np.asarray(plan.final_level * (quick + slow), dtype=np.float64)


def _strike(rng: np.random.Generator, plan: TracePlan) -> TraceTruth:
    """When the hammer strikes and what each blow adds."""
    count = int(max(plan.hammer_s, 0.0) * plan.blow_rate_hz * 1.3) + 2
    intervals = (1 + plan.interval_scatter * rng.standard_normal(count)).clip(0.3) / plan.blow_rate_hz
    times = plan.start_s + np.r_[0.0, np.cumsum(intervals)]
    missed = rng.random(times.size) < plan.missed_share
    missed[:3] = False
    doubled = rng.random(times.size) < plan.double_share
    inside = (times <= plan.start_s + plan.hammer_s) & (times < plan.length_s)
    times, missed, doubled = times[inside], missed[inside], doubled[inside] & ~missed[inside]
    if times.size:
        missed[-1] = doubled[-1] = False
    rebound = times[doubled] + 0.35 / plan.blow_rate_hz
    struck = np.r_[times[~missed], rebound]
    share = np.r_[np.ones((~missed).sum()), np.full(rebound.size, 0.6)]
    order = np.argsort(struck)
    return _truth_of(rng, plan, struck[order], share[order], (int(doubled.sum()), int(missed.sum())))


def _truth_of(
    rng: np.random.Generator,
    plan: TracePlan,
    times: FloatArray,
    share: FloatArray,
    line_flags: tuple[int, int],
) -> TraceTruth:
    smooth = growth_after(np.cumsum(share), plan)
    steps = np.diff(smooth, prepend=0.0) * (1 + plan.step_scatter * rng.standard_normal(times.size)).clip(0)
    levels = np.cumsum(steps)
    if plan.direction == "loosen":
        steps, levels = (
            np.diff(np.minimum(levels, plan.final_level), prepend=0.0),
            levels.clip(max=plan.final_level),
        )
    end = float(times[-1]) if times.size else plan.start_s
    at = plan.start_s + plan.window_s
    last = np.r_[0.0, levels][np.searchsorted(times, at, side="right")]
    score = float(last) * (1 - _relaxed(np.array([at]), end, plan)[0])
    return TraceTruth(times, steps, levels, *line_flags, plan.start_s, end, score)


def _relaxed(time: FloatArray, end: float, plan: TracePlan) -> FloatArray:
    """Share of the level lost to relaxation after the last blow."""
    after = (time - end).clip(min=0.0)
    return np.asarray(-plan.relaxation_share * np.expm1(-after / plan.relaxation_s), dtype=np.float64)


def _amplify(truth: TraceTruth, plan: TracePlan) -> FloatArray:
    """Net load through a second-order Butterworth amplifier at 0.4 of the sample rate."""
    from scipy import signal  # it brings scipy.stats: a second that only a simulation should pay

    over = max(1, int(np.ceil(LOWEST_INNER_RATE_HZ / plan.sample_rate_hz)))
    rate = over * plan.sample_rate_hz
    time = np.arange(round(plan.length_s * plan.sample_rate_hz) * over) / rate
    net = np.r_[0.0, truth.blow_levels][np.searchsorted(truth.blow_times, time, side="right")]
    ring = plan.ring_share * plan.final_level + plan.overshoot_share * truth.blow_steps
    add_fronts(
        net, 1 / rate, truth.blow_times, truth.blow_steps, ring, plan.ring_hz, plan.ring_decay_s, plan.rise_s
    )
    net *= 1 - _relaxed(time, truth.end_s, plan)
    if plan.release_after_s is not None:
        net[time > truth.end_s + plan.release_after_s] = 0.0
    stages = signal.butter(2, 0.4 * plan.sample_rate_hz, fs=rate, output="sos")
    return np.asarray(signal.sosfilt(stages, net)[::over], dtype=np.float64)


@kernel()
def add_fronts(net, step_s, times, steps, ring, ring_hz, decay_s, rise_s):  # type: ignore[no-untyped-def]
    """Bend each sharp step of `net` into a front of time constant `rise_s` and let it ring, in place.

    Parameters
    ----------
    net : (n,)
        Changed. [reading]
    step_s
        Of its samples. [s]
    times, steps : (m,)
        Of blows [s], and what each adds [reading].
    ring : (m,)
        Amplitude of each blow's ringing. [reading]
    ring_hz
        [Hz]
    decay_s, rise_s
        Time constants. [s]

    References
    ----------
    Derived here: a step through a first-order lag, and a damped sine.
    """
    reach = 8 * max(decay_s, rise_s)
    for k in range(times.size):
        first = int(np.ceil(times[k] / step_s))
        last = min(net.size, int((times[k] + reach) / step_s) + 1)
        for i in range(first, last):
            t = i * step_s - times[k]
            net[i] -= steps[k] * np.exp(-t / rise_s)
            net[i] += ring[k] * np.exp(-t / decay_s) * np.sin(2 * np.pi * ring_hz * t)


def _disturbances(
    rng: np.random.Generator, time: FloatArray, truth: TraceTruth, plan: TracePlan
) -> FloatArray:
    """Noise, mains hum, drift, spikes and a zero that moved during the run."""
    out = plan.noise * rng.standard_normal(time.size) + plan.drift_per_s * time
    out += plan.hum * np.sin(2 * np.pi * (plan.hum_hz * time + rng.random()))
    struck = rng.random(time.size) < plan.spikes_per_s / plan.sample_rate_hz
    out[struck] += plan.spike_height * rng.choice((-1.0, 1.0), int(struck.sum()))
    moving = (time - truth.start_s) / max(truth.end_s - truth.start_s, 1e-9)
    return np.asarray(out + plan.zero_shift * moving.clip(0, 1), dtype=np.float64)


def _convert(reading: FloatArray, time: FloatArray, plan: TracePlan) -> FloatArray:
    """Saturate, quantise and lose samples, in the order a recorder does."""
    if plan.clip_level is not None:
        reading = np.clip(reading, -plan.clip_level, plan.clip_level)
    if plan.resolution > 0:
        reading = np.round(reading / plan.resolution) * plan.resolution
    for begin, length in plan.dropouts:
        lost = (time >= begin) & (time < begin + length)
        reading[lost] = np.nan if plan.dropout_reading is None else plan.dropout_reading
    return reading
