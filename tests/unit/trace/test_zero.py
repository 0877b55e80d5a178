import numpy as np
import pytest
from scipy import signal, stats

from strikeproof.trace.zero import find_zero, find_zero_after, noise_of_mean, robust_sd


@pytest.fixture
def rng():
    return np.random.default_rng(11)


def test_zero_is_robust_against_a_few_wild_samples(rng):
    level = 4 + 0.1 * rng.standard_normal(1000)
    level[::97] += 50
    zero = find_zero(level, 0.001)
    assert zero.level == pytest.approx(4, abs=0.02)
    assert zero.sd == pytest.approx(0.1, rel=0.1)


def test_robust_sd_agrees_with_scipy(rng):
    values = rng.standard_normal(500)
    assert robust_sd(values) == pytest.approx(stats.median_abs_deviation(values, scale="normal"), rel=0.01)


def test_batch_means_see_correlated_noise(rng):
    """Variance of a mean of AR(1) noise: sd^2/n (1 + r)/(1 - r); Law & Kelton, ch. 4 and 9, from memory."""
    noise = signal.lfilter([1], [1, -0.8], rng.standard_normal(200_000))
    expected = np.var(noise) / 5000 * 1.8 / 0.2
    assert noise_of_mean(noise, 5000) == pytest.approx(expected, rel=0.4)
    white = rng.standard_normal(200_000)
    assert noise_of_mean(white, 5000) == pytest.approx(1 / 5000, rel=0.4)


def test_creep_counts_only_where_it_stands_out(rng):
    noise = 0.1 * rng.standard_normal(2000)
    assert find_zero(noise, 0.001).creep(10.0) == 0.0
    creeping = find_zero(noise + 0.5 * np.arange(2000) * 0.001, 0.001)
    assert creeping.creep(10.0) == pytest.approx(5 / np.sqrt(3), rel=0.1)


def test_zero_after_the_run_is_seen_only_when_the_load_is_off(rng):
    tail = np.r_[np.full(500, 90.0), np.full(500, 2.3)] + 0.01 * rng.standard_normal(1000)
    assert find_zero_after(tail, 2.0, 88.0, 0.001) == pytest.approx(2.3, abs=0.01)
    assert find_zero_after(tail[:500], 2.0, 88.0, 0.001) is None
    assert find_zero_after(tail[:520], 2.0, 88.0, 0.001) is None
