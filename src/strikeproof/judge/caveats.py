"""What a reader must know before believing a comparison: weak designs, odd runs, opinions that disagree."""

from __future__ import annotations

from collections import Counter, defaultdict
from collections.abc import Iterable, Mapping, Sequence
from itertools import pairwise

import numpy as np
from scipy.special import stdtrit

from strikeproof.judge.control import say_unjudged
from strikeproof.judge.model import Fit, Pair
from strikeproof.judge.records import ArticleResult, RigControl, ScoredRun
from strikeproof.judge.scatter import OwnScatter
from strikeproof.judge.verdict import Margin, give_verdict

__all__ = [
    "find_design_caveats",
    "find_late_caveats",
    "find_result_caveats",
    "find_rig_caveats",
    "find_run_caveats",
    "find_scatter_caveats",
]

FEW_DEGREES = 5
ODD_RUN_LEVEL = 0.01
"""Chance of calling any run of a clean campaign odd."""


def find_design_caveats(runs: Sequence[ScoredRun], fit: Fit, reference: str) -> list[str]:
    """What the plan of the runs that count cannot tell, or tells badly."""
    found = [
        f"{article} with {tool} cannot be compared: it shares no block with {reference}, not even by way of "
        "other articles; run both in one block"
        for (article, tool), able in zip(fit.design.pairs, fit.design.estimable, strict=True)
        if not able
    ]
    if not fit.design.pairs:
        found.append(f"only {reference} was run: there is nothing to compare it with")
    elif fit.degrees_of_freedom == 0:
        found.append(
            "no article was run often enough to judge the scatter: no interval can be given; repeat the runs"
        )
    elif fit.variance is None:
        found.append(
            "the runs repeat to the last digit, which no rig does: no interval can be given; check the scores"
        )
    elif fit.degrees_of_freedom < FEW_DEGREES:
        found.append(
            f"the scatter is judged from only {fit.degrees_of_freedom} degrees of freedom: intervals are "
            "wide and rest on the assumption of a bell curve; add blocks"
        )
    return found + _thin_articles(runs, reference) + _bare_blocks(runs, reference) + _order_caveats(runs)


def find_run_caveats(runs: Sequence[ScoredRun], fit: Fit) -> list[str]:
    """Runs that lie far from their fit, and tools that scatter differently."""
    if fit.variance is None or fit.degrees_of_freedom < FEW_DEGREES:
        return []
    free = fit.degrees_of_freedom
    inner = np.clip(1.0 - fit.leverage, 1e-9, None)
    ratio = fit.residual / np.sqrt(fit.variance * inner)
    # externally studentised, no run helps to judge itself: Cook, Weisberg 1982, eq. 2.2.8 (from memory)
    outer = ratio * np.sqrt((free - 1) / np.clip(free - ratio**2, 1e-9, None))
    bound = float(stdtrit(free - 1, 1.0 - ODD_RUN_LEVEL / (2 * len(runs))))
    odd = np.flatnonzero((np.abs(outer) > bound) & (inner > 1e-6)).tolist()
    astray = 100.0 * np.expm1(fit.residual / inner)
    return [
        f"run {runs[i].run} ({runs[i].article}) lies {astray[i]:+.0f} % from what the other runs "
        "expect; look at it, and set it aside only for a reason other than its score"
        for i in odd
    ]


def find_late_caveats(results: Sequence[ArticleResult]) -> list[str]:
    """Articles of which some runs never reached the level of a score that is a time."""
    return [
        f"{each.not_reached} of {each.runs} runs of {each.article} with {each.tool} did not reach the level "
        f"in {each.watched_s:.3g} s: they count as later than that"
        for each in results
        if each.not_reached and each.watched_s is not None
    ]


def find_scatter_caveats(own: Mapping[Pair, OwnScatter]) -> list[str]:
    """Articles that scatter more than the others."""
    return [
        f"{article} with {tool} scatters {each.ratio:.1f} times as much as the other runs: "
        "its interval is from its own scatter"
        for (article, tool), each in own.items()
    ]


def find_rig_caveats(rig: RigControl) -> list[str]:
    """A rig out of control comes before any result."""
    found = [f"the rig is out of control: {each.text}" for each in rig.signals]
    drift, error = rig.drift_percent_per_run, rig.drift_uncertainty
    if drift is not None and error is not None and abs(drift) > 3.0 * error > 0.0:
        found.append(
            f"the rig drifts by {drift:+.2g} % a run (standard uncertainty {error:.1g} %): "
            "blocks take out what is slow"
        )
    why = say_unjudged(rig)
    return [*found, f"it cannot be judged whether the rig was in control: {why}"] if why else found


def find_result_caveats(
    results: Sequence[ArticleResult], level: float, margin_percent: float, *, timed: bool
) -> list[str]:
    """Where the randomisation test disagrees, and where set-aside runs would change the answer."""
    found = []
    for row in results:
        name = f"{row.article} with {row.tool}"
        if (
            row.p is not None
            and row.p_randomisation is not None
            and (row.p < level) != (row.p_randomisation < level)
        ):
            found.append(
                f"two opinions on {name}: p = {row.p:.3f} by the t interval, {row.p_randomisation:.3f} by "
                "randomisation; more runs would settle it"
            )
        low, high = row.low_percent_with_set_aside, row.high_percent_with_set_aside
        if row.verdict in {"reference", "cannot tell"} or (low is None and high is None):
            continue
        ends = (-np.inf if low is None else low, np.inf if high is None else high)
        if give_verdict(*ends, Margin(-margin_percent, margin_percent), timed=timed) != row.verdict:
            found.append(
                f"the verdict on {name} hangs on the runs set aside: with them it would not be "
                f"{row.verdict!r}"
            )
    return found


def _thin_articles(runs: Sequence[ScoredRun], reference: str) -> list[str]:
    """Articles with a single run, or with all runs in one of several blocks."""
    blocks: dict[tuple[str, str], list[str]] = defaultdict(list)
    for each in runs:
        blocks[each.article, each.tool].append(each.block)
    several = {
        tool for tool in {each.tool for each in runs} if len({e.block for e in runs if e.tool == tool}) > 1
    }
    found = []
    for (article, tool), held in sorted(blocks.items()):
        if article == reference:
            continue
        if len(held) == 1:
            found.append(
                f"{article} with {tool} has one run, which cannot be told from a fluke; run it again"
            )
        elif tool in several and len(set(held)) == 1:
            found.append(
                f"all runs of {article} with {tool} are in block {held[0]}: what happened in that block "
                "alone cannot be told from the article; run it in another block too"
            )
    return found


def _bare_blocks(runs: Sequence[ScoredRun], reference: str) -> list[str]:
    """Blocks that hold no run of the reference."""
    held: dict[tuple[str, str], set[str]] = defaultdict(set)
    for each in runs:
        held[each.tool, each.block].add(each.article)
    bare = sorted(
        f"{block} ({tool})" for (tool, block), articles in held.items() if reference not in articles
    )
    return (
        [f"no run of {reference} counts in block {_list(bare)}: it helps only by way of other articles"]
        if bare
        else []
    )


def _order_caveats(runs: Sequence[ScoredRun]) -> list[str]:
    """Blocks in which articles stand together, and bolts changed inside a block."""
    blocks: dict[tuple[str, str], list[ScoredRun]] = defaultdict(list)
    for each in sorted(runs, key=lambda run: run.order):
        blocks[each.tool, each.block].append(each)
    clumped = [f"{block} ({tool})" for (tool, block), held in blocks.items() if _stands_together(held)]
    changed = [
        f"{block} ({tool})" for (tool, block), held in blocks.items() if len({e.bolt for e in held}) > 1
    ]
    found = []
    if clumped:
        found.append(
            f"the runs of each article stand together in block {_list(clumped)}: drift there cannot be told "
            "from a difference; mix the order"
        )
    if changed:
        found.append(
            f"the bolt was changed inside block {_list(changed)}: "
            "what bolts differ by counts as scatter there"
        )
    if 0 < sum(each.bolt_use is not None for each in runs) < len(runs):
        found.append("how often the bolt was used is known for some runs only, so it is left out of the fit")
    return found


def _stands_together(held: Sequence[ScoredRun]) -> bool:
    """Whether a block repeats articles, yet never comes back to one after another."""
    counts = Counter(each.article for each in held)
    changes = sum(a.article != b.article for a, b in pairwise(held))
    return len(counts) > 1 and len(held) > len(counts) and changes == len(counts) - 1


def _list(names: Iterable[str]) -> str:
    """A few names, and how many more."""
    held = list(names)
    return ", ".join(held[:6]) + (f" and {len(held) - 6} more" if len(held) > 6 else "")
