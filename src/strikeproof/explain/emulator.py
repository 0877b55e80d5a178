"""A cheap stand-in for the engine: Gaussian-process regression of gains, with its own error."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from scipy.linalg import cho_factor, cho_solve

from strikeproof.quantity import FloatArray

__all__ = ["Emulator", "fit_emulator"]

JITTER = 1e-8
_USUAL_LOG_RATE = -1.5
"""Centre of the normal prior (spread 1) of the log inverse length scales, in prior standard deviations."""
_SHARPNESS = 4.0
_FAR = 0.5
"""The error at a point is that of the runs around it, weighted by this power of their closeness; all runs
together count as this many of them, and decide where there is none."""
_FLOOR = 1e-3
"""Least emulator error in log score: the tolerance of the blow map itself."""


@dataclass(frozen=True, slots=True)
class Emulator:
    """Gaussian process that several outputs share, each with its own centre and size.

    Attributes
    ----------
    points : (n, d)
        Where the engine ran.
    rates : (d,)
        Inverse length scales.
    sizes
        Variances of the smooth, the linear and the rough part, of standardised outputs.
    inverse : (n, n)
        Of the covariance of the runs.
    coefficients : (n, m)
    centre, scale : (m,)
    left_out : (n, m)
        Squares of the left-out errors, standardised; their average around a point is its variance there.
    left_out_error : (m,)
        Root mean square of the left-out errors, in log score.
    left_out_together : (m, m)
        Correlation of the left-out errors: two outputs share runs of the reference, and err alike.
    """

    points: FloatArray
    rates: FloatArray
    sizes: tuple[float, float, float]
    inverse: FloatArray
    coefficients: FloatArray
    centre: FloatArray
    scale: FloatArray
    left_out: FloatArray
    left_out_error: FloatArray
    left_out_together: FloatArray

    def predict(self, at: FloatArray) -> tuple[FloatArray, FloatArray]:
        """Mean and variance (k, m) of the outputs at points (k, d)."""
        bell, inner = _closeness(at * self.rates, self.points * self.rates)
        cross = self.sizes[0] * bell + self.sizes[1] * inner
        mean = self.centre + self.scale * (cross @ self.coefficients)
        near = bell**_SHARPNESS
        share = near @ self.left_out + _FAR * self.left_out.mean(axis=0)
        return mean, share / (near.sum(axis=1) + _FAR)[:, None] * self.scale**2 + _FLOOR**2


def fit_emulator(points: FloatArray, outputs: FloatArray, *, rounds: int = 40) -> Emulator:
    """Fit by the largest marginal likelihood, length scales shared by all outputs.

    Parameters
    ----------
    points : (n, d)
    outputs : (n, m)
    rounds
        Most iterations of the optimiser.

    Returns
    -------
    Emulator of the m outputs; its errors are those of left-out runs.

    References
    ----------
    Rasmussen, Williams, *Gaussian Processes for Machine Learning*, 2006, eqs (5.8), (5.9) and, for the
    left-out errors, (5.12).
    """
    centre, scale = outputs.mean(axis=0), np.maximum(outputs.std(axis=0), 1e-9)
    standard = (outputs - centre) / scale
    rates, sizes = _find_scales(points, standard, rounds)
    bell, inner = _closeness(points * rates, points * rates)
    covariance = sizes[0] * bell + sizes[1] * inner
    covariance[np.diag_indices_from(covariance)] += sizes[2] + JITTER
    inverse: FloatArray = np.asarray(np.linalg.inv(covariance), dtype=np.float64)
    coefficients = inverse @ standard
    held = np.diag(inverse)[:, None]
    errors: FloatArray = np.asarray(coefficients / held)
    return Emulator(
        points,
        rates,
        sizes,
        inverse,
        coefficients,
        centre,
        scale,
        errors**2,
        scale * np.sqrt(np.mean(errors**2, axis=0)),
        _together(errors),
    )


def _together(errors: FloatArray) -> FloatArray:
    """Correlations (m, m) about zero of errors (n, m)."""
    size = np.sqrt(np.sum(errors**2, axis=0)) + 1e-12
    return np.asarray(errors.T @ errors / np.outer(size, size) + 1e-9 * np.eye(errors.shape[1]))


def _closeness(left: FloatArray, right: FloatArray) -> tuple[FloatArray, FloatArray]:
    """Squared exponentials and inner products (k, n) of points already scaled by their rates."""
    inner = left @ right.T
    apart = np.sum(left**2, axis=1)[:, None] + np.sum(right**2, axis=1)[None, :] - 2.0 * inner
    return np.exp(-0.5 * np.maximum(apart, 0.0)), inner


def _find_scales(
    points: FloatArray, standard: FloatArray, rounds: int
) -> tuple[FloatArray, tuple[float, float, float]]:
    from scipy.optimize import minimize  # a fifth of a second that no start of a program should pay

    d = points.shape[1]
    start = np.r_[np.full(d, _USUAL_LOG_RATE), 0.0, 0.0, -3.0]
    bounds = [(-5.0, 1.0)] * d + [(-4.0, 4.0), (-6.0, 4.0), (-10.0, 0.5)]
    found = minimize(
        _misfit,
        start,
        (points, standard),
        jac=True,
        method="L-BFGS-B",
        bounds=bounds,
        options={"maxiter": rounds},
    )
    best = np.exp(found.x)
    return best[:d], (float(best[d]), float(best[d + 1]), float(best[d + 2]))


def _misfit(logs: FloatArray, points: FloatArray, standard: FloatArray) -> tuple[float, FloatArray]:
    """Negative log marginal likelihood with the rates' prior, and its gradient."""
    n, d = points.shape
    smooth, line, rough = np.exp(logs[d:])
    scaled = points * np.exp(logs[:d])
    bell, inner = _closeness(scaled, scaled)
    covariance = smooth * bell + line * inner
    covariance[np.diag_indices(n)] += rough + JITTER
    factor = cho_factor(covariance, lower=True)
    weights = cho_solve(factor, standard)
    count = standard.shape[1]
    value = 0.5 * np.sum(standard * weights) + count * np.log(np.diag(factor[0])).sum()
    pull = 0.5 * (count * cho_solve(factor, np.eye(n)) - weights @ weights.T)
    near = smooth * pull * bell
    rates = -2.0 * (near.sum(axis=1) @ scaled**2 - np.einsum("id,id->d", scaled, near @ scaled))
    rates += 2.0 * line * np.einsum("id,id->d", scaled, pull @ scaled)
    off = logs[:d] - _USUAL_LOG_RATE
    value += 0.5 * float(off @ off)
    sizes = [np.sum(near), line * np.sum(pull * inner), rough * np.trace(pull)]
    return float(value), np.r_[rates + off, sizes]
