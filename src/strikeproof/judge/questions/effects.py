"""Combinations of articles in one fit: their differences, errors and common distribution."""

from __future__ import annotations

from collections import Counter
from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import numpy as np

from strikeproof.errors import BadInput, TooFewRuns
from strikeproof.judge.model import WARM_UP, Fit, Pair, fit_means
from strikeproof.judge.records import ScoredRun
from strikeproof.judge.scatter import find_own_scatter, find_reference_scatter
from strikeproof.quantity import BoolArray, FloatArray

__all__ = ["Effects", "Measured", "fit_effects"]

NEAR = 1e-6
"""How far a combination may reach out of what the blocks can separate."""


@dataclass(frozen=True, slots=True)
class Measured:
    """Combinations of log scores: values (k,), their covariance up to the residual variance (k, k), standard
    errors (k,) and the degrees of freedom of each (k,).

    The error and freedom of a combination that holds an article which scatters clearly more than the others
    are its own.
    """

    value: FloatArray
    covariance: FloatArray
    error: FloatArray
    freedom: FloatArray


@dataclass(frozen=True, slots=True)
class Effects:
    """One fit of the runs that count, to be asked about any of its articles.

    `rows` are the runs, or their means in each block; `runs` is how many runs each article has with a tool.
    `wide` are articles, the reference too, that scatter clearly more than the others: residual variance and
    its freedom.
    """

    fit: Fit
    rows: Sequence[ScoredRun]
    reference: str
    wide: Mapping[Pair, tuple[float, float]]
    runs: Mapping[Pair, int]

    @property
    def tools(self) -> tuple[str, ...]:
        """The tools that ran."""
        return tuple(sorted({each.tool for each in self.rows}))

    @property
    def order_hides(self) -> bool:
        """Whether every article had the same place in every block, so that no verdict can be given."""
        return WARM_UP in self.fit.confounded

    def articles(self, tool: str) -> tuple[str, ...]:
        """The articles that ran with a tool, in the order of their first run."""
        return tuple(dict.fromkeys(each.article for each in self.rows if each.tool == tool))

    def ranked(self, tool: str, *, timed: bool = False) -> tuple[str, ...]:
        """The articles that ran with a tool, the best first as far as the runs show."""
        sign = 1.0 if timed else -1.0
        place = {pair: i for i, pair in enumerate(self.fit.design.pairs)}
        values = {
            name: sign * float(self.fit.difference[place[name, tool]]) if (name, tool) in place else 0.0
            for name in self.articles(tool)
        }
        return tuple(sorted(values, key=lambda name: values[name]))

    def witnesses(self, article: str, tool: str) -> int:
        """Independent numbers of an article with a tool."""
        return sum((each.article, each.tool) == (article, tool) for each in self.rows)

    def count_runs(self, article: str, tool: str) -> int:
        """Runs of an article with a tool, each by itself."""
        return self.runs.get((article, tool), 0)

    def weights(self, by_article: Mapping[str, float], tool: str) -> FloatArray:
        """A combination of articles with one tool over the pairs of the fit; (m,)."""
        pairs = self.fit.design.pairs
        return np.asarray([by_article.get(name, 0.0) if with_ == tool else 0.0 for name, with_ in pairs])

    def can_tell(self, weights: FloatArray) -> BoolArray:
        """Which combinations (k, m) the blocks show at all: those without a part that no block shows."""
        basis = np.linalg.qr(self.fit.design.weights)[0]
        rest = weights - weights @ basis @ basis.T
        size = np.maximum(np.linalg.norm(weights, axis=1), 1e-300)
        return np.asarray(np.linalg.norm(rest, axis=1) / size < NEAR)

    def measure(self, weights: FloatArray) -> Measured:
        """Measure combinations (k, m) that the blocks show, in a fit with a residual variance."""
        fit = self.fit
        variance = np.nan if fit.variance is None else fit.variance
        covariance = weights @ fit.covariance @ weights.T
        error = np.sqrt(variance * np.diag(covariance))
        freedom = np.full(len(weights), float(fit.degrees_of_freedom))
        for i in range(len(weights)) if self.wide else ():
            error[i], freedom[i] = self._own(weights[i], float(error[i]), float(freedom[i]))
        return Measured(weights @ fit.difference, covariance, error, freedom)

    def extra_covariance(self, weights: FloatArray) -> FloatArray:
        """What articles that scatter more than the others add to the covariance of (k, m); (k, k)."""
        share = self.fit.design.basis @ (self.fit.design.weights.T @ weights.T)
        more = np.zeros((len(weights), len(weights)))
        for pair, (variance, _) in self.wide.items():
            own = share[_of(self.rows, pair)]
            more += (variance - (self.fit.variance or 0.0)) * own.T @ own
        return more

    def _weight(self, weights: FloatArray, pair: Pair) -> float:
        """What a combination weighs an article, or the reference, with a tool."""
        pairs = self.fit.design.pairs
        if pair in pairs:
            return float(weights[pairs.index(pair)])
        return -float(
            sum(weight for weight, (_, tool) in zip(weights, pairs, strict=True) if tool == pair[1])
        )

    def _own(self, weights: FloatArray, error: float, freedom: float) -> tuple[float, float]:
        """Error and freedom with the variance of each wide article apart from that of the others.

        Satterthwaite, Biometrics Bull. 2 (1946) 110 (from memory).
        """
        design, fit = self.fit.design, self.fit
        share = (design.basis @ (design.weights.T @ weights)) ** 2
        asked = [pair for pair in self.wide if abs(self._weight(weights, pair)) > NEAR]
        if not asked or fit.variance is None:
            return error, freedom
        shares = {pair: float(share[_of(self.rows, pair)].sum()) for pair in asked}
        parts = [(self.wide[pair][0] * shares[pair], self.wide[pair][1]) for pair in asked]
        others = ~np.any([_of(self.rows, pair) for pair in self.wide], axis=0)
        variance, free = _spread(fit, others)
        parts.append((variance * max(error**2 / fit.variance - sum(shares.values()), 0.0), free))
        total = sum(part for part, _ in parts)
        own_freedom = total**2 / sum(part**2 / of for part, of in parts)
        return max(float(np.sqrt(total)), error), min(own_freedom, freedom)


def _of(rows: Sequence[ScoredRun], pair: Pair) -> BoolArray:
    return np.asarray([(each.article, each.tool) == pair for each in rows])


def _spread(fit: Fit, own: BoolArray) -> tuple[float, float]:
    """Residual variance of some rows and its freedom, which is the sum of one less leverage."""
    free = float(np.clip(1.0 - fit.leverage, 0.0, None)[own].sum())
    return float(np.sum(fit.residual[own] ** 2)) / max(free, 1e-9), max(free, 1.0)


def fit_effects(runs: Sequence[ScoredRun], reference: str) -> Effects:
    """Fit the runs that count as the comparison does.

    Raises
    ------
    TooFewRuns
        If fewer than two runs count.
    BadInput
        If a run never reached the level of a score that is a time, or a score is not > 0.
    """
    counted = sorted((each for each in runs if not each.set_aside), key=lambda each: each.order)
    if len(counted) < 2:
        raise TooFewRuns("question", got=len(counted), needed=2)
    late = [each.run for each in counted if each.not_reached]
    if late:
        raise BadInput(
            f"{len(late)} of {len(counted)} runs never reached the level",
            where="question",
            allowed="runs that all reached it",
            fix="compare with the reference, which counts such runs as later than they were watched",
        )
    bad = [each.run for each in counted if not (np.isfinite(each.score) and each.score > 0.0)]
    if bad:
        raise BadInput(f"score of {', '.join(bad[:6])}", where="runs", allowed="above 0, as gains are ratios")
    fit, rows = fit_means(counted, reference)
    wide = {pair: _spread(fit, _of(rows.runs, pair)) for pair in find_own_scatter(fit, rows.runs)}
    of_reference = find_reference_scatter(fit, rows.runs, reference)
    for pair in {(reference, tool) for _, tool in of_reference}:
        wide[pair] = _spread(fit, _of(rows.runs, pair))
    runs_of = Counter((each.article, each.tool) for each in counted)
    return Effects(fit, rows.runs, reference, wide, runs_of)
