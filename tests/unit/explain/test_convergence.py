import numpy as np
import pytest
from scipy.signal import lfilter

from strikeproof.explain.sampling import end_size, find_r_hat, middle_size


def autoregressive(rho: float, chains: int = 8, steps: int = 4000) -> np.ndarray:
    noise = np.random.default_rng(1).standard_normal((chains, steps + 200))
    return lfilter([np.sqrt(1.0 - rho**2)], [1.0, -rho], noise, axis=1)[:, 200:]


def test_independent_draws_count_whole():
    chains = autoregressive(0.0)
    assert find_r_hat(chains) < 1.002
    assert middle_size(chains) == pytest.approx(chains.size, rel=0.1)
    assert end_size(chains) == pytest.approx(chains.size, rel=0.15)


@pytest.mark.parametrize("rho", [0.5, 0.9])
def test_size_of_an_autoregression_is_the_exact_one(rho):
    """n (1 − ρ)/(1 + ρ), exact for the mean of a first-order autoregression."""
    chains = autoregressive(rho)
    assert middle_size(chains) == pytest.approx(chains.size * (1.0 - rho) / (1.0 + rho), rel=0.15)


def test_a_chain_that_lies_elsewhere_shows():
    chains = autoregressive(0.0)
    chains[0] += 3.0
    assert find_r_hat(chains) > 1.1
    assert middle_size(chains) < 0.01 * chains.size


def test_a_chain_that_is_only_wider_shows():
    chains = autoregressive(0.0)
    chains[0] *= 6.0
    assert find_r_hat(chains) > 1.02


def test_a_chain_that_wanders_shows():
    chains = autoregressive(0.0) + np.linspace(0.0, 4.0, 4000)
    assert find_r_hat(chains) > 1.25  # halves lie 2 apart, each of variance 1.33: √(1 + 1.07/1.33) = 1.34


def test_heavy_tails_do_not_disturb():
    chains = np.random.default_rng(2).standard_cauchy((8, 2000))
    assert find_r_hat(chains) < 1.005
    assert middle_size(chains) == pytest.approx(chains.size, rel=0.15)
