"""Whether results hold elsewhere: each article over all benches, on the next one, and who disagrees."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from scipy.special import stdtrit

from strikeproof.judge.elsewhere.consistency import (
    AllDesigns,
    Loop,
    find_loops,
    judge_designs,
    untested_loops,
)
from strikeproof.judge.elsewhere.network import (
    FEWEST_BENCHES,
    Level,
    Measure,
    Network,
    fit_network,
    stack_sources,
)
from strikeproof.judge.elsewhere.sources import Source
from strikeproof.judge.elsewhere.travelling import agreement_score, robust_mean
from strikeproof.judge.records import Verdict
from strikeproof.judge.results import gain_of
from strikeproof.judge.verdict import Margin, give_verdict

__all__ = ["Elsewhere", "Held", "OnBench", "answer_elsewhere"]


@dataclass(frozen=True, slots=True)
class Held:
    """One article against the reference over all sources, in percent; more is better.

    Attributes
    ----------
    next_low_percent, next_high_percent
        Between which one more bench would find it, runs without end, with 95 %; None below three benches.
    direct
        How many sources have both.
    """

    article: str
    percent: float
    low_percent: float
    high_percent: float
    verdict: Verdict
    benches: int
    direct: int
    next_low_percent: float | None
    next_high_percent: float | None


@dataclass(frozen=True, slots=True)
class OnBench:
    """One article against the reference on one bench alone, its 95 % interval by Student's t.

    `score` is E_n against the robust mean of the other benches; None with fewer than two of them.
    """

    article: str
    bench: str
    percent: float
    low_percent: float
    high_percent: float
    score: float | None


@dataclass(frozen=True, slots=True)
class Elsewhere:
    """The answer. `spread_percent` is what a ratio scatters by from one bench, calibration or campaign to the
    next, as standard deviations by level; a level that nothing shows is not in it.
    """

    reference: str
    confidence: float
    margin_percent: float
    articles: tuple[Held, ...]
    benches: tuple[OnBench, ...]
    spread_percent: tuple[tuple[Level, float], ...]
    loops: tuple[Loop, ...]
    untested: tuple[tuple[str, str], ...]
    """Articles compared both directly and by way of others, where nothing is left to test that by."""
    designs: AllDesigns | None
    timed: bool
    freedom: int
    """Ratios beyond those needed; 0 where none was measured twice, so that the spread is not known."""


def answer_elsewhere(
    sources: Sequence[Source],
    reference: str,
    *,
    margin_percent: float,
    confidence: float = 0.95,
    timed: bool = False,
) -> Elsewhere:
    """Ask all sources together.

    Parameters
    ----------
    sources
        Joined to the reference by chains of articles.
    reference
        What all are set against.
    margin_percent
        Differences within plus or minus this are "same".
    confidence
        Of the intervals of all articles together, by Bonferroni.
    timed
        Whether scores are times, of which less is better.

    Raises
    ------
    BadInput
        As `stack_sources`.
    """
    stack = stack_sources(sources, reference)
    fit = fit_network(stack)
    level = 1.0 - (1.0 - confidence) / (len(stack.articles) - 1)
    held = [_held(fit, name, level, margin_percent, timed) for name in stack.articles[1:]]
    spread = tuple(
        (name, 100.0 * float(np.sqrt(np.expm1(variance)))) for name, variance in fit.variances.items()
    )
    loops = find_loops(stack)
    return Elsewhere(
        reference,
        confidence,
        margin_percent,
        tuple(held),
        tuple(each for name in stack.articles[1:] for each in _on_benches(sources, name, reference, timed)),
        spread,
        loops,
        untested_loops(stack, loops),
        judge_designs(stack),
        timed,
        fit.freedom,
    )


def _held(fit: Network, name: str, level: float, margin_percent: float, timed: bool) -> Held:
    weights = fit.weights(name, fit.stack.articles[0])
    found = fit.measure(weights)
    low, middle, high = _ends(found, level, timed)
    margin = Margin(-margin_percent, margin_percent)
    ahead: tuple[float | None, ...] = (None, None, None)
    if found.benches >= FEWEST_BENCHES and fit.freedom:
        ahead = _ends(fit.measure(weights, ahead=True), 0.95, timed)
    both = {name, fit.stack.articles[0]}
    direct = sum(both <= set(each.articles) for each in fit.stack.sources)
    verdict: Verdict = give_verdict(low, high, margin, timed=timed) if fit.freedom else "cannot tell"
    return Held(name, middle, low, high, verdict, found.benches, direct, ahead[0], ahead[2])


def _ends(found: Measure, level: float, timed: bool) -> tuple[float, float, float]:
    """Low end, value and high end in percent."""
    half = found.half(level)
    low, middle, high = (gain_of(found.value + each, timed=timed) for each in (-half, 0.0, half))
    return min(low, high), middle, max(low, high)


@dataclass(frozen=True, slots=True)
class _Alone:
    """A log ratio of one source or bench: value, standard error, degrees of freedom."""

    value: float
    error: float
    freedom: float


def _on_benches(sources: Sequence[Source], article: str, reference: str, timed: bool) -> tuple[OnBench, ...]:
    """What each bench that ran both finds by itself."""
    found: dict[str, list[_Alone]] = {}
    for each in sources:
        if {article, reference} <= set(each.articles):
            found.setdefault(each.bench, []).append(_alone(each, article, reference))
    pooled = [_pool(some) for some in found.values()]
    return tuple(
        _one_bench((article, bench), each, [*pooled[:i], *pooled[i + 1 :]], timed)
        for i, (bench, each) in enumerate(zip(found, pooled, strict=True))
    )


def _alone(source: Source, article: str, reference: str) -> _Alone:
    row = np.asarray([(each == article) - (each == reference) for each in source.articles], dtype=float)[1:]
    error = float(np.sqrt(row @ source.covariance @ row))
    return _Alone(float(row @ source.ratio), error, source.freedom)


def _pool(some: Sequence[_Alone]) -> _Alone:
    """Several sources of one bench, weighted by what their runs scatter."""
    weight = np.asarray([1.0 / each.error**2 for each in some])
    value = float(weight @ [each.value for each in some] / weight.sum())
    return _Alone(value, float(1.0 / np.sqrt(weight.sum())), sum(each.freedom for each in some))


def _one_bench(names: tuple[str, str], own: _Alone, others: Sequence[_Alone], timed: bool) -> OnBench:
    score = None
    if len(others) >= FEWEST_BENCHES - 1:
        assigned = robust_mean(np.asarray([each.value for each in others]))
        uncertainty = max(assigned.uncertainty, _pool(others).error)
        score = agreement_score(own.value, own.error, assigned.mean, uncertainty)
    half = float(stdtrit(min(own.freedom, 1e9), 0.975)) * own.error
    ends = sorted(gain_of(own.value + each, timed=timed) for each in (-half, half))
    return OnBench(*names, gain_of(own.value, timed=timed), ends[0], ends[1], score)
