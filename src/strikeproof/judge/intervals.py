"""Simultaneous intervals of all differences from the reference, from one fit."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field

import numpy as np
from scipy.special import stdtr, stdtrit

from strikeproof.judge.model import Fit, Pair, fit_means, fit_scores
from strikeproof.judge.records import ScoredRun
from strikeproof.judge.scatter import OwnScatter, find_own_scatter, find_reference_scatter
from strikeproof.judge.simultaneous import largest_t

__all__ = ["Interval", "Judged", "judge_runs"]


@dataclass(frozen=True, slots=True)
class Interval:
    """One difference in log score; all but the difference are None when the scatter is not known."""

    difference: float
    error: float | None
    low: float | None
    high: float | None
    p: float | None


@dataclass(frozen=True, slots=True)
class Judged:
    """A fit with the interval of every pair that can be compared.

    `rows` are what was fitted: the runs, or one of each article in each block where their means were.
    `of_runs` is the fit of the single runs, the same where each counts by itself.
    """

    fit: Fit
    rows: Sequence[ScoredRun]
    of_runs: Fit
    critical_value: float | None
    intervals: Mapping[Pair, Interval]
    own_scatter: Mapping[Pair, OwnScatter]
    reference_scatter: Mapping[Pair, OwnScatter] = field(default_factory=dict)


def judge_runs(runs: Sequence[ScoredRun], reference: str, confidence: float) -> Judged:
    """Fit the runs and set simultaneous intervals around all estimable differences.

    An article that scatters clearly more than the others, or whose reference does, gets the wider of this
    interval and of one from that scatter, at Bonferroni's level.

    Parameters
    ----------
    runs
        Those that count, scores > 0.
    reference
        What all others are compared with.
    confidence
        Of all intervals together.

    Returns
    -------
    Differences in log score.

    References
    ----------
    Dunnett, J. Am. Stat. Assoc. 50 (1955) 1096, here with the correlations of the design as it was run.
    """
    fit, rows = fit_means(runs, reference)
    of_runs = fit_scores(runs, reference) if rows.averaged else fit
    able = np.flatnonzero(fit.design.estimable)
    if fit.variance is None or len(able) == 0:
        bare = {fit.design.pairs[i]: Interval(float(fit.difference[i]), None, None, None, None) for i in able}
        return Judged(fit, rows.runs, of_runs, None, bare, {})
    errors = fit.standard_error
    size = np.sqrt(np.diag(fit.covariance)[able])
    largest = largest_t(fit.covariance[np.ix_(able, able)] / np.outer(size, size), fit.degrees_of_freedom)
    critical = largest.critical_value(confidence)
    intervals = {}
    for i in able:
        difference, error = float(fit.difference[i]), float(errors[i])
        half = critical * error
        p = largest.p_beyond(difference / error)
        intervals[fit.design.pairs[i]] = Interval(difference, error, difference - half, difference + half, p)
    own = find_own_scatter(fit, rows.runs)
    of_reference = find_reference_scatter(fit, rows.runs, reference)
    tail = (1.0 - confidence) / len(able)
    for wide in (own, of_reference):
        intervals |= {pair: _widen(intervals[pair], each, tail, len(able)) for pair, each in wide.items()}
    return Judged(fit, rows.runs, of_runs, critical, intervals, own, of_reference)


def _widen(interval: Interval, own: OwnScatter, tail: float, comparisons: int) -> Interval:
    """The wider of an interval and the one from the article's own scatter; the larger p."""
    middle, free = interval.difference, own.degrees_of_freedom
    half = float(stdtrit(free, 1.0 - tail / 2.0)) * own.error
    p = min(1.0, 2.0 * comparisons * float(stdtr(free, -abs(middle) / own.error)))
    if interval.error is None or interval.low is None or interval.high is None or interval.p is None:
        return interval
    return Interval(
        middle,
        max(interval.error, own.error),
        min(interval.low, middle - half),
        max(interval.high, middle + half),
        max(p, interval.p),
    )
