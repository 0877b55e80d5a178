"""How far a level wanders by itself is told from its noise, its rise and its stray samples."""

import numpy as np
import pytest
from tests.slow_rises import slow_rise

from strikeproof.trace.rise import may_be_swing
from strikeproof.trace.wander import wandering

LENGTH_S = 14.0


@pytest.mark.parametrize("rate", [20, 200])
@pytest.mark.parametrize("noise", [0.0, 1.0])
def test_a_random_walk_wanders_as_far_as_it_was_made_to(rate, noise):
    """The root of rate times time, noise beside it or not (Allan, Proc. IEEE 54, 1966, from memory)."""
    rng = np.random.default_rng(51)
    steps = rng.standard_normal((40, round(LENGTH_S * rate))) * 20 / np.sqrt(LENGTH_S * rate)
    walks = np.cumsum(steps, axis=1) + noise * rng.standard_normal(steps.shape)
    found = [wandering(each, 1 / rate, LENGTH_S) for each in walks]
    assert np.median(found) == pytest.approx(20.0, rel=0.2)


@pytest.mark.parametrize("rate", [10, 50, 500])
def test_a_rise_beside_noise_or_stray_samples_does_not_wander(rate):
    rng = np.random.default_rng(52)
    for _ in range(10):
        time, reading = slow_rise(rng, rate, 100.0)
        reading[rng.random(time.size) < 0.1] += 20.0
        assert wandering(reading, 1 / rate, LENGTH_S) < 100.0 / 3.5


def test_too_few_samples_say_nothing_of_wandering():
    assert wandering(np.arange(30.0), 0.1, 10.0) == 0.0
    assert wandering(np.zeros(300), 0.1, 10.0) == 0.0


@pytest.mark.parametrize("turns", [0.4, 0.97, 2.53])
def test_a_swing_is_told_from_a_rise_that_is_held(turns):
    rng = np.random.default_rng(53)
    time = np.arange(140) / 10
    swing = 50 * np.sin(2 * np.pi * (turns * time / LENGTH_S + rng.random())) + rng.standard_normal(140)
    assert may_be_swing(swing, 0.1)
    assert not may_be_swing(slow_rise(rng, 10, 50.0)[1], 0.1)
