"""Logs of slow rises, and of all that is none, in units of the noise; for tests and the study."""

from __future__ import annotations

from collections.abc import Callable

import numpy as np

from strikeproof.quantity import FloatArray
from strikeproof.trace import TraceSettings, examine_trace

__all__ = ["LENGTH_S", "NO_RISES", "is_found", "no_rise", "slow_rise"]

LENGTH_S, WINDOW_S = 14.0, 10.0


def slow_rise(
    rng: np.random.Generator,
    rate_hz: float,
    height: float,
    *,
    quiet_s: float = 2.0,
    noise: float = 1.0,
    length_s: float = LENGTH_S,
) -> tuple[FloatArray, FloatArray]:
    """Time and reading of a steady rise (a fall below zero) to `height` in ten seconds, held after that."""
    time = np.arange(round(rate_hz * length_s)) / rate_hz
    course = height * np.clip((time - quiet_s) / WINDOW_S, 0, 1)
    return time, course + noise * rng.standard_normal(time.size)


Shape = Callable[[np.random.Generator, FloatArray], FloatArray]
NO_RISES: dict[str, Shape] = {
    "noise alone": lambda rng, t: 0 * t,
    "drift, 10 deviations in 14 s": lambda rng, t: 10 * t / LENGTH_S,
    "drift, 50 deviations": lambda rng, t: 50 * t / LENGTH_S,
    "drift, 200 deviations": lambda rng, t: 200 * t / LENGTH_S,
    "drift that quickens (t²), 50 deviations": lambda rng, t: 50 * (t / LENGTH_S) ** 2,
    "drift that quickens (t³), 20 deviations": lambda rng, t: 20 * (t / LENGTH_S) ** 3,
    "drift that sets in and ends (logistic), 30 deviations": lambda rng, t: (
        30 / (1 + np.exp(LENGTH_S / 2 - t))
    ),
    "warming up within 3 s, 20 deviations": lambda rng, t: 20 * -np.expm1(-t / 3),
    "mains hum, 10 deviations": lambda rng, t: _hum(rng, t, 10.0),
    "mains hum, 50 deviations": lambda rng, t: _hum(rng, t, 50.0),
    "one knock of 0.3 s, 50 deviations": lambda rng, t: 50.0 * ((t > 4) & (t < 4.3)),
    "a step that stays, 10 deviations": lambda rng, t: 10.0 * (t > 4),
    "one knock that rings, 200 deviations": lambda rng, t: np.where(
        t > 4, 200 * np.exp(-(t - 4) / 0.1) * np.cos(2 * np.pi * 30 * (t - 4)), 0.0
    ),
    "zero wandering at random, 20 deviations": lambda rng, t: (
        20 * np.cumsum(rng.standard_normal(t.size)) / np.sqrt(t.size)
    ),
}


def _hum(rng: np.random.Generator, time: FloatArray, amplitude: float) -> FloatArray:
    turns = (50 + rng.uniform(-0.2, 0.2)) * time + rng.random()
    return np.asarray(amplitude * np.sin(2 * np.pi * turns), dtype=np.float64)


def no_rise(rng: np.random.Generator, rate_hz: float, kind: str) -> tuple[FloatArray, FloatArray]:
    """Time and reading of a log in which nobody hammers, its noise of one unit."""
    time = np.arange(round(rate_hz * LENGTH_S)) / rate_hz
    return time, NO_RISES[kind](rng, time) + rng.standard_normal(time.size)


def is_found(time: FloatArray, reading: FloatArray, *, warned: bool = True) -> bool:
    """Whether a score comes of it; without one that a flag calls perhaps no run, if `warned` is False."""
    facts = examine_trace(time, reading, settings=TraceSettings())
    return facts.score is not None and (warned or not any(facts.has(code) for code in DOUBTS))


DOUBTS = ("maybe-drift", "one-step")
