"""From a reading back to the applied value, with the interval that the calibration allows."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt
from scipy.special import stdtrit

from strikeproof.errors import BadInput
from strikeproof.judge.calibration import CalibrationFit
from strikeproof.judge.curve import Curve
from strikeproof.quantity import BoolArray, FloatArray

__all__ = ["ExpectedReading", "ReadOut", "applied_values", "expected_reading", "read_out"]

_GRID = np.linspace(-1.0, 1.0, 65)
_MOST_ROUNDS = 50


@dataclass(frozen=True, slots=True, eq=False)
class ReadOut:
    """Applied values read out of readings; every field has the shape of the readings.

    Parameters
    ----------
    value, standard_uncertainty
        In the unit of the applied values. The reference instrument's own uncertainty is not in it: it is
        common to all runs of a rig and belongs to the budget.
    degrees_of_freedom
        Effective, of the standard uncertainty (Welch-Satterthwaite).
    low, high
        Prediction interval; infinite where the slope is too unsure to end it, and beyond the range,
        where no calibration point says how the curve goes on.
    within_range
        Whether the reading lies among those of the calibration. Beyond them the value is an extrapolation
        along the end tangent and no more than a ratio.
    """

    value: FloatArray
    standard_uncertainty: FloatArray
    degrees_of_freedom: FloatArray
    low: FloatArray
    high: FloatArray
    within_range: BoolArray


@dataclass(frozen=True, slots=True, eq=False)
class ExpectedReading:
    """Readings to be expected at applied values, with the standard uncertainty of the curve there."""

    reading: FloatArray
    standard_uncertainty: FloatArray
    within_range: BoolArray


def read_out(
    fit: CalibrationFit,
    reading: npt.ArrayLike,
    *,
    reading_uncertainty: npt.ArrayLike = 0.0,
    m: int = 1,
    level: float = 0.95,
    strict: bool = False,
    net: bool = False,
) -> ReadOut:
    """Applied values of readings, with prediction intervals.

    The interval holds all applied values whose prediction band covers the reading, so it is right
    also where the slope is unsure; with a sure slope it is value ± t · standard uncertainty. Where the
    applied values scatter more than the readings it is too narrow: the readings' share is then hardly known.

    Parameters
    ----------
    fit
        The calibration.
    reading
        One or many, gross: as the calibration's readings were taken.
    reading_uncertainty
        Standard, of each reading, beyond the scatter that the calibration saw. [reading]
    m
        How many readings each one is the mean of.
    level
        Of the interval.
    strict
        Refuse readings beyond the calibrated range rather than flag them.
    net
        Whether readings are less the run's own zero. They are put on the calibration by its zero reading; the
        uncertainty of that zero is counted, and that it was read with the points the curve was fitted to.

    Raises
    ------
    BadInput
        With `strict`, for a reading beyond the calibrated range.

    References
    ----------
    NIST/SEMATECH *e-Handbook of Statistical Methods*, 4.5.2.1 and 4.6.1.8; N. R. Draper, H. Smith, *Applied
    Regression Analysis*, 3rd ed., 1998, section 3.2; degrees of freedom: JCGM 100:2008, eq. G.2b.
    """
    gross = np.asarray(reading, np.float64) + (fit.zero.reading if net else 0.0)
    low, high = fit.reading_range
    within = np.asarray((gross >= low) & (gross <= high))
    if strict and not within.all():
        _refuse("reading", gross, within, fit.reading_range)
    value = _applied_of(fit.curve, gross)
    own = np.broadcast_to(np.asarray(reading_uncertainty, np.float64), gross.shape) ** 2
    scatter, curve = fit.scatter**2 / m, _curve_variance(fit, value, net=net)
    # Both come from the same residuals, so their uncertainties add plainly and not in quadrature.
    unsure = scatter / np.sqrt(fit.scatter_freedom) + curve / np.sqrt(fit.degrees_of_freedom)
    freedom = ((scatter + curve + own) / unsure) ** 2
    reach = np.asarray(stdtrit(freedom, (1 + level) / 2))
    uncertainty = np.sqrt(scatter + curve + own) / np.abs(fit.curve.slope(value))

    def bound(side: float) -> FloatArray:
        at = value
        for _ in range(_MOST_ROUNDS):
            spread = np.sqrt(scatter + _curve_variance(fit, at, net=net) + own)
            before, at = at, _applied_of(fit.curve, gross + side * reach * spread)
            moved = np.abs(at - before) > 1e-9 * fit.curve.half_span
            if not moved.any():
                break
        # Where it still moves, the band never leaves the reading: the slope may be nothing at all.
        toward = side if fit.curve.slope(np.asarray(fit.curve.centre)) > 0 else -side
        return np.where(moved, toward * np.inf, at)

    one, other = bound(-1.0), bound(1.0)
    least = np.where(within, np.minimum(one, other), -np.inf)
    most = np.where(within, np.maximum(one, other), np.inf)
    return ReadOut(value, uncertainty, freedom, least, most, within)


def applied_values(fit: CalibrationFit, net: npt.ArrayLike) -> FloatArray:
    """The values alone of `read_out` of net readings, for long curves that need no interval at every point.

    Parameters
    ----------
    fit
        The calibration.
    net
        One or many, less the run's own zero. [reading]

    Returns
    -------
    Of the shape of `net`. [applied]
    """
    return _applied_of(fit.curve, np.asarray(net, np.float64) + fit.zero.reading)


def expected_reading(
    fit: CalibrationFit, applied: npt.ArrayLike, *, net: bool = True, strict: bool = False
) -> ExpectedReading:
    """Readings at applied values, net of the calibration's zero unless `net` is False.

    Parameters
    ----------
    fit
        The calibration.
    applied
        One or many. [applied]
    net
        Whether the calibration's zero is taken off.
    strict
        Refuse values beyond the calibrated range rather than flag them.

    Raises
    ------
    BadInput
        With `strict`, for an applied value beyond the calibrated range.
    """
    values = np.asarray(applied, np.float64)
    low, high = fit.applied_range
    within = np.asarray((values >= low) & (values <= high))
    if strict and not within.all():
        _refuse("applied value", values, within, fit.applied_range)
    shift = fit.zero.reading if net else 0.0
    uncertainty = np.sqrt(_curve_variance(fit, values, net=net))
    return ExpectedReading(fit.curve.reading(values) - shift, uncertainty, within)


def _curve_variance(fit: CalibrationFit, applied: FloatArray, *, net: bool) -> FloatArray:
    """Variance of the curve, or of the curve less the zero reading.

    A zero that is the mean of readings the curve was fitted to covaries with the curve as the curve's own
    value at zero does, since least squares gives cov(β, y_i) = C x_i.
    """
    variance = fit.curve.covariance_of(applied, applied)
    if not net:
        return variance
    shared = fit.curve.covariance_of(applied, np.zeros(()))
    return np.maximum(variance - 2 * shared + fit.zero.standard_uncertainty**2, 0.0)


def _applied_of(curve: Curve, reading: FloatArray) -> FloatArray:
    """The applied values at which the curve gives the readings, by Newton's method from a table."""
    grid = curve.centre + curve.half_span * _GRID
    table = curve.reading(grid)
    order = slice(None) if table[-1] > table[0] else slice(None, None, -1)
    applied = np.asarray(np.interp(reading, table[order], grid[order]))
    for _ in range(_MOST_ROUNDS):
        step = (curve.reading(applied) - reading) / curve.slope(applied)
        applied = applied - step
        if not np.any(np.abs(step) > 1e-13 * curve.half_span):
            break
    return applied


def _refuse(name: str, values: FloatArray, within: BoolArray, allowed: tuple[float, float]) -> None:
    first = values[~within].flat[0]
    raise BadInput(
        f"{name} {first:.6g} is beyond the calibrated range",
        where="calibration",
        allowed=f"{allowed[0]:.6g} to {allowed[1]:.6g}",
        fix="calibrate over a wider range, or take the values as ratios",
    )
