"""All that is answered of a campaign without being asked: the best with each tool, and all pairs."""

from __future__ import annotations

from collections.abc import Collection, Mapping, Sequence
from dataclasses import dataclass, replace

import numpy as np

from strikeproof.errors import BadInput, TooFewRuns
from strikeproof.judge.model import Pair
from strikeproof.judge.questions.ageing import Ageing, find_ageing
from strikeproof.judge.questions.best import Best, find_best
from strikeproof.judge.questions.differences import Differences, all_pairs, find_differences
from strikeproof.judge.questions.effects import Effects, fit_effects
from strikeproof.judge.questions.tools import ToolEffects, Tools, compare_tools, find_tool_effects
from strikeproof.judge.records import ScoredRun

__all__ = [
    "Answers",
    "answer_runs",
    "best_of_tools",
    "best_with_excluded",
    "pairs_of_tools",
    "tools_with_excluded",
]


@dataclass(frozen=True, slots=True)
class Answers:
    """Each question with its own simultaneous confidence; `refused` says why there are none.

    `confidence` is that of all that one question answers together. `tools` compares them with the reference;
    both answers about tools are None where a single tool ran. `best_with_excluded` and
    `tools_with_excluded` count the excluded runs too, and are empty or None where there are none.

    `pairs` is None where no two articles ran with one tool. `ageing` is that of the reference, empty where no
    tool has enough blocks.
    """

    best: tuple[Best, ...]
    pairs: Differences | None
    refused: str
    confidence: float
    reference: str = ""
    tools: Tools | None = None
    tool_effects: ToolEffects | None = None
    best_with_excluded: tuple[Best, ...] = ()
    tools_with_excluded: Tools | None = None
    ageing: tuple[Ageing, ...] = ()


def answer_runs(
    runs: Sequence[ScoredRun],
    reference: str,
    *,
    margin_percent: float,
    confidence: float,
    timed: bool = False,
    prices: Mapping[str, float] | None = None,
    unconfirmed: Collection[Pair] = (),
) -> Answers:
    """Answer what can be answered of the runs that count.

    Parameters
    ----------
    runs
        All runs of one campaign.
    reference
        What the comparison sets the others against.
    margin_percent
        Differences within plus or minus this are "same".
    confidence
        Of all that one question answers together.
    timed
        Whether scores are times, of which less is better.
    prices
        Price of each article in the campaign's currency.
    unconfirmed
        Articles, each with its tool, whose difference from the reference one of two tests alone shows.
    """
    try:
        effects = fit_effects(runs, reference)
    except (BadInput, TooFewRuns) as why:
        return Answers((), None, str(why), confidence)
    ageing = find_ageing(runs, reference, confidence=confidence, timed=timed)
    return Answers(
        best_of_tools(effects, confidence=confidence, timed=timed, prices=prices, unconfirmed=unconfirmed),
        pairs_of_tools(
            effects,
            margin_percent=margin_percent,
            confidence=confidence,
            timed=timed,
            unconfirmed=unconfirmed,
        ),
        "",
        confidence,
        reference,
        compare_tools(runs, reference, margin_percent=margin_percent, confidence=confidence, timed=timed),
        find_tool_effects(effects, margin_percent=margin_percent, confidence=confidence, timed=timed),
        best_with_excluded(runs, reference, confidence=confidence, timed=timed, unconfirmed=unconfirmed),
        tools_with_excluded(
            runs, reference, margin_percent=margin_percent, confidence=confidence, timed=timed
        ),
        ageing if any(each.percent is not None for each in ageing) else (),
    )


def best_with_excluded(
    runs: Sequence[ScoredRun],
    reference: str,
    *,
    confidence: float,
    timed: bool,
    unconfirmed: Collection[Pair] = (),
) -> tuple[Best, ...]:
    """The best with each tool if the excluded runs counted too; empty where there are none, or they cannot.

    Parameters
    ----------
    runs
        All runs of one campaign.
    reference
        What the comparison sets the others against.
    confidence
        Of what is said of all tools together.
    timed
        Whether scores are times, of which less is better.
    unconfirmed
        As of `answer_runs`.
    """
    every = _with_excluded(runs)
    if not every:
        return ()
    return best_of_tools(
        fit_effects(every, reference),
        confidence=confidence,
        timed=timed,
        prices=None,
        unconfirmed=unconfirmed,
    )


def tools_with_excluded(
    runs: Sequence[ScoredRun], article: str, *, margin_percent: float, confidence: float, timed: bool
) -> Tools | None:
    """The tools with one article if the excluded runs counted too; None where there are none, or they cannot.

    Parameters
    ----------
    runs
        All runs of one campaign.
    article
        What every tool drove.
    margin_percent, confidence, timed
        As of `compare_tools`.
    """
    every = _with_excluded(runs)
    if not any(each.set_aside and each.article == article for each in runs) or not every:
        return None
    return compare_tools(every, article, margin_percent=margin_percent, confidence=confidence, timed=timed)


def _with_excluded(runs: Sequence[ScoredRun]) -> list[ScoredRun]:
    """All runs with a score as if they counted; none where none is excluded, or one has no own score."""
    every = [replace(each, set_aside=False) for each in runs if np.isfinite(each.score) and each.score > 0.0]
    usable = any(each.set_aside for each in runs) and not any(each.not_reached for each in every)
    return every if usable else []


def best_of_tools(
    effects: Effects,
    *,
    confidence: float,
    timed: bool,
    prices: Mapping[str, float] | None,
    unconfirmed: Collection[Pair] = (),
) -> tuple[Best, ...]:
    """The best with each tool.

    Parameters
    ----------
    effects
        The fit that is asked.
    confidence
        Of what is said of all tools together.
    timed
        Whether scores are times, of which less is better.
    prices
        Price of each article in the campaign's currency.
    unconfirmed
        As of `answer_runs`: none of these rules out the reference, nor does the reference rule it out.
    """
    level = 1.0 - (1.0 - confidence) / len(effects.tools)
    return tuple(
        find_best(
            effects,
            tool,
            confidence=level,
            timed=timed,
            prices=prices,
            doubtful={
                frozenset((article, effects.reference)) for article, with_ in unconfirmed if with_ == tool
            },
        )
        for tool in effects.tools
    )


def pairs_of_tools(
    effects: Effects,
    *,
    margin_percent: float,
    confidence: float,
    timed: bool,
    articles: Sequence[str] = (),
    unconfirmed: Collection[Pair] = (),
) -> Differences | None:
    """All pairs with each tool, the better one first; None where no two articles ran with one tool.

    Parameters
    ----------
    effects
        The fit that is asked.
    margin_percent
        Differences within plus or minus this are "same".
    confidence
        Of all pairs of all tools together.
    timed
        Whether scores are times, of which less is better.
    articles
        Of which pairs are made; of all, where none is named.
    unconfirmed
        As of `find_differences`.
    """
    asked = [
        (pair, tool)
        for tool in effects.tools
        for pair in all_pairs(
            [name for name in effects.ranked(tool, timed=timed) if not articles or name in articles]
        )
    ]
    if not asked:
        return None
    return find_differences(
        effects,
        asked,
        margin_percent=margin_percent,
        confidence=confidence,
        timed=timed,
        unconfirmed=unconfirmed,
    )
