"""Eight schools.

Data: Rubin, D. B., "Estimation in parallel randomized experiments", J. Educ. Stat. 6 (1981) 377, table 1
(from memory). Posterior with flat priors on mean and spread: Gelman et al., *Bayesian Data Analysis*, 3rd
ed., section 5.5, table 5.3 (from memory; made there from 200 draws, hence the wide tolerances). Posterior
with the priors mu ~ N(0, 5), tau ~ half-Cauchy(0, 5), and its left-out density: the reference posterior and
the example of the common software for such checks (from memory).
"""

import numpy as np
import pytest
from scipy.stats import halfcauchy, norm

from strikeproof.explain.particles import Particles, foresee, posterior_weights
from strikeproof.explain.sampling import Effort, sample
from strikeproof.quantity import FloatArray

EFFECT = np.array([28.0, 8.0, -3.0, 7.0, -1.0, 1.0, 18.0, 12.0])
ERROR = np.array([15.0, 10.0, 16.0, 11.0, 9.0, 11.0, 10.0, 18.0])
SCALE = 10.0  # the sampler starts from standard normal draws
LEAST_TAU = 1e-3


def log_posterior(points: FloatArray) -> FloatArray:
    """Flat in mu and tau; points are mu/10, log tau/10, eight standardised school effects."""
    mu, tau = SCALE * points[:, 0], SCALE * np.exp(points[:, 1])
    effect = mu[:, None] + tau[:, None] * points[:, 2:]
    logs = norm.logpdf(EFFECT, effect, ERROR).sum(axis=1) + norm.logpdf(points[:, 2:]).sum(axis=1)
    return np.where((tau > LEAST_TAU) & (tau < 200.0), logs + points[:, 1], -np.inf)


@pytest.fixture(scope="module")
def draws() -> FloatArray:
    chains = sample(log_posterior, 10, Effort(64, 400, 1500), np.random.default_rng(1))
    assert chains.r_hat < 1.05
    assert chains.middle > 400
    return chains.flat


def tau_by_quadrature() -> tuple[FloatArray, FloatArray]:
    """Grid of tau and its posterior, mu integrated out; BDA eq. (5.21)."""
    tau = np.linspace(0.005, 120.0, 12_000)
    variance = ERROR**2 + tau[:, None] ** 2
    precision = np.sum(1.0 / variance, axis=1)
    mean = np.sum(EFFECT / variance, axis=1) / precision
    logs = -0.5 * np.log(precision) + norm.logpdf(EFFECT, mean[:, None], np.sqrt(variance)).sum(axis=1)
    weight = np.exp(logs - logs.max())
    return tau, weight / weight.sum()


def test_mean_and_spread_are_the_published_ones(draws):
    mu, tau = SCALE * draws[:, 0], SCALE * np.exp(draws[:, 1])
    assert np.mean(mu) == pytest.approx(8.0, abs=1.0)
    assert np.std(mu) == pytest.approx(5.0, abs=0.7)
    assert np.median(tau) == pytest.approx(5.0, abs=0.7)


def test_spread_agrees_with_quadrature(draws):
    tau, weight = tau_by_quadrature()
    exact = np.interp([0.25, 0.5, 0.75], np.cumsum(weight), tau)
    # 4 Monte Carlo errors of a median from 400 independent draws of a spread of 6 are about 1
    assert np.quantile(SCALE * np.exp(draws[:, 1]), [0.25, 0.5, 0.75]) == pytest.approx(exact, abs=1.0)


@pytest.mark.parametrize(("school", "median"), [(0, 10.0), (2, 7.0), (4, 5.0), (6, 10.0)])
def test_medians_of_schools_are_the_published_ones(draws, school, median):
    effect = SCALE * draws[:, 0] + SCALE * np.exp(draws[:, 1]) * draws[:, 2 + school]
    assert np.median(effect) == pytest.approx(median, abs=1.5)


@pytest.fixture(scope="module")
def particles() -> Particles:
    """The same model with mu ~ N(0, 5), tau ~ half-Cauchy(0, 5): tau on its quantiles, the rest exact."""
    tau = halfcauchy.ppf((np.arange(4000) + 0.5) / 4000, scale=5.0)
    covariance = tau[:, None, None] ** 2 * np.eye(8) + 25.0
    return Particles("chain", np.full(4000, -np.log(4000)), np.zeros((4000, 8)), covariance, tau[:, None])


def test_particles_give_the_reference_posterior(particles):
    logs, _evidence = posterior_weights(particles, EFFECT, np.diag(ERROR**2), range(8))
    tau = np.exp(logs) @ particles.points[:, 0]
    assert tau == pytest.approx(3.6, abs=0.1)
    inverse = np.linalg.inv(particles.covariance + np.diag(ERROR**2))
    mu = np.exp(logs) @ (25.0 * np.einsum("sij,j->s", inverse, EFFECT))
    assert mu == pytest.approx(4.4, abs=0.1)


def test_particles_give_the_published_left_out_density(particles):
    scatter = np.diag(ERROR**2)
    whole = posterior_weights(particles, EFFECT, scatter, range(8))[1]
    log_density = sum(
        whole - posterior_weights(particles, EFFECT, scatter, np.delete(np.arange(8), i))[1] for i in range(8)
    )
    assert log_density == pytest.approx(-30.8, abs=0.2)  # smoothed importance sampling gave -30.7 to -30.8


def test_a_left_out_school_is_foreseen_by_the_same_mixture(particles):
    scatter = np.diag(ERROR**2)
    view = foresee(particles, EFFECT, scatter, [3])
    density = view.weight @ norm.pdf(EFFECT[3], view.mean[:, 0], np.sqrt(view.covariance[:, 0, 0]))
    whole = posterior_weights(particles, EFFECT, scatter, range(8))[1]
    rest = posterior_weights(particles, EFFECT, scatter, [0, 1, 2, 4, 5, 6, 7])[1]
    assert np.log(density) == pytest.approx(whole - rest, abs=1e-3)
