"""What a reader must know before believing a comparison: weak designs, odd runs, opinions that disagree."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Mapping, Sequence

import numpy as np
from scipy.special import stdtrit

from strikeproof.judge.control import say_unjudged
from strikeproof.judge.looks import Looks
from strikeproof.judge.model import BREAK_IN, WARM_UP, Fit, Pair
from strikeproof.judge.orders import find_held_places, find_together
from strikeproof.judge.records import ArticleResult, RigControl, ScoredRun
from strikeproof.judge.repeated import repeats_in_blocks
from strikeproof.judge.scatter import OwnScatter
from strikeproof.judge.verdict import VERDICT_WORDS, Margin, give_verdict
from strikeproof.language import say, say_many, write_figures
from strikeproof.quantity import write_number

__all__ = [
    "find_asked_caveats",
    "find_design_caveats",
    "find_late_caveats",
    "find_look_caveats",
    "find_reference_caveats",
    "find_repeat_caveats",
    "find_result_caveats",
    "find_rig_caveats",
    "find_run_caveats",
    "find_scatter_caveats",
    "find_slope_caveats",
]

FEW_DEGREES = 5
LEAST_INNER = 0.5
"""A run whose own weight in its fit is more than the rest of 1 is hardly predicted by the others."""
SLOPE_LEVEL = 0.01
"""Chance of calling a steady block warming up."""
SLOPE_WORDS = {
    WARM_UP: (
        say("the first run of a block"),
        say(
            "tool, bolt or grease warm up there, and the fit corrects for that; hammer once or twice, "
            "unscored, before each block"
        ),
    ),
    BREAK_IN: (
        say("the first run on a new bolt"),
        say("it breaks in there, and the fit corrects for that; run a new bolt in, unscored"),
    ),
}
LOOKING_AGAIN_PERCENT = 19
"""Campaigns of 12 blocks with a false difference, looked at after each (docs/validity.md)."""
ODD_RUN_LEVEL = 0.01
"""Chance of calling any run of a clean campaign odd."""


def find_design_caveats(runs: Sequence[ScoredRun], fit: Fit, reference: str) -> list[str]:
    """What the plan of the runs that count does not show, or shows badly.

    Parameters
    ----------
    runs
        Those that count.
    fit
        Of these runs, or of their means.
    reference
        What all others are compared with.
    """
    found = [
        say(
            "{article} with {tool} cannot be compared: it shares no block with {reference}, not even by "
            "way of other articles; run both in one block",
            article=article,
            tool=tool,
            reference=reference,
        )
        for (article, tool), able in zip(fit.design.pairs, fit.design.estimable, strict=True)
        if not able
    ]
    if not fit.design.pairs:
        found.append(
            say("only {reference} was run: there is nothing to compare it with", reference=reference)
        )
    elif fit.degrees_of_freedom == 0:
        found.append(
            say(
                "no article was run often enough to judge the scatter: no interval can be given; repeat "
                "the runs"
            )
        )
    elif fit.variance is None:
        found.append(
            say(
                "the runs repeat to the last digit, which no rig does: no interval can be given; check "
                "the scores"
            )
        )
    elif fit.degrees_of_freedom < FEW_DEGREES:
        found.append(
            say_many(
                "the scatter is judged from only {count} degree of freedom: intervals are wide and rest on "
                "the assumption of a bell curve; add blocks",
                "the scatter is judged from only {count} degrees of freedom: intervals are wide and rest on "
                "the assumption of a bell curve; add blocks",
                fit.degrees_of_freedom,
            )
        )
    return [
        *found,
        *_thin_articles(runs, reference),
        *_bare_blocks(runs, reference),
        *_undealt_orders(runs, fit, reference),
        *_order_caveats(runs),
    ]


def find_slope_caveats(fit: Fit) -> list[str]:
    """What the first runs of a block, or of a bolt, have of their own."""
    if fit.variance is None:
        return []
    bound = float(stdtrit(fit.degrees_of_freedom, 1.0 - SLOPE_LEVEL / 2.0))
    found = []
    for name, slope, factor in zip(fit.covariates, fit.slope, fit.slope_factor, strict=True):
        error = float(np.sqrt(fit.variance * factor))
        if name in SLOPE_WORDS and abs(slope) > bound * error > 0.0:
            first = 100.0 * float(np.expm1(slope))
            found.append(
                say(
                    "{what} reads {first} % ({error}): {advice}",
                    what=SLOPE_WORDS[name][0],
                    first=_signed(first, ".2g"),
                    error=write_figures(f"{100 * error:.1g}"),
                    advice=SLOPE_WORDS[name][1],
                )
            )
    return found


def find_asked_caveats(runs: Sequence[ScoredRun], fit: Fit) -> list[str]:
    """What each covariate that was asked for does and costs, or why it is not fitted.

    Parameters
    ----------
    runs
        Those that count.
    fit
        Of them.
    """
    found = []
    for name in dict(runs[0].asked) if runs else ():
        if name in fit.covariates:
            found.append(_say_asked(name, fit))
        elif name in fit.confounded:
            found.append(
                say("{name} is not fitted: inside the blocks it changes only as the articles do", name=name)
            )
        else:
            found.append(
                say(
                    "{name} is not fitted: it does not change inside the blocks, or too few degrees of "
                    "freedom are left",
                    name=name,
                )
            )
    return found


def _say_asked(name: str, fit: Fit) -> str:
    at = fit.covariates.index(name)
    slope, variance = float(fit.slope[at]), 0.0 if fit.variance is None else fit.variance
    error = float(np.sqrt(variance * fit.slope_factor[at]))
    return say(
        "{name} is fitted, as was asked: {slope} % ({error}) for each step of 1. It costs 1 degree of "
        "freedom, and {left} are left",
        name=name,
        slope=_signed(100.0 * float(np.expm1(slope)), ".2g"),
        error=write_figures(f"{100 * error:.1g}"),
        left=fit.degrees_of_freedom,
    )


def find_repeat_caveats(runs: Sequence[ScoredRun], reference: str, *, averaged: bool) -> list[str]:
    """Articles that run several times in a block: fewer witnesses than runs.

    Parameters
    ----------
    runs
        Those that count.
    reference
        What all others are compared with.
    averaged
        Whether the means of blocks were fitted.
    """
    if averaged:
        return [
            say(
                "articles run several times in a block: the mean of each block counts once; runs in "
                "further blocks add more than further runs in the same block"
            )
        ]
    if repeats_in_blocks(runs, reference):
        return [
            say(
                "articles run several times in a block, and there are too few blocks to judge what a "
                "block does to one article: each run counts as independent, and differences look too "
                "sure; add blocks"
            )
        ]
    return []


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
    advice = say("look at it, and exclude it only for a reason other than its score")
    return [
        say(
            "run {run} ({article}) {astray}; {advice}",
            run=runs[i].run,
            article=runs[i].article,
            astray=_say_astray(astray[i], inner[i]),
            advice=advice,
        )
        for i in odd
    ]


def _say_astray(percent: float, inner: float) -> str:
    """By how much a run is off, where the others still determine what it should be."""
    if inner < LEAST_INNER:  # the prediction is then an extrapolation, and a figure would mislead
        return say("does not fit with the others, which are too few to say by how much")
    return say("lies {percent} % from what the other runs expect", percent=_signed(percent, ".0f"))


def _signed(value: float, form: str) -> str:
    return write_figures(f"{value:+{form}}".replace("-", "−"))


def find_late_caveats(results: Sequence[ArticleResult]) -> list[str]:
    """Articles of which some runs never reached the level of a score that is a time."""
    return [
        say(
            "{not_reached} of {runs} runs of {article} with {tool} did not reach the level in "
            "{watched_s} s: they count as later than that",
            not_reached=each.not_reached,
            runs=each.runs,
            article=each.article,
            tool=each.tool,
            watched_s=write_figures(f"{each.watched_s:.3g}"),
        )
        for each in results
        if each.not_reached and each.watched_s is not None
    ]


def find_look_caveats(results: Sequence[ArticleResult], looks: Looks | None) -> list[str]:
    """What it costs to look again."""
    if looks is not None:
        past = say(
            "more blocks were run than the looks were planned for: together they no longer keep the error"
        )
        return [past] if looks.beyond else []
    if any(row.more_runs is not None for row in results):
        return [
            say(
                "looking after each block and stopping at the first difference gives a false one in about "
                "{share} % of campaigns, not in 5 %: plan the looks (protocol.looks) "
                "before the first run",
                share=LOOKING_AGAIN_PERCENT,
            )
        ]
    return []


def find_scatter_caveats(own: Mapping[Pair, OwnScatter]) -> list[str]:
    """Articles that scatter more than the others."""
    return [
        say(
            "{article} with {tool} scatters {ratio} times as much as the other runs: its interval is "
            "from its own scatter",
            article=article,
            tool=tool,
            ratio=write_figures(f"{each.ratio:.1f}"),
        )
        for (article, tool), each in own.items()
    ]


def find_reference_caveats(reference: str, wide: Mapping[Pair, OwnScatter]) -> list[str]:
    """A reference that scatters more than what is compared with it."""
    ratios = {tool: each.ratio for (_article, tool), each in wide.items()}
    return [
        say(
            "the reference {reference} with {tool} scatters {ratio} times as much as the other runs: all "
            "intervals are from its own scatter; see why (bolt, fit, wear) before more runs are made",
            reference=reference,
            tool=tool,
            ratio=write_figures(f"{ratio:.1f}"),
        )
        for tool, ratio in ratios.items()
    ]


def find_rig_caveats(rig: RigControl) -> list[str]:
    """A rig out of control comes before any result."""
    found = [say("the rig is out of control: {text}", text=each.text) for each in rig.signals]
    drift, error = rig.drift_percent_per_run, rig.drift_uncertainty
    if drift is not None and error is not None and abs(drift) > 3.0 * error > 0.0:
        found.append(
            say(
                "the rig drifts by {drift} % a run (standard uncertainty {error} %): comparing inside "
                "blocks cancels slow drift",
                drift=_signed(drift, ".2g"),
                error=write_figures(f"{error:.1g}"),
            )
        )
    why = say_unjudged(rig)
    return (
        [*found, say("it cannot be judged whether the rig was in control: {why}", why=why)] if why else found
    )


def find_result_caveats(
    results: Sequence[ArticleResult], level: float, margin_percent: float, *, timed: bool
) -> list[str]:
    """Where the randomisation test disagrees, and where set-aside runs would change the answer.

    Parameters
    ----------
    results
        All rows of the comparison.
    level
        Of p, one less the confidence.
    margin_percent
        Gains within plus or minus this are "same".
    timed
        Whether the score is a time.
    """
    found = []
    for row in results:
        name = say("{article} with {tool}", article=row.article, tool=row.tool)
        if disagreement := _say_disagreement(row, level):
            found.append(
                say(
                    "two tests of {name} disagree: {disagreement}, so no verdict is given",
                    name=name,
                    disagreement=disagreement,
                )
            )
        low, high = row.low_percent_with_set_aside, row.high_percent_with_set_aside
        if row.verdict in {"reference", "cannot tell"} or (low is None and high is None):
            continue
        ends = (-np.inf if low is None else low, np.inf if high is None else high)
        if give_verdict(*ends, Margin(-margin_percent, margin_percent), timed=timed) != row.verdict:
            found.append(
                say(
                    "the verdict on {name} rests on the excluded runs: with them it would not be “{verdict}”",
                    name=name,
                    verdict=VERDICT_WORDS[row.verdict],
                )
            )
    return found


def _say_disagreement(row: ArticleResult, level: float) -> str:
    """Which test alone shows a difference of a row that has no verdict; empty where they agree."""
    if row.verdict != "cannot tell" or row.p is None or row.p_randomisation is None:
        return ""
    by_interval, dealt = write_number(row.p, 2), write_number(row.p_randomisation, 2)
    p = say(
        "p = {by_interval} by the t interval, {by_shuffles} by randomisation",
        by_interval=by_interval,
        by_shuffles=dealt,
    )
    if row.unconfirmed:
        return say("the t interval shows a difference, the randomisation test does not ({p})", p=p)
    if row.p >= level > row.p_randomisation:
        return say("the randomisation test shows a difference, the t interval does not ({p})", p=p)
    return ""


def _undealt_orders(runs: Sequence[ScoredRun], fit: Fit, reference: str) -> list[str]:
    """Orders that chance did not make, and what they hide."""
    what = (
        say("A slope takes out what warms up or drifts inside a block, as far as it has the usual shape")
        if WARM_UP in fit.covariates
        else say("What warms up or drifts inside a block counts as a difference")
    )
    held = [
        say(
            "{reference} ran {where} in {times} of {blocks} blocks, so the order was not shuffled. "
            "{what}; shuffle the order of every block",
            reference=reference,
            where=say("first") if each.where == "first" else say("last"),
            times=each.times,
            blocks=each.blocks,
            what=what,
        )
        for each in find_held_places(runs, reference)
    ]
    if WARM_UP in fit.confounded:
        return [
            *held,
            say(
                "every article had the same place in every block: what warms up, drifts or tires inside "
                "a block looks like a difference between articles, so no verdict is given; shuffle the "
                "order of every block"
            ),
        ]
    return held + [
        say(
            "{name} cannot be separated from the articles, so no slope on it is fitted and its effect "
            "counts as a difference; shuffle the order of every block",
            name=name,
        )
        for name in fit.confounded
    ]


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
                say(
                    "{article} with {tool} has only one run, which may be a fluke; run it again",
                    article=article,
                    tool=tool,
                )
            )
        elif tool in several and len(set(held)) == 1:
            found.append(
                say(
                    "all runs of {article} with {tool} are in block {held}: what happened in that block "
                    "alone looks like the article's doing; run it in another block too",
                    article=article,
                    tool=tool,
                    held=held[0],
                )
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
        [
            say(
                "no run of {reference} counts in block {list}: it helps only by way of other articles",
                reference=reference,
                list=_list(bare),
            )
        ]
        if bare
        else []
    )


def _order_caveats(runs: Sequence[ScoredRun]) -> list[str]:
    """Blocks in which articles stand together, and bolts changed inside a block."""
    bolts: dict[tuple[str, str], set[str | None]] = defaultdict(set)
    for each in runs:
        bolts[each.tool, each.block].add(each.bolt)
    clumped = [f"{block} ({tool})" for block, tool in find_together(runs)]
    changed = [f"{block} ({tool})" for (tool, block), held in bolts.items() if len(held) > 1]
    found = []
    if clumped:
        found.append(
            say(
                "the runs of each article stand together in block {list}: drift there looks like a "
                "difference between articles; mix the order",
                list=_list(clumped),
            )
        )
    if changed:
        found.append(
            say(
                "the bolt was changed inside block {list}: what bolts differ by counts as scatter there",
                list=_list(changed),
            )
        )
    if 0 < sum(each.bolt_use is not None for each in runs) < len(runs):
        found.append(
            say("how often the bolt was used is known for some runs only, so it is left out of the fit")
        )
    return found


def _list(names: Iterable[str]) -> str:
    """A few names, and how many more."""
    held = list(names)
    return ", ".join(held[:6]) + (say(" and {held} more", held=len(held) - 6) if len(held) > 6 else "")
