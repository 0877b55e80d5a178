"""Median of the scores and its interval by order statistics, as the trade reports."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
from scipy.special import bdtr

__all__ = ["median_interval", "median_ranks"]


def median_ranks(count: int, confidence: float) -> tuple[int, int, float] | None:
    """Narrowest symmetric pair of ranks that holds the median at least so surely, and how surely.

    None when even the extremes do not: below six runs at 95 %.

    Parameters
    ----------
    count
        Scores.
    confidence
        Asked for, above 0 and below 1.

    References
    ----------
    Conover, *Practical Nonparametric Statistics*, section 3.2 (from memory): the rank r has binomial odds.
    """
    for rank in range(count // 2, 0, -1):
        cover = 1.0 - 2.0 * float(bdtr(rank - 1, count, 0.5))
        if cover >= confidence:
            return rank, count + 1 - rank, cover
    return None


def median_interval(scores: Sequence[float], confidence: float) -> tuple[float, float] | None:
    """The two order statistics around the median, or None when there are too few scores.

    Parameters
    ----------
    scores
        Of one article with one tool, in any order.
    confidence
        Asked for, above 0 and below 1.
    """
    ranks = median_ranks(len(scores), confidence)
    if ranks is None:
        return None
    ordered = np.sort(np.asarray(scores, dtype=np.float64))
    return float(ordered[ranks[0] - 1]), float(ordered[ranks[1] - 1])
