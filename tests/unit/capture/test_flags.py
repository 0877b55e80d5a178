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
    for values, word, first in ((np.minimum(RISE, 60.0), "top", None), (np.maximum(RISE, 20.0), "bottom", 0)):
        finding = find_clipping("load", values, NONE)
        assert finding is not None and word in finding.detail
        assert first is None or finding.first_line == first


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
