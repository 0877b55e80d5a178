import numpy as np
import pytest
from scipy.special import logsumexp

from strikeproof.explain.judgement import stack


def test_weights_of_two_coins_are_the_exact_ones():
    """Coins of 0.9 and 0.1, 60 % heads: the mixture must say 0.6, so the weights are 5/8 and 3/8."""
    heads = np.array([1] * 60 + [0] * 40)
    scores = np.log(np.column_stack([np.where(heads, 0.9, 0.1), np.where(heads, 0.1, 0.9)]))
    assert stack(scores) == pytest.approx([0.625, 0.375], abs=1e-4)


def test_a_model_that_is_never_better_gets_nothing():
    scores = np.random.default_rng(1).normal(size=(9, 1)) + np.array([0.0, -1.0, -5.0])
    assert stack(scores) == pytest.approx([1.0, 0.0, 0.0], abs=1e-5)


def test_no_other_weights_do_better():
    rng = np.random.default_rng(2)
    scores = rng.normal(0.0, 2.0, (8, 5))
    best = stack(scores)
    others = rng.dirichlet(np.ones(5), 2000)
    with np.errstate(divide="ignore"):
        value = logsumexp(scores + np.log(best), axis=1).sum()
    assert best.sum() == pytest.approx(1.0)
    assert value >= logsumexp(scores[None] + np.log(others)[:, None], axis=2).sum(axis=1).max() - 1e-6


def test_hopeless_models_do_no_harm():
    scores = np.array([[1.0, -2000.0], [0.5, -3000.0], [-4000.0, 0.2]])
    assert stack(scores) == pytest.approx([2 / 3, 1 / 3], abs=1e-4)
