"""One bench's result against another's: the En score, and where a replication was to be expected."""

from __future__ import annotations

from dataclasses import dataclass
from math import hypot, inf
from typing import Final, Literal, TypeAlias

import numpy as np
from scipy.special import stdtrit

from strikeproof.judge.intervals import Interval
from strikeproof.judge.questions.effects import Effects
from strikeproof.judge.results import gains

__all__ = [
    "CONFIDENCE",
    "Agrees",
    "Estimate",
    "Replicated",
    "compare_effects",
    "en_score",
    "estimate_gain",
    "expected_range",
]

Agrees: TypeAlias = Literal["agrees", "differs", "cannot tell"]
"""Of En score and expected range, what both say; "cannot tell" where one says this and the other that."""
CONFIDENCE: Final = 0.95
LEAST: Final = 2


@dataclass(frozen=True, slots=True)
class Estimate:
    """A value with its standard error, > 0, and degrees of freedom; infinite where the error is known."""

    value: float
    error: float
    freedom: float = inf

    def expanded(self, confidence: float = CONFIDENCE) -> float:
        """Half the interval: expanded uncertainty as in the GUM, G.6.4."""
        return _student(self.freedom, confidence) * self.error


@dataclass(frozen=True, slots=True)
class Replicated:
    """An article's gain over the reference on two benches, each alone and one against the other.

    Gains and their ends are percent of the reference's score, more is better. The range is where the gain
    was to be expected here, if both benches see the same; `noticed_percent` is the smallest difference
    between both that would not have agreed.
    """

    article: str
    tool: str
    theirs: tuple[float, float, float]
    ours: tuple[float, float, float]
    en: float
    expected_low_percent: float
    expected_high_percent: float
    noticed_percent: float
    verdict: Agrees


def en_score(value: Estimate, assigned: Estimate, confidence: float = CONFIDENCE) -> float:
    """Difference of two values by the root of the squares of their expanded uncertainties; 1 is the limit.

    Parameters
    ----------
    value, assigned
        In one unit, with independent errors.
    confidence
        Of the expanded uncertainties. ISO 13528 takes a coverage factor of 2; with 0.95 it is 1.96 where
        the errors are known, and larger where few runs showed them.

    References
    ----------
    ISO 13528:2022, 9.7, formula of the En score (from memory).
    """
    return (value.value - assigned.value) / hypot(value.expanded(confidence), assigned.expanded(confidence))


def expected_range(
    first: Estimate, error: float, freedom: float = inf, confidence: float = CONFIDENCE
) -> tuple[float, float]:
    """Where a second, independent value of what was measured first falls with that confidence.

    Parameters
    ----------
    first
        What was measured first.
    error, freedom
        Standard error of the second value, and its degrees of freedom.
    confidence
        Share of all second values that fall into the range.

    References
    ----------
    Patil, Peng, Leek, Perspect. Psychol. Sci. 11 (2016) 539; degrees of freedom of both errors together by
    Satterthwaite, Biometrics Bull. 2 (1946) 110 (both from memory).
    """
    both = hypot(first.error, error)
    parts = first.error**4 / first.freedom + error**4 / freedom
    half = _student(both**4 / parts if parts else inf, confidence) * both
    return first.value - half, first.value + half


def compare_effects(theirs: Effects, ours: Effects, *, timed: bool = False) -> tuple[Replicated, ...]:
    """Every article that both benches compared with the same reference and tool.

    Each is judged by itself: of twenty that agree in truth, one is to be expected outside.

    Parameters
    ----------
    theirs, ours
        Fits of both campaigns.
    timed
        Whether scores are times, of which less is better.
    """
    found = (
        _compare(theirs, ours, article, tool, timed) for tool in ours.tools for article in ours.articles(tool)
    )
    return tuple(each for each in found if each is not None)


def estimate_gain(effects: Effects, article: str, tool: str) -> Estimate | None:
    """Log ratio of an article to the reference; None where the runs do not show it with its error.

    Parameters
    ----------
    effects
        Fit of one campaign.
    article, tool
        By their names there.
    """
    known = article != effects.reference and article in effects.articles(tool)
    if not known or effects.order_hides or effects.fit.variance is None:
        return None
    if min(effects.witnesses(article, tool), effects.witnesses(effects.reference, tool)) < LEAST:
        return None
    weights = effects.weights({article: 1.0}, tool)[None, :]
    if not effects.can_tell(weights)[0]:
        return None
    seen = effects.measure(weights)
    error = float(seen.error[0])
    return Estimate(float(seen.value[0]), error, float(seen.freedom[0])) if error > 0.0 else None


def _compare(theirs: Effects, ours: Effects, article: str, tool: str, timed: bool) -> Replicated | None:
    first, second = (estimate_gain(each, article, tool) for each in (theirs, ours))
    if first is None or second is None:
        return None
    en = en_score(second, first)
    low, high = expected_range(first, second.error, second.freedom)
    near, inside = abs(en) <= 1.0, low <= second.value <= high
    _middle, low_percent, high_percent = _gain(first.value, low, high, timed)
    return Replicated(
        article,
        tool,
        _own(first, timed),
        _own(second, timed),
        -en if timed else en,
        low_percent,
        high_percent,
        100.0 * float(np.exp(first.value) * np.expm1(hypot(first.expanded(), second.expanded()))),
        "agrees" if near and inside else "cannot tell" if near or inside else "differs",
    )


def _own(seen: Estimate, timed: bool) -> tuple[float, float, float]:
    half = seen.expanded()
    return _gain(seen.value, seen.value - half, seen.value + half, timed)


def _gain(value: float, low: float, high: float, timed: bool) -> tuple[float, float, float]:
    found = gains(Interval(value, None, low, high, None), timed=timed)
    middle, down, up = (inf if each is None else each for each in found)
    return middle, down, up


def _student(freedom: float, confidence: float) -> float:
    return float(stdtrit(min(freedom, 1e12), 0.5 + confidence / 2.0))
