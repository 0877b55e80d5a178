"""A clean loop is accused of nothing, whatever its ends do; a wrong falling reading is named where sure."""

import numpy as np
import pytest

from strikeproof.judge.calibration import fit_calibration
from strikeproof.judge.falling import find_strays
from strikeproof.judge.points import Points


def sheet(rng, levels, *, series=1, noise=1.0, zero_returns=True, stray=None, by=100.0):
    """Readings to 1000 with a loop of 20 that opens over an eighth of the range, as from play.

    `stray` is the falling reading that is `by` too high.
    """
    up = np.linspace(0.0, 500.0, levels)
    down = up[-2::-1]
    play = 20.0 * np.minimum(1.0, (1.0 - down / 500.0) * 8.0)
    play = np.where(down > 0.0, play, play * (not zero_returns))
    applied, loop = np.tile(np.r_[up, down], series), np.tile(np.r_[0.0 * up, play], series)
    rising = np.tile(np.arange(2 * levels - 1) < levels, series)
    reading = 2.0 * applied + loop + rng.normal(0.0, noise, applied.size)
    if stray is not None:
        reading[levels + stray] += by
    repeat = np.repeat(np.arange(series), 2 * levels - 1)
    return applied, reading, rising, repeat


def suspects_of(applied, reading, rising, repeat):
    fit = fit_calibration(applied, reading, rising=rising, repeat=repeat)
    return [each for each in fit.suspects if not rising[each]]


@pytest.mark.parametrize("noise", [0.5, 2.0])
@pytest.mark.parametrize("zero_returns", [True, False])
@pytest.mark.parametrize(("series", "levels"), [(1, 6), (1, 11), (2, 11), (3, 6)])
def test_a_clean_loop_is_accused_of_nothing(series, levels, zero_returns, noise):
    """At 1 % a sheet, more than 2 of 20 have odds of 1 in 1000 (binomial)."""
    rng = np.random.default_rng(7)
    sheets = (sheet(rng, levels, series=series, noise=noise, zero_returns=zero_returns) for _ in range(20))
    assert sum(bool(suspects_of(*each)) for each in sheets) <= 2


@pytest.mark.parametrize(("series", "levels", "stray"), [(1, 11, 4), (2, 6, 2), (3, 6, 2), (3, 6, 4)])
def test_a_wrong_falling_reading_is_named_and_none_beside_it(series, levels, stray):
    rng = np.random.default_rng(8)
    assert suspects_of(*sheet(rng, levels, series=series, stray=stray)) == [levels + stray]


@pytest.mark.parametrize(("series", "stray"), [(1, 2), (1, 4), (2, 4)])
def test_of_two_that_disagree_at_an_end_and_of_few_levels_none_is_named(series, stray):
    """The last is at zero: nothing says which of the two series is wrong, or what an open loop does there."""
    assert suspects_of(*sheet(np.random.default_rng(9), 6, series=series, stray=stray)) == []


def test_of_two_the_right_one_is_not_named_where_the_loop_closes_at_zero():
    """The error is what the loop is off its neighbours there, so that the right reading looks wrong."""
    applied, reading, *ways = sheet(np.random.default_rng(10), 6, series=2, noise=0.2, stray=3, by=-10.0)
    assert suspects_of(applied, np.round(reading, 1), *ways) == []


def test_noise_on_few_readings_makes_no_kink():
    """At 1 in 100 more than 14 of 600 have odds below 1 in 500 (binomial)."""
    rng, applied, one_each = np.random.default_rng(11), np.linspace(0.0, 500.0, 9), np.arange(9)
    readings = np.round(2.0 * applied + rng.normal(0.0, 1.0, (600, 9)), 1)
    sheets = (Points(applied, each, 0 * applied, None, one_each, one_each, 0.1, 1e-3) for each in readings)
    assert sum(bool(find_strays(each, 0.01)) for each in sheets) <= 14
