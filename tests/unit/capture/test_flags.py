"""Overload codes only where they stand apart, flat tops only where the signal moves elsewhere."""

from __future__ import annotations

import numpy as np
import pytest

from strikeproof.capture.flags import find_clipping, find_overflow_codes

RNG = np.random.default_rng(5)
RISE = 80 * (1 - np.exp(-np.arange(2000) / 500)) + RNG.normal(scale=0.3, size=2000)
NONE = np.zeros(2000, dtype=np.bool_)


@pytest.mark.parametrize(
    "code",
    [9999.0, -9999.0, 99999.0, 9999.9, 1e38, 9.9e37, 3.403e38, 32767.0, -32768.0, 2147483647.0, 8388607.0],
)
def test_codes_that_stand_apart_are_found_and_left(code: float) -> None:
    values = RISE.copy()
    values[[300, 301, 700]] = code
    found, finding = find_overflow_codes("load", values)
    assert np.flatnonzero(found).tolist() == [300, 301, 700]
    assert finding is not None and (finding.first_line, finding.count) == (300, 3)
    assert values[300] == code


def test_a_code_within_the_signal_is_a_value() -> None:
    newtons = RISE * 200
    newtons[700] = 9999.0
    assert find_overflow_codes("load", newtons)[1] is None
    assert find_overflow_codes("load", np.full(100, 9999.0))[1] is None
    assert find_overflow_codes("load", np.full(100, np.nan))[1] is None
    counts = np.linspace(0, 32767, 500).round()
    assert find_overflow_codes("load", counts)[1] is None


def test_a_clipped_top_and_a_clipped_bottom() -> None:
    for values, word in ((np.minimum(RISE, 60.0), "top"), (np.maximum(-RISE, -60.0), "bottom")):
        finding = find_clipping("load", values, NONE)
        assert finding is not None and word in finding.detail
        assert abs(abs(values[finding.first_line or 0]) - 60.0) < 1e-9 and finding.count > 1000


def test_clipped_pulses_are_counted() -> None:
    time = np.arange(20_000) / 10_000
    pulses = 100 * np.maximum(np.sin(2 * np.pi * 20 * time), 0) ** 8 + RNG.normal(scale=0.5, size=len(time))
    finding = find_clipping("torque", np.minimum(pulses, 80.0), np.zeros(len(time), dtype=np.bool_))
    assert finding is not None and "40 times" in finding.detail


def test_the_rest_before_a_run_and_a_load_that_levels_off_are_not_clipped() -> None:
    time = np.arange(800) / 80
    rested = np.round(np.where(time < 2, 0.0, 80 * (1 - np.exp(-(time - 2) / 0.6))), 1)
    assert find_clipping("load", rested, np.zeros(800, dtype=np.bool_)) is None
    slow = np.round(np.sin(np.arange(100_000) / 50_000), 3)
    assert find_clipping("load", slow, np.zeros(100_000, dtype=np.bool_)) is None


def test_noise_a_coarse_converter_and_a_steady_level_are_not_clipped() -> None:
    assert find_clipping("load", RISE, NONE) is None
    assert find_clipping("load", np.round(RISE), NONE) is None
    assert find_clipping("load", np.full(2000, 3.0), NONE) is None
    stepped = np.repeat(np.arange(100.0), 20)  # a board that repeats each reading twenty times
    assert find_clipping("load", stepped, NONE) is None


def test_a_plateau_of_overload_codes_is_told_once() -> None:
    values = RISE.copy()
    values[500:600] = 9999.0
    codes, _ = find_overflow_codes("load", values)
    assert find_clipping("load", values, codes) is None
