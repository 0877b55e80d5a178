"""Set the explanations against each other: predict whole articles they have not seen, and weigh."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from scipy.special import chdtrc, logsumexp

from strikeproof.explain.particles import Particles, draw_foresight, foresee, posterior_weights
from strikeproof.explain.records import RivalName
from strikeproof.quantity import FloatArray

__all__ = ["Judgement", "judge_rivals", "misfit", "stack"]

DRAWS = 2000


@dataclass(frozen=True, slots=True)
class Judgement:
    """All explanations judged on the same articles.

    Attributes
    ----------
    log_scores : (f, k)
        Log predictive density of each left-out article by each explanation.
    errors : (f, k)
        Absolute error of its median, log score, averaged over settings.
    evidence : (k,)
        Log marginal likelihood of all gains.
    probability, weight : (k,)
        Posterior with equal chances before; stacking weights.
    draws : (k, DRAWS, n)
        Of every gain's prediction from the other articles, by each explanation.
    together : (DRAWS, n)
        The same from the mixture of all, each article's weights found without it.
    """

    names: tuple[RivalName, ...]
    log_scores: FloatArray
    errors: FloatArray
    evidence: FloatArray
    probability: FloatArray
    weight: FloatArray
    draws: FloatArray
    together: FloatArray

    @property
    def log_density(self) -> FloatArray:
        """Sum over articles of the log predictive density, (k,)."""
        return np.asarray(self.log_scores.sum(axis=0))

    @property
    def best(self) -> int:
        """The explanation most probable after the data."""
        return int(np.argmax(self.probability))

    def log_density_error(self) -> FloatArray:
        """Standard error (k,) of the difference in log_density from the best one's."""
        best = int(np.argmax(self.log_density))
        apart = self.log_scores - self.log_scores[:, [best]]
        return np.asarray(np.sqrt(len(apart) * apart.var(axis=0, ddof=1))) if len(apart) > 1 else apart[0] * 0


def judge_rivals(
    rivals: Sequence[Particles],
    gains: FloatArray,
    scatter: FloatArray,
    groups: Sequence[Sequence[int]],
    rng: np.random.Generator,
) -> Judgement:
    """Leave out every article in turn, its extra readings with it.

    All explanations are judged by the gains: extra readings only say which draws predict them where their
    unknowns lie, and have no part in the evidence, which an explanation without them could not share.

    Parameters
    ----------
    rivals
        At least one.
    gains, scatter : (n,), (n, n)
        Measured log gains and the covariance of their means.
    groups
        Rows of each article.
    rng
        The only source of chance.

    References
    ----------
    Stacking: `stack`. Left-out articles by importance weights of the particles: derived here
    (docs/explain.md).
    """
    n, every = len(gains), range(len(gains))
    evidence = np.array([posterior_weights(each, gains, scatter, every)[1] for each in rivals])
    log_scores = np.empty((len(groups), len(rivals)))
    draws = np.empty((len(rivals), DRAWS, n))
    for f, rows in enumerate(groups):
        left = np.setdiff1d(np.arange(n), rows)
        for k, rival in enumerate(rivals):
            each = rival.seeing(f)
            whole = evidence[k] if each is rival else posterior_weights(each, gains, scatter, every)[1]
            log_scores[f, k] = whole - posterior_weights(each, gains, scatter, left)[1]
            draws[k][:, list(rows)] = draw_foresight(foresee(each, gains, scatter, rows), DRAWS, rng)
    off = np.abs(np.median(draws, axis=1) - gains)
    errors = np.stack([off[:, list(rows)].mean(axis=1) for rows in groups])
    return Judgement(
        tuple(each.name for each in rivals),
        log_scores,
        errors,
        evidence,
        np.exp(evidence - logsumexp(evidence)),
        stack(log_scores),
        draws,
        _mix(draws, log_scores, groups, rng),
    )


def _mix(
    draws: FloatArray, log_scores: FloatArray, groups: Sequence[Sequence[int]], rng: np.random.Generator
) -> FloatArray:
    """Predictions by all explanations together, each article's weights found from the others."""
    together = np.empty(draws.shape[1:])
    for f, rows in enumerate(groups):
        rest = np.delete(log_scores, f, axis=0)
        weight = stack(rest) if len(rest) else np.full(len(draws), 1.0 / len(draws))
        which = rng.choice(len(draws), draws.shape[1], p=weight)
        together[:, list(rows)] = draws[which, np.arange(draws.shape[1])][:, list(rows)]
    return together


def misfit(rival: Particles, gains: FloatArray, scatter: FloatArray) -> float:
    """Posterior predictive p: share of repeated campaigns that would lie farther from the fit than this one.

    Parameters
    ----------
    rival
        Its particles, after the extra readings.
    gains : (n,)
        Measured log gains.
    scatter : (n, n)
        Covariance of their means by the scatter of the runs.

    References
    ----------
    Gelman, Meng, Stern, Statistica Sinica 6 (1996) 733: the χ² discrepancy (from memory).
    """
    logs, _evidence = posterior_weights(rival, gains, scatter, range(len(gains)))
    kept = np.flatnonzero(logs > logs.max() - 12.0)
    whole = rival.covariance[kept] + scatter
    rest = gains - rival.mean[kept]
    far = np.einsum("si,si->s", rest, np.linalg.solve(whole, rest[..., None])[..., 0])
    weight = np.exp(logs[kept])
    return float(weight @ chdtrc(len(gains), far) / weight.sum())


NEGLIGIBLE = 1e-6


def stack(log_scores: FloatArray) -> FloatArray:
    """Weights (k,) on the simplex with the largest sum of log Σ_k w_k p_k(y_i | others).

    The problem is concave; its optimum is found by the fixed point w_k ← w_k mean_i p_ik/Σ_j w_j p_ij, which
    never leaves the simplex and never falls, and is then polished by a constrained optimiser.

    Parameters
    ----------
    log_scores : (n, k)
        Log predictive density of left-out item i by model k.

    References
    ----------
    Yao, Vehtari, Simpson, Gelman, "Using stacking to average Bayesian predictive distributions", Bayesian
    Analysis 13 (2018) 917, eq. (4) (from memory).
    """
    from scipy.optimize import minimize  # a fifth of a second that no start of a program should pay

    k = log_scores.shape[1]
    density = np.exp(log_scores - log_scores.max(axis=1, keepdims=True))
    weights = np.full(k, 1.0 / k)
    for _ in range(500):
        weights = weights * np.mean(density / (density @ weights)[:, None], axis=0)
    found = minimize(
        lambda w: -np.mean(np.log(np.maximum(density @ w, 1e-300))),
        weights,
        jac=lambda w: -np.mean(density / np.maximum(density @ w, 1e-300)[:, None], axis=0),
        bounds=[(0.0, 1.0)] * k,
        constraints={"type": "eq", "fun": lambda w: w.sum() - 1.0, "jac": lambda w: np.ones(k)},
        method="SLSQP",
        options={"ftol": 1e-12, "maxiter": 200},
    )
    polished = np.clip(found.x, 0.0, None)
    polished = polished / polished.sum()
    better = _value(log_scores, polished) >= _value(log_scores, weights)
    best = np.where((polished if better else weights) > NEGLIGIBLE, polished if better else weights, 0.0)
    return np.asarray(best / best.sum())


def _value(log_scores: FloatArray, weights: FloatArray) -> float:
    with np.errstate(divide="ignore"):
        return float(np.sum(logsumexp(log_scores + np.log(weights), axis=1)))
