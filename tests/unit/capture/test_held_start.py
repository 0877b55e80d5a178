"""A slow line: a rise of ten deviations of the noise is seen once it is held, and nothing else is."""

from __future__ import annotations

import numpy as np
import pytest
from tests.slow_rises import slow_rise

from strikeproof.capture.held_start import HELD_LOOK_BACK_S, find_held_start
from strikeproof.quantity import FloatArray


def first_seen(time: FloatArray, reading: FloatArray) -> tuple[float, float] | None:
    """When a held rise is first seen, looking every half second, and where it is said to begin."""
    per = round(0.1 * len(time) / (time[-1] - time[0]))
    mean = reading[: len(reading) // per * per].reshape(-1, per).mean(axis=1)
    middle = 0.1 * (np.arange(len(mean)) + 0.5)
    for end in range(60, len(mean) + 1, 5):
        begin = max(0, end - round(HELD_LOOK_BACK_S / 0.1))
        found = find_held_start(middle[begin:end], mean[begin:end], 1e-9)
        if found is not None:
            return 0.1 * end, found.began
    return None


@pytest.mark.parametrize(("rate", "quiet"), [(10, 20.0), (20, 8.0), (50, 8.0)])
@pytest.mark.parametrize("height", [10.0, -10.0])
def test_ten_deviations_are_seen_within_three_seconds_of_being_held(
    rate: int, quiet: float, height: float
) -> None:
    rng = np.random.default_rng(21)
    length = quiet + 13.0
    seen = [
        first_seen(*slow_rise(rng, rate, height, quiet_s=quiet, length_s=length + 0.2)) for _ in range(12)
    ]
    assert all(each is not None for each in seen)
    starts = np.array([began for each in seen if each is not None for began in each[1:]])
    assert abs(np.mean(starts) - quiet) < 0.4 and np.std(starts) < 0.8


def test_at_ten_readings_a_second_eight_seconds_of_quiet_show_most_rises_in_two_seconds() -> None:
    rng = np.random.default_rng(26)
    rises = (slow_rise(rng, 10, 10.0, quiet_s=8.0, length_s=20.2) for _ in range(24))
    assert sum(first_seen(*each) is not None for each in rises) >= 23


COURSES = {
    "noise": lambda t: 0 * t,
    "drift": lambda t: t,
    "warming": lambda t: 100 * -np.expm1(-t / 60),
    "swing": lambda t: 10 * np.sin(2 * np.pi * t / 60),
    "folded hum": lambda t: 10 * np.sin(2 * np.pi * 50.13 * t),
    "a step below the bound": lambda t: 5.0 * (t > 40),
    "knocks": lambda t: 50 * np.exp(-(((t % 15 - 7) / 0.5) ** 2)),
}


@pytest.mark.parametrize("course", COURSES)
def test_what_is_no_rise_starts_nothing(course: str) -> None:
    rng = np.random.default_rng(22)
    time = np.arange(90 * 10) / 10
    for _ in range(2):
        assert first_seen(time, COURSES[course](time) + rng.standard_normal(time.size)) is None


def test_a_gap_in_the_line_hides_what_came_before_and_no_more() -> None:
    rng = np.random.default_rng(23)
    time, reading = slow_rise(rng, 10, 20.0, quiet_s=20.0, length_s=34.0)
    time = time + 0.05  # blocks, by their middles
    there = (time < 5.0) | (time > 8.0)
    found = find_held_start(time[there], reading[there], 1e-9)
    assert found is not None and found.began == pytest.approx(20.0, abs=1.0)
    assert find_held_start(time[time > 26.0], reading[time > 26.0], 1e-9) is None
