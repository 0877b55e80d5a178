"""The study behind what docs/detector.md says of the live watch on slow lines; `python -m tests.watch_study`.

How often a steady rise of ten deviations of the noise in 10 s is noticed once it is held, beside the most
powerful test; and how many starts an hour the search for held rises adds while nobody hammers.
"""

from __future__ import annotations

import argparse
from collections.abc import Callable

import numpy as np
from scipy.special import ndtr
from tests.slow_rises import slow_rise

from strikeproof.capture.held_start import HELD_LOOK_BACK_S, find_held_start
from strikeproof.quantity import FloatArray

BLOCK_S, LOOK_S, SURE = 0.1, 0.5, 5.0
RATES, QUIETS, HELD = (10, 20, 50), (2.0, 4.0, 8.0, 20.0), (1.0, 2.0, 3.0)

Course = Callable[[np.random.Generator, FloatArray], FloatArray]
IDLE: dict[str, Course] = {
    "noise alone": lambda rng, t: 0 * t,
    "drift of 0.3 a second": lambda rng, t: 0.3 * t,
    "drift of 1 a second": lambda rng, t: t,
    "warming by 100 in 60 s": lambda rng, t: 100 * -np.expm1(-t / 60),
    "warming by 20 in 10 s": lambda rng, t: 20 * -np.expm1(-t / 10),
    "swing of 10 in 60 s": lambda rng, t: 10 * np.sin(2 * np.pi * (t / 60 + rng.random())),
    "swing of 5 in 20 s": lambda rng, t: 5 * np.sin(2 * np.pi * (t / 20 + rng.random())),
    "mains hum of 10": lambda rng, t: (
        10 * np.sin(2 * np.pi * ((50 + rng.uniform(-0.2, 0.2)) * t + rng.random()))
    ),
    "zero wandering by 1 in 1 s": lambda rng, t: np.cumsum(rng.standard_normal(t.size)) * np.sqrt(t[1]),
    "zero wandering by 5 in 1 s": lambda rng, t: 5 * np.cumsum(rng.standard_normal(t.size)) * np.sqrt(t[1]),
    "knocks of 50, four a minute": lambda rng, t: 50 * np.exp(-(((t % 15 - 7) / rng.uniform(0.1, 1)) ** 2)),
    "steps of 5, three a minute": lambda rng, t: (
        5.0 * np.cumsum((np.arange(t.size) % round(20 / t[1]) == 0) * rng.choice((-1, 1), t.size))
    ),
}


def starts(reading: FloatArray, rate_hz: float) -> list[float]:
    """When held rises are seen, looking as the recorder does; a start ends what was known. [s]"""
    per = max(1, round(BLOCK_S * rate_hz))
    mean = reading[: reading.size // per * per].reshape(-1, per).mean(axis=1)
    time = BLOCK_S * (np.arange(mean.size) + 0.5)
    since, found = 0, []
    for end in range(60, mean.size + 1, round(LOOK_S / BLOCK_S)):
        begin = max(since, end - round(HELD_LOOK_BACK_S / BLOCK_S))
        if end - begin >= 60 and find_held_start(time[begin:end], mean[begin:end], 1e-9) is not None:
            found.append(BLOCK_S * end)
            since = end - 22
    return found


def best_power(rate_hz: float, quiet_s: float, held_s: float) -> float:
    """What the most powerful test finds of the known rise beside a zero that drifts as any parabola.

    The matched filter of what no parabola says of the rise (Lehmann & Romano, *Testing Statistical
    Hypotheses*, 3rd ed., ch. 7, from memory), at five deviations: three in ten million looks.
    """
    time, rise = slow_rise(
        np.random.default_rng(0), rate_hz, 10.0, quiet_s=quiet_s, noise=0.0, length_s=quiet_s + 10 + held_s
    )
    left = rise - np.polyval(np.polyfit(time, rise, 2), time)
    return float(ndtr(np.linalg.norm(left) - SURE))


def found_share(rate_hz: float, quiet_s: float, held_s: float, times: int) -> float:
    """Share of rises seen by the time they were held so long."""
    length = quiet_s + 10 + held_s
    rises = (
        slow_rise(np.random.default_rng([3, i]), rate_hz, 10.0, quiet_s=quiet_s, length_s=length)[1]
        for i in range(times)
    )
    return float(np.mean([bool(starts(each, rate_hz)) for each in rises]))


def false_starts(course: Course, rate_hz: float, armed_s: float, hours: float) -> float:
    """Held rises seen in an hour armed in which nobody hammers."""
    count = max(1, round(hours * 3600 / armed_s))
    time = np.arange(round(armed_s * rate_hz)) / rate_hz
    found = 0
    for i in range(count):
        rng = np.random.default_rng([7, i])
        found += len(starts(course(rng, time) + rng.standard_normal(time.size), rate_hz))
    return found / (count * armed_s / 3600)


def main() -> None:
    """Print both tables."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--times", type=int, default=200)
    parser.add_argument("--hours", type=float, default=1.0)
    given = parser.parse_args()
    print("| S/s | quiet before | held 1 s | held 2 s | held 3 s |\n|---|---|---|---|---|")
    for rate in RATES:
        for quiet in QUIETS:
            cells = [
                f"{found_share(rate, quiet, held, given.times):.2f} ({best_power(rate, quiet, held):.2f})"
                for held in HELD
            ]
            print(f"| {rate} | {quiet:g} s | {' | '.join(cells)} |", flush=True)
    print("\n| starts an hour | 10 S/s, armed 5 min | 20 s | 20 S/s, armed 5 min | 20 s |")
    print("|---|---|---|---|---|")
    for name, course in IDLE.items():
        cells = [
            f"{false_starts(course, rate, armed, given.hours):.1f}"
            for rate in (10, 20)
            for armed in (300.0, 20.0)
        ]
        print(f"| {name} | {' | '.join(cells)} |", flush=True)


if __name__ == "__main__":
    main()
