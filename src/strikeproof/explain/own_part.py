"""What no property explains: every article has a part of the score of its own, and its size is learned.

Records are off, a bond is softer than others, a run was misread: an article then lies off any explanation by
an amount of its own. How large that is from article to article is one more unknown of every explanation,
half-normal before the runs.
"""

from __future__ import annotations

from typing import Final

import numpy as np
from scipy.special import ndtr, ndtri

from strikeproof.quantity import FloatArray, IntArray

__all__ = ["FARTHEST", "KIN", "NODES", "UNSEEN", "own_patterns", "own_size", "own_unknown", "pattern_at"]

SCALE: Final = 0.05
"""Of the half-normal prior, log score: 95 % of it lie under 9.8 % (engineering estimate)."""
WITH_A_SETTING: Final = 0.5
"""Share of an article's own variance that belongs to one setting only (engineering estimate)."""

UNSEEN: Final = -1
"""Number of an article that was not run: its own part is not known, and the caller decides."""
KIN: Final = -2
"""Number of what is the reference but for what was changed: both have the same own part, which cancels."""

FARTHEST: Final = 6.0
"""Prior standard deviations beyond which no unknown of any explanation is believed, whatever the data: the
engine has bounds."""
NODES: Final = np.linspace(-4.0, FARTHEST, 101)
"""Standard normal unknowns at which the size is taken where it is summed over: a step of 0.1 is fine enough
for its quantiles, and its tail ends where that of explanations with physics does."""


def own_size(unknown: FloatArray) -> FloatArray:
    """Standard deviation of the articles' own parts, log score, half-normal where the unknown is normal.

    Parameters
    ----------
    unknown
        Standard normal before the runs.

    References
    ----------
    Half-normal for the spread between few groups: Gelman, Bayesian Analysis 1 (2006) 515 (from memory).
    """
    return np.asarray(SCALE * ndtri(0.5 + 0.5 * ndtr(unknown)))


def own_unknown(size: FloatArray) -> FloatArray:
    """The inverse of `own_size`: the unknown, standard normal before the runs, at sizes of 0 or more."""
    return np.asarray(ndtri(np.clip(2.0 * ndtr(size / SCALE) - 1.0, 1e-12, 1.0 - 1e-12)))


def own_patterns(article: IntArray, setting: FloatArray) -> tuple[FloatArray, FloatArray]:
    """Covariances (n, n) of the gains by the articles' own parts and by the reference's, each of size 1.

    Parameters
    ----------
    article : (n,)
        Number of each gain's article; `UNSEEN` has the reference's part alone, `KIN` neither.
    setting : (n,)
        Number of each gain's setting.
    """
    alike = (1.0 - WITH_A_SETTING) + WITH_A_SETTING * (setting[:, None] == setting[None, :])
    same = (article[:, None] == article[None, :]) & (article >= 0)
    apart = article != KIN
    return np.where(same, alike, 0.0), np.where(apart[:, None] & apart[None, :], alike, 0.0)


def pattern_at(patterns: tuple[FloatArray, FloatArray], size: FloatArray) -> FloatArray:
    """Covariances (s, n, n) of the gains where the own parts are of these sizes (s,)."""
    return np.asarray(size[:, None, None] ** 2 * (patterns[0] + patterns[1]))
