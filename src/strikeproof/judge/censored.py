"""Differences from the reference where some runs never reached the level of a score that is a time.

A run that did not reach the level within its window is censored, not missing: its time is known to be longer
than the time it was watched. Leaving such runs out would make the worst article vanish.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np
from scipy.special import log_ndtr

from strikeproof.judge.intervals import Interval, Judged
from strikeproof.judge.model import Fit, fit_scores
from strikeproof.judge.records import ScoredRun
from strikeproof.judge.simultaneous import largest_t
from strikeproof.quantity import BoolArray, FloatArray

__all__ = ["judge_censored", "rank_fit"]

RIDGE = 1e-8
"""Of the effects in standard deviations: keeps one that the likelihood would send to infinity at a handful of
them, where the likelihood is flat to a millionth."""
FAR = float(np.log(1e3))
"""Change of log time taken for "without end": a time a thousand times as long."""
MOST_STEPS = 100


def judge_censored(runs: Sequence[ScoredRun], reference: str, confidence: float) -> Judged:
    """Simultaneous intervals by the likelihood of log-normal times, some of them only known to be longer.

    The model is that of `fit_scores`. A run that reached the level gives its density, one that did not gives
    the probability of a longer time. Each interval holds the differences d at which the profile likelihood l
    keeps 2 (l_max - l(d)) <= n log(1 + c²/f): n runs reached the level, f is the degrees of freedom that
    these alone would leave, and c the critical value for f. Where every run did this is the t interval of
    `judge_runs`, exactly. An end is infinite where the likelihood never falls: an article of which no run
    reached the level is later by at least so much, and nobody can say by how much at most.

    Parameters
    ----------
    runs
        Those that count; the score of one that did not reach the level is how long it was watched. [s]
    reference
        What all others are compared with.
    confidence
        Of all intervals together.

    References
    ----------
    Tobin, Econometrica 26 (1958) 24; Olsen, Econometrica 46 (1978) 1211, whose scaling makes the likelihood
    concave; profile likelihood intervals: Meeker, Escobar, *Statistical Methods for Reliability Data*, 1998,
    chapter 8 (all from memory). The small-sample bound is ours (tests/truth/test_censored_truth.py).
    """
    fit = fit_scores(runs, reference)
    problem = _lay_out(runs, fit)
    count, free = int(np.sum(~problem.late)), problem.freedom
    able = np.flatnonzero(fit.design.estimable)
    if free < 1 or len(able) == 0:
        bare = replace(fit, degrees_of_freedom=0, variance=None)
        return Judged(bare, runs, bare, None, {}, {})
    best = _solve(problem.effects, problem.time, problem.late)
    if best is None:  # runs that repeat to the last digit
        bare = replace(fit, degrees_of_freedom=free, variance=None)
        return Judged(bare, runs, bare, None, {}, {})
    size = np.sqrt(np.diag(fit.covariance)[able])
    largest = largest_t(fit.covariance[np.ix_(able, able)] / np.outer(size, size), free)
    critical = largest.critical_value(confidence)
    fall = count * float(np.log1p(critical**2 / free)) / 2.0
    intervals = {}
    for i in able:
        profile = _Profile(problem, int(problem.cells + i))
        middle = best.effects[problem.cells + i] / best.scale
        low, high = (profile.find_end(middle, side / best.scale, best.value - fall) for side in (-1.0, 1.0))
        if np.isfinite(low) or np.isfinite(high):
            apart = max(0.0, 2.0 * (best.value - profile(0.0)))
            p = largest.p_beyond(float(np.sqrt(free * np.expm1(apart / count))))
            shown = middle if np.isfinite(high - low) else low if np.isinf(low) else high  # or infinite
            intervals[fit.design.pairs[i]] = Interval(float(shown), None, low, high, p)
    variance = count / free / best.scale**2
    found = replace(fit, degrees_of_freedom=free, variance=variance)
    return Judged(found, runs, found, critical, intervals, {})


def rank_fit(runs: Sequence[ScoredRun], reference: str) -> Fit:
    """The same design on ranks within each block and tool, a run that did not reach the level being last.

    For the randomisation test: it shuffles whole runs, so it holds for any score of a run.

    References
    ----------
    Gehan, Biometrika 52 (1965) 203: ranks of censored times (from memory).
    """
    cells = np.unique([f"{each.tool}\0{each.block}" for each in runs], return_inverse=True)[1]
    time = np.asarray([np.inf if each.not_reached else each.score for each in runs])
    ranks = np.zeros(len(runs))
    for place, (cell, own) in enumerate(zip(cells, time, strict=True)):
        others = time[cells == cell]
        ranks[place] = (np.sum(others < own) + (np.sum(others == own) + 1) / 2) / len(others)
    ranked = [replace(run, score=float(np.exp(rank))) for run, rank in zip(runs, ranks, strict=True)]
    return fit_scores(ranked, reference)


@dataclass(frozen=True, slots=True)
class _Problem:
    """Columns (n, k): cells, then pairs, then covariates; log times (n,) about their middle; late (n,)."""

    effects: FloatArray
    time: FloatArray
    late: BoolArray
    cells: int

    @property
    def freedom(self) -> int:
        """What the runs that reached the level leave by themselves."""
        seen = self.effects[~self.late]
        return len(seen) - int(np.linalg.matrix_rank(seen)) if len(seen) else 0


def _lay_out(runs: Sequence[ScoredRun], fit: Fit) -> _Problem:
    cell = fit.design.cell
    cells = int(cell.max()) + 1
    place = {pair: cells + i for i, pair in enumerate(fit.design.pairs)}
    columns = np.zeros((len(runs), cells + len(place)))
    columns[np.arange(len(runs)), cell] = 1.0
    for row, each in enumerate(runs):
        if (each.article, each.tool) in place:
            columns[row, place[each.article, each.tool]] = 1.0
    covariates = fit.columns[:, 1:]
    widths = np.abs(covariates).max(axis=0, initial=1e-300)
    time = np.log([each.score for each in runs])
    late = np.asarray([each.not_reached for each in runs])
    return _Problem(np.column_stack([columns, covariates / widths]), time - np.median(time), late, cells)


@dataclass(frozen=True, slots=True)
class _Optimum:
    """Log likelihood with the effects (k,) in standard deviations and one over the standard deviation."""

    value: float
    effects: FloatArray
    scale: float


class _Profile:
    """Largest log likelihood with one effect held at a difference of log times."""

    def __init__(self, problem: _Problem, column: int) -> None:
        self._held = problem.effects[:, column]
        self._rest = np.delete(problem.effects, column, axis=1)
        self._problem = problem

    def __call__(self, difference: float) -> float:
        shifted = self._problem.time - difference * self._held
        found = _solve(self._rest, shifted, self._problem.late)
        return np.inf if found is None else found.value

    def find_end(self, middle: float, step: float, least: float) -> float:
        """Where the likelihood falls to `least` on the side of `step`; infinite where it never does."""
        from scipy.optimize import brentq  # a fifth of a second that no start of a program should pay

        inside, outside = middle, middle + step
        while self(outside) > least:
            inside, step = outside, 2.0 * step
            outside = inside + step
            if abs(outside) > FAR:
                return float(np.copysign(np.inf, step))
        return float(brentq(lambda at: self(at) - least, inside, outside, xtol=1e-6))


def _solve(effects: FloatArray, time: FloatArray, late: BoolArray) -> _Optimum | None:
    """Newton's method on the concave likelihood in Olsen's scaling; None where nothing scatters."""
    rows = np.column_stack([-effects, time])
    point = _start(effects, time, late)
    if point is None:
        return None
    ridge = np.full(len(point), RIDGE)
    ridge[-1] = 0.0
    value = _likelihood(rows, late, point, ridge)
    for _ in range(MOST_STEPS):
        gradient, curvature = _slopes(rows, late, point, ridge)
        step = np.linalg.solve(curvature, gradient)
        gain = float(gradient @ step)
        if gain < 1e-10:
            break
        share = 1.0 if step[-1] >= 0.0 else min(1.0, -0.9 * point[-1] / step[-1])
        while (found := _likelihood(rows, late, point + share * step, ridge)) < value + 1e-4 * share * gain:
            share /= 2.0
            if share < 1e-12:
                break
        point, value = point + share * step, found
    return _Optimum(value, point[:-1], float(point[-1]))


def _start(effects: FloatArray, time: FloatArray, late: BoolArray) -> FloatArray | None:
    seen = np.linalg.lstsq(effects[~late], time[~late], rcond=None)[0]
    rest = time[~late] - effects[~late] @ seen
    spread = float(np.sqrt(np.mean(rest**2)))
    if spread < 1e-9:
        return None
    return np.asarray(np.r_[seen, 1.0] / spread)


def _likelihood(rows: FloatArray, late: BoolArray, point: FloatArray, ridge: FloatArray) -> float:
    """Log likelihood, without its constant."""
    z = rows @ point
    seen = np.sum(~late) * np.log(point[-1]) - 0.5 * np.sum(z[~late] ** 2)
    return float(seen + np.sum(log_ndtr(-z[late])) - 0.5 * ridge @ point**2)


def _slopes(
    rows: FloatArray, late: BoolArray, point: FloatArray, ridge: FloatArray
) -> tuple[FloatArray, FloatArray]:
    """Gradient and minus the second derivative."""
    z = rows @ point
    hazard = np.exp(-0.5 * z**2 - 0.5 * np.log(2.0 * np.pi) - log_ndtr(-z))
    pull = np.where(late, hazard, z)
    weight = np.where(late, np.maximum(hazard * (hazard - z), 0.0), 1.0)
    gradient = -rows.T @ pull - ridge * point
    curvature = (rows * weight[:, None]).T @ rows + np.diag(ridge)
    count = float(np.sum(~late))
    gradient[-1] += count / point[-1]
    curvature[-1, -1] += count / point[-1] ** 2
    return gradient, curvature
