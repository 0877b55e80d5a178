"""A polynomial calibration curve: its fit with both axes uncertain, its value, slope and variance.

All is done in a centred and scaled variable, which keeps the digits that raw powers of a large
applied value would lose.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np

from strikeproof.errors import DidNotConverge
from strikeproof.judge.points import Points
from strikeproof.quantity import FloatArray

__all__ = ["Curve", "FittedCurve", "fit_curve", "least_squares", "propagate_covariance"]

_MOST_ROUNDS = 200
_SETTLED = 1e-11
_LOST = 10.0  # half ranges from the middle: points that were moved so far run away for good


@dataclass(frozen=True, slots=True, eq=False)
class Curve:
    """reading = Σ c_k u^k with u = (applied − centre) / half_span; beyond |u| = 1 its end tangents go on.

    The tangents keep the curve rising (or falling) everywhere, so that a reading beyond the range still has
    one, flagged, answer. They are linear in the coefficients, so the same covariance holds there.
    """

    centre: float
    half_span: float
    coefficients: FloatArray
    covariance: FloatArray

    @property
    def degree(self) -> int:
        """1 for a straight line."""
        return self.coefficients.size - 1

    @property
    def ends(self) -> FloatArray:
        """The lowest and the highest applied value it was fitted to; (2,)."""
        return self.centre + self.half_span * np.array([-1.0, 1.0])

    def rows(self, applied: FloatArray) -> FloatArray:
        """The factors of the coefficients, shape of `applied` + (degree + 1,)."""
        u = (applied - self.centre) / self.half_span
        inside = np.clip(u, -1.0, 1.0)
        powers = np.arange(self.degree + 1)
        tangent = powers * inside[..., None] ** np.maximum(powers - 1, 0)
        return np.asarray(inside[..., None] ** powers + tangent * (u - inside)[..., None])

    def reading(self, applied: FloatArray) -> FloatArray:
        """The curve itself, of the shape of `applied`. [reading]"""
        return np.asarray(self.rows(applied) @ self.coefficients)

    def slope(self, applied: FloatArray) -> FloatArray:
        """Change of reading per change of applied value, of the shape of `applied`. [reading per applied]"""
        inside = np.clip((applied - self.centre) / self.half_span, -1.0, 1.0)
        powers = np.arange(1, self.degree + 1)
        factors = powers * inside[..., None] ** (powers - 1)
        return np.asarray(factors @ self.coefficients[1:] / self.half_span)

    def covariance_of(self, first: FloatArray, second: FloatArray) -> FloatArray:
        """Covariance of the curve at two applied values, element by element. [reading²]"""
        return np.asarray(
            np.einsum("...i,ij,...j->...", self.rows(first), self.covariance, self.rows(second))
        )

    def raw(self) -> tuple[FloatArray, FloatArray]:
        """Coefficients (k,) of 1, applied, applied², ... and their covariance (k, k), k = degree + 1."""
        change = self._powers_of_applied()
        return change @ self.coefficients, propagate_covariance(change, self.covariance)

    def smallest_slope(self) -> float:
        """Least slope within the range over the mean slope; ≤ 0 where the curve turns."""
        if self.degree == 1:
            return 1.0
        c = self.coefficients
        turn = -c[2] / (3 * c[3]) if self.degree == 3 and c[3] != 0 else 0.0
        where = self.centre + self.half_span * np.clip(np.array([-1.0, turn, 1.0]), -1.0, 1.0)
        mean = float(np.diff(self.reading(self.ends))[0]) / (2 * self.half_span)
        return float(np.min(self.slope(where) / mean)) if mean else 0.0

    def _powers_of_applied(self) -> FloatArray:
        """Column k: ((applied − centre) / half_span)^k written in powers of applied."""
        size = self.degree + 1
        change = np.zeros((size, size))
        for k in range(size):
            for j in range(k + 1):
                change[j, k] = math.comb(k, j) * (-self.centre) ** (k - j) / self.half_span**k
        return change


@dataclass(frozen=True, slots=True, eq=False)
class FittedCurve:
    """A curve with what it leaves over.

    Parameters
    ----------
    residuals, weights : (n,)
        Reading less curve, and 1 / variance of that.
    scatter, scatter_freedom
        Standard deviation of one reading at a true applied value, and its degrees of freedom: fewer than
        those of the fit where much of the residuals is put down to the applied values.
    """

    curve: Curve
    residuals: FloatArray
    weights: FloatArray
    scatter: float
    scatter_freedom: float


def propagate_covariance(sensitivities: FloatArray, covariance: FloatArray) -> FloatArray:
    """Covariance (m, m) of m quantities from that (k, k) of their inputs, by sensitivities (m, k).

    References
    ----------
    JCGM 100:2008 (GUM), eq. 13 and eq. H.9, in matrix form.
    """
    return np.asarray(sensitivities @ covariance @ sensitivities.T)


def least_squares(
    design: FloatArray, values: FloatArray, weights: FloatArray
) -> tuple[FloatArray, FloatArray, float]:
    """Weighted linear least squares by QR on columns of equal length.

    Parameters
    ----------
    design : (n, p)
    values, weights : (n,)

    Returns
    -------
    coefficients (p,), their unscaled covariance (p, p), and the weighted residual sum of squares
        The covariance wants the variance of unit weight as a factor unless the weights are 1/variance.

    References
    ----------
    Å. Björck, *Numerical Methods for Least Squares Problems*, 1996, ch. 2.4.
    """
    root = np.sqrt(weights)
    columns = design * root[:, None]
    lengths = np.sqrt(np.sum(columns**2, axis=0))
    q, r = np.linalg.qr(columns / lengths)
    solution = np.linalg.solve(r, q.T @ (values * root)) / lengths
    inverse = np.linalg.inv(r) / lengths[:, None]
    left = (values - design @ solution) * root
    return solution, inverse @ inverse.T, float(left @ left)


def fit_curve(points: Points, degree: int) -> FittedCurve:
    """The curve of one degree, with the applied values uncertain too.

    The variance of a reading about the curve is V = σ² + (slope · u)², u that of the applied value. σ² is
    unknown and set so that Σ residual² / V is the number of degrees of freedom; it is never below
    `points.floor`. The applied values are moved to where they most likely were, x + slope u² residual / V,
    and the curve is fitted through those: weights alone would leave the slope too flat. Where no applied
    value is uncertain this is ordinary least squares.

    Raises
    ------
    DidNotConverge
        When the applied values are so unsure, a tenth of the range or so, that the points settle nowhere.

    References
    ----------
    D. York et al., "Unified equations for the slope, intercept, and standard errors of the best straight
    line", Am. J. Phys. 72 (2004) 367; J. Orear, Am. J. Phys. 50 (1982) 912, for curves; R. C. Paule and
    J. Mandel, J. Res. NBS 87 (1982) 377, for σ² beside a known variance.
    """
    low, high = float(points.applied.min()), float(points.applied.max())
    curve = Curve(
        (low + high) / 2, (high - low) / 2, np.zeros(degree + 1), np.zeros((degree + 1, degree + 1))
    )
    likely, slope = points.applied, np.zeros_like(points.applied)
    for _ in range(_MOST_ROUNDS):
        known = (slope * points.applied_uncertainty) ** 2
        design, values = curve.rows(likely), points.reading - slope * (points.applied - likely)
        unknown = _unknown_variance(design, values, known, points.floor)
        weights = 1 / (unknown + known)
        solution, covariance, _ = least_squares(design, values, weights)
        moved = float(np.max(np.abs(solution - curve.coefficients)))
        curve = Curve(curve.centre, curve.half_span, solution, covariance)
        slope = curve.slope(likely)
        left = points.reading - curve.reading(likely) - slope * (points.applied - likely)
        likely = points.applied + slope * points.applied_uncertainty**2 * left * weights
        if moved <= _SETTLED * float(np.max(np.abs(solution))):
            break
        if float(np.max(np.abs(likely - curve.centre))) > _LOST * curve.half_span:
            raise _unsettled(degree, curve)
    else:
        raise _unsettled(degree, curve)
    # Σ residual² / V has variance 2ν and slope −Σ (1 − leverage) / V in σ², which gives the variance of σ².
    pull = float(np.sum(weights * (1 - weights * np.einsum("ij,jk,ik->i", design, covariance, design))))
    freedom = max((unknown * pull) ** 2 / (points.applied.size - degree - 1), 1.0)
    left = points.reading - curve.reading(points.applied)
    return FittedCurve(curve, left, weights, math.sqrt(unknown), freedom)


def _unsettled(degree: int, curve: Curve) -> DidNotConverge:
    return DidNotConverge(
        f"a curve of degree {degree} through points so unsure along both axes",
        best=curve,
        fix="check the uncertainty given for the applied values, or take a lower degree",
    )


def _unknown_variance(design: FloatArray, values: FloatArray, known: FloatArray, floor: float) -> float:
    """σ² such that Σ r² / (σ² + known) is the number of degrees of freedom."""
    freedom = design.shape[0] - design.shape[1]

    def excess(unknown: float) -> float:
        return float(least_squares(design, values, 1 / (unknown + known))[2] - freedom)

    ordinary: float = least_squares(design, values, np.ones_like(values))[2] / freedom
    if ordinary <= floor or not known.any():
        return max(ordinary, floor)
    if excess(floor) <= 0:
        return floor
    if excess(ordinary) >= 0:  # never in exact arithmetic; then next to nothing of the variance is known
        return ordinary
    from scipy.optimize import brentq  # a fifth of a second that no start of a program should pay

    return float(brentq(excess, floor, ordinary, xtol=1e-13 * ordinary, rtol=1e-12))
