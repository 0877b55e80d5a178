import numpy as np
import pytest
from scipy.special import ndtr, stdtr
from scipy.stats import chi2, multivariate_t

from strikeproof.judge.simultaneous import largest_t


def exact_inside(bound, loading, free):
    """P(max|T| <= bound) for correlations b_i b_j: two one-dimensional integrals, by Gauss rules."""
    nodes, weights = np.polynomial.hermite_e.hermegauss(60)
    grid, grid_weights = np.polynomial.legendre.leggauss(200)
    half = (bound * np.sqrt(chi2.isf((grid + 1) / 2, free) / free))[:, None, None]
    rest, shift = np.sqrt(1 - loading**2), loading * nodes[:, None]
    inside = (ndtr((half - shift) / rest) - ndtr((-half - shift) / rest)).prod(axis=2)
    return (inside @ weights / weights.sum()) @ grid_weights / 2


def product_form(loading):
    correlation = np.outer(loading, loading)
    np.fill_diagonal(correlation, 1.0)
    return correlation


@pytest.mark.parametrize(("comparisons", "error"), [(2, 1e-4), (5, 1e-4), (14, 1e-3), (50, 1e-3)])
@pytest.mark.parametrize("free", [3, 20, 400])
def test_critical_value_holds_its_confidence(comparisons, error, free):
    loading = np.random.default_rng(comparisons).uniform(0.3, 0.85, comparisons)
    critical = largest_t(product_form(loading), free).critical_value(0.95)
    assert exact_inside(critical, loading, free) == pytest.approx(0.95, abs=error)


def test_any_correlation_agrees_with_scipy():
    rng = np.random.default_rng(3)
    root = rng.standard_normal((6, 6))
    covariance = root @ root.T + np.eye(6)
    size = np.sqrt(np.diag(covariance))
    correlation = covariance / np.outer(size, size)
    theirs = multivariate_t.cdf(
        np.full(6, 2.5),
        shape=correlation,
        df=15,
        lower_limit=np.full(6, -2.5),
        random_state=1,
        maxpts=200_000,
    )
    assert largest_t(correlation, 15).p_beyond(2.5) == pytest.approx(1.0 - theirs, abs=5e-4)


def test_one_comparison_is_the_plain_t():
    alone = largest_t(np.eye(1), 7)
    assert alone.critical_value(0.95) == pytest.approx(2.364624, abs=1e-6)
    assert alone.p_beyond(-3.0) == pytest.approx(2 * stdtr(7, -3.0))


def test_p_and_critical_value_agree_on_the_decision():
    largest = largest_t(product_form(np.full(9, 0.6)), 12)
    assert largest.p_beyond(largest.critical_value(0.95)) == pytest.approx(0.05, abs=1e-5)


def test_p_stays_between_one_comparison_and_bonferroni():
    largest = largest_t(product_form(np.full(20, 0.5)), 30)
    for bound in (0.0, 1.0, 3.0, 6.0, 15.0, 1e3):
        alone = 2 * stdtr(30, -bound)
        assert alone <= largest.p_beyond(bound) <= min(1.0, 20 * alone)


def test_the_same_design_gives_the_same_digits():
    first, second = (largest_t(product_form(np.full(5, 0.7)), 9) for _ in range(2))
    assert first.critical_value(0.95) == second.critical_value(0.95)
