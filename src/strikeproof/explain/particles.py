"""One form for every fitted explanation: weighted particles that predict all gains, and what follows from
them."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field, replace

import numpy as np
from scipy.special import logsumexp

from strikeproof.explain.records import RivalName
from strikeproof.quantity import FloatArray, IntArray

__all__ = [
    "Foresight",
    "Particles",
    "draw_foresight",
    "draw_with_sizes",
    "foresee",
    "log_density",
    "posterior_weights",
]


@dataclass(frozen=True, slots=True)
class Particles:
    """An explanation's belief before the gains: mixture of normals over all gains together.

    Attributes
    ----------
    log_weight : (s,)
        Normalised: their exponentials sum to 1.
    mean : (s, n)
    covariance : (s, n, n)
        Of the gains around the mean: what the model leaves open, not the scatter of the runs.
    points : (s, d)
        Of the unknowns; no columns where there are none.
    extra readings : (s, f + 1)
        Log density of what else was read, without each of the f articles in turn and at last of all; empty
        where the explanation predicts nothing else.
    own : (s,)
        Size of the articles' own parts, which `covariance` includes; empty where there are none.
    """

    name: RivalName
    log_weight: FloatArray
    mean: FloatArray
    covariance: FloatArray
    points: FloatArray
    clues: FloatArray = field(default_factory=lambda: np.zeros((0, 0)))
    own: FloatArray = field(default_factory=lambda: np.zeros(0))

    def seeing(self, fold: int = -1) -> Particles:
        """The same belief after the extra readings, those of one article left out or (-1) all of them."""
        if not self.clues.size:
            return self
        logs = self.log_weight + self.clues[:, fold]
        return replace(self, log_weight=logs - logsumexp(logs))


@dataclass(frozen=True, slots=True)
class Foresight:
    """Prediction of some gains from the others: weights (s,), means (s, k), covariances (s, k, k), and the
    sizes (s,) of the articles' own parts, empty where there are none."""

    weight: FloatArray
    mean: FloatArray
    covariance: FloatArray
    own: FloatArray


def log_density(rest: FloatArray, covariance: FloatArray) -> FloatArray:
    """Log density (s,) of normals at distances `rest` (s, n) from their means, covariances (s, n, n).

    Raises
    ------
    numpy.linalg.LinAlgError
        If a covariance is not positive definite.
    """
    n = rest.shape[1]
    if n == 0:
        return np.zeros(len(rest))
    factor = np.linalg.cholesky(covariance)
    scaled = np.linalg.solve(factor, rest[..., None])[..., 0]
    logs = np.log(np.diagonal(factor, axis1=1, axis2=2)).sum(axis=1)
    return np.asarray(-0.5 * np.sum(scaled**2, axis=1) - logs - 0.5 * n * np.log(2.0 * np.pi))


def posterior_weights(
    rival: Particles, gains: FloatArray, scatter: FloatArray, rows: Sequence[int] | IntArray
) -> tuple[FloatArray, float]:
    """Log weights (s,) after seeing the gains in `rows`, normalised, and the log evidence of these gains.

    Parameters
    ----------
    rival
        Its particles.
    gains : (n,)
        Measured log gains.
    scatter : (n, n)
        Covariance of their means by the scatter of the runs.
    rows
        Of the gains that are seen.

    Raises
    ------
    numpy.linalg.LinAlgError
        If a covariance is not positive definite.
    """
    seen = np.asarray(rows, dtype=np.int64)
    cut = np.ix_(np.arange(len(rival.mean)), seen, seen)
    logs = rival.log_weight + log_density(
        gains[seen] - rival.mean[:, seen], rival.covariance[cut] + scatter[np.ix_(seen, seen)]
    )
    whole = float(logsumexp(logs))
    return logs - whole, whole


def foresee(
    rival: Particles, gains: FloatArray, scatter: FloatArray, rows: Sequence[int] | IntArray
) -> Foresight:
    """Predict the gains in `rows`, their measured means with scatter, from all the others.

    Parameters
    ----------
    rival
        Its particles.
    gains : (n,)
        Measured log gains.
    scatter : (n, n)
        Covariance of their means by the scatter of the runs.
    rows : (k,)
        Of the gains to predict; the n − k others are seen.

    References
    ----------
    Conditional normal distributions, any text, e.g. Rasmussen, Williams, *Gaussian Processes for Machine
    Learning*, 2006, eq. (A.6) (from memory).
    """
    hidden = np.asarray(rows, dtype=np.int64)
    seen = np.setdiff1d(np.arange(len(gains)), hidden)
    logs, _evidence = posterior_weights(rival, gains, scatter, seen)
    kept = np.flatnonzero(logs > logs.max() - 12.0)
    whole = rival.covariance[kept] + scatter
    own = whole[:, hidden[:, None], hidden]
    weight = np.exp(logs[kept])
    sizes = rival.own[kept] if rival.own.size else rival.own
    if not seen.size:
        return Foresight(weight / weight.sum(), rival.mean[kept][:, hidden], own, sizes)
    factor = np.linalg.cholesky(whole[:, seen[:, None], seen])
    across = np.linalg.solve(factor, whole[:, seen[:, None], hidden])
    rest = np.linalg.solve(factor, (gains[seen] - rival.mean[kept][:, seen])[..., None])
    mean = rival.mean[kept][:, hidden] + np.einsum("ski,sk->si", across, rest[..., 0])
    return Foresight(weight / weight.sum(), mean, own - np.einsum("ski,skj->sij", across, across), sizes)


def draw_foresight(view: Foresight, size: int, rng: np.random.Generator) -> FloatArray:
    """Draws (size, k) of the predicted gains.

    Parameters
    ----------
    view
        What was predicted.
    size
        Draws.
    rng
        The only source of chance.
    """
    return draw_with_sizes(view, size, rng)[0]


def draw_with_sizes(view: Foresight, size: int, rng: np.random.Generator) -> tuple[FloatArray, FloatArray]:
    """Draws (size, k) of the predicted gains, each with the size (size,) of the articles' own parts.

    Parameters
    ----------
    view
        What was predicted.
    size
        Draws.
    rng
        The only source of chance.
    """
    which = rng.choice(len(view.weight), size, p=view.weight)
    own = view.own[which] if view.own.size else np.zeros(size)
    factor = np.linalg.cholesky(view.covariance + 1e-14 * np.eye(view.mean.shape[1]))
    normal = rng.standard_normal((size, view.mean.shape[1]))
    return np.asarray(view.mean[which] + np.einsum("sij,sj->si", factor[which], normal)), own
