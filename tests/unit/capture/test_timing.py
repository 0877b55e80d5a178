"""The rhythm of time stamps: coarse clocks are spread, gaps and steps back are told and kept."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from strikeproof.capture.timing import find_rhythm, median_period


def _kinds(time: np.ndarray, rate: float | None = None) -> list[tuple[str, int | None, int]]:
    rhythm = find_rhythm(time, rate)
    assert rhythm is not None
    return [(each.kind, each.first_line, each.count) for each in rhythm.findings]


def test_even_stamps_have_no_findings() -> None:
    assert _kinds(np.arange(1000) / 80) == []


@given(
    period=st.floats(0.02, 0.7),
    phase=st.floats(0, 1),
    count=st.integers(300, 2000),
)
def test_a_coarse_clock_is_spread_to_within_its_step(period: float, phase: float, count: int) -> None:
    """Stamps floor(i T + phase) for a true period T below the clock's step of 1."""
    true = np.arange(count) * period
    stamps = np.floor(true + phase)
    rhythm = find_rhythm(stamps - stamps[0])
    assert rhythm is not None
    assert rhythm.period == pytest.approx(period, rel=4.0 / (count * period))
    assert [each.kind for each in rhythm.findings] == ["repeated-time"]
    assert np.abs(rhythm.time - true).max() < 2.0  # two steps of the clock
    assert np.all(np.diff(rhythm.time) > 0)


@given(period=st.floats(0.02, 0.5), lost=st.integers(3, 40))
def test_a_gap_under_a_coarse_clock_is_kept(period: float, lost: int) -> None:
    taken = np.r_[np.arange(400), np.arange(400 + lost + round(2 / period), 900)] * period
    rhythm = find_rhythm(np.floor(taken))
    assert rhythm is not None
    assert "gap" in [each.kind for each in rhythm.findings]
    assert rhythm.time[-1] == pytest.approx(taken[-1], abs=3.0)


def test_a_known_rate_places_coarse_stamps() -> None:
    stamps = np.floor(np.arange(400) / 80)
    rhythm = find_rhythm(stamps, 80.0)
    assert rhythm is not None and rhythm.time[80] == 1.0
    constant = find_rhythm(np.zeros(50), 80.0)
    assert constant is not None and constant.time[-1] == 49 / 80
    assert find_rhythm(np.zeros(50)) is None


def test_irregular_repeats_stay_as_recorded() -> None:
    time = np.arange(200) / 20
    time[[5, 40, 41, 160]] = time[[4, 39, 39, 159]]
    rhythm = find_rhythm(time)
    assert rhythm is not None and np.array_equal(rhythm.time, time)
    assert [(each.kind, each.first_line, each.count) for each in rhythm.findings] == [("repeated-time", 5, 4)]


def test_bursts_of_one_stamp_without_a_pattern_stay_as_recorded() -> None:
    rng = np.random.default_rng(3)
    time = np.repeat(np.cumsum(rng.exponential(size=30)), rng.integers(1, 40, size=30))
    time -= time[0]
    rhythm = find_rhythm(time)
    assert rhythm is not None and np.array_equal(rhythm.time, time)
    assert rhythm.period == pytest.approx(time[-1] / (len(time) - 1))


def test_gaps_are_told_with_their_place_and_size() -> None:
    time = np.arange(500) / 100
    time[200:] += 0.05
    time[300:] += 0.5
    (finding,) = find_rhythm(time).findings
    assert (finding.kind, finding.first_line, finding.count) == ("gap", 200, 2)
    assert "0.55 s in all" in finding.detail and "0.51 s the longest" in finding.detail


def test_rounded_stamps_make_no_gaps_and_no_wrong_rate() -> None:
    time = np.floor(np.arange(3000) * 1.5) / 1000
    assert median_period(time) == pytest.approx(1.5e-3, rel=1e-2)
    assert _kinds(time) == []


def test_steps_back_are_kept() -> None:
    time = np.arange(300) / 20
    time[100:] -= 2.0
    rhythm = find_rhythm(time)
    assert rhythm is not None and np.array_equal(rhythm.time, time)
    assert _kinds(time) == [("backward-time", 100, 1)]
