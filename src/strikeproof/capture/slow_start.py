"""The start of a run whose load grows slowly: against what a quiet or drifting zero would have become."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from strikeproof.quantity import FloatArray

__all__ = ["LOOK_BACK_S", "SlowStart", "find_slow_start"]

_SPANS = ((5, 15), (10, 20), (20, 40), (30, 60))  # blocks that have left a line through so many before them
LOOK_BACK_S = 9.2
_SURE = 8.0  # deviations from the line: never by chance in a day
_LIKELY = 4.0  # deviations from a parabola, and of each of the last two blocks


@dataclass(frozen=True, slots=True)
class SlowStart:
    """Which of the blocks are calm, and when the reading left them. [s]"""

    calm: slice
    began: float


def find_slow_start(time: FloatArray, mean: FloatArray, least: float) -> SlowStart | None:
    """Whether the last blocks leave the course of those before; None where they do not.

    Parameters
    ----------
    time, mean : (n,)
        Middle of each block [s] and mean reading in it.
    least
        Deviation of a block that a converter's step leaves. [reading]
    """
    for leaving, before in _SPANS:
        if len(mean) >= leaving + before:
            found = _leaves(time[-leaving - before :], mean[-leaving - before :], leaving, least)
            if found is not None:
                return SlowStart(slice(len(mean) - leaving - before, len(mean) - leaving), found)
    return None


def _leaves(time: FloatArray, mean: FloatArray, leaving: int, least: float) -> float | None:
    at = (time - time[:-leaving].mean()) / np.ptp(time[:-leaving])
    off, deviation, bound = _from_course(at, mean, leaving, 1, least)
    d = float(off.mean())
    if not (abs(d) > _SURE * bound and np.all(off[-2:] * np.sign(d) > _LIKELY * deviation)):
        return None
    curved, _, bound = _from_course(at, mean, leaving, 2, least)
    if curved.mean() * np.sign(d) < _LIKELY * bound:
        return None
    late = time[-leaving:]
    slope = float(np.polyfit(late - late.mean(), off, 1)[0])
    began = late.mean() - d / slope if slope * d > 0 else late[0]
    return float(np.clip(began, 2 * late[0] - late[-1], late[-1]))


def _from_course(
    at: FloatArray, mean: FloatArray, leaving: int, degree: int, least: float
) -> tuple[FloatArray, float, float]:
    """How far the last blocks are off a polynomial through those before, and the deviation of one block
    and of the mean of the last from it."""
    design = np.vander(at, degree + 1, increasing=True)
    calm, late = design[:-leaving], design[-leaving:].mean(axis=0)
    weights = np.linalg.lstsq(calm, mean[:-leaving], rcond=None)[0]
    rest = mean[:-leaving] - calm @ weights
    deviation = max(float(np.sqrt(rest @ rest / (len(rest) - degree - 1))), least)
    spread = 1 / leaving + late @ np.linalg.solve(calm.T @ calm, late)
    return mean[-leaving:] - design[-leaving:] @ weights, deviation, deviation * float(np.sqrt(spread))
