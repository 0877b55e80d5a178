"""Which falling readings of a calibration do not go with the others, without a curve through them.

A loop closes as it likes: it may come back to zero at once, or open at once as from play. A polynomial takes
the clean end of such a loop for an error. So a reading is named only by others at the same value, or, where
nothing was repeated, by a kink that one wrong reading makes and no loop does.
"""

from __future__ import annotations

from typing import Final

import numpy as np
from scipy.special import stdtrit

from strikeproof.judge.points import ROUNDING, Points
from strikeproof.quantity import BoolArray, FloatArray

__all__ = ["find_strays", "too_far"]

_CLEAR: Final = 4.0  # times as far off its neighbours as its twin
_BEYOND_A_LOOP: Final = 0.03  # of the span: what the end of a usual loop may be off its neighbours, and more
_STANDS_OUT: Final = 5.0  # times the largest kink elsewhere: of 9 to 21 readings, under 1 in 100 good sheets
_FEWEST_ELSEWHERE: Final = 4
_UNKNOWN_STEP: Final = 0.01  # of the span, where the step of a reading is not known


def too_far(share: FloatArray, freedom: int, chance: float) -> BoolArray:
    """Whether externally studentised residuals are too large for chance (Bonferroni).

    Parameters
    ----------
    share : (n,)
        By how much the residual sum of squares, in units of the mean square, would fall without each.
    freedom
        Of the residuals.
    chance
        That any of them is named in a good sheet.

    References
    ----------
    R. D. Cook and S. Weisberg, *Residuals and Influence in Regression*, 1982, section 2.2.2.
    """
    if freedom < 2:
        return np.zeros(share.shape, np.bool_)
    limit = stdtrit(freedom - 1, 1 - chance / share.size / 2) ** 2
    # t² = share·(ν − 1)/(ν − share), turned round so that a share of all of ν does not divide by zero.
    return np.asarray(share * (freedom - 1 + limit) > limit * freedom)


def find_strays(points: Points, chance: float) -> list[int]:
    """The falling readings, counted from 0, that are off the others.

    Parameters
    ----------
    points
        The falling ones alone.
    chance
        That a good sheet has any.
    """
    step = points.resolution or _UNKNOWN_STEP * float(np.ptp(points.reading))
    least = max(step, ROUNDING * float(np.ptp(points.reading)))
    if points.level.max() + 1 < points.level.size:
        return _off_repeats(points, chance, least)
    order = np.argsort(points.applied)
    return sorted(
        int(order[each]) for each in _kinks(points.applied[order], points.reading[order], 2 * least)
    )


def _off_repeats(points: Points, chance: float, least: float) -> list[int]:
    """Readings that are off the others at the same applied value."""
    count = np.bincount(points.level)
    mean = np.bincount(points.level, points.reading) / count
    residual = points.reading - mean[points.level]
    freedom, squares = points.level.size - count.size, float(residual @ residual)
    if squares <= 0.0:
        return []
    many = count[points.level]
    share = residual**2 * many / np.maximum(many - 1, 1) * freedom / squares
    far = too_far(share, freedom, chance) & (np.abs(residual) > least)
    named = (_odd_one(points, mean, level) for level in np.unique(points.level[far]))
    return sorted(each for each in named if each is not None and far[each])


def _odd_one(points: Points, mean: FloatArray, level: int) -> int | None:
    """The reading of a level that is the odd one; None where that cannot be said, as of two at an end."""
    here = np.flatnonzero(points.level == level)
    off = np.abs(points.reading[here] - mean[level])
    if here.size == 2:
        if not 0 < level < mean.size - 1:
            return None
        applied = np.array(
            [points.applied[points.level == each][0] for each in (level - 1, level, level + 1)]
        )
        off = np.abs(
            points.reading[here] - np.interp(applied[1], applied[::2], mean[level - 1 : level + 2 : 2])
        )
        if off.max() < max(_CLEAR * off.min(), _BEYOND_A_LOOP * float(np.ptp(points.reading))):
            return None
    return int(here[np.argmax(off)])


def _kinks(applied: FloatArray, reading: FloatArray, least: float) -> list[int]:
    """Readings that are off the line between their neighbours, which are as much off theirs the other way.

    The second is what one wrong reading does and neither a bend nor a corner.
    """
    if applied.size < _FEWEST_ELSEWHERE + 5:
        return []
    weight = (applied[1:-1] - applied[:-2]) / (applied[2:] - applied[:-2])
    off = reading[1:-1] - (1 - weight) * reading[:-2] - weight * reading[2:]
    off = off - np.median(off)
    found = []
    for middle in range(1, off.size - 1):
        beside = -off[middle - 1] / weight[middle - 1], -off[middle + 1] / (1 - weight[middle + 1])
        size = min(np.sign(off[middle]) * np.array([off[middle], *beside]))
        elsewhere = np.abs(np.delete(off, [middle - 1, middle, middle + 1]))
        if size > max(least, _STANDS_OUT * float(elsewhere.max())):
            found.append(middle + 1)
    return found
