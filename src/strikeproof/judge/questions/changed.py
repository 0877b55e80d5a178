"""Before and after: one piece that was cut, welded, worn or repaired, which cannot take turns with itself.

The reference runs in the blocks before the change and in those after it, and brackets it: both states are set
against the reference of their own blocks, so that what changed for all in between falls out. Other articles
have no say: what wears or is repaired among them in between would count as the change.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Collection, Sequence
from dataclasses import dataclass, replace
from typing import Literal, TypeAlias

import numpy as np
from scipy.special import stdtrit

from strikeproof.judge.model import Pair
from strikeproof.judge.questions.differences import Difference, find_differences
from strikeproof.judge.questions.effects import fit_effects
from strikeproof.judge.questions.written import ask_pair
from strikeproof.judge.records import ScoredRun
from strikeproof.quantity import FloatArray

__all__ = ["Changed", "Order", "find_changes"]

Order: TypeAlias = Literal["bracketed", "no reference", "misplaced", "took turns", "reversed"]
"""All runs before the change came first, with the reference in blocks of both times; the same without the
reference in one of them; the same but for one run among those of the other state; runs of both states are
mixed; the state after the change ran first."""
MANY = 3
"""Runs of a state of which one can be misplaced: of two that took turns each would be."""


@dataclass(frozen=True, slots=True)
class Changed:
    """A piece before and after a change with one tool.

    Attributes
    ----------
    difference
        After less before, each against the reference of its own blocks.
    order
        How the runs of the two states lie in time; only "bracketed" and "took turns" allow a verdict.
    misplaced
        The run that lies among those of the other state; None where it is not one alone.
    blocks_before, blocks_after
        Blocks that hold a state and the reference.
    reference_percent, reference_low_percent, reference_high_percent
        What the reference changed by from the blocks before to those after; None where either has under two.
        The difference does not hold it.
    """

    before: str
    after: str
    tool: str
    difference: Difference
    order: Order
    misplaced: str | None
    blocks_before: int
    blocks_after: int
    reference_percent: float | None
    reference_low_percent: float | None
    reference_high_percent: float | None


def find_changes(
    runs: Sequence[ScoredRun],
    reference: str,
    before: str,
    after: str,
    *,
    margin_percent: float,
    confidence: float,
    timed: bool = False,
    unconfirmed: Collection[Pair] = (),
) -> tuple[Changed, ...]:
    """A piece before and after its change, with every tool that drove both states.

    Parameters
    ----------
    runs
        Of one campaign; excluded ones do not count.
    reference
        What brackets the change.
    before, after
        Names of the two states.
    margin_percent
        Differences within plus or minus this are "same".
    confidence
        Of all tools together.
    timed
        Whether scores are times, of which less is better.
    unconfirmed
        As of `find_differences`.

    Raises
    ------
    TooFewRuns, BadInput
        As `fit_effects`, of the runs of both states and the reference.

    References
    ----------
    The reference's own change by blocks, Welch, Biometrika 34 (1947) 28 (from memory).
    """
    counted = [each for each in runs if not each.set_aside and each.article in (before, after, reference)]
    effects = fit_effects(counted, reference)
    tools = [tool for tool in effects.tools if {before, after} <= set(effects.articles(tool))]
    asked = [(ask_pair(after, before), tool) for tool in tools or effects.tools]
    found = find_differences(
        effects,
        asked,
        margin_percent=margin_percent,
        confidence=confidence,
        timed=timed,
        unconfirmed=unconfirmed,
    ).found
    return tuple(_changed(counted, reference, (before, after), each, confidence) for each in found)


def _changed(
    runs: Sequence[ScoredRun],
    reference: str,
    states: tuple[str, str],
    difference: Difference,
    confidence: float,
) -> Changed:
    blocks: dict[str, list[ScoredRun]] = defaultdict(list)
    for each in runs:
        if each.tool == difference.tool:
            blocks[each.block].append(each)
    levels = [
        [
            float(np.mean([np.log(each.score) for each in some if each.article == reference]))
            for some in blocks.values()
            if {state, reference} <= {each.article for each in some}
        ]
        for state in states
    ]
    shift = _shift(np.array(levels[0]), np.array(levels[1]), confidence)
    order, misplaced = _order(runs, difference.tool, states, bracketed=all(levels))
    match order:
        case "no reference" | "misplaced" | "reversed" if difference.why_not != "not run":
            difference = replace(difference, verdict="cannot tell", why_not=order)
    return Changed(
        *states, difference.tool, difference, order, misplaced, len(levels[0]), len(levels[1]), *shift
    )


def _order(
    runs: Sequence[ScoredRun], tool: str, states: tuple[str, str], *, bracketed: bool
) -> tuple[Order, str | None]:
    """How the states lie in time, and the run that alone is misplaced."""
    first, last = (
        sorted((each.order, each.run) for each in runs if each.article == state and each.tool == tool)
        for state in states
    )
    if not first or not last:
        return "no reference", None
    if first[-1] < last[0]:
        return ("bracketed" if bracketed else "no reference"), None
    if last[-1] < first[0]:
        return "reversed", None
    if len(first) >= MANY and first[-2] < last[0]:
        return "misplaced", first[-1][1]
    if len(last) >= MANY and first[-1] < last[1]:
        return "misplaced", last[0][1]
    return "took turns", None


def _shift(
    before: FloatArray, after: FloatArray, confidence: float
) -> tuple[float | None, float | None, float | None]:
    """Change of the mean in percent with its interval by Welch's test."""
    if min(len(before), len(after)) < 2:
        return None, None, None
    parts = [float(each.var(ddof=1)) / len(each) for each in (before, after)]
    total = sum(parts)
    if total == 0.0:
        return None, None, None
    free = total**2 / sum(
        part**2 / (len(each) - 1) for part, each in zip(parts, (before, after), strict=True)
    )
    middle = float(after.mean() - before.mean())
    half = float(stdtrit(free, 0.5 + confidence / 2.0)) * float(np.sqrt(total))
    low, value, high = (100.0 * float(np.expm1(each)) for each in (middle - half, middle, middle + half))
    return value, low, high
