"""Which articles are better, which are different, and which no other beats in everything."""

from __future__ import annotations

import math
from collections.abc import Callable, Iterator, Sequence
from typing import Final, TypeVar

import numpy as np

from strikeproof.design.records import Brief
from strikeproof.parts import ArticleProperties
from strikeproof.quantity import BoolArray, FloatArray

__all__ = ["APART", "counted_gain", "find_front", "pick_apart", "sure_gains", "worth"]

APART: Final = 0.20
"""Log inertia, mass, price or diameter by which two articles of one kind are different: a fifth."""

T = TypeVar("T")


def counted_gain(brief: Brief, gains: FloatArray, strongest: int) -> float:
    """The log gain that an objective looks at: with the strongest tool, or the least of all tools.

    Parameters
    ----------
    brief
        Its objective.
    gains : (tools,)
        Log gains.
    strongest
        The tool that takes the reference highest.
    """
    return float(gains.min() if brief.objective == "best over tools" else gains[strongest])


def sure_gains(gains: FloatArray) -> FloatArray:
    """Mean log gain over the lower half of the draws, (tools,): the gain where belief errs to its cost.

    Of two that are predicted alike, the one whose gain may break off beyond what was measured falls behind.

    Parameters
    ----------
    gains : (draws, tools)

    References
    ----------
    Rockafellar, R. T. and Uryasev, S., "Optimization of conditional value-at-risk", Journal of Risk 2, 2000,
    at a level of one half (from memory).
    """
    half = -(-len(gains) // 2)
    return np.asarray(np.sort(gains, axis=0)[:half].mean(axis=0))


def worth(brief: Brief, known: ArticleProperties, gain: float) -> float:
    """What the brief's objective makes of an article; more is better.

    Its log gain, its gain for every unit of money, or the negative logarithm of its mass.

    Parameters
    ----------
    brief
        Its objective.
    known
        Mass and price of the article.
    gain
        Log gain that counts (`counted_gain`).
    """
    if brief.objective == "best per money":
        return math.expm1(gain) / max(known.price or math.inf, 1e-9)
    if brief.objective == "lightest":
        return -math.log(known.mass)
    return gain


def find_front(values: FloatArray) -> BoolArray:
    """Which rows no other row beats: as good in every column and better in one. Less is better.

    Parameters
    ----------
    values : (n, columns)

    References
    ----------
    Pareto dominance as in Deb, K., *Multi-Objective Optimization using Evolutionary Algorithms*, 2001,
    def. 2.5 (from memory).
    """
    free = np.ones(len(values), dtype=np.bool_)
    for i, row in enumerate(values):
        better = np.all(values <= row, axis=1) & np.any(values < row, axis=1)
        free[i] = not better.any()
    return free


def pick_apart(
    items: Sequence[T], kind: Callable[[T], str], size: Callable[[T], FloatArray], apart: float = APART
) -> Iterator[T]:
    """The items in their order, without those that are of one kind with an earlier one and as large.

    Parameters
    ----------
    items
        The best first.
    kind
        Of an item; only items of one kind are compared.
    size
        Of an item, (n,): logarithms, so that a difference is a ratio.
    apart
        Largest difference in any of the n above which two are different.
    """
    taken: dict[str, list[FloatArray]] = {}
    for item in items:
        own, others = size(item), taken.setdefault(kind(item), [])
        if all(np.max(np.abs(own - other)) > apart for other in others):
            others.append(own)
            yield item
