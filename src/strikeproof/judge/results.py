"""One row for each article with each tool, from all the evidence there is."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import numpy as np
from scipy.special import bdtr, stdtrit

from strikeproof.judge.intervals import Interval, Judged
from strikeproof.judge.model import WARM_UP, Pair
from strikeproof.judge.records import ArticleResult, ScoredRun, Verdict
from strikeproof.judge.verdict import Margin, Standing, find_more_runs, give_verdict

__all__ = ["Evidence", "describe_articles", "gain_of", "gains", "median_interval", "median_ranks"]

LEAST_RUNS = 2
"""An article with one run gets no verdict: one number may be a fluke."""


@dataclass(frozen=True, slots=True)
class Evidence:
    """All runs, the fit of those that count, of all (None when none is excluded), the second opinion.

    `level` is the chance of any false difference that this look may spend; the second opinion keeps it too.
    """

    runs: Sequence[ScoredRun]
    reference: str
    judged: Judged
    with_set_aside: Judged | None
    second: Mapping[Pair, float]
    level: float
    margin_percent: float
    confidence: float
    timed: bool
    prices: Mapping[str, float]

    def counted(self, pair: Pair) -> list[ScoredRun]:
        """Runs of an article with a tool that are not excluded."""
        return [each for each in self.runs if (each.article, each.tool) == pair and not each.set_aside]

    def witnesses(self, pair: Pair) -> int:
        """Independent numbers of an article with a tool: its runs, or its blocks where they are averaged."""
        return sum((each.article, each.tool) == pair for each in self.judged.rows)


def describe_articles(evidence: Evidence) -> tuple[ArticleResult, ...]:
    """All rows: tool by tool, the reference first, the others by falling gain, unknown ones last."""
    pairs = dict.fromkeys((each.article, each.tool) for each in evidence.runs)
    rows = [_describe(evidence, pair) for pair in pairs]
    return tuple(
        sorted(rows, key=lambda row: (row.tool, row.article != evidence.reference, _fall(row), row.article))
    )


def _describe(evidence: Evidence, pair: Pair) -> ArticleResult:
    """One row."""
    article, tool = pair
    is_reference = article == evidence.reference
    runs = evidence.counted(pair)
    scores = [np.inf if each.not_reached else each.score for each in runs]
    late = [each.score for each in runs if each.not_reached]
    interval = _REFERENCE if is_reference else evidence.judged.intervals.get(pair)
    gain, low, high = gains(interval, timed=evidence.timed)
    other = gains(_of_all(evidence, pair), timed=evidence.timed)
    second = evidence.second.get(pair)
    by_interval: Verdict = "reference" if is_reference else _verdict(evidence, pair, low, high)
    verdict = by_interval
    if not is_reference and second is not None and second >= evidence.level:
        verdict = _verdict(evidence, pair, low, high, confirmed=False)
    unconfirmed = verdict != by_interval
    price = evidence.prices.get(article)
    middle = median_interval(scores, evidence.confidence)
    middle = None if middle is None or np.isinf(middle[1]) else middle
    may_tell = verdict == "cannot tell" and WARM_UP not in evidence.judged.fit.confounded
    return ArticleResult(
        article=article,
        tool=tool,
        runs=len(runs),
        set_aside=sum((each.article, each.tool) == pair for each in evidence.runs) - len(runs),
        median=_finite(float(np.median(scores))) if scores else None,
        gain_percent=gain,
        low_percent=low,
        high_percent=high,
        p=interval.p if interval else None,
        p_randomisation=second,
        verdict=verdict,
        more_runs=(
            _more_runs(evidence, pair, interval, second if unconfirmed else None) if may_tell else None
        ),
        gain_percent_with_set_aside=other[0],
        low_percent_with_set_aside=other[1],
        high_percent_with_set_aside=other[2],
        price=price,
        gain_per_price=gain / price if gain is not None and price else None,
        median_low=middle[0] if middle else None,
        median_high=middle[1] if middle else None,
        not_reached=len(late),
        watched_s=min(late, default=None),
        unconfirmed=unconfirmed,
        repeats=evidence.judged.fit.variance is None and evidence.judged.fit.degrees_of_freedom > 0,
    )


_REFERENCE = Interval(0.0, 0.0, 0.0, 0.0, None)


def _of_all(evidence: Evidence, pair: Pair) -> Interval | None:
    """The interval with set-aside runs counted, when there are any."""
    if evidence.with_set_aside is None:
        return None
    return _REFERENCE if pair[0] == evidence.reference else evidence.with_set_aside.intervals.get(pair)


def _verdict(
    evidence: Evidence, pair: Pair, low: float | None, high: float | None, *, confirmed: bool = True
) -> Verdict:
    """No interval, one run or an order that hides it: no verdict. An end not there is beyond all bounds."""
    if (low is None and high is None) or evidence.witnesses(pair) < LEAST_RUNS:
        return "cannot tell"
    if WARM_UP in evidence.judged.fit.confounded:
        return "cannot tell"
    margin = Margin(-evidence.margin_percent, evidence.margin_percent)
    ends = (-np.inf if low is None else low, np.inf if high is None else high)
    return give_verdict(*ends, margin, timed=evidence.timed, confirmed=confirmed)


def _more_runs(evidence: Evidence, pair: Pair, interval: Interval | None, second: float | None) -> int | None:
    """About how many more runs are needed for a verdict; None when the scatter is not known.

    `second` is the p of a second opinion that has not confirmed the difference: it asks for as much more than
    the interval does as its p lies above that of the interval, both as quantiles of t.
    """
    if interval is None or interval.error is None or interval.low is None or interval.high is None:
        return None
    critical = (interval.high - interval.low) / 2.0 / interval.error
    free = evidence.judged.fit.degrees_of_freedom
    if second is not None and interval.p:
        asked, given = stdtrit(free, 1.0 - np.array([interval.p, min(second, 0.99)]) / 2.0)
        critical *= float(max(asked / given, 1.0))
    many, of_reference = evidence.witnesses(pair), evidence.witnesses((evidence.reference, pair[1]))
    standing = Standing(interval.difference, interval.error, critical, free, many, of_reference)
    return find_more_runs(standing, Margin.of_percent(evidence.margin_percent))


Ends = tuple[float | None, float | None, float | None]


def gains(interval: Interval | None, *, timed: bool) -> Ends:
    """Gain with the ends of its interval, in percent of the reference's score; of a time, the time saved."""
    if interval is None:
        return None, None, None
    gain, low, high = map(_percent, (interval.difference, interval.low, interval.high))
    return (_turned(gain), _turned(high), _turned(low)) if timed else (gain, low, high)


def gain_of(log_difference: float, *, timed: bool) -> float:
    """A difference in log score in percent, bounded; of a time, the time saved."""
    percent = 100.0 * float(np.expm1(min(log_difference, 690.0)))
    return 0.0 - percent if timed else percent


def _percent(log_difference: float | None) -> float | None:
    """Change of the score in percent; bounded, so that a hopeless interval stays a number."""
    if log_difference is None or not np.isfinite(log_difference):
        return None
    return 100.0 * float(np.expm1(min(log_difference, 690.0)))


def _finite(value: float) -> float | None:
    return value if np.isfinite(value) else None


def _turned(percent: float | None) -> float | None:
    return None if percent is None else 0.0 - percent


def _fall(row: ArticleResult) -> float:
    """Falling gain; where there is only a bound, by it, and last where there is none."""
    gain = row.gain_percent
    if gain is None:
        gain = row.low_percent if row.low_percent is not None else row.high_percent
    return np.inf if gain is None else -gain


def median_ranks(count: int, confidence: float) -> tuple[int, int, float] | None:
    """Narrowest symmetric pair of ranks that holds the median at least so surely, and how sure that is.

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
