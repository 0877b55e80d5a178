import numpy as np
import pytest

from strikeproof.trace.growth import growth_of_blows, growth_of_samples, settled_levels
from strikeproof.trace.hammering import find_excursion, last_activity, main_train


@pytest.fixture
def rng():
    return np.random.default_rng(9)


def test_an_excursion_is_found_either_way(rng):
    level = 5 + 0.1 * rng.standard_normal(4000)
    level[1000:] += 40 * np.sqrt(1 - np.exp(-np.arange(3000) / 600))
    up = find_excursion(level, 0.001)
    down = find_excursion(-level, 0.001)
    assert (up.sign, down.sign) == (1, -1)
    assert up.quiet == pytest.approx(1000, abs=20) and up.height == pytest.approx(40, rel=0.05)


def test_noise_and_drift_are_no_excursion(rng):
    for _ in range(50):
        level = 0.1 * rng.standard_normal(4000) + np.linspace(0, 1, 4000)
        assert find_excursion(level, 0.001) is None


def test_a_stray_block_is_no_start(rng):
    level = 0.1 * rng.standard_normal(4000)
    level[200:215] += 30
    level[2000:] += 50
    assert find_excursion(level, 0.001).loaded == pytest.approx(2000, abs=20)


def test_the_longest_train_is_the_run():
    times = np.r_[0.1, 0.14, np.arange(2, 6, 0.04), 8.0]
    assert main_train(times, 1.0) == (2, times.size - 1)
    assert main_train(np.zeros(0), 1.0) == (0, 0)


def test_activity_ends_only_with_a_sudden_stop(rng):
    quiet = 0.1 * rng.standard_normal(200)
    jumping = np.r_[rng.standard_normal(800), 0.1 * rng.standard_normal(800)]
    fading = np.exp(-np.arange(1600) / 200) * rng.standard_normal(1600) + 0.1 * rng.standard_normal(1600)
    assert last_activity(jumping, 0.01, quiet) == pytest.approx(8.0, abs=0.5)
    assert last_activity(fading, 0.01, quiet) is None
    assert last_activity(jumping[:800], 0.01, quiet) is None


def test_settled_levels_leave_front_and_ringing_out():
    level = np.repeat([0.0, 1.0, 3.0], 100)
    level[[100, 105, 200, 210]] += 50
    levels, counts = settled_levels(level, 0.001, np.array([0.1, 0.2]), 0.1)
    assert levels == pytest.approx([1.0, 3.0])
    assert np.all(counts > 40)


def test_growth_curves_keep_within_their_points(rng):
    times, levels = np.arange(5000) * 0.02, np.arange(5000.0)
    at, level = growth_of_blows(times + 3, levels, 3.0)
    assert at.size == 401 and (at[0], level[0]) == (0, 0) and level[-1] == 4999
    at, level = growth_of_samples(times, levels, np.ones(5000, bool), 0.0)
    assert at.size <= 401 and level[1:] == pytest.approx(at[1:] / 0.02)
