"""Calibration points: refused when they cannot be fitted, else sorted into levels and cells."""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np
import numpy.typing as npt

from strikeproof.errors import BadInput
from strikeproof.quantity import BoolArray, FloatArray, IntArray

__all__ = ["Points", "check_points"]

HIGHEST_DEGREE = 3
ROUNDING = 1e-9  # of the span; smaller differences are left over from unit conversion


@dataclass(frozen=True, slots=True, eq=False)
class Points:
    """Clean calibration points, (n,) each, with levels and cells numbered from 0.

    A level is one applied value; a cell is one applied value in one direction. `floor` is the least
    variance of a reading worth the name: what the display or the arithmetic rounds away.
    """

    applied: FloatArray
    reading: FloatArray
    applied_uncertainty: FloatArray
    rising: BoolArray | None
    level: IntArray
    cell: IntArray
    resolution: float | None
    floor: float

    @property
    def repeated(self) -> bool:
        """Whether there are true repeats, and not only of a few points such as the zero."""
        true = self.cell.size - int(self.cell.max()) - 1
        loose = self.level.size - int(self.level.max()) - 1
        return true > 0 and 2 * true >= loose

    def only(self, chosen: BoolArray) -> Points:
        """Some of the points, their levels and cells numbered again."""
        return replace(
            self,
            applied=self.applied[chosen],
            reading=self.reading[chosen],
            applied_uncertainty=self.applied_uncertainty[chosen],
            rising=None if self.rising is None else self.rising[chosen],
            level=_numbered(self.level[chosen]),
            cell=_numbered(self.cell[chosen]),
        )


def check_points(
    applied: FloatArray,
    reading: FloatArray,
    *,
    rising: BoolArray | None,
    applied_uncertainty: FloatArray | float | None,
    degree: int | None,
    resolution: float | None,
) -> Points:
    """The points as the fit needs them.

    Parameters
    ----------
    applied, reading : (n,)
        The points. [applied, reading]
    rising : (n,)
        Whether the applied value was going up; None where nobody says.
    applied_uncertainty : (n,) or one
        Standard, 0 or more; None for 0. [applied]
    degree
        1 to 3, or None where it is still to be chosen.
    resolution
        Smallest step of a reading; None for the decimal place that all share.

    Raises
    ------
    BadInput
        With too few points or applied values, a value that is not finite, or readings that do not change.

    References
    ----------
    Variance q²/12 of a reading rounded to steps of q: JCGM 100:2008 (GUM), F.2.2.1.
    """
    applied, reading = np.asarray(applied, np.float64), np.asarray(reading, np.float64)
    given = 0.0 if applied_uncertainty is None else applied_uncertainty
    known = np.broadcast_to(np.asarray(given, np.float64), applied.shape)
    _check_values(applied, reading, known)
    _check_counts(applied, degree)
    step = _written_step(reading) if resolution is None else resolution
    level = _numbered(np.round((applied - applied.min()) / (np.ptp(applied) * ROUNDING)))
    up = None if rising is None else np.asarray(rising, np.bool_)
    cell = level if up is None else _numbered(2 * level + up)
    floor = max((step or 0.0) ** 2 / 12, (1e-12 * float(np.max(np.abs(reading)))) ** 2, 1e-300)
    if np.ptp(reading) ** 2 <= floor:  # what a fit finds in these is its own rounding
        raise BadInput(
            f"all readings are {reading[0]:g}: they do not follow the applied values",
            where="calibration",
            allowed="a rise, or fall, with the applied value",
            fix="check the columns and the sensor",
        )
    return Points(applied, reading, known, up, level, cell, step, floor)


def _check_values(applied: FloatArray, reading: FloatArray, known: FloatArray) -> None:
    for name, values in (("applied value", applied), ("reading", reading), ("applied uncertainty", known)):
        bad = np.flatnonzero(~np.isfinite(values))
        if bad.size:
            raise BadInput(
                f"{name} is not a number",
                where=f"calibration point {bad[0] + 1}",
                allowed="finite numbers",
                fix="correct the line or leave it out",
            )
    if np.any(known < 0):
        where = f"calibration point {np.flatnonzero(known < 0)[0] + 1}"
        raise BadInput(
            "applied uncertainty is negative", where=where, allowed="0 or more", fix="give its size"
        )


def _check_counts(applied: FloatArray, degree: int | None) -> None:
    if degree is not None and degree not in range(1, HIGHEST_DEGREE + 1):
        raise BadInput(f"degree {degree}", where="calibration", allowed=f"1 to {HIGHEST_DEGREE}")
    needed = (degree or 1) + 2
    if applied.size < needed:
        raise BadInput(
            f"{applied.size} points",
            where="calibration",
            allowed=f"{needed} or more for degree {degree or 1}",
            fix="add readings at further applied values",
        )
    levels = np.unique(applied).size
    if levels < needed - 1 or np.ptp(applied) == 0:
        raise BadInput(
            f"only {levels} different applied value{'s' if levels > 1 else ''}",
            where="calibration",
            allowed=f"{needed - 1} or more for degree {degree or 1}",
            fix="add readings at further applied values",
        )


def _numbered(codes: npt.NDArray[np.generic]) -> IntArray:
    return np.asarray(np.unique(codes, return_inverse=True)[1], np.int64)


def _written_step(values: FloatArray) -> float | None:
    """The coarsest decimal place that all values share.

    None when they go on past the twelfth digit, or when the place is so coarse, under 200 steps over all the
    values, that round numbers are as likely a reason as a coarse display.
    """
    largest = float(np.max(np.abs(values)))
    top = int(np.floor(np.log10(largest))) if largest else 0
    for place in range(top, top - 12, -1):
        steps = values / 10.0**place
        if np.all(np.abs(steps - np.round(steps)) <= 1e-4):
            return float(10.0**place) if np.ptp(steps) >= 200 else None
    return None
