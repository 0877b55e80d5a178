"""From growth curves and peaks of the runs to extra readings: what they say beside the scores."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace

import numpy as np
from scipy.linalg import block_diag

from strikeproof.explain.records import Clue, Reading, Setting
from strikeproof.judge.model import Fit, fit_scores
from strikeproof.judge.records import ScoredRun
from strikeproof.quantity import FloatArray, IntArray

__all__ = ["Clues", "gather_clues"]

LEAST_FREE = 4
"""Degrees of freedom below which the runs do not say how their readings scatter together."""
USUAL_CORRELATION, WORTH = 0.75, 3.0
"""Of a run's readings and its score, and the degrees of freedom that this guess weighs (engineering
estimate): a run that is above the others early mostly ends above them."""


@dataclass(frozen=True, slots=True)
class Clues:
    """Extra readings and the covariance (m, m) of their values by the scatter of the runs."""

    clues: tuple[Clue, ...]
    covariance: FloatArray


NONE = Clues((), np.zeros((0, 0)))


def gather_clues(
    runs: Sequence[ScoredRun],
    reference: str,
    settings: Mapping[str, Setting],
    readings: Mapping[Reading, Mapping[str, float]],
) -> Clues:
    """Extra readings of one campaign's counted runs, by the same model of blocks and articles as its gains.

    With the same runs and columns for every reading, the covariance of two differences is the product of that
    of their readings in one run and that of the articles in the design. An extra reading is a reading less so
    much of the score that the scatter of the two is uncorrelated: gains and extra readings can then be taken
    as independent.

    Parameters
    ----------
    runs
        Of one campaign, excluded ones among them.
    reference
        Name of the reference article.
    settings
        By tool's name.
    readings
        By reading, then by the run's name: level in the score's unit, or peak torque [N·m]; > 0. Runs without
        all levels say nothing here.

    References
    ----------
    Anderson, *An Introduction to Multivariate Statistical Analysis*, 2003, section 8.2 (from memory): the
    covariance of a multivariate regression's coefficients.
    """
    shares = sorted(each for each in readings if each != "peak")
    groups: list[tuple[Reading, ...]] = [tuple(shares)] if shares else []
    groups += [("peak",)] if "peak" in readings else []
    found = [[readings[each] for each in group] for group in groups]
    pairs = zip(groups, found, strict=True)
    return _join([_gather(runs, reference, settings, group, some) for group, some in pairs])


def _gather(
    runs: Sequence[ScoredRun],
    reference: str,
    settings: Mapping[str, Setting],
    group: tuple[Reading, ...],
    found: Sequence[Mapping[str, float]],
) -> Clues:
    """Extra readings of readings that the same runs have."""
    counted = [
        each
        for each in runs
        if not each.set_aside and each.score > 0.0 and all(each.run in some for some in found)
    ]
    if not any(each.article == reference for each in counted):
        return NONE
    logs = np.log([[each.score, *(some[each.run] for some in found)] for each in counted])
    fits = [_fit(counted, column, reference) for column in logs.T]
    free, design = fits[0].degrees_of_freedom, fits[0].design
    if free < LEAST_FREE or any(each.variance is None for each in fits):
        return NONE
    scatter = _shrink(np.column_stack([each.residual for each in fits]), free)
    able = np.flatnonzero(design.estimable)
    tools = dict.fromkeys(design.pairs[i][1] for i in able)
    own = [_of_reference(counted, logs, scatter, (reference, tool), settings[tool], group) for tool in tools]
    return _join([_of_articles(fits, scatter, able, settings, group), *own])


def _fit(runs: Sequence[ScoredRun], log_reading: FloatArray, reference: str) -> Fit:
    """The comparison's fit of a reading in place of the score."""
    readings = [
        replace(run, score=float(np.exp(value))) for run, value in zip(runs, log_reading, strict=True)
    ]
    return fit_scores(readings, reference)


def _join(parts: Sequence[Clues]) -> Clues:
    clues = tuple(clue for part in parts for clue in part.clues)
    covariance = block_diag(*[part.covariance for part in parts]) if clues else np.zeros((0, 0))
    return Clues(clues, np.asarray(covariance))


def _of_articles(
    fits: Sequence[Fit],
    scatter: FloatArray,
    able: IntArray,
    settings: Mapping[str, Setting],
    group: tuple[Reading, ...],
) -> Clues:
    """Every article's readings against the reference's, less what goes with the score."""
    score, free = fits[0], fits[0].degrees_of_freedom
    carry = scatter[1:, 0] / scatter[0, 0]
    rest = (scatter[1:, 1:] - np.outer(carry, scatter[0, 1:])) * free / (free - 2.0)
    clues = tuple(
        Clue(article, settings[tool], reading, float(fit.difference[i] - b * score.difference[i]), float(b))
        for reading, b, fit in zip(group, carry, fits[1:], strict=True)
        for i in able
        for article, tool in [score.design.pairs[i]]
    )
    covariance = np.kron(rest, score.covariance[np.ix_(able, able)])
    return Clues(clues, np.asarray(covariance, dtype=np.float64))


def _shrink(residuals: FloatArray, free: int) -> FloatArray:
    """Covariance of a run's score and readings, drawn towards the usual correlation.

    References
    ----------
    The posterior mean of an inverse Wishart prior; Gelman and others, *Bayesian Data Analysis*, 2013, section
    3.6 (from memory).
    """
    squares = residuals.T @ residuals
    spread = np.sqrt(np.diag(squares) / free)
    count = len(spread)
    usual = np.outer(spread, spread) * (USUAL_CORRELATION + (1.0 - USUAL_CORRELATION) * np.eye(count))
    return np.asarray((squares + WORTH * usual) / (free + WORTH))


def _of_reference(
    runs: Sequence[ScoredRun],
    logs: FloatArray,
    scatter: FloatArray,
    pair: tuple[str, str],
    setting: Setting,
    group: tuple[Reading, ...],
) -> Clues:
    """The reference's growth as shares of its end, or its peak as it is.

    That its runs are also in every gain is left aside: what the chain may be off is far more.
    """
    rows = [i for i, each in enumerate(runs) if (each.article, each.tool) == pair]
    carry = 0.0 if group == ("peak",) else 1.0
    taken = np.column_stack([np.full(len(group), -carry), np.eye(len(group))])
    values = (logs[rows] @ taken.T).mean(axis=0)
    clues = tuple(
        Clue(pair[0], setting, reading, float(value), carry)
        for reading, value in zip(group, values, strict=True)
    )
    return Clues(clues, np.asarray(taken @ scatter @ taken.T / len(rows)))
