"""Start and end of hammering, told on the fly, and buckets that lose no extreme."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from tests.slow_rises import slow_rise

from strikeproof.capture.buckets import Buckets
from strikeproof.capture.watch import BLOCK_S, RunWatch
from strikeproof.quantity import FloatArray
from strikeproof.trace import TracePlan, simulate_trace


def watch(
    time: FloatArray, reading: FloatArray, duration_s: float = 10.0, sign: int = 1, each_s: float = 0.02
) -> list[tuple[float, str]]:
    """Each change of what is seen, with the time, looking every `each_s`; it ends with the run."""
    eye, buckets, told = RunWatch(duration_s, sign=sign), Buckets(), [(0.0, "not enough")]
    step = max(1, round(each_s * len(time) / (time[-1] - time[0])))
    for begin in range(0, len(time), step):
        part = slice(begin, begin + step)
        buckets.add(time[part], reading[part])
        now = float(time[part][-1])
        seen = eye.look(buckets, now)
        if seen != told[-1][1]:
            told.append((now, seen))
        if seen in ("done", "stopped short", "false start", "unloaded"):
            break
    return told


def made(**changes: object) -> tuple[FloatArray, FloatArray]:
    plan = TracePlan(**{"length_s": 16.0, "start_s": 2.0, "sample_rate_hz": 2000.0, **changes})  # type: ignore[arg-type]
    trace = simulate_trace(np.random.default_rng(7), plan=plan)
    return trace.time, trace.reading


@pytest.mark.parametrize(
    "changes",
    [
        {},
        {"sample_rate_hz": 10_000.0},
        {"sample_rate_hz": 80.0, "noise": 0.05},
        {"sample_rate_hz": 10.0, "noise": 0.05},
        {"hum": 2.0},
        {"drift_per_s": 0.05},
        {"noise": 2.0},
        {"polarity": -1},
        {"direction": "loosen"},
        {"growth_blows": 10.0, "ring_share": 0.0, "overshoot_share": 0.0, "noise": 1.0},
        {"resolution": 0.5, "noise": 0.01},
    ],
)
def test_a_run_is_seen_from_its_start_past_its_window(changes: dict[str, object]) -> None:
    told = watch(*made(**changes))
    assert [seen for _, seen in told] == ["not enough", "quiet", "hammering", "done"]
    assert 2.0 < told[2][0] < 2.8
    assert 12.9 < told[3][0] < 15.3


@pytest.mark.parametrize("rate", [20, 200, 2000])
@pytest.mark.parametrize("height", [51.0, -51.0])
def test_a_slow_rise_or_fall_begins_and_ends_too(rate: int, height: float) -> None:
    rng = np.random.default_rng(4)
    time, reading = slow_rise(rng, rate, height, quiet_s=4.0, noise=0.3, length_s=18.0)
    told = watch(time, reading, sign=1 if height > 0 else -1)
    assert [seen for _, seen in told] == ["not enough", "quiet", "hammering", "done"]
    assert 4.0 < told[2][0] < 6.0
    assert 14.0 < told[3][0] < 17.5


@pytest.mark.parametrize("rate", [10, 20, 50])
def test_ten_deviations_of_the_noise_start_a_run_once_they_are_held(rate: int) -> None:
    rng = np.random.default_rng(6)
    time, reading = slow_rise(rng, rate, 10.0, quiet_s=10.0, length_s=26.0)
    told = watch(time, reading)
    assert [seen for _, seen in told] == ["not enough", "quiet", "hammering", "done"]
    assert 10.0 < told[2][0] < 23.5 and told[2][0] < told[3][0] < 24.5


def test_arming_keeps_the_quiet_that_a_small_rise_needs_and_a_run_ends_it() -> None:
    eye, buckets = RunWatch(10.0), Buckets()
    time = np.arange(300) / 10
    buckets.add(time, np.random.default_rng(1).standard_normal(300))
    eye.look(buckets, 10.0)
    eye.reset()
    eye.look(buckets, 29.9)
    assert eye.calm_since == pytest.approx(7.8)
    eye.began = 29.0
    eye.reset()
    eye.look(buckets, 29.9)
    assert eye.calm_since == pytest.approx(27.7)
    eye.reset()
    eye.look(Buckets(), 1.0)  # another line begins its time again
    assert eye.calm_since <= 1.0


def test_a_warming_or_swinging_zero_starts_nothing() -> None:
    rng = np.random.default_rng(3)
    time = np.arange(120 * 50) / 50.0
    for course in (100 * -np.expm1(-time / 60), 10 * np.sin(2 * np.pi * time / 60), 0.3 * time):
        assert {seen for _, seen in watch(time, course + rng.normal(0, 1, time.size), each_s=BLOCK_S)} <= {
            "not enough",
            "quiet",
        }


def test_letting_go_early_is_seen() -> None:
    told = watch(*made(hammer_s=4.0))
    assert told[-1][1] == "stopped short"
    assert 9.0 < told[-1][0] < 9.6


def test_blows_that_sink_into_noise_are_no_early_end() -> None:
    told = watch(*made(growth_blows=8.0, ring_share=0.002, overshoot_share=0.05, noise=0.8))
    assert told[-1][1] == "done"


def test_idle_noise_with_hum_and_drift_starts_nothing_in_ten_minutes() -> None:
    rng = np.random.default_rng(3)
    time = np.arange(600 * 500) / 500.0
    reading = 5.0 + 0.01 * time + rng.normal(0, 0.3, time.size) + np.sin(2 * np.pi * 50.3 * time)
    assert {seen for _, seen in watch(time, reading, each_s=BLOCK_S)} <= {"not enough", "quiet"}


def test_a_bump_is_a_false_start() -> None:
    rng = np.random.default_rng(3)
    time = np.arange(10 * 1000) / 1000.0
    reading = rng.normal(0, 0.1, time.size) + 20.0 * np.exp(-(((time - 4.0) / 0.15) ** 2))
    assert watch(time, reading)[-1][1] == "false start"


def test_taking_the_load_off_is_no_run() -> None:
    rng = np.random.default_rng(3)
    time = np.arange(10 * 1000) / 1000.0
    reading = rng.normal(0, 0.1, time.size) + np.where(time < 4.0, 100.0, 2.0)
    assert watch(time, reading)[-1][1] == "unloaded"


@given(st.lists(st.integers(1, 400), min_size=1, max_size=30), st.integers(0, 2**31))
def test_buckets_do_not_depend_on_how_samples_come(sizes: list[int], seed: int) -> None:
    rng = np.random.default_rng(seed)
    time = np.cumsum(rng.uniform(0.0, 0.004, sum(sizes)))
    reading = 1000.0 + rng.normal(0, 1, time.size)
    one, many, at = Buckets(seconds=600.0), Buckets(seconds=600.0), 0
    one.add(time, reading)
    for size in sizes:
        many.add(time[at : at + size], reading[at : at + size])
        at += size
    for name in ("time", "low", "high", "mean", "variance"):
        assert getattr(one.since(), name) == pytest.approx(getattr(many.since(), name), nan_ok=True, abs=1e-6)
    assert one.since().low.min() == reading.min() and one.since().high.max() == reading.max()


def test_buckets_stay_within_their_memory() -> None:
    buckets = Buckets(width_s=0.02, seconds=10.0)
    for second in range(100):
        time = second + np.arange(1000) / 1000.0
        buckets.add(time, np.sin(time))
    shown = buckets.since()
    assert len(shown.time) == 500
    assert shown.time[0] == pytest.approx(90.01, abs=0.02)
