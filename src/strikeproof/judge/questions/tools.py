"""Tools: which tightens most with the same article, and whether what an article does differs between them.

The two are different questions. What an article gains over the reference is seen inside the blocks of each
tool. How the tools themselves compare is seen only between blocks, each block of a tool being one witness.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Collection, Sequence
from dataclasses import dataclass, replace
from itertools import combinations
from typing import Literal, TypeAlias

import numpy as np
from scipy.special import fdtrc

from strikeproof.judge.intervals import Interval
from strikeproof.judge.questions.best import Best, Contender, LeftOut, find_best
from strikeproof.judge.questions.differences import Differences, all_pairs, find_differences
from strikeproof.judge.questions.effects import Effects, fit_effects
from strikeproof.judge.questions.joint import joint_of, root_of
from strikeproof.judge.records import ScoredRun
from strikeproof.judge.results import gains
from strikeproof.judge.verdict import Margin, give_verdict
from strikeproof.quantity import FloatArray

__all__ = ["Apart", "ToolEffects", "Tools", "compare_tools", "find_tool_effects", "tools_apart"]

Hidden: TypeAlias = Literal["order", "bolts"]
"""What cannot be separated from the tools: all blocks of one were made before those of another; each tool has
its own bolts."""
Missing: TypeAlias = Literal["no reference", "few blocks", "no other", "apart"]
"""Why a tool is not compared: the reference did not run with it; the reference, or every other article, has
runs in one block of it only; no other article ran often enough with another tool too; its blocks share no
articles."""
LEAST = 2


@dataclass(frozen=True, slots=True)
class Apart:
    """How the score of an article over the reference's differs from one tool to another, in percent.

    +10 means that the ratio to the reference is 1.1 times as large with `tool` as with `other`; of a score
    that is a time, that it is a tenth better. Ends and `p` hold for all of them together.
    """

    article: str
    tool: str
    other: str
    percent: float
    low_percent: float
    high_percent: float
    p: float
    verdict: Literal["higher", "lower", "same", "cannot tell"]


@dataclass(frozen=True, slots=True)
class ToolEffects:
    """Article by tool: does what the articles do differ between the tools?

    `left_out` are the tools that nothing is said of, each with the reason.

    `verdict` is "differs" where an interval leaves out 0 and reaches beyond the margin, "same" where all lie
    inside the margin. `f` with its two degrees of freedom and `p_f` test all of it at once.
    """

    found: tuple[Apart, ...]
    verdict: Literal["differs", "same", "cannot tell"]
    f: float
    freedoms: tuple[int, int]
    p_f: float
    confidence: float
    margin_percent: float
    timed: bool
    left_out: tuple[tuple[str, Missing], ...] = ()

    @property
    def tools(self) -> tuple[str, ...]:
        """The tools that were compared."""
        return tuple(sorted({name for each in self.found for name in (each.tool, each.other)}))


@dataclass(frozen=True, slots=True)
class Tools:
    """The tools with one article. In `best` and `differences` tools and article have changed places.

    `paired` says whether the blocks came in rounds, one of each tool, so that slow drift is taken out.
    """

    article: str
    best: Best
    differences: Differences
    paired: bool
    hidden: tuple[Hidden, ...]


def find_tool_effects(
    effects: Effects, *, margin_percent: float, confidence: float, timed: bool = False
) -> ToolEffects | None:
    """Compare what each article does over the reference between all tools that ran both; None where none did.

    Parameters
    ----------
    effects
        The fit that is asked.
    margin_percent
        Differences within plus or minus this are "same".
    confidence
        Of all intervals together.
    timed
        Whether scores are times, of which less is better.

    References
    ----------
    F test of an interaction: Scheffé, *The Analysis of Variance*, 1959, chapter 4 (from memory).
    """
    asked = list(_shared(effects))
    if not asked or effects.fit.variance is None or effects.order_hides:
        return None
    weights = np.stack([_weights(effects, *each) for each in asked])
    able = effects.can_tell(weights)
    asked = [each for each, tells in zip(asked, able, strict=True) if tells]
    if not asked:
        return None
    measured = effects.measure(weights[able])
    joint = joint_of(measured.covariance)
    bounds = joint.critical_values(confidence, measured.freedom)
    margin = Margin(-margin_percent, margin_percent)
    found = []
    for i, (article, tool, other) in enumerate(asked):
        value, error = float(measured.value[i]), float(measured.error[i])
        half = float(bounds[i]) * error
        interval = Interval(value, error, value - half, value + half, None)
        percent, low, high = (each or 0.0 for each in gains(interval, timed=timed))
        p = joint.p_beyond(abs(value) / error, float(measured.freedom[i]))
        found.append(Apart(article, tool, other, percent, low, high, p, _verdict(low, high, margin)))
    f, freedoms, p_f = _test_all(effects, measured.value, measured.covariance)
    verdicts = {each.verdict for each in found}
    verdict: Literal["differs", "same", "cannot tell"] = (
        "differs" if verdicts & {"higher", "lower"} else "same" if verdicts == {"same"} else "cannot tell"
    )
    return ToolEffects(
        tuple(found), verdict, f, freedoms, p_f, confidence, margin_percent, timed, _missing(effects, found)
    )


def _shared(effects: Effects) -> list[tuple[str, str, str]]:
    """Article and two tools that ran both it and the reference often enough."""
    return [
        (article, tool, other)
        for tool, other in combinations(effects.tools, 2)
        for article in effects.articles(tool)
        if article != effects.reference
        and all(
            effects.witnesses(name, with_) >= LEAST
            for name in (article, effects.reference)
            for with_ in (tool, other)
        )
    ]


def tools_apart(effects: Effects) -> tuple[tuple[str, Missing], ...]:
    """Why each tool holds no comparison, where `find_tool_effects` found none."""
    return _missing(effects, ())


def _missing(effects: Effects, found: Sequence[Apart]) -> tuple[tuple[str, Missing], ...]:
    """The tools that no comparison holds, and why."""
    compared = {name for each in found for name in (each.tool, each.other)}
    shared = {name for _, *tools in _shared(effects) for name in tools}
    missing: list[tuple[str, Missing]] = []
    for tool in effects.tools:
        often = [
            effects.witnesses(name, tool) for name in effects.articles(tool) if name != effects.reference
        ]
        of_reference = effects.witnesses(effects.reference, tool)
        if tool not in compared:
            why: Missing = (
                "no reference"
                if of_reference == 0
                else "few blocks"
                if min(of_reference, max(often, default=LEAST)) < LEAST
                else "apart"
                if tool in shared
                else "no other"
            )
            missing.append((tool, why))
    return tuple(missing)


def _weights(effects: Effects, article: str, tool: str, other: str) -> FloatArray:
    return effects.weights({article: 1.0}, tool) - effects.weights({article: 1.0}, other)


def _verdict(low: float, high: float, margin: Margin) -> Literal["higher", "lower", "same", "cannot tell"]:
    found = give_verdict(low, high, margin)
    return found if found in ("higher", "lower", "same") else "cannot tell"


def _test_all(
    effects: Effects, value: FloatArray, covariance: FloatArray
) -> tuple[float, tuple[int, int], float]:
    """F of all differences at once, its degrees of freedom, and p."""
    rank = root_of(covariance).shape[1]
    squares = float(value @ np.linalg.pinv(covariance, hermitian=True) @ value)
    f, free = squares / rank / (effects.fit.variance or np.inf), effects.fit.degrees_of_freedom
    return f, (rank, free), float(fdtrc(rank, free, f))


def compare_tools(
    runs: Sequence[ScoredRun],
    article: str,
    *,
    margin_percent: float,
    confidence: float,
    timed: bool = False,
) -> Tools | None:
    """Compare the tools with one article, each block of a tool being one number; None for a single tool.

    Parameters
    ----------
    runs
        All runs of one campaign.
    article
        What every tool drove.
    margin_percent
        Differences within plus or minus this are "same".
    confidence
        Of all that is said of the tools together, for each of best, places and pairs.
    timed
        Whether scores are times, of which less is better.

    Raises
    ------
    TooFewRuns, BadInput
        If fewer than two runs of it count, or some of them cannot be asked.

    References
    ----------
    The tool is what a whole block has, so blocks are its units: split plots, Cochran, Cox, *Experimental
    Designs*, 1957, chapter 7 (from memory).
    """
    own = sorted((each for each in runs if each.article == article and not each.set_aside), key=_order)
    tools = sorted({each.tool for each in own})
    if len(tools) < 2:
        return None
    blocks = _blocks(own)
    rounds = _rounds(blocks, len(tools))
    rows = _as_articles(article, blocks, rounds)
    effects = fit_effects(rows, tools[0])
    parted = _one_after_the_other(own)
    hidden = _hidden(own, parted)
    best = find_best(effects, article, confidence=confidence, timed=timed, doubtful=parted)
    ranked = effects.ranked(article, timed=timed)
    differences = find_differences(
        effects,
        [(each, article) for each in all_pairs(ranked)],
        margin_percent=margin_percent,
        confidence=confidence,
        timed=timed,
    )
    if len(parted) == len(differences.found):
        best = Best(article, (), (), "order", confidence, timed)
    best = replace(best, contenders=tuple(map(_held_by_pairs, best.contenders)))
    best = replace(best, left_out=tuple((tool, _of_block(why)) for tool, why in best.left_out))
    unsure = (
        replace(each, verdict="cannot tell", why_not="no turns")
        if each.asked.pair and frozenset(each.asked.pair) in parted
        else replace(each, why_not="one block")
        if each.why_not == "one run"
        else each
        for each in differences.found
    )
    differences = replace(differences, found=tuple(unsure))
    return Tools(article, best, differences, rounds is not None, hidden)


def _held_by_pairs(each: Contender) -> Contender:
    """Tools are judged in pairs beside this: what no pair settles is not settled by the best alone."""
    return replace(each, held=True) if each.ranks[0] == 1 and not each.may_be_best else each


def _of_block(why: LeftOut) -> LeftOut:
    """What is one run of an article is one block of a tool."""
    return "one block" if why == "one run" else why


def _order(run: ScoredRun) -> int:
    return run.order


def _blocks(own: Sequence[ScoredRun]) -> list[list[ScoredRun]]:
    """The runs of each block of each tool, in the order in which the blocks began."""
    found: dict[tuple[str, str], list[ScoredRun]] = defaultdict(list)
    for each in own:
        found[each.tool, each.block].append(each)
    return list(found.values())


def _rounds(blocks: Sequence[Sequence[ScoredRun]], tools: int) -> list[int] | None:
    """The round of each block where each round has one block of each tool; None where they do not."""
    if len(blocks) % tools:
        return None
    numbers = [i // tools for i in range(len(blocks))]
    seen = {(number, block[0].tool) for number, block in zip(numbers, blocks, strict=True)}
    return numbers if len(seen) == len(blocks) else None


def _as_articles(
    article: str, blocks: Sequence[Sequence[ScoredRun]], rounds: Sequence[int] | None
) -> list[ScoredRun]:
    """One row a block, the tool in the place of the article, so that the same fit compares tools."""
    return [
        ScoredRun(
            run=f"{block[0].tool} {block[0].block}",
            article=block[0].tool,
            tool=article,
            block="1" if rounds is None else f"{rounds[i]}",
            order=i,
            score=float(np.exp(np.mean(np.log([each.score for each in block])))),
            not_reached=any(each.not_reached for each in block),
        )
        for i, block in enumerate(blocks)
    ]


def _one_after_the_other(own: Sequence[ScoredRun]) -> frozenset[frozenset[str]]:
    """Each two tools of which all runs of one were made before those of the other."""
    orders: dict[str, list[int]] = defaultdict(list)
    for each in own:
        orders[each.tool].append(each.order)
    return frozenset(
        frozenset((one, other))
        for one, other in combinations(orders, 2)
        if max(orders[one]) < min(orders[other]) or max(orders[other]) < min(orders[one])
    )


def _hidden(own: Sequence[ScoredRun], parted: Collection[frozenset[str]]) -> tuple[Hidden, ...]:
    """What the campaign cannot tell from its tools."""
    found: list[Hidden] = []
    if parted:
        found.append("order")
    bolts = {(each.bolt, each.tool) for each in own if each.bolt is not None}
    if len(bolts) > 0 and len({bolt for bolt, _ in bolts}) == len(bolts):
        found.append("bolts")
    return tuple(found)
