"""Articles that scatter more than the rest: found, and judged by their own scatter."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from scipy.special import fdtrc

from strikeproof.judge.model import Fit
from strikeproof.judge.records import ScoredRun
from strikeproof.quantity import BoolArray

__all__ = ["OwnScatter", "find_own_scatter", "find_reference_scatter"]

LEVEL = 0.01
"""An article whose residuals would be so wide by chance less often than this is judged by its own scatter."""


@dataclass(frozen=True, slots=True)
class OwnScatter:
    """A difference judged with two variances, the article's or its reference's and that of all other runs.

    `ratio` is the standard deviation of the one over that of the others.
    """

    ratio: float
    error: float
    degrees_of_freedom: float


def find_own_scatter(
    fit: Fit, runs: Sequence[ScoredRun], *, level: float = LEVEL
) -> dict[tuple[str, str], OwnScatter]:
    """Pairs whose residual variance exceeds that of the other runs, by an F test at `level`.

    Degrees of freedom of a set of residuals are the sum of one less leverage. With one block and one
    article the result is Welch's t test.

    Parameters
    ----------
    fit
        Of the rows.
    runs
        One a row of the fit.
    level
        Chance of taking a usual scatter for a wide one.

    References
    ----------
    Welch, Biometrika 34 (1947) 28; Satterthwaite, Biometrics Bull. 2 (1946) 110 (both from memory).
    """
    if fit.variance is None:
        return {}
    found = {}
    for i, pair in enumerate(fit.design.pairs):
        own = np.asarray([(each.article, each.tool) == pair for each in runs])
        judged = _judge_alone(fit, i, own, level) if fit.design.estimable[i] else None
        if judged is not None:
            found[pair] = judged
    return found


def find_reference_scatter(
    fit: Fit, runs: Sequence[ScoredRun], reference: str, *, level: float = LEVEL
) -> dict[tuple[str, str], OwnScatter]:
    """The pairs whose reference scatters more than the other runs, by the same test, judged by its scatter.

    `ratio` is then the reference's: with one run of it a block the common scatter would say too little.

    Parameters
    ----------
    fit
        Of these runs.
    runs
        Those it was fitted to, in its order.
    reference
        The article that all others are compared with.
    level
        At which the scatter is said to be larger.
    """
    if fit.variance is None:
        return {}
    found = {}
    for i, (article, tool) in enumerate(fit.design.pairs):
        own = np.asarray([(each.article, each.tool) == (reference, tool) for each in runs])
        judged = _judge_alone(fit, i, own, level) if fit.design.estimable[i] else None
        if judged is not None:
            found[article, tool] = judged
    return found


def _judge_alone(fit: Fit, number: int, own: BoolArray, level: float) -> OwnScatter | None:
    """Two-variance error of one difference, or None when some runs scatter no more than the rest."""
    free = np.clip(1.0 - fit.leverage, 0.0, None)
    of_own, of_rest = float(free[own].sum()), float(free[~own].sum())
    if min(of_own, of_rest) < 1.0:  # two numbers say too little of their own scatter
        return None
    wide = float(np.sum(fit.residual[own] ** 2)) / of_own
    rest = float(np.sum(fit.residual[~own] ** 2)) / of_rest
    if rest <= 0.0 or fdtrc(of_own, of_rest, wide / rest) > level:
        return None
    share = (fit.design.basis @ fit.design.weights[number]) ** 2
    parts = (
        wide * float(share[own].sum()),
        rest * (float(fit.covariance[number, number]) - float(share[own].sum())),
    )
    freedom = sum(parts) ** 2 / (parts[0] ** 2 / of_own + parts[1] ** 2 / of_rest)
    return OwnScatter(float(np.sqrt(wide / rest)), float(np.sqrt(sum(parts))), freedom)
