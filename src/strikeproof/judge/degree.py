"""Which degree a calibration curve needs: lack of fit against repeats, else nested F tests."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field
from typing import NoReturn

import numpy as np
from scipy.special import fdtrc

from strikeproof.errors import BadInput, DidNotConverge
from strikeproof.judge.curve import FittedCurve, fit_curve
from strikeproof.judge.points import HIGHEST_DEGREE, ROUNDING, Points
from strikeproof.language import say
from strikeproof.plain_json import shown_as
from strikeproof.quantity import FloatArray, IntArray

__all__ = ["LackOfFit", "choose_degree", "lack_of_fit", "share_of_each"]

_SIGNIFICANT = 0.05
_FLATTEST = 0.01  # of the mean slope; where a curve is flatter a reading says nothing


@dataclass(frozen=True, slots=True)
class LackOfFit:
    """F test of a curve against the means of its levels; without an answer, `reason` says why."""

    f: float | None
    degrees_of_freedom: tuple[int, int] | None = field(metadata=shown_as("dof"))
    p: float | None
    reason: str | None = None

    @property
    def significant(self) -> bool:
        """Whether the curve misses the level means by more than repeats explain, at 5 %."""
        return self.p is not None and self.p <= _SIGNIFICANT


def lack_of_fit(
    level: IntArray,
    cell: IntArray,
    residuals: FloatArray,
    *,
    coefficients: int,
    weights: FloatArray | None = None,
    floor: float = 0.0,
) -> LackOfFit:
    """F test of level means against pure error from repeats.

    Parameters
    ----------
    level : (n,)
        Number of the applied value of each point, from 0.
    cell : (n,)
        Number of the set of true repeats of each point, from 0. A level may hold an up and a down cell, so
        that hysteresis counts neither as pure error nor as lack of fit.
    residuals, weights : (n,)
        From the curve under test; weights 1 when left out.
    coefficients
        Of that curve.
    floor
        Least variance of one reading. A coarse display rounds all readings of a level alike, so it counts
        as often as a level was read: identical repeats prove neither zero scatter nor a bend.

    References
    ----------
    N. R. Draper, H. Smith, *Applied Regression Analysis*, 3rd ed., 1998, section 2.1.
    """
    weights = np.ones_like(residuals) if weights is None else weights
    total = np.bincount(level, weights)
    mean = np.bincount(level, weights * residuals) / total
    cell_mean = np.bincount(cell, weights * residuals) / np.bincount(cell, weights)
    between, within = total.size - coefficients, residuals.size - cell_mean.size
    if within < 1:
        return LackOfFit(None, None, None, say("no applied value was repeated"))
    if between < 1:
        return LackOfFit(
            None, None, None, say("the curve has as many coefficients as there are applied values")
        )
    pure = float(np.sum(weights * (residuals - cell_mean[cell]) ** 2)) / within
    rounded = floor * float(np.mean(weights)) * residuals.size / total.size
    f = float(np.sum(total * mean**2)) / between / max(pure, rounded)
    return LackOfFit(f, (between, within), float(fdtrc(between, within, f)))


def choose_degree(points: Points, degree: int | None) -> tuple[FittedCurve, LackOfFit, str]:
    """The fitted curve, its lack of fit, and how its degree was chosen.

    The lowest degree without significant lack of fit is taken; without repeats, or where none passes, the
    lowest that the highest does not improve on by a nested F test. Both at 5 %.

    Parameters
    ----------
    points
        To fit.
    degree
        1 to 3 to fix it; None to choose it.

    Raises
    ------
    BadInput
        When the curve of the asked degree, or of every degree that would do, turns within the range.
    DidNotConverge
        When the applied values are so unsure that the points settle nowhere.
    """
    if degree is not None:
        fitted = fit_curve(points, degree)
        if not _reads_back(fitted):
            _refuse_turning(points, degree)
        return fitted, _test(points, fitted), "given"
    highest = min(HIGHEST_DEGREE, int(points.level.max()), points.applied.size - 2)
    tried = _fit_each(points, highest)
    tests = [_test(points, each) for each in tried]
    passed = [index for index, test in enumerate(tests) if test.p is not None and not test.significant]
    if passed:
        index, why = passed[0], say("lowest degree without significant lack of fit (5 %)")
    else:
        index = _nested_choice(tried, points.floor)
        tested = any(test.p is not None for test in tests)
        why = say(
            "nested F test at 5 %, as {word}",
            word=say("no degree passes on lack of fit") if tested else tests[index].reason,
        )
    # A higher degree may go straight through where the needed one turns; a lower one would be wrong.
    usable = [each for each in range(index, len(tried)) if _reads_back(tried[each])]
    if not usable:
        _refuse_turning(points, index + 1)
    return tried[usable[0]], tests[usable[0]], why


def _fit_each(points: Points, highest: int) -> list[FittedCurve]:
    """The curves of degree 1 to `highest`, or to the last that can be found."""
    tried = [fit_curve(points, 1)]
    for degree in range(2, highest + 1):
        try:
            tried.append(fit_curve(points, degree))
        except DidNotConverge:
            break
    return tried


def _nested_choice(fits: Sequence[FittedCurve], floor: float) -> int:
    """Index of the lowest degree that the highest does not improve on (Draper & Smith, section 6.1)."""
    best = fits[-1]
    freedom = best.residuals.size - best.curve.degree - 1
    left = float(best.weights @ best.residuals**2)
    unit = max(left / freedom, floor * float(np.mean(best.weights)))
    for index, each in enumerate(fits[:-1]):
        extra = best.curve.degree - each.curve.degree
        gain = float(best.weights @ each.residuals**2) - left
        if fdtrc(extra, freedom, gain / extra / unit) > _SIGNIFICANT:
            return index
    return len(fits) - 1


def _test(points: Points, fitted: FittedCurve) -> LackOfFit:
    # One up and one down reading a level leave no true repeats: then the two count as repeats.
    return lack_of_fit(
        points.level,
        points.cell if points.repeated else points.level,
        fitted.residuals,
        coefficients=fitted.curve.degree + 1,
        weights=fitted.weights,
        floor=points.floor,
    )


def _reads_back(fitted: FittedCurve) -> bool:
    return fitted.curve.smallest_slope() >= _FLATTEST


def share_of_each(points: Points, fitted: FittedCurve) -> FloatArray:
    """By how much the weighted residual sum of squares would fall without each point; (n,).

    References
    ----------
    R. D. Cook and S. Weisberg, *Residuals and Influence in Regression*, 1982, section 2.2.
    """
    leverage = fitted.weights * fitted.curve.covariance_of(points.applied, points.applied)
    return np.asarray(fitted.weights * fitted.residuals**2 / np.maximum(1 - leverage, ROUNDING))


def _refuse_turning(points: Points, degree: int) -> NoReturn:
    # One wild point is enough to bend a curve to it, so it is sought from a straight line.
    wildest = int(np.argmax(share_of_each(points, fit_curve(points, 1)))) + 1
    raise BadInput(
        f"a curve of degree {degree} turns or goes flat within the calibrated range",
        where="calibration",
        allowed="readings that rise, or fall, all the way",
        fix=f"check point {wildest} first; else take a lower degree or calibrate over a smaller range",
    )
