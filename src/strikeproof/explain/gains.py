"""From scored runs to what the explanations must explain: log gains over the reference, with their
covariance."""

from __future__ import annotations

from collections import Counter
from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import numpy as np
from scipy.linalg import block_diag

from strikeproof.errors import TooFewRuns
from strikeproof.explain.records import Gain, Setting
from strikeproof.judge.model import fit_means, fit_scores
from strikeproof.judge.records import ScoredRun
from strikeproof.quantity import FloatArray

__all__ = ["Gathered", "gather_gains", "join_gains"]

ASSUMED_SCATTER = 0.03
"""Of one run's log score where no article was repeated (engineering estimate)."""


@dataclass(frozen=True, slots=True)
class Gathered:
    """Log gains, their covariance (n, n), one run's scatter, and whether that scatter was measured."""

    gains: tuple[Gain, ...]
    covariance: FloatArray
    run_scatter: float
    measured: bool


def gather_gains(runs: Sequence[ScoredRun], reference: str, settings: Mapping[str, Setting]) -> Gathered:
    """Gains of one campaign's counted runs by the comparison's own model of blocks and articles.

    The covariance is widened by ν/(ν − 2), for a scatter that is known from ν degrees of freedom only.

    Parameters
    ----------
    runs
        Of one campaign, excluded ones among them.
    reference
        Name of the reference article.
    settings
        By tool's name.

    Raises
    ------
    TooFewRuns
        If no article can be compared with the reference.
    """
    counted = [each for each in runs if not each.set_aside and each.score > 0.0]
    if not any(each.article == reference for each in counted):
        raise TooFewRuns(f"runs of the reference {reference!r}", got=0, needed=2)
    fit, rows = fit_means(counted, reference)
    able = np.flatnonzero(fit.design.estimable)
    if not able.size:
        raise TooFewRuns("beside the reference in the same blocks", got=0, needed=1, kind="articles")
    of_runs = fit_scores(counted, reference) if rows.averaged else fit
    measured = fit.variance is not None
    variance = fit.variance if fit.variance is not None else ASSUMED_SCATTER**2
    free = fit.degrees_of_freedom
    wider = free / (free - 2.0) if measured and free > 2 else 3.0 if measured else 1.0
    many = Counter((each.article, each.tool) for each in counted)
    gains = tuple(
        Gain(article, settings[tool], float(fit.difference[i]), many[article, tool])
        for i in able
        for article, tool in [fit.design.pairs[i]]
    )
    covariance = variance * wider * fit.covariance[np.ix_(able, able)]
    scatter = ASSUMED_SCATTER if of_runs.variance is None else float(np.sqrt(of_runs.variance))
    return Gathered(gains, np.asarray(covariance), scatter, measured)


def join_gains(parts: Sequence[Gathered]) -> Gathered:
    """Several campaigns with the same reference article on the same bench, other durations or supplies."""
    return Gathered(
        tuple(gain for each in parts for gain in each.gains),
        np.asarray(block_diag(*[each.covariance for each in parts])),
        float(np.sqrt(np.mean([each.run_scatter**2 for each in parts]))),
        all(each.measured for each in parts),
    )
