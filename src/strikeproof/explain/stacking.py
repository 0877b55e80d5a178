"""Weights that make the mixture of rivals predict best what it has not seen."""

from __future__ import annotations

import numpy as np
from scipy.special import logsumexp

from strikeproof.quantity import FloatArray

__all__ = ["stack"]

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
