"""A against B: any two, all pairs, or any combination, all of them sure together."""

from __future__ import annotations

from collections.abc import Collection, Sequence
from dataclasses import dataclass
from itertools import combinations
from typing import Literal, TypeAlias

import numpy as np

from strikeproof.judge.intervals import Interval
from strikeproof.judge.model import Pair
from strikeproof.judge.questions.effects import Effects
from strikeproof.judge.questions.joint import joint_of
from strikeproof.judge.questions.written import Asked, ask_pair
from strikeproof.judge.records import Verdict
from strikeproof.judge.results import gains
from strikeproof.judge.verdict import Margin, give_verdict
from strikeproof.quantity import FloatArray

__all__ = ["Difference", "Differences", "WhyNot", "all_pairs", "find_differences"]

WhyNot: TypeAlias = Literal[
    "not run",
    "apart",
    "no scatter",
    "repeats",
    "one run",
    "one block",
    "order",
    "no turns",
    "unconfirmed",
    "weights",
    "no reference",
    "misplaced",
    "reversed",
]
"""Why a difference has no verdict: an article did not run with the tool; no block holds both, not even by way
of others; the scatter is not known; there is none, to the last digit; an article has one run, or runs in one
block only; every article had its own place in the blocks; all blocks of one tool were made before those of
the other; of the two tests of the comparison with the reference one alone shows it; the sides do not weigh 1,
so that the margin does not fit; of a change, the reference did not run beside both states, one run lies among
those of the other state, or the state after it ran first."""
_NO_MARGIN = Margin(0.0, 0.0)
LEAST = 2
"""An article with one run gets no verdict: one number may be a fluke."""


@dataclass(frozen=True, slots=True)
class Difference:
    """One combination with one tool, in percent of what is subtracted; more is better.

    Of a score that is a time it is the time saved. `p` and the ends hold for all that were asked together;
    what the runs cannot give is None, and `why_not` says why there is no verdict.
    """

    asked: Asked
    tool: str
    percent: float | None
    low_percent: float | None
    high_percent: float | None
    p: float | None
    verdict: Verdict
    why_not: WhyNot | None


@dataclass(frozen=True, slots=True)
class Differences:
    """All that were asked. `comparisons` of them have intervals, which hold together with `confidence`."""

    found: tuple[Difference, ...]
    confidence: float
    margin_percent: float
    comparisons: int
    critical_value: float | None
    degrees_of_freedom: int
    timed: bool


def all_pairs(articles: Sequence[str]) -> tuple[Asked, ...]:
    """Each two of them once, the earlier one less the later one."""
    return tuple(ask_pair(*pair) for pair in combinations(articles, 2))


def find_differences(
    effects: Effects,
    asked: Sequence[tuple[Asked, str]],
    *,
    margin_percent: float,
    confidence: float,
    timed: bool = False,
    unconfirmed: Collection[Pair] = (),
) -> Differences:
    """Measure combinations, each with one tool, with intervals that hold for all of them together.

    Parameters
    ----------
    effects
        The fit.
    asked
        What is asked, and with which tool.
    margin_percent
        Differences within plus or minus this are "same".
    confidence
        Of all intervals together.
    timed
        Whether scores are times, of which less is better.
    unconfirmed
        Articles, each with its tool, whose difference from the reference was shown to one of two tests only:
        where it is asked again, the answer is the same.

    References
    ----------
    All pairs: Tukey 1953; Kramer, Biometrics 12 (1956) 307, here exact for the design as it was run. Any
    family: Hothorn, Bretz, Westfall, Biometrical J. 50 (2008) 346 (all from memory).
    """
    fit = effects.fit
    weights = np.asarray([effects.weights(dict(each.weights), tool) for each, tool in asked])
    weights = weights.reshape(len(asked), len(fit.design.pairs))
    reasons = _why_not(effects, asked, weights, unconfirmed)
    usual = [i for i, why in enumerate(reasons) if why not in ("not run", "apart")]
    judged = [i for i in usual if fit.variance is not None]
    intervals: dict[int, Interval] = {
        i: Interval(float(weights[i] @ fit.difference), None, None, None, None) for i in usual
    }
    critical = None
    if judged:
        found, critical = _intervals(effects, weights[judged], confidence)
        intervals |= dict(zip(judged, found, strict=True))
    margin = Margin(-margin_percent, margin_percent)
    return Differences(
        tuple(
            _describe(each, tool, intervals.get(i), reasons[i], margin, timed=timed)
            for i, (each, tool) in enumerate(asked)
        ),
        confidence,
        margin_percent,
        len(judged),
        critical,
        fit.degrees_of_freedom,
        timed,
    )


def _why_not(
    effects: Effects,
    asked: Sequence[tuple[Asked, str]],
    weights: FloatArray,
    unconfirmed: Collection[Pair],
) -> list[WhyNot | None]:
    able = effects.can_tell(weights)
    reasons: list[WhyNot | None] = []
    for (each, tool), tells in zip(asked, able, strict=True):
        runs = [effects.witnesses(article, tool) for article, _ in each.weights]
        reasons.append(
            "not run"
            if min(runs) == 0
            else "apart"
            if not tells
            else _no_scatter(effects)
            if effects.fit.variance is None
            else "order"
            if effects.order_hides
            else _few(effects, each, tool)
            if min(runs) < LEAST
            else "unconfirmed"
            if len(each.weights) == 2
            and effects.reference in dict(each.weights)
            and any((article, tool) in unconfirmed for article, _ in each.weights)
            else None
        )
    return reasons


def _no_scatter(effects: Effects) -> Literal["no scatter", "repeats"]:
    return "repeats" if effects.fit.degrees_of_freedom > 0 else "no scatter"


def _few(effects: Effects, asked: Asked, tool: str) -> Literal["one run", "one block"]:
    runs = min(effects.count_runs(article, tool) for article, _ in asked.weights)
    return "one run" if runs < LEAST else "one block"


def _intervals(effects: Effects, weights: FloatArray, confidence: float) -> tuple[list[Interval], float]:
    """Simultaneous intervals; an article that scatters more than the others widens its own."""
    measured = effects.measure(weights)
    joint = joint_of(measured.covariance)
    bounds = joint.critical_values(confidence, measured.freedom)
    found = []
    for value, error, free, bound in zip(
        *(each.tolist() for each in (measured.value, measured.error, measured.freedom, bounds)), strict=True
    ):
        half = bound * error
        found.append(
            Interval(value, error, value - half, value + half, joint.p_beyond(abs(value) / error, free))
        )
    return found, joint.critical_value(confidence, float(effects.fit.degrees_of_freedom))


def _describe(
    asked: Asked, tool: str, interval: Interval | None, why: WhyNot | None, margin: Margin, *, timed: bool
) -> Difference:
    percent, low, high = gains(interval, timed=timed)
    verdict: Verdict = "cannot tell"
    if why is None and low is not None and high is not None:
        verdict = give_verdict(low, high, margin if asked.is_ratio else _NO_MARGIN, timed=timed)
        if verdict == "cannot tell" and give_verdict(low, high, margin) == "same":
            why = "weights"
    return Difference(asked, tool, percent, low, high, interval.p if interval else None, verdict, why)
