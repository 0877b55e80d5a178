"""How many blocks are enough, beside the noncentral t distribution and `statsmodels`' power of a t test."""

from __future__ import annotations

import numpy as np
import pytest
from scipy import stats
from statsmodels.stats.power import TTestPower

from strikeproof.errors import BadInput
from strikeproof.judge.questions.effects import fit_effects
from strikeproof.judge.questions.enough import Shape, blocks_between, find_enough, own_scatter, simulate_power
from strikeproof.judge.records import ScoredRun
from strikeproof.judge.repeats import power_of_repeats

ONE = Shape(("plain", "ring"), ("air",), "plain", 0.95, 6, 60.0)


def test_a_normal_scatter_gives_the_power_of_the_noncentral_t() -> None:
    """One article, four blocks of three runs: no slope is fitted; 12 - 4 - 1 degrees of freedom are left."""
    scatter = np.random.default_rng(1).normal(0.0, 0.02, 20_000)
    found = simulate_power(scatter, ONE, 5.0, 4, np.random.default_rng(2), campaigns=120)
    effect = np.log1p(0.05) / 0.02
    known = power_of_repeats(4, effect, 0.05, degrees_of_freedom=7)
    # A t test of one mean: its n runs stand for the difference's variance of 1/4 + 1/8.
    plain = TTestPower().power(effect / np.sqrt(0.375) / np.sqrt(8), 8, 0.05, df=7)
    assert known == pytest.approx(plain, abs=1e-3)
    assert found.power == pytest.approx(known, abs=4.0 * found.error)
    assert (found.runs, found.bolts, found.time_s) == (12, 2, 720.0)


def test_fewer_blocks_than_the_answer_show_it_too_seldom() -> None:
    scatter = np.random.default_rng(1).normal(0.0, 0.02, 200)
    found = find_enough(scatter, ONE, 4.0, campaigns=40)
    assert found.needed is not None and found.needed.power >= 0.8
    below = [each.power for each in found.tried if each.blocks < found.needed.blocks]
    assert below and max(below) < 0.8
    assert find_enough(scatter, ONE, 4.0, campaigns=40) == found


def test_the_scatter_is_that_of_the_fit_whatever_was_fitted() -> None:
    rng = np.random.default_rng(4)
    runs = [
        ScoredRun(
            f"{block}-{i}", name, "air", f"{block}", 4 * block + i, float(np.exp(5 + rng.normal(0, 0.03)))
        )
        for block in range(6)
        for i, name in enumerate(rng.permutation(["plain", "plain", "ring", "arm"]))
    ]
    effects = fit_effects(runs, "plain")
    scatter = own_scatter(effects)
    assert scatter.mean() == pytest.approx(0.0, abs=1e-12)
    assert np.mean(scatter**2) == pytest.approx(effects.fit.variance)


@pytest.mark.parametrize(("difference", "power"), [(0.0, 0.8), (5.0, 0.999)])
def test_what_cannot_be_asked_is_refused(difference: float, power: float) -> None:
    with pytest.raises(BadInput):
        find_enough(np.array([-0.01, 0.01]), ONE, difference, power=power)


@pytest.mark.parametrize("freedom", [3, 10, 60])
def test_the_blocks_that_may_be_needed_follow_the_interval_of_a_variance(freedom: int) -> None:
    """SciPy's chi-square distribution is the reference."""
    low, high = blocks_between(100, freedom)
    ends = freedom / stats.chi2.ppf([0.95, 0.05], freedom) * 100
    assert low == pytest.approx(ends[0], abs=1.0) and high == pytest.approx(ends[1], abs=1.0)
    assert low < 100 < high
