import numpy as np
import pytest

from strikeproof.explain.sampling import Effort, cover, make_mixture, sample

SPREAD = np.array([[1.0, 0.6, 0.0], [0.6, 1.0, 0.0], [0.0, 0.0, 0.04]])
CENTRE = np.array([0.5, -0.5, 1.0])


def gaussian(points: np.ndarray) -> np.ndarray:
    rest = points - CENTRE
    return -0.5 * np.einsum("ki,ij,kj->k", rest, np.linalg.inv(SPREAD), rest)


def test_a_normal_target_is_met():
    chains = sample(gaussian, 3, Effort(32, 150, 600), np.random.default_rng(1))
    assert chains.r_hat < 1.05
    assert chains.flat.mean(axis=0) == pytest.approx(CENTRE, abs=0.08)
    assert np.cov(chains.flat.T) == pytest.approx(SPREAD, abs=0.12)


def test_same_seed_same_draws():
    one, two = (sample(gaussian, 3, Effort(16, 40, 60), np.random.default_rng(5)) for _ in range(2))
    assert np.array_equal(one.draws, two.draws)


def test_mixture_density_integrates_to_one():
    mixture = make_mixture([CENTRE, np.zeros(3)], [SPREAD, np.eye(3)])
    wide = make_mixture([np.zeros(3)], [9.0 * np.eye(3)])
    points = wide.draw(200_000, np.random.default_rng(1))
    ratio = np.exp(mixture.log_density(points) - wide.log_density(points))
    assert ratio.mean() == pytest.approx(1.0, abs=0.02)


def test_cover_reaches_posterior_prior_and_what_is_without_an_article():
    rng = np.random.default_rng(1)
    narrow = rng.multivariate_normal([1.0, 0.0], np.diag([0.01, 0.8]), 2000)
    mixture = cover(narrow, [np.array([[9.9, 0.0]])])
    points = mixture.draw(2000, rng)
    target = -0.5 * ((points[:, 0] - 1.0) ** 2 / 0.01 + points[:, 1] ** 2 / 0.8)
    for logs in (target, -0.5 * np.sum(points**2, axis=1)):
        weight = np.exp(logs - mixture.log_density(points) - (logs - mixture.log_density(points)).max())
        assert weight.sum() ** 2 / np.sum(weight**2) > 500


def test_many_unknowns_get_as_many_walkers_as_they_need():
    """Three tools and their bonds have 23 unknowns; a quick fit asks for 40 walkers."""
    chains = sample(
        lambda points: -0.5 * np.sum(points**2, axis=1),
        23,
        Effort(40, 8, 8, rounds=0),
        np.random.default_rng(1),
    )
    assert chains.draws.shape[0] == 46
