"""From an interval to one of the verdicts, and about how many more runs would reach one."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from types import MappingProxyType
from typing import Final

import numpy as np
from scipy.special import ndtr, stdtr, stdtrit

from strikeproof.judge.records import Verdict
from strikeproof.language import say

__all__ = ["MOST_RUNS", "VERDICT_WORDS", "Margin", "Standing", "find_more_runs", "give_verdict"]

VERDICT_WORDS: Final[Mapping[Verdict, str]] = MappingProxyType(
    {
        "higher": say("higher"),
        "sooner": say("sooner"),
        "lower": say("lower"),
        "later": say("later"),
        "same": say("same"),
        "cannot tell": say("cannot tell"),
        "reference": say("reference"),
    }
)
"""As a person reads it, by its code."""
MOST_RUNS = 1000
"""Where the search for more runs stops; this answer means so many or more."""
LIKELY = 0.8


@dataclass(frozen=True, slots=True)
class Margin:
    """Differences in log score, or gains, that count as the same: low < 0 < high, or both 0."""

    low: float
    high: float

    @classmethod
    def of_percent(cls, percent: float) -> Margin:
        """Gains from -percent to +percent."""
        return cls(float(np.log1p(-percent / 100.0)), float(np.log1p(percent / 100.0)))


@dataclass(frozen=True, slots=True)
class Standing:
    """One comparison so far, in log score; `critical_value` times `standard_error` is half its interval."""

    difference: float
    standard_error: float
    critical_value: float
    degrees_of_freedom: int
    runs: int
    reference_runs: int


def give_verdict(
    low: float, high: float, margin: Margin, *, timed: bool = False, confirmed: bool = True
) -> Verdict:
    """Read the verdict off a simultaneous interval of a gain, more being better.

    "same" is two one-sided tests at the margin. Both hold when the interval lies inside the margin, and as
    the interval is simultaneous, the chance that any article beyond its margin is called the same stays below
    half of one minus the confidence, all comparisons together. It goes before "higher" and "lower": a
    difference may be sure and still too small to matter.

    Parameters
    ----------
    low, high
        Ends of the interval; infinite where nothing bounds it. [percent or log, as the margin]
    margin
        Gains that count as the same.
    timed
        Whether the score is a time, of which a gain is the time saved: verdicts are then named for it.
    confirmed
        False where a second opinion does not show a difference: none is then decided. "same" says that
        there is none and needs no confirmation.

    References
    ----------
    Schuirmann, J. Pharmacokinet. Biopharm. 15 (1987) 657 (from memory).
    """
    if margin.low < low and high < margin.high:
        return "same"
    if not confirmed:
        return "cannot tell"
    if low > 0.0:
        return "sooner" if timed else "higher"
    if high < 0.0:
        return "later" if timed else "lower"
    return "cannot tell"


def find_more_runs(now: Standing, margin: Margin) -> int:
    """Fewest more runs, each with one more of the reference, that reach a verdict with 80 % probability.

    The difference found so far is taken for the true one, and so is the residual spread: an honest guess,
    not a promise.

    Parameters
    ----------
    now
        One comparison so far.
    margin
        Of log scores.

    Returns
    -------
    `MOST_RUNS` means so many or more.

    References
    ----------
    Derived here: the difference as normal, its interval by t with as many more degrees of freedom as runs.
    """
    few, many = 0, 1
    while _reaches(now, margin, many) < LIKELY:
        if many >= MOST_RUNS:
            return MOST_RUNS
        few, many = many, min(2 * many, MOST_RUNS)
    while many - few > 1:
        middle = (few + many) // 2
        few, many = (few, middle) if _reaches(now, margin, middle) >= LIKELY else (middle, many)
    return many


def _reaches(now: Standing, margin: Margin, more: int) -> float:
    """Probability of a verdict after `more` runs: one minus that of falling where none is given."""
    share = _share(now.runs + more, now.reference_runs + more) / _share(now.runs, now.reference_runs)
    error = now.standard_error * float(np.sqrt(share))
    level = float(stdtr(now.degrees_of_freedom, -now.critical_value))
    half = -float(stdtrit(now.degrees_of_freedom + more, level)) * error
    below = (-half, min(half, margin.low + half))
    above = (max(-half, margin.high - half), half)
    undecided = [(-half, half)] if below[1] >= above[0] else [below, above]
    return 1.0 - sum(_mass(low, high, now.difference, error) for low, high in undecided)


def _share(runs: int, reference_runs: int) -> float:
    """Variance of a difference of two means in units of the residual variance."""
    return 1.0 / runs + 1.0 / reference_runs


def _mass(low: float, high: float, centre: float, error: float) -> float:
    """Normal probability between two bounds, 0 when they are crossed."""
    return max(0.0, float(ndtr((high - centre) / error) - ndtr((low - centre) / error)))
