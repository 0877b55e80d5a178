"""From applied values and readings to a calibration curve and how surely it is known.

The curve is reading = polynomial(applied), degree 1 to 3. All uncertainties here are of the fit alone;
the reference instrument's own is a line of the budget.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal, TypeAlias

import numpy as np
from scipy.special import stdtrit

from strikeproof.errors import BadInput
from strikeproof.judge.curve import Curve, FittedCurve
from strikeproof.judge.degree import LackOfFit, choose_degree, share_of_each
from strikeproof.judge.falling import find_strays, too_far
from strikeproof.judge.points import ROUNDING, Points, check_points
from strikeproof.language import say
from strikeproof.quantity import BoolArray, FloatArray, IntArray

__all__ = ["CalibrationFit", "Hysteresis", "Repeatability", "Zero", "fit_calibration"]

Branch: TypeAlias = Literal["rising", "all"]
_OUTLIER = 0.01  # chance that any point of a good sheet is suspected


@dataclass(frozen=True, slots=True)
class Repeatability:
    """Pooled standard deviation of one reading at one applied value and direction."""

    standard_deviation: float
    degrees_of_freedom: int


@dataclass(frozen=True, slots=True)
class Hysteresis:
    """Largest difference, down less up, of the mean readings at one applied value."""

    reading: float
    percent_of_span: float
    applied: float


@dataclass(frozen=True, slots=True)
class Zero:
    """Reading of the unloaded rig during calibration.

    `measured` is False where no zero was read and the curve, or its end tangent, was followed to zero.
    """

    reading: float
    standard_uncertainty: float
    measured: bool


@dataclass(frozen=True, slots=True, eq=False)
class CalibrationFit:
    """A calibration curve with everything needed to judge, draw and use it.

    Parameters
    ----------
    coefficients, standard_uncertainties : (degree + 1,)
        Of 1, applied, applied², ...
    covariance : (degree + 1, degree + 1)
        Of `coefficients`.
    residual_sd
        Root of residual sum of squares over `degrees_of_freedom`. [reading]
    scatter
        Standard deviation of one reading at a true applied value: `residual_sd` less what the uncertainty of
        the applied values explains, and no less than what the resolution hides. [reading]
    scatter_freedom
        Degrees of freedom of `scatter`.
    applied, reading, residuals, rising : (n,)
        All points, those too that the curve was not fitted to.
    branch
        Whether the curve was fitted to the rising points alone; a residual of the others then holds the
        hysteresis.
    repeatability, hysteresis
        None where nothing was repeated, or not loaded up and down.
    suspects
        Points, counted from 0, too far off the curve to be chance, or off the other falling ones where the
        curve is fitted to the rising. They stay in the fit.
    notes
        Sentences a person should read beside the result.
    """

    degree: int
    degree_chosen_by: str
    coefficients: FloatArray
    standard_uncertainties: FloatArray
    covariance: FloatArray
    curve: Curve
    residual_sd: float
    scatter: float
    scatter_freedom: float
    degrees_of_freedom: int
    lack_of_fit: LackOfFit
    applied_range: tuple[float, float]
    reading_range: tuple[float, float]
    applied: FloatArray
    reading: FloatArray
    residuals: FloatArray
    rising: BoolArray | None
    repeatability: Repeatability | None
    hysteresis: Hysteresis | None
    branch: Branch
    zero: Zero
    resolution: float | None
    suspects: tuple[int, ...]
    notes: tuple[str, ...]

    def as_json(self) -> dict[str, object]:
        """The fit as the command line prints it."""
        spread, loop = self.repeatability, self.hysteresis
        return {
            "degree": self.degree,
            "degree_chosen_by": self.degree_chosen_by,
            "coefficients": self.coefficients,
            "standard_uncertainties": self.standard_uncertainties,
            "lack_of_fit": self.lack_of_fit,
            "range": {
                "applied_low": self.applied_range[0],
                "applied_high": self.applied_range[1],
                "reading_low": self.reading_range[0],
                "reading_high": self.reading_range[1],
            },
            "branch": self.branch,
            "residual_sd": self.residual_sd,
            "degrees_of_freedom": self.degrees_of_freedom,
            "repeatability": spread.standard_deviation if spread else None,
            "hysteresis_percent": loop.percent_of_span if loop else None,
            "zero": self.zero.reading,
            "zero_standard_uncertainty": self.zero.standard_uncertainty,
            "resolution": self.resolution,
            "points_to_check": [index + 1 for index in self.suspects],
            "notes": self.notes,
        }


def fit_calibration(
    applied: FloatArray,
    reading: FloatArray,
    *,
    rising: BoolArray | None = None,
    repeat: IntArray | None = None,
    applied_uncertainty: FloatArray | float | None = None,
    degree: int | None = None,
    resolution: float | None = None,
    climbing: bool = True,
) -> CalibrationFit:
    """Polynomial of degree 1 to 3 of the reading against the applied value.

    The degree, when left open, is the lowest whose lack of fit is not significant at 5 %. Without repeats, or
    when no degree passes, it is the lowest that the highest does not improve on by a nested F test at 5 %.
    A degree whose curve turns within the range is never taken.

    Parameters
    ----------
    applied, reading : (n,)
        The points, n ≥ degree + 2. Readings that fall all the way are taken, and noted.
    rising : (n,)
        Whether the applied value was going up.
    repeat : (n,)
        Number of the series; up and down of one series are compared with each other.
    applied_uncertainty
        Random standard uncertainty of each applied value, not the reference instrument's own. [applied]
    degree
        1, 2 or 3 to fix it.
    resolution
        Smallest step of a reading; when left out, the decimal place that all readings share.
    climbing
        Whether the readings it is for only climb, as those of a bolt that is tightened do. The curve is then
        fitted to the rising points alone where both ways were taken and these suffice: to pool them would
        put the hysteresis, which such readings never meet, into every limit.

    Raises
    ------
    BadInput
        With too few points or applied values, a value that is not finite, readings that do not follow the
        applied values, or a curve that turns.
    DidNotConverge
        When the applied values are as unsure as a good part of the range.
    """
    points = check_points(
        applied,
        reading,
        rising=rising,
        applied_uncertainty=applied_uncertainty,
        degree=degree,
        resolution=resolution,
    )
    chosen = _climbing_points(points, degree) if climbing else None
    used = points if chosen is None else points.only(chosen)
    fitted, test, chosen_by = choose_degree(used, degree)
    freedom = used.applied.size - fitted.curve.degree - 1
    _refuse_unrelated(used, fitted)
    coefficients, covariance = fitted.curve.raw()
    zero, suspects = _zero(used, fitted), _find_suspects(used, fitted)
    if chosen is not None:
        rising_suspects = np.flatnonzero(chosen)[list(suspects)].tolist()
        falling_suspects = np.flatnonzero(~chosen)[find_strays(points.only(~chosen), _OUTLIER)].tolist()
        suspects = tuple(sorted([*rising_suspects, *falling_suspects]))
    residuals = points.reading - fitted.curve.reading(points.applied)
    ends = np.concatenate([used.reading, fitted.curve.reading(fitted.curve.ends)])
    return CalibrationFit(
        degree=fitted.curve.degree,
        degree_chosen_by=chosen_by,
        coefficients=coefficients,
        standard_uncertainties=np.sqrt(np.diag(covariance)),
        covariance=covariance,
        curve=fitted.curve,
        residual_sd=float(np.sqrt(fitted.residuals @ fitted.residuals / freedom)),
        scatter=fitted.scatter,
        scatter_freedom=fitted.scatter_freedom,
        degrees_of_freedom=freedom,
        lack_of_fit=test,
        applied_range=(float(used.applied.min()), float(used.applied.max())),
        reading_range=(float(ends.min()), float(ends.max())),
        applied=points.applied,
        reading=points.reading,
        residuals=residuals,
        rising=points.rising,
        repeatability=_repeatability(used),
        hysteresis=_hysteresis(points, repeat, fitted.curve),
        branch="all" if chosen is None else "rising",
        zero=zero,
        resolution=points.resolution,
        suspects=suspects,
        notes=_notes(fitted, test, zero),
    )


def _climbing_points(points: Points, degree: int | None) -> BoolArray | None:
    """Which points to fit where both ways were taken; None for all, as where too few rise."""
    up = points.rising
    if up is None or up.all() or not up.any():
        return None
    needed = (degree or 1) + 2
    return up if np.count_nonzero(up) >= needed and np.unique(points.level[up]).size >= needed - 1 else None


def _refuse_unrelated(points: Points, fitted: FittedCurve) -> None:
    """Refuse a fit whose rise over the range may as well be nothing."""
    curve, freedom = fitted.curve, points.applied.size - fitted.curve.degree - 1
    rows = curve.rows(curve.ends)
    rise = rows[1] - rows[0]
    uncertainty = float(np.sqrt(rise @ curve.covariance @ rise))
    if abs(float(rise @ curve.coefficients)) <= stdtrit(freedom, 0.975) * uncertainty:
        raise BadInput(
            "the readings do not follow the applied values",
            where="calibration",
            allowed="a rise, or fall, larger than its own uncertainty",
            fix=f"check the columns, the sensor and point {np.argmax(share_of_each(points, fitted)) + 1}",
        )


def _repeatability(points: Points) -> Repeatability | None:
    if not points.repeated:
        return None
    count = np.bincount(points.cell)
    freedom = points.cell.size - count.size
    mean = np.bincount(points.cell, points.reading) / count
    squares = float(np.sum((points.reading - mean[points.cell]) ** 2))
    return Repeatability(float(np.sqrt(squares / freedom)), freedom)


def _hysteresis(points: Points, repeat: IntArray | None, curve: Curve) -> Hysteresis | None:
    one = np.zeros(points.level.size, np.int64)
    # Series that were each loaded one way only have no pairs of their own: then all are one series.
    loops = _loops(points, one if repeat is None else np.asarray(repeat)) or _loops(points, one)
    if not loops:
        return None
    applied, difference = max(loops, key=lambda loop: abs(loop[1]))
    span = float(abs(np.diff(curve.reading(curve.ends))[0]))
    return Hysteresis(difference, 100 * abs(difference) / span, applied)


def _loops(points: Points, series: IntArray) -> list[tuple[float, float]]:
    """Applied value and mean difference, down less up, of each level that has both in one series."""
    up = points.rising
    if up is None:
        return []
    found = []
    for level in range(int(points.level.max()) + 1):
        here = points.level == level
        differences = [
            np.mean(points.reading[mine & ~up]) - np.mean(points.reading[mine & up])
            for mine in (here & (series == each) for each in np.unique(series[here]))
            if np.any(mine & up) and np.any(mine & ~up)
        ]
        if differences:
            found.append((float(points.applied[here][0]), float(np.mean(differences))))
    return found


def _zero(points: Points, fitted: FittedCurve) -> Zero:
    unloaded = np.abs(points.applied) <= ROUNDING * np.ptp(points.applied)
    count = int(np.count_nonzero(unloaded))
    if count:
        uncertainty = float(np.sqrt(np.sum(1 / fitted.weights[unloaded])) / count)
        return Zero(float(np.mean(points.reading[unloaded])), uncertainty, True)
    nothing = np.zeros(())
    variance = float(fitted.curve.covariance_of(nothing, nothing))
    return Zero(float(fitted.curve.reading(nothing)), float(np.sqrt(variance)), False)


def _find_suspects(points: Points, fitted: FittedCurve) -> tuple[int, ...]:
    """Points too far off the curve to be chance."""
    freedom = points.applied.size - fitted.curve.degree - 1
    far = too_far(share_of_each(points, fitted), freedom, _OUTLIER)
    real = np.abs(fitted.residuals) > max(points.resolution or 0.0, ROUNDING * float(np.ptp(points.reading)))
    return tuple(int(index) for index in np.flatnonzero(far & real))


def _notes(fitted: FittedCurve, test: LackOfFit, zero: Zero) -> tuple[str, ...]:
    notes = []
    if fitted.curve.slope(np.asarray(fitted.curve.centre)) < 0:
        notes.append(
            say("readings fall as the applied value rises, as from a sensor wired backwards; taken as such")
        )
    if not zero.measured:
        notes.append(say("nothing was read at zero; the zero reading is taken from the curve"))
    if test.significant:
        notes.append(
            say("the curve misses the mean readings by more than repeats explain; see the residuals")
        )
    return tuple(notes)
