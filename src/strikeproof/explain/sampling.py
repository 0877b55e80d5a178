"""Sample a physical explanation: an ensemble sampler for its posterior, and weighted particles for every
question.

The particles come from a mixture that covers the posterior, the posteriors without one article, and the
prior; one set of them then answers all questions (evidence, left-out articles) by importance weights.

Whether its chains have met is judged by rank-normalised split R-hat and effective sample sizes.

References
----------
Vehtari, Gelman, Simpson, Carpenter, Bürkner, "Rank-normalization, folding, and localization: an improved
R-hat for assessing convergence of MCMC", Bayesian Analysis 16 (2021) 667, eqs (1)-(14) (from memory).
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np
from scipy.special import gammaln, ndtri

from strikeproof.explain.crew import Arrays
from strikeproof.quantity import FloatArray

if TYPE_CHECKING:
    import emcee

__all__ = [
    "Chains",
    "Effort",
    "Mixture",
    "cover",
    "end_size",
    "find_r_hat",
    "middle_size",
    "pack_chains",
    "sample",
    "unpack_chains",
]

LogDensity = Callable[[FloatArray], FloatArray]
"""Log density (k,) of points (k, d)."""

FREEDOM = 6.0

MOST_DRAWS = 8000  # that are stored of a chain, evenly thinned: far more than it has effective ones


@dataclass(frozen=True, slots=True)
class Effort:
    """How long to sample.

    Parameters
    ----------
    walkers, search, kept
        Chains, at least two for every unknown; steps to find the bulk; steps that are stored.
    particles
        For every component of the covering mixture.
    target, rounds
        R-hat that is asked for, and how often more steps are added to reach it.
    """

    walkers: int = 64
    search: int = 200
    kept: int = 400
    particles: int = 800
    target: float = 1.05
    rounds: int = 2


@dataclass(frozen=True, slots=True)
class Chains:
    """Draws (walkers, steps, d), evenly thinned, and whether their sampling converged."""

    draws: FloatArray
    r_hat: float
    middle: float
    ends: float

    @property
    def flat(self) -> FloatArray:
        """All draws, (walkers · steps, d)."""
        return self.draws.reshape(-1, self.draws.shape[2])


def pack_chains(chains: Chains) -> Arrays:
    """Chains as plain arrays, to be stored."""
    return chains.draws, np.array([chains.r_hat, chains.middle, chains.ends])


def unpack_chains(packed: Arrays) -> Chains:
    """The chains again, to the last bit."""
    draws, told = packed
    return Chains(draws, *told.tolist())


@dataclass(frozen=True, slots=True)
class Mixture:
    """Equal shares of multivariate t distributions with 6 degrees of freedom.

    Attributes
    ----------
    centres : (c, d)
    factors, inverses : (c, d, d)
        Lower triangular factors of their scales, and the inverses of these.
    """

    centres: FloatArray
    factors: FloatArray
    inverses: FloatArray

    def draw(self, size: int, rng: np.random.Generator) -> FloatArray:
        """`size` draws from each component, (c · size, d)."""
        count, d = self.centres.shape
        normal = rng.standard_normal((count, size, d))
        heavy = np.sqrt(FREEDOM / rng.chisquare(FREEDOM, (count, size, 1)))
        points = self.centres[:, None] + heavy * np.einsum("cij,csj->csi", self.factors, normal)
        return np.asarray(points.reshape(-1, d))

    def log_density(self, points: FloatArray) -> FloatArray:
        """Of the mixture at points (k, d)."""
        count, d = self.centres.shape
        logs = np.empty((count, len(points)))
        for c in range(count):
            far = np.sum(((points - self.centres[c]) @ self.inverses[c].T) ** 2, axis=1)
            logs[c] = -0.5 * (FREEDOM + d) * np.log1p(far / FREEDOM)
            logs[c] += np.log(np.diag(self.inverses[c])).sum()
        constant = gammaln(0.5 * (FREEDOM + d)) - gammaln(0.5 * FREEDOM)
        constant -= 0.5 * d * np.log(FREEDOM * np.pi) + np.log(count)
        top = logs.max(axis=0)
        return np.asarray(np.log(np.exp(logs - top).sum(axis=0)) + top + constant)


def make_mixture(centres: list[FloatArray], covariances: list[FloatArray]) -> Mixture:
    """Components of these centres (d,) and scales (d, d).

    Raises
    ------
    numpy.linalg.LinAlgError
        If a scale is not positive definite.
    """
    factors = np.linalg.cholesky(np.stack(covariances))
    return Mixture(np.stack(centres), factors, np.asarray(np.linalg.inv(factors)))


def sample(target: LogDensity, dimensions: int, effort: Effort, rng: np.random.Generator) -> Chains:
    """Draws of a density over standard normal unknowns.

    Walkers start where a cloud of prior draws fits best, find the bulk by differential evolution, and then
    mix local moves with jumps drawn from a heavy-tailed fit to it.

    Parameters
    ----------
    target
        Log density, up to a constant; −inf where no unknown is believed.
    dimensions
        Unknowns, d.
    effort
        Walkers, steps and the R-hat that is asked for.
    rng
        The only source of chance.

    References
    ----------
    Foreman-Mackey, Hogg, Lang, Goodman, "emcee: the MCMC hammer", PASP 125 (2013) 306; ter Braak, Stat.
    Comput. 16 (2006) 239 (differential evolution moves).
    """
    import emcee  # it brings scipy.stats: a second that only a fit should pay

    start = _start(target, dimensions, max(effort.walkers, 2 * dimensions), rng)
    local: list[tuple[emcee.moves.Move, float]] = [
        (emcee.moves.DEMove(), 0.6),
        (emcee.moves.DESnookerMove(), 0.1),
        (emcee.moves.StretchMove(), 0.3),
    ]
    found = _run(target, start, local, effort.search, rng)
    cloud = found[:, found.shape[1] // 2 :].reshape(-1, dimensions)
    steps = effort.search // 2
    for _round in range(2 + effort.rounds):
        jump = emcee.moves.MHMove(_jump(_fit_cloud(cloud)))
        moves = [(jump, 0.6), *((move, 0.4 * share) for move, share in local)]
        found = _run(target, found[:, -1], moves, steps, rng)
        cloud = found.reshape(-1, dimensions)
        if steps >= effort.kept and _worst_r_hat(found) < effort.target:
            break
        steps = effort.kept
    each = [found[:, :, i] for i in range(dimensions)]
    thin = max(1, round(found.shape[0] * found.shape[1] / MOST_DRAWS))
    return Chains(
        found[:, ::thin].copy(), _worst_r_hat(found), min(map(middle_size, each)), min(map(end_size, each))
    )


def _worst_r_hat(draws: FloatArray) -> float:
    return max(find_r_hat(draws[:, :, i]) for i in range(draws.shape[2]))


def _start(target: LogDensity, dimensions: int, walkers: int, rng: np.random.Generator) -> FloatArray:
    """Distinct prior draws, chosen by a power of the density flat enough to leave enough of them."""
    points = rng.standard_normal((40 * walkers, dimensions))
    logs = target(points) + 0.5 * np.sum(points**2, axis=1)
    power = 1.0
    while power > 1e-4:
        weight = np.exp(power * (logs - logs.max()))
        if weight.sum() ** 2 / np.sum(weight**2) > 1.5 * walkers:
            break
        power *= 0.7
    chosen = rng.choice(
        len(points), walkers, replace=False, p=weight / weight.sum() * 0.999 + 0.001 / len(points)
    )
    return np.asarray(points[chosen])


def _run(
    target: LogDensity,
    start: FloatArray,
    moves: list[tuple[emcee.moves.Move, float]],
    steps: int,
    rng: np.random.Generator,
) -> FloatArray:
    import emcee

    sampler = emcee.EnsembleSampler(*start.shape, target, vectorize=True, moves=moves)
    seed = np.random.RandomState(int(rng.integers(2**32)))
    state = emcee.State(start, random_state=seed.get_state())
    sampler.run_mcmc(state, steps, skip_initial_state_check=True)
    return np.asarray(sampler.get_chain()).transpose(1, 0, 2)


def _fit_cloud(cloud: FloatArray) -> Mixture:
    """A narrow and a wide t around a cloud of draws."""
    covariance = np.cov(cloud.T) + 1e-6 * np.eye(cloud.shape[1])
    return make_mixture([cloud.mean(axis=0)] * 2, [covariance, 2.5 * covariance])


def _jump(mixture: Mixture) -> Callable[..., tuple[FloatArray, FloatArray]]:
    """Independent proposals from a mixture, with the log of the ratio of their densities."""

    def propose(old: FloatArray, random: np.random.RandomState) -> tuple[FloatArray, FloatArray]:
        rng = np.random.default_rng(random.randint(2**31))
        drawn = mixture.draw(len(old), rng)
        new = drawn[rng.permutation(len(drawn))[: len(old)]]
        return new, mixture.log_density(old) - mixture.log_density(new)

    return propose


def cover(draws: FloatArray, slopes: Sequence[FloatArray], wider: Sequence[FloatArray] = ()) -> Mixture:
    """A mixture over the posterior, tempered ones, those without one article each, and the prior.

    Parameters
    ----------
    draws : (k, d)
        Of the posterior, unknowns standard normal before.
    slopes
        For every article (n, d): change of its gains with the unknowns, in standard deviations of the gains.
    wider
        Draws (k, d) of posteriors by less than all of the data, which are to be covered too.

    Returns
    -------
    Of 6 + one an article + two a cloud components.

    Raises
    ------
    numpy.linalg.LinAlgError
        If a covariance of the draws has no inverse.
    """
    d = draws.shape[1]
    centre, unit = draws.mean(axis=0), np.eye(d)
    precision = np.asarray(np.linalg.inv(np.cov(draws.T) + 1e-6 * unit), dtype=np.float64)
    centres = [centre, centre, np.zeros(d)]
    covariances = [_spread_of(precision), 2.5 * _spread_of(precision), 1.2 * unit]
    for heat in (0.3, 0.1, 0.03):
        tempered = _spread_of(unit + heat * (precision - unit))
        centres.append(np.clip(tempered @ (heat * precision @ centre), -3.0, 3.0))
        covariances.append(1.3 * tempered)
    for slope in slopes:
        centres.append(centre)
        covariances.append(1.2 * _spread_of(np.asarray(precision - slope.T @ slope)))
    for cloud in wider:
        for scale in (1.2, 2.5):
            centres.append(cloud.mean(axis=0))
            covariances.append(scale * np.cov(cloud.T) + 1e-6 * unit)
    return make_mixture(centres, covariances)


def _spread_of(precision: FloatArray) -> FloatArray:
    """Covariance of a precision that is nowhere below the prior's."""
    size, direction = np.linalg.eigh(0.5 * (precision + precision.T))
    return np.asarray((direction / np.maximum(size, 0.8)) @ direction.T)


def find_r_hat(chains: FloatArray) -> float:
    """The larger of the rank-normalised R-hat of the draws and of their distances from the median.

    Parameters
    ----------
    chains : (m, n)
        Draws of one quantity by m chains.
    """
    split = _split(chains)
    folded = np.abs(split - np.median(split))
    return max(_plain_r_hat(_normalise(split)), _plain_r_hat(_normalise(folded)))


def middle_size(chains: FloatArray) -> float:
    """Effective sample size for the middle of the distribution.

    Parameters
    ----------
    chains : (m, n)
        Draws of one quantity by m chains.

    References
    ----------
    Vehtari and others, 2021; Geyer's initial monotone sequence (from memory).
    """
    return _effective_size(_normalise(_split(chains)))


def end_size(chains: FloatArray) -> float:
    """Smaller effective sample size of the 5 % and 95 % quantiles.

    Parameters
    ----------
    chains : (m, n)
        Draws of one quantity by m chains.

    References
    ----------
    Vehtari and others, 2021 (from memory).
    """
    split = _split(chains)
    return min(
        _effective_size((split <= np.quantile(split, level)).astype(np.float64)) for level in (0.05, 0.95)
    )


def _split(chains: FloatArray) -> FloatArray:
    half = chains.shape[1] // 2
    return np.concatenate([chains[:, :half], chains[:, -half:]])


def _normalise(chains: FloatArray) -> FloatArray:
    from scipy.stats import rankdata  # half a second that only a fit should pay

    ranks = rankdata(chains.ravel(), method="average").reshape(chains.shape)
    return np.asarray(ndtri((ranks - 0.375) / (chains.size + 0.25)))


def _plain_r_hat(chains: FloatArray) -> float:
    n = chains.shape[1]
    within = float(chains.var(axis=1, ddof=1).mean())
    between = n * float(chains.mean(axis=1).var(ddof=1))
    if within == 0.0:
        return 1.0 if between == 0.0 else np.inf
    return float(np.sqrt(((n - 1) / n * within + between / n) / within))


def _effective_size(chains: FloatArray) -> float:
    """Draws over the integrated autocorrelation time, Geyer's initial monotone sequence across chains."""
    m, n = chains.shape
    centred = chains - chains.mean(axis=1, keepdims=True)
    transform = np.fft.rfft(centred, 2 * n, axis=1)
    covariance = np.fft.irfft(np.abs(transform) ** 2, axis=1)[:, :n] / n
    within = float((covariance[:, 0] * n / (n - 1)).mean())
    pooled = within * (n - 1) / n + (float(chains.mean(axis=1).var(ddof=1)) if m > 1 else 0.0)
    if pooled == 0.0:
        return float(m * n)
    correlation = 1.0 - (within - covariance.mean(axis=0)) / pooled
    correlation[0] = 1.0
    pairs = correlation[: n - n % 2].reshape(-1, 2).sum(axis=1)
    last = int(np.argmax(pairs < 0.0)) if np.any(pairs < 0.0) else len(pairs)
    falling = np.minimum.accumulate(pairs[:last])
    time = max(-1.0 + 2.0 * float(falling.sum()), 1.0 / np.log10(m * n))
    return float(m * n / time)
