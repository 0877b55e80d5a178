"""How many blocks are enough: campaigns of the same design, simulated with the scatter that the runs show."""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from typing import Final

import numpy as np
from scipy.special import chdtri

from strikeproof.errors import BadInput
from strikeproof.judge.intervals import judge_runs
from strikeproof.judge.planning import plan_runs
from strikeproof.judge.questions.effects import Effects
from strikeproof.judge.records import PlannedRun, ScoredRun
from strikeproof.judge.repeats import repeats_for
from strikeproof.quantity import FloatArray

__all__ = [
    "CAMPAIGNS",
    "Enough",
    "Shape",
    "Simulated",
    "blocks_between",
    "find_enough",
    "own_scatter",
    "simulate_power",
]

CAMPAIGNS: Final = 200
"""Simulated for each number of blocks."""
MOST_BLOCKS: Final = 200
STEPS: Final = 8
"""How often the number of blocks is moved."""


@dataclass(frozen=True, slots=True)
class Shape:
    """What a campaign is planned like.

    Attributes
    ----------
    confidence
        Of all intervals together, at the last look.
    runs_per_bolt
        None where bolts are not counted.
    pause_s
        From the start of a run to that of the next. [s]
    """

    articles: tuple[str, ...]
    tools: tuple[str, ...]
    reference: str
    confidence: float
    runs_per_bolt: int | None
    pause_s: float

    def plan(self, blocks: int, seed: int) -> tuple[PlannedRun, ...]:
        """The runs of so many blocks of each tool."""
        return plan_runs(
            self.articles,
            self.tools,
            self.reference,
            repeats=blocks,
            seed=seed,
            duration_s=self.pause_s,
            runs_per_bolt=self.runs_per_bolt,
        )


@dataclass(frozen=True, slots=True)
class Simulated:
    """So many blocks of each tool: how often they show the difference, its Monte Carlo error, their cost."""

    blocks: int
    power: float
    error: float
    runs: int
    bolts: int | None
    time_s: float


@dataclass(frozen=True, slots=True)
class Enough:
    """The fewest blocks that show a difference as often as is wanted, with what was tried on the way.

    `needed` is None where not even the most blocks tried do. `scatter_percent` is that of one run.
    """

    difference_percent: float
    power: float
    scatter_percent: float
    residuals: int
    campaigns: int
    needed: Simulated | None
    tried: tuple[Simulated, ...]


def blocks_between(needed: int, freedom: int) -> tuple[int, int]:
    """The fewest and the most blocks that may be needed, as far as the scatter is known; 90 %.

    Blocks go with the variance of a run, whose estimate has the chi-square distribution.

    Parameters
    ----------
    needed
        Blocks, with the variance as it was estimated.
    freedom
        Degrees of freedom of that estimate, 1 or more.
    """
    low, high = (freedom / float(chdtri(freedom, tail)) for tail in (0.05, 0.95))
    return max(math.floor(needed * low), 2), math.ceil(needed * high)


def own_scatter(effects: Effects) -> FloatArray:
    """What the fit leaves of each run or mean of a block, widened for what it fitted, (n,); log scores.

    Raises
    ------
    BadInput
        If the runs say nothing of their scatter.
    """
    fit = effects.fit
    if fit.variance is None or fit.variance == 0.0:
        raise BadInput(
            "the runs do not say how much a score scatters",
            where="scatter",
            allowed="a campaign with more runs than what is fitted to them",
            fix="make another block",
        )
    left = np.sqrt(np.clip(1.0 - fit.leverage, 1e-6, None))
    wide = fit.residual / left
    wide = wide - wide.mean()
    return np.asarray(wide * np.sqrt(fit.variance / np.mean(wide**2)))


def find_enough(
    scatter: FloatArray,
    shape: Shape,
    difference_percent: float,
    *,
    power: float = 0.8,
    seed: int = 0,
    campaigns: int = CAMPAIGNS,
) -> Enough:
    """Fewest blocks of each tool that show a gain as often as is wanted.

    Parameters
    ----------
    scatter
        Of runs in log score, to be drawn from.
    shape
        Of the campaign.
    difference_percent
        Gain that must not be missed.
    power
        How often it is to be shown.
    seed
        The same seed simulates the same.
    campaigns
        Simulated for each number of blocks.

    Raises
    ------
    BadInput
        If the gain or the power is out of range.
    """
    if not 0.0 < difference_percent < 1000.0:
        raise BadInput(f"{difference_percent:g} %", where="difference", allowed="above 0, below 1000 %")
    if not 0.1 <= power <= 0.99:
        raise BadInput(f"{100 * power:g} %", where="power", allowed="10 to 99 %")
    size = 100.0 * float(np.sqrt(np.expm1(np.mean(scatter**2))))
    others = len({*shape.articles} - {shape.reference}) * len(shape.tools)
    tried: dict[int, Simulated] = {}

    def look(blocks: int) -> Simulated:
        if blocks not in tried:
            rng = np.random.default_rng([seed, blocks])
            tried[blocks] = simulate_power(scatter, shape, difference_percent, blocks, rng, campaigns)
        return tried[blocks]

    try:
        first = repeats_for(
            difference_percent, size, others, shape.confidence, power=power, tools=len(shape.tools)
        )
    except BadInput:
        first = MOST_BLOCKS
    needed = _search(look, min(max(first, 2), MOST_BLOCKS), power)
    made = tuple(tried[blocks] for blocks in sorted(tried))
    return Enough(difference_percent, power, size, len(scatter), campaigns, needed, made)


def _search(look: Callable[[int], Simulated], first: int, power: float) -> Simulated | None:
    """From a good guess up or down, one block or a tenth at a time, until the wanted power is crossed."""
    blocks, best = first, None
    for _ in range(STEPS):
        found = look(blocks)
        step = max(1, blocks // 10)
        if found.power >= power:
            best = found if best is None or found.blocks < best.blocks else best
            if blocks == 2:
                return best
            following = max(blocks - step, 2)
        else:
            if best is not None or blocks == MOST_BLOCKS:
                return best
            following = min(blocks + step, MOST_BLOCKS)
        blocks = following
    return best


def simulate_power(
    scatter: FloatArray,
    shape: Shape,
    difference_percent: float,
    blocks: int,
    rng: np.random.Generator,
    campaigns: int = CAMPAIGNS,
) -> Simulated:
    """How often an article's interval, as the comparison sets it, leaves out 0 on the side of the gain.

    Every article has the gain: how often one shows it does not hang on what the others do.

    Parameters
    ----------
    scatter, shape, difference_percent
        As of `find_enough`.
    blocks
        Of each tool.
    rng
        The only source of chance.
    campaigns
        Simulated.
    """
    gain = float(np.log1p(difference_percent / 100.0))
    shown = np.empty(campaigns)
    runs: Sequence[PlannedRun] = ()
    for number in range(campaigns):
        runs = shape.plan(blocks, int(rng.integers(2**31)))
        logs = rng.choice(scatter, len(runs)) + [gain * (each.article != shape.reference) for each in runs]
        scored = [
            ScoredRun(
                each.run, each.article, each.tool, each.block, each.order, score, each.bolt, each.bolt_use
            )
            for each, score in zip(runs, np.exp(logs).tolist(), strict=True)
        ]
        found = judge_runs(scored, shape.reference, shape.confidence).intervals.values()
        shown[number] = np.mean([each.low is not None and each.low > 0.0 for each in found])
    bolts = None if shape.runs_per_bolt is None else len({each.bolt for each in runs})
    error = float(np.std(shown)) / float(np.sqrt(campaigns))
    return Simulated(blocks, float(np.mean(shown)), error, len(runs), bolts, len(runs) * shape.pause_s)
