"""A score against one parameter, and where it is best."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass

import numpy as np

from strikeproof.errors import BadInput
from strikeproof.quantity import FloatArray

__all__ = ["Optimum", "find_optimum", "spread_values"]


@dataclass(frozen=True, slots=True)
class Optimum:
    """Where a swept score is largest.

    Attributes
    ----------
    value, score
        Of the crest of the parabola through the best point and its neighbours, over the logarithm.
    at_end
        The best point is the first or last one: the optimum may lie beyond.
    """

    value: float
    score: float
    at_end: bool


def spread_values(low: float, high: float, points: int) -> FloatArray:
    """Values for a sweep: even in the logarithm when both ends are positive and a factor 3 apart, else even.

    Parameters
    ----------
    low, high
        Ends, both among the values.
    points
        2 or more.

    Returns
    -------
    (points,), increasing.

    Raises
    ------
    BadInput
        If the ends are not ordered, not finite, or fewer than two points are asked for.
    """
    if not (np.isfinite(low) and np.isfinite(high) and low < high):
        raise BadInput(f"{low:g} to {high:g}", where="sweep", allowed="two finite ends, the lower first")
    if not 2 <= points <= 100_000:
        raise BadInput(f"{points} points", where="sweep.points", allowed="2 to 100000")
    if low > 0.0 and high / low > 3.0:
        return np.geomspace(low, high, points)
    return np.linspace(low, high, points)


def find_optimum(values: Sequence[float] | FloatArray, scores: Sequence[float] | FloatArray) -> Optimum:
    """Best score of a sweep and its place, refined by a parabola where it has neighbours.

    Parameters
    ----------
    values, scores : (n,)
        Values increasing, n ≥ 1.
    """
    x, y = np.asarray(values, dtype=float), np.asarray(scores, dtype=float)
    best = int(np.argmax(y))
    if best in (0, x.size - 1):
        return Optimum(float(x[best]), float(y[best]), True)
    logarithmic = bool(np.all(x > 0.0))
    places = np.log(x[best - 1 : best + 2]) if logarithmic else x[best - 1 : best + 2]
    shift = places - places[1]
    a, b, _c = np.polyfit(shift, y[best - 1 : best + 2], 2)
    if not a < 0.0:
        return Optimum(float(x[best]), float(y[best]), False)
    crest = float(np.clip(-0.5 * b / a, shift[0], shift[2]))
    place = places[1] + crest
    value = float(np.exp(place)) if logarithmic else float(place)
    return Optimum(value, float(y[best] + crest * (b + a * crest)), False)


def sweep(values: FloatArray, score: Callable[[float], float]) -> FloatArray:
    """Score at every value.

    Parameters
    ----------
    values : (n,)
        Of the parameter.
    score
        Called once for each.

    Returns
    -------
    (n,)
    """
    return np.array([score(float(value)) for value in values])


__all__ += ["sweep"]
