"""Specimens as a random effect, beside plain t tests."""

import numpy as np
import pytest
from scipy.stats import ttest_1samp
from tests.unit.judge.campaigns import ORDINARY, runs_of

from strikeproof.errors import BadInput, TooFewRuns
from strikeproof.judge.questions.effects import fit_effects
from strikeproof.judge.questions.specimens import judge_product


def product(text, specimens, *, margin=1.0, **more):
    effects = fit_effects(runs_of(text), "ref")
    return judge_product(effects, specimens, "air", margin_percent=margin, confidence=0.95, **more)


def many(apart, *, scatter=0.2, blocks=8, seed=2):
    """Specimens that are so many percent apart from 110, the reference six times a block."""
    rng = np.random.default_rng(seed)
    lines = []
    for _ in range(blocks):
        level = [(f"s{i}", 110 + each) for i, each in enumerate(apart)] + [("ref", 100)] * 6
        chance = np.exp(scatter / 100 * rng.normal(size=len(level)))
        words = [f"{name}={value * each:.4f}" for (name, value), each in zip(level, chance, strict=True)]
        lines.append(" ".join(rng.permutation(words)))
    return "\n".join(lines)


def test_with_a_sure_reference_it_is_the_t_test_of_the_specimens():
    apart = (-4.0, 1.0, 5.0, -2.0, 0.5)
    found = product(many(apart, scatter=0.05), [f"s{i}" for i in range(5)])
    test = ttest_1samp(np.log((110 + np.asarray(apart)) / 100), 0.0)
    low, high = test.confidence_interval(0.95)
    assert np.log1p(np.asarray([found.low_percent, found.high_percent]) / 100) == pytest.approx(
        [low, high], abs=1e-3
    )
    assert found.degrees_of_freedom == pytest.approx(4.0, abs=0.05)
    assert (found.verdict, found.p_scatter < 1e-6) == ("higher", True)
    assert found.scatter_percent == pytest.approx(
        100 * np.std(np.log(110 + np.asarray(apart)), ddof=1), abs=0.1
    )


def test_specimens_that_are_alike_show_no_scatter():
    found = product(many((0.0,) * 4), [f"s{i}" for i in range(4)])
    assert found.scatter_percent < 0.2
    assert found.p_scatter > 0.05


def test_two_specimens_far_apart_settle_nothing():
    found = product(many((-8.0, 8.0)), ["s0", "s1"])
    assert (found.verdict, found.high_percent - found.low_percent > 100) == ("cannot tell", True)


def test_one_specimen_is_no_product():
    with pytest.raises(TooFewRuns, match="1 specimen, 2 needed"):
        product(ORDINARY, ["a", "a"])


@pytest.mark.parametrize("specimens", [["a", "ref"], ["a", "z"]])
def test_what_cannot_be_compared_is_refused(specimens):
    with pytest.raises(BadInput, match="other than ref that can be compared"):
        product(ORDINARY, specimens)
