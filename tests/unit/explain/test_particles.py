import numpy as np
import pytest
from scipy.stats import multivariate_normal

from strikeproof.explain.own_part import KIN
from strikeproof.explain.particles import Particles, draw_foresight, foresee, log_density, posterior_weights
from strikeproof.explain.statistical import Table, curve_rival, mass_rival, nothing_rival

NONE = np.full(4, KIN)  # no article has a part of its own
TABLE = Table(
    np.array([0.0, 0.0, 0.0, 1.0]), np.array([0.5, 1.0, 1.5, 1.0]), np.array([0.3, 0.6, 0.9, 0.6]), NONE
)
SCATTER = 1e-4 * (np.eye(4) + 0.5)
GAINS = np.array([0.05, 0.11, 0.17, -0.03])


def test_log_density_is_that_of_the_library():
    rng = np.random.default_rng(1)
    half = rng.standard_normal((3, 4, 4))
    covariance = half @ half.transpose(0, 2, 1) + np.eye(4)
    rest = rng.standard_normal((3, 4))
    wanted = [multivariate_normal(cov=c).logpdf(r) for r, c in zip(rest, covariance, strict=True)]
    assert log_density(rest, covariance) == pytest.approx(wanted)


def test_nothing_says_zero_and_only_the_runs_scatter():
    view = foresee(nothing_rival(TABLE), GAINS, 1e-4 * np.eye(4), [1])
    assert view.mean == pytest.approx(np.zeros((len(view.mean), 1)))
    assert view.covariance[:, 0, 0] == pytest.approx(1e-4)


def test_mass_slope_is_found_from_the_other_articles_of_the_same_tool():
    view = foresee(mass_rival(TABLE), GAINS, 1e-6 * np.eye(4), [1])
    slope = (0.3 * 0.05 + 0.9 * 0.17) / (0.3**2 + 0.9**2)
    assert view.mean[0, 0] == pytest.approx(0.6 * slope, abs=1e-4)


def test_another_tool_has_its_own_slope():
    view = foresee(mass_rival(TABLE), GAINS, 1e-6 * np.eye(4), [3])
    assert view.mean[0, 0] == pytest.approx(0.0)


def test_curve_passes_through_the_reference():
    rival = curve_rival(Table(np.zeros(2), np.array([0.0, 1.0]), np.zeros(2), NONE[:2]))
    assert rival.covariance[:, 0, :] == pytest.approx(np.zeros((len(rival.mean), 2)))


def test_evidence_of_all_is_that_of_each_after_the_others():
    rival = curve_rival(TABLE)
    whole = posterior_weights(rival, GAINS, SCATTER, range(4))[1]
    part = posterior_weights(rival, GAINS, SCATTER, [0, 1, 2])[1]
    view = foresee(rival, GAINS, SCATTER, [3])
    last = sum(
        w * multivariate_normal(m, c).pdf(GAINS[3])
        for w, m, c in zip(view.weight, view.mean[:, 0], view.covariance[:, 0, 0], strict=True)
    )
    assert whole == pytest.approx(part + np.log(last), abs=1e-4)


def test_draws_have_the_foreseen_mean_and_spread():
    rival = Particles(
        "chain", np.log([0.25, 0.75]), np.array([[0.0], [1.0]]), np.full((2, 1, 1), 0.01), np.zeros((2, 0))
    )
    view = foresee(rival, np.zeros(1), np.zeros((1, 1)), [0])
    draws = draw_foresight(view, 40_000, np.random.default_rng(1))
    assert draws.mean() == pytest.approx(0.75, abs=0.01)
    assert draws.var() == pytest.approx(0.01 + 0.75 * 0.25, rel=0.03)
