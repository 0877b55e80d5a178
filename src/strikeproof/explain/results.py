"""What an explanation says: explanations, verdict, parameters, articles, next tests; and its JSON form."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Final

from strikeproof.explain.records import RivalName, Setting

__all__ = [
    "UNLEARNED",
    "ArticleRow",
    "Convergence",
    "Diagnostics",
    "NextTest",
    "OwnPart",
    "ParameterRow",
    "Prediction",
    "RivalRow",
    "Split",
    "Unexplained",
    "WhatIf",
]


UNLEARNED: Final = 0.1
"""Learned less than that, a figure is still what was believed before."""


@dataclass(frozen=True, slots=True)
class RivalRow:
    """One explanation, judged by the articles it had not seen.

    Attributes
    ----------
    weight
        Stacking weight; all sum to 1.
    log_density
        Expected log predictive density, the sum over left-out articles.
    log_density_error
        Standard error of its difference from the best explanation's, 0 for the best.
    error_percent
        Mean absolute error of the left-out predictions, percent of the score.
    probability
        Posterior probability with all explanations equally likely before.
    says
        What it claims, in a few words.
    """

    name: RivalName
    weight: float
    log_density: float
    log_density_error: float
    error_percent: float
    probability: float
    says: str


@dataclass(frozen=True, slots=True)
class ParameterRow:
    """One unknown of the chain: median and 90 % interval now and before, SI.

    `learned` is 1 − posterior/prior standard deviation on the scale it was drawn on; near 0 the data said
    nothing of it.
    """

    name: str
    unit: str
    median: float
    low: float
    high: float
    prior_low: float
    prior_high: float
    learned: float


@dataclass(frozen=True, slots=True)
class Split:
    """An article's gain in parts that add up to it, percent of the reference's score."""

    inertia: float
    stiffness: float
    gap: float
    bond: float

    @property
    def total(self) -> float:
        """Sum of the parts. [%]"""
        return self.inertia + self.stiffness + self.gap + self.bond


@dataclass(frozen=True, slots=True)
class ArticleRow:
    """One article in one setting: what was measured, and what the explanations together said without it.

    `low` and `high` bound 90 % for a measured mean, its own scatter included. `split` is None where no chain
    is known for the article.
    """

    article: str
    tool: str
    setting: Setting
    measured_percent: float
    predicted_percent: float
    low: float
    high: float
    left_out: bool
    split: Split | None


@dataclass(frozen=True, slots=True)
class OwnPart:
    """What an article has of its own, which no property explains; median and 90 % interval. [%]

    The reference has one too: all gains fall by it.
    """

    article: str
    percent: float
    low: float
    high: float

    @property
    def stands_out(self) -> bool:
        """Whether it is surely there: the interval leaves out 0."""
        return self.low > 0.0 or self.high < 0.0


@dataclass(frozen=True, slots=True)
class Unexplained:
    """How far articles lie off an explanation by themselves: the standard deviation from article to article.

    Attributes
    ----------
    rival
        The explanation in question: the most probable one.
    percent, low, high
        Median and 90 % interval. [%]
    learned
        As of a `ParameterRow`.
    parts
        Of every article and the reference, the largest first.
    """

    rival: RivalName
    percent: float
    low: float
    high: float
    learned: float
    parts: tuple[OwnPart, ...]


@dataclass(frozen=True, slots=True)
class NextTest:
    """A next test and what it is expected to show. [bit]"""

    setup: str
    bits: float
    bits_rivals: float
    bits_parameters: float


@dataclass(frozen=True, slots=True)
class Convergence:
    """Of one explanation's fit.

    Attributes
    ----------
    r_hat, middle_size, end_size
        The largest split R-hat and the smallest effective sample sizes of its unknowns.
    emulator_error_percent
        Root mean square of the emulators' left-out errors, over the whole prior.
    particle_size
        Smallest effective number of weighted particles behind a left-out prediction.
    """

    rival: RivalName
    r_hat: float
    middle_size: float
    end_size: float
    emulator_error_percent: float
    particle_size: float


@dataclass(frozen=True, slots=True)
class Diagnostics:
    """How far the answer can be trusted.

    Attributes
    ----------
    engine_error_percent
        Root mean square difference of emulator and engine at posterior draws, the winner's chain.
    surprises
        Posterior predictive checks that failed, one sentence each.
    missing
        What to add before a confident sentence is possible; empty when nothing is missing.
    left_aside
        Articles that no explanation could use.
    clues, p_clues
        Readings beside the scores that the physics was given, and the posterior predictive p of these by the
        likeliest chain; None without any.
    """

    convergence: tuple[Convergence, ...]
    engine_error_percent: float | None
    p_spread: float | None
    surprises: tuple[str, ...]
    missing: tuple[str, ...]
    caveats: tuple[str, ...]
    left_aside: tuple[str, ...]
    unlearned: tuple[str, ...]
    simulations: int
    quick: bool
    clues: int = 0
    p_clues: float | None = None


@dataclass(frozen=True, slots=True)
class Prediction:
    """Predicted gain over the reference for an article that was not seen, 90 % interval. [%]

    `by_rival` gives each explanation's own median. `low` and `high` are of the article's true gain;
    `low_run` and `high_run` of one run's.
    """

    article: str
    setting: Setting
    gain_percent: float
    low: float
    high: float
    low_run: float
    high_run: float
    by_rival: Mapping[RivalName, float]


@dataclass(frozen=True, slots=True)
class WhatIf:
    """A change to an article or setting: gain before and after, and the change in score, 90 %. [%]"""

    article: str
    change: str
    before_percent: float
    after_percent: float
    change_percent: float
    low: float
    high: float
