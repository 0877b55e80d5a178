"""Expected information against closed forms.

Lindley, D. V., "On a measure of the information provided by an experiment", Ann. Math. Stat. 27 (1956) 986:
for a normal unknown of spread s read with noise of spread v it is ½ log2(1 + s²/v²) bits (exact).
"""

import numpy as np
import pytest
from scipy.stats import norm

from strikeproof.explain.following import expected_bits

EVEN = norm.ppf((np.arange(4000) + 0.5) / 4000)


@pytest.mark.parametrize("ratio", [0.1, 0.5, 1.0, 3.0, 10.0])
def test_normal_unknown_read_with_normal_noise(ratio):
    bits = expected_bits([0.02 * ratio * EVEN], np.ones(1), 0.02)
    assert bits.parameters == pytest.approx(0.5 * np.log2(1.0 + ratio**2), abs=2e-3)
    assert bits.rivals == pytest.approx(0.0, abs=1e-9)


def test_rivals_far_apart_are_told_apart_whole():
    """The information is then the entropy of their chances: 1.5 bit for ½, ¼, ¼."""
    bits = expected_bits([np.zeros(1), np.ones(1), np.full(1, 2.0)], np.array([0.5, 0.25, 0.25]), 0.01)
    assert bits.rivals == pytest.approx(1.5, abs=1e-3)


def test_rivals_that_say_the_same_are_not_told_apart():
    bits = expected_bits([EVEN, EVEN], np.array([0.5, 0.5]), 0.5)
    assert bits.rivals == pytest.approx(0.0, abs=1e-9)


def test_two_rivals_one_noise_apart():
    """A binary signal ±a in normal noise tells 0.486 bit at a/v = 1.

    Gallager, *Information Theory and Reliable Communication*, 1968, the binary-input normal channel (from
    memory; recomputed here by sampling).
    """
    rng = np.random.default_rng(1)
    y = 1.0 + rng.standard_normal(400_000)
    exact = 1.0 - np.mean(np.log2(1.0 + np.exp(-2.0 * y)))
    bits = expected_bits([np.ones(1), -np.ones(1)], np.array([0.5, 0.5]), 1.0)
    assert bits.rivals == pytest.approx(exact, abs=4e-3)
    assert bits.rivals == pytest.approx(0.486, abs=1e-3)


@pytest.mark.parametrize("size", [12, 64])
def test_rivals_that_expect_the_same_are_not_told_apart_by_few_draws(size):
    """The truth is 0 bit about the rivals, and Lindley's ½ log2(1 + 20²) about the unknown."""
    rng = np.random.default_rng(1)
    found = [
        expected_bits([0.2 * rng.standard_normal(size) for _ in range(3)], np.array([0.5, 0.3, 0.2]), 0.01)
        for _ in range(20)
    ]
    assert np.mean([each.rivals for each in found]) < 1.5 / size
    assert np.mean([each.parameters for each in found]) == pytest.approx(0.5 * np.log2(401.0), abs=0.4)


@pytest.mark.parametrize("size", [24, 64])
def test_a_prediction_of_two_humps_is_not_smeared(size):
    """Two humps against one between them; the exact entropies are sums over `scipy.stats.norm`."""
    y, noise = np.linspace(-0.6, 0.6, 20001), 0.02
    two = np.mean([norm.pdf(y, centre, np.hypot(0.02, noise)) for centre in (-0.3, 0.3)], axis=0)
    one = norm.pdf(y, 0.0, np.hypot(0.05, noise))
    of_two, of_one, of_both = (
        -np.sum(each * np.log2(np.maximum(each, 1e-300))) * (y[1] - y[0])
        for each in (two, one, (two + one) / 2.0)
    )
    inside = (of_two + of_one) / 2.0
    rng = np.random.default_rng(1)
    found = [
        expected_bits(
            [
                rng.choice([-0.3, 0.3], size) + 0.02 * rng.standard_normal(size),
                0.05 * rng.standard_normal(size),
            ],
            np.array([0.5, 0.5]),
            noise,
        )
        for _ in range(10)
    ]
    assert np.mean([each.rivals for each in found]) == pytest.approx(of_both - inside, abs=0.02)
    expected = inside - 0.5 * np.log2(2.0 * np.pi * np.e * noise**2)
    assert np.mean([each.parameters for each in found]) == pytest.approx(expected, abs=0.15)


def test_draws_that_coincide_do_not_look_like_humps():
    """The same few draws many times over, as of particles with great weights, are smoothed as before."""
    rng = np.random.default_rng(1)
    found = [
        expected_bits([np.repeat(0.2 * rng.standard_normal(12), 2) for _ in range(3)], np.ones(3) / 3.0, 0.01)
        for _ in range(20)
    ]
    assert np.mean([each.rivals for each in found]) < 0.25
