"""How many repeats a wanted smallest difference needs on a rig of known repeatability."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from scipy.special import nctdtr, stdtr, stdtrit

from strikeproof.errors import BadInput
from strikeproof.judge.simultaneous import largest_t

__all__ = ["difference_shown", "power_of_repeats", "repeats_for"]

MOST_REPEATS = 10_000


def repeats_for(
    smallest_difference_percent: float,
    repeatability_percent: float,
    comparisons: int,
    confidence: float = 0.95,
    *,
    power: float = 0.8,
    tools: int = 1,
    reference_runs: int = 2,
    blocked: bool = True,
) -> int:
    """Fewest runs of each article that show a difference from the reference with the wanted power.

    Two-sided, simultaneous over all comparisons (Dunnett), by the noncentral t distribution. The
    difference counts as a gain, which is the harder direction on the log scale.

    Parameters
    ----------
    smallest_difference_percent
        Gain that must not be missed, > 0.
    repeatability_percent
        Standard deviation of repeated runs of one article within a block, percent of the score, > 0.
    comparisons
        Articles besides the reference times tools.
    confidence
        Of all intervals together, above 0 and below 1.
    power
        Chance that one such difference is seen, above 0 and below 1.
    tools
        Among which the comparisons are shared equally.
    reference_runs
        Runs of the reference for each run of an article: two when a block holds it twice.
    blocked
        Whether block effects are fitted, one block a repeat and tool.

    Raises
    ------
    BadInput
        If a value is out of range, or 10 000 repeats are not enough.

    References
    ----------
    Cohen, *Statistical Power Analysis for the Behavioral Sciences*, 1988, chapter 2, for one comparison.
    """
    _check_wish(smallest_difference_percent, repeatability_percent, comparisons, tools)
    effect = _effect(smallest_difference_percent, repeatability_percent)
    shape = _Shape(comparisons, tools, reference_runs, blocked)
    level, answer = (1.0 - confidence) / comparisons, 0
    for _ in range(8):  # the level of one comparison moves little with the degrees of freedom: 2 or 3 rounds
        found = shape.search(effect, level, power)
        if found == answer:
            break
        answer, level = found, shape.level_of_one(found, confidence)
    # One comparison's own level is a little larger with fewer runs, so one repeat less may do at its own.
    while answer > 1 and shape.power(answer - 1, effect, shape.level_of_one(answer - 1, confidence)) >= power:
        answer -= 1
    return answer


def difference_shown(
    repeats: int,
    repeatability_percent: float,
    comparisons: int,
    confidence: float = 0.95,
    *,
    power: float = 0.8,
    tools: int = 1,
    reference_runs: int = 2,
    blocked: bool = True,
) -> float:
    """Smallest gain in percent that so many repeats show with the wanted power: `repeats_for` the other way.

    Parameters
    ----------
    repeats
        Runs of each article with each tool, 1 or more.
    repeatability_percent, comparisons, tools, reference_runs, blocked
        As in `repeats_for`.
    confidence, power
        As in `repeats_for`.

    Raises
    ------
    BadInput
        If a value is out of range.
    """
    from scipy.optimize import brentq  # a fifth of a second that no start of a program should pay

    _check_wish(1.0, repeatability_percent, comparisons, tools)
    if repeats < 1:
        raise BadInput(f"{repeats} repeats", where="plan", allowed="1 or more")
    shape = _Shape(comparisons, tools, reference_runs, blocked)
    level = shape.level_of_one(repeats, confidence)
    most = 1.0
    while shape.power(repeats, most, level) < power:
        most *= 2.0
    effect = brentq(lambda each: shape.power(repeats, each, level) - power, 0.0, most, xtol=1e-9)
    return float(100.0 * np.expm1(effect * _log_scatter(repeatability_percent)))


def power_of_repeats(
    repeats: int, effect: float, level: float, *, degrees_of_freedom: float, reference_runs: int = 2
) -> float:
    """Chance that one two-sided t test at `level` shows a difference of `effect` standard deviations.

    Parameters
    ----------
    repeats
        Runs of the article, 1 or more.
    effect
        Difference over the standard deviation of one run, in log score.
    level
        Two-sided, above 0 and below 1.
    degrees_of_freedom
        Of the residual variance; below 1 nothing can be shown.
    reference_runs
        Runs of the reference for each run of the article.

    References
    ----------
    Cohen, *Statistical Power Analysis for the Behavioral Sciences*, 1988, chapter 2: the noncentral t.
    """
    if degrees_of_freedom < 1:
        return 0.0
    shift = effect / np.sqrt(1.0 / repeats + 1.0 / (reference_runs * repeats))
    bound = float(stdtrit(degrees_of_freedom, 1.0 - level / 2.0))
    below = nctdtr(degrees_of_freedom, shift, np.array([bound, -bound]))
    # The library gives no number far out in the lower tail, where the chance is below 1e-16.
    missed = np.where(np.isnan(below), 0.0, below)
    return 1.0 - float(missed[0] - missed[1])


@dataclass(frozen=True, slots=True)
class _Shape:
    """What a plan looks like but for its number of repeats."""

    comparisons: int
    tools: int
    reference_runs: int
    blocked: bool

    def free(self, repeats: int) -> float:
        """Residual degrees of freedom: runs less blocks (or one mean for each tool) less articles."""
        articles = self.comparisons / self.tools
        runs = repeats * (articles + self.reference_runs)
        return self.tools * (runs - articles - (repeats if self.blocked else 1))

    def search(self, effect: float, level: float, power: float) -> int:
        """Fewest repeats at a fixed level of one comparison."""
        few, many = 0, 1
        while self.power(many, effect, level) < power:
            if many >= MOST_REPEATS:
                raise BadInput(
                    "smallest difference that even 10 000 repeats would not show",
                    where="plan",
                    allowed="a larger share of the repeatability",
                    fix="ask for a larger difference",
                )
            few, many = many, min(2 * many, MOST_REPEATS)
        while many - few > 1:
            middle = (few + many) // 2
            few, many = (few, middle) if self.power(middle, effect, level) >= power else (middle, many)
        return many

    def level_of_one(self, repeats: int, confidence: float) -> float:
        """Two-sided level of one comparison that keeps all together at the confidence."""
        tool = np.arange(self.comparisons) % self.tools
        correlation = np.where(tool[:, None] == tool, 1.0 / (self.reference_runs + 1.0), 0.0)
        np.fill_diagonal(correlation, 1.0)
        free = max(int(self.free(repeats)), 1)
        return 2.0 * float(stdtr(free, -largest_t(correlation, free).critical_value(confidence)))

    def power(self, repeats: int, effect: float, level: float) -> float:
        """Chance that one comparison at this level shows the effect."""
        return power_of_repeats(
            repeats, effect, level, degrees_of_freedom=self.free(repeats), reference_runs=self.reference_runs
        )


def _effect(difference_percent: float, repeatability_percent: float) -> float:
    """Log difference over the log standard deviation of a score with that coefficient of variation."""
    return float(np.log1p(difference_percent / 100.0)) / _log_scatter(repeatability_percent)


def _log_scatter(repeatability_percent: float) -> float:
    """Standard deviation of the logarithm of a score with this coefficient of variation, log-normal."""
    return float(np.sqrt(np.log1p((repeatability_percent / 100.0) ** 2)))


def _check_wish(difference: float, repeatability: float, comparisons: int, tools: int) -> None:
    """Refuse what cannot be planned for."""
    if not difference > 0.0:
        raise BadInput(f"smallest difference {difference:g} %", where="plan", allowed="above 0 %")
    if not repeatability > 0.0:
        raise BadInput(f"repeatability {repeatability:g} %", where="plan", allowed="above 0 %")
    if comparisons < 1 or tools < 1:
        raise BadInput(
            f"{comparisons} comparisons with {tools} tools", where="plan", allowed="1 or more of each"
        )
