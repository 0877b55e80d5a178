"""What an explanation takes in and gives out: frozen, complete when made, plain SI."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, field, replace
from typing import Literal, TypeAlias

import numpy as np

from strikeproof.drivetrain import ArticleModel, BoltModel, RigModel
from strikeproof.errors import BadInput, NotFound
from strikeproof.quantity import FloatArray

__all__ = [
    "ArticleFacts",
    "Candidate",
    "Clue",
    "Evidence",
    "Gain",
    "Level",
    "Progress",
    "Reading",
    "RivalName",
    "Setting",
    "ToolFacts",
    "Verdict",
]

RivalName: TypeAlias = str
"""A code of `kinds.EXPLANATIONS`."""
Verdict: TypeAlias = str
"""The same, or "cannot tell"."""
Progress: TypeAlias = Callable[[int, int, str], None]
"""Called now and then with (done, total, what is being done)."""

Reading: TypeAlias = float | Literal["peak"]
"""What else was read of a run: the level at a share (0 to 1) of the duration, or a blow's peak torque."""


@dataclass(frozen=True, slots=True)
class ArticleFacts:
    """What is known of one article, and how sure that is.

    Parameters
    ----------
    model
        Its chain for the simulator; None when its inertia is not known, and then no explanation can use it.
    mass
        None when not weighed. [kg]
    inertia_percent, stiffness_percent, gap_percent
        Standard uncertainty of what the model says, percent of the value. About 3, 10 and 15 from geometry,
        2 for a measured inertia, 35 and 35 for a stiffness or a gap that nobody gave.
    explained
        Whether a caveat of the evidence says why there is no model.
    """

    name: str
    model: ArticleModel | None
    mass: float | None = None
    inertia_percent: float = 3.0
    stiffness_percent: float = 10.0
    gap_percent: float = 15.0
    explained: bool = False

    def __post_init__(self) -> None:
        for key in ("inertia_percent", "stiffness_percent", "gap_percent"):
            _require(getattr(self, key), 0.0, 100.0, f"article {self.name}: {key}")
        if self.mass is not None:
            _require(self.mass, 1e-4, 1e4, f"article {self.name}: mass")


@dataclass(frozen=True, slots=True)
class ToolFacts:
    """A tool as it was declared; what is missing comes from the priors of its class.

    Parameters
    ----------
    drive
        Width of the square. [m]
    known
        Any keys of `drivetrain.complete_tool`, in SI, as they hold in forward.
    in_reverse
        Whether it ran in reverse: many tools hit differently then.
    """

    name: str
    mechanism: str
    drive: float = 0.0127
    known: Mapping[str, float] = field(default_factory=dict)
    in_reverse: bool = False


@dataclass(frozen=True, slots=True)
class Setting:
    """How an article was run: the tool, for how long [s], at which share of the rated supply."""

    tool: str
    duration: float = 10.0
    supply: float = 1.0

    def __post_init__(self) -> None:
        _require(self.duration, 1e-3, 3600.0, f"setting with {self.tool}: duration")
        _require(self.supply, 0.2, 2.0, f"setting with {self.tool}: supply")


@dataclass(frozen=True, slots=True)
class Gain:
    """Difference of an article's mean log score from the reference's in the same setting."""

    article: str
    setting: Setting
    log_gain: float
    runs: int


@dataclass(frozen=True, slots=True)
class Level:
    """What the reference reaches in a setting, as torque equivalent [N·m], with standard uncertainty."""

    setting: Setting
    torque: float
    percent: float = 10.0


@dataclass(frozen=True, slots=True)
class Clue:
    """A further reading of an article's runs, which only an explanation with physics predicts.

    Parameters
    ----------
    value
        Log of the reading less `carry` times the log score, mean difference from the reference's; for the
        reference itself the plain mean.
    carry
        How much of the log score is taken off: for an article as much as its scatter shares with the
        reading's, so that the rest is news.
    """

    article: str
    setting: Setting
    reading: Reading
    value: float
    carry: float


@dataclass(frozen=True, slots=True)
class Candidate:
    """A next test that a person can really make: an article, a setting and so many runs of it."""

    name: str
    article: ArticleFacts
    setting: Setting
    runs: int = 4


@dataclass(frozen=True, slots=True)
class Evidence:
    """All that a campaign says, for the explanations to be judged by.

    Parameters
    ----------
    articles
        All, the reference too.
    gains
        One for each article and setting but the reference's.
    covariance : (n, n)
        Of the log gains, from the comparison.
    run_scatter
        Standard deviation of one run's log score, for the tests that are proposed.
    scatter_measured
        False when no article was repeated and the scatter was assumed.
    levels
        Absolute scores of the reference, where they are calibrated.
    blow_rates
        Measured with the reference, by setting. [Hz]
    clues
        Growth curves and peaks, where there are any: levels as ratios, peaks of the reference in N·m.
    clue_covariance : (m, m)
        Of the extra readings' values by the scatter of the runs.
    friction_percent, clamp_percent
        Standard uncertainty of the bolt's friction and of the clamped stiffness.
    caveats
        Sentences that belong beside any answer.
    candidates
        Next tests to choose from; empty: simple rings, extensions and durations are proposed.

    Raises
    ------
    NotFound
        If a gain, or the reference, names an article or tool that is not there.
    BadInput
        If gains or extra readings do not belong together with their covariance.
    """

    articles: tuple[ArticleFacts, ...]
    reference: str
    tools: tuple[ToolFacts, ...]
    bolt: BoltModel
    rig: RigModel
    gains: tuple[Gain, ...]
    covariance: FloatArray
    run_scatter: float
    scatter_measured: bool = True
    direction: Literal["tighten", "loosen"] = "tighten"
    levels: tuple[Level, ...] = ()
    blow_rates: tuple[tuple[Setting, float], ...] = ()
    clues: tuple[Clue, ...] = ()
    clue_covariance: FloatArray = field(default_factory=lambda: np.zeros((0, 0)))
    friction_percent: float = 12.0
    clamp_percent: float = 25.0
    caveats: tuple[str, ...] = ()
    candidates: tuple[Candidate, ...] = ()

    @property
    def heaviest(self) -> tuple[str, float] | None:
        """Article with the largest polar inertia that was run, and that; None where none is known. [kg·m²]"""
        known = [(each.name, each.model.polar_inertia) for each in self.articles if each.model is not None]
        return max(known, key=lambda each: each[1], default=None)

    def __post_init__(self) -> None:
        articles, tools = {each.name for each in self.articles}, {each.name for each in self.tools}
        told: tuple[Gain | Clue, ...] = (*self.gains, *self.clues)
        for each in told:
            if each.article not in articles:
                raise NotFound("article", each.article, articles)
            if each.setting.tool not in tools:
                raise NotFound("tool", each.setting.tool, tools)
        if self.reference not in articles:
            raise NotFound("article", self.reference, articles)
        _require_square(self.covariance, len(self.gains), "gains")
        _require_square(self.clue_covariance, len(self.clues), "clues")

    def article(self, name: str) -> ArticleFacts:
        """The article of that name; a KeyError is a bug of the caller."""
        return {each.name: each for each in self.articles}[name]

    @property
    def settings(self) -> tuple[Setting, ...]:
        """All settings with a gain, in order of appearance."""
        return tuple(dict.fromkeys(each.setting for each in self.gains))

    def with_clues(self, kept: Sequence[int]) -> Evidence:
        """The same with only these of its extra readings."""
        clues = tuple(self.clues[i] for i in kept)
        return replace(self, clues=clues, clue_covariance=self.clue_covariance[np.ix_(kept, kept)])


def _require_square(covariance: FloatArray, size: int, what: str) -> None:
    if covariance.shape != (size, size):
        raise BadInput(
            f"covariance of shape {covariance.shape}",
            where="evidence",
            allowed=f"a row and a column for each of {size} {what}",
            fix=f"take {what} and covariance from the same comparison",
        )


def _require(value: float, low: float, high: float, where: str) -> None:
    if not low <= value <= high:
        raise BadInput(f"{value:g}", where=where, allowed=f"{low:g} to {high:g}")
