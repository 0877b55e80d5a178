"""Questions beside "article against the reference": the best, any two, and what a person writes."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import asdict, dataclass, replace
from pathlib import Path
from typing import Any

from strikeproof.desk.comparing.compare import (
    ComparisonOutcome,
    compare_campaign,
    scored_runs,
)
from strikeproof.desk.runs.judged import Progress
from strikeproof.errors import BadInput, NotFound
from strikeproof.judge.looks import Looks
from strikeproof.judge.questions.ageing import find_ageing
from strikeproof.judge.questions.answers import (
    Answers,
    answer_runs,
    best_of_tools,
    best_with_excluded,
    pairs_of_tools,
    tools_with_excluded,
)
from strikeproof.judge.questions.best import Best
from strikeproof.judge.questions.changed import find_changes
from strikeproof.judge.questions.differences import Difference, Differences, find_differences
from strikeproof.judge.questions.effects import Effects, fit_effects
from strikeproof.judge.questions.enough import CAMPAIGNS, Shape, find_enough, own_scatter
from strikeproof.judge.questions.specimens import judge_product
from strikeproof.judge.questions.tools import (
    ToolEffects,
    Tools,
    compare_tools,
    find_tool_effects,
    tools_apart,
)
from strikeproof.judge.questions.written import read_asked
from strikeproof.publish.answers import Panel, answer_panels
from strikeproof.publish.answers.changed import changed_panel
from strikeproof.publish.answers.differences import difference_sentence, difference_sign
from strikeproof.publish.answers.enough import Prices, enough_panel
from strikeproof.publish.answers.specimens import product_panel
from strikeproof.publish.answers.tools import no_effects_said

__all__ = [
    "Asking",
    "EnoughWishes",
    "answer_outcome",
    "ask_ageing",
    "ask_best",
    "ask_change",
    "ask_difference",
    "ask_enough",
    "ask_pairs",
    "ask_product",
    "ask_tools",
    "lines_of",
]


@dataclass(frozen=True, slots=True, eq=False)
class Asking:
    """An answer for a front: the comparison it rests on, what is said of it, its figures as JSON."""

    outcome: ComparisonOutcome
    panel: Panel
    figures: dict[str, Any]

    @property
    def said(self) -> tuple[str, ...]:
        """The sentences."""
        return tuple(text for _sign, text in self.panel.said)

    def as_json(self) -> dict[str, Any]:
        """As the command line prints it."""
        outcome = self.outcome
        return {
            "campaign": outcome.judged.campaign.name,
            "reference": outcome.comparison.reference,
            "better": "less" if _timed(outcome) else "more",
            "margin_percent": outcome.comparison.margin_percent,
            "rig": outcome.comparison.rig.state,
            **self.figures,
            "says": list(self.said),
            "warnings": list(outcome.warnings),
        }

    def lines(self) -> Iterator[list[tuple[str, ...]]]:
        """The tables as rows of text, a head first."""
        yield from lines_of(self.panel)


def lines_of(panel: Panel) -> Iterator[list[tuple[str, ...]]]:
    """The tables of a panel as rows of text, a head first."""
    for table in panel.tables:
        rows = (tuple(map(_on_one_line, cells)) for _sign, cells in table.rows)
        yield [tuple(each[:1].lower() + each[1:] for each in table.heads), *rows]


def _on_one_line(cell: tuple[str, ...]) -> str:
    return f"{cell[0]} ({'; '.join(cell[1:])})" if cell[1:] else cell[0]


def answer_outcome(outcome: ComparisonOutcome) -> Answers:
    """What can be answered of a compared campaign without being asked."""
    campaign = outcome.judged.campaign
    return answer_runs(
        scored_runs(outcome.judged),
        campaign.reference,
        margin_percent=campaign.margin_percent,
        confidence=outcome.comparison.interval_confidence,
        timed=_timed(outcome),
        prices=_prices(outcome),
        unconfirmed=_unconfirmed(outcome),
    )


def ask_best(workspace: Path, name: str | None = None, progress: Progress | None = None) -> Asking:
    """Which article is the best with each tool.

    Raises
    ------
    StrikeproofError
        If there is no such campaign, or its runs cannot be asked.
    """
    outcome = compare_campaign(workspace, name, progress)
    level = outcome.comparison.interval_confidence
    found = best_of_tools(
        _effects(outcome),
        confidence=outcome.comparison.interval_confidence,
        timed=_timed(outcome),
        prices=_prices(outcome),
        unconfirmed=_unconfirmed(outcome),
    )
    every = best_with_excluded(
        scored_runs(outcome.judged),
        outcome.comparison.reference,
        confidence=level,
        timed=_timed(outcome),
        unconfirmed=_unconfirmed(outcome),
    )
    (panel,) = _panels(outcome, Answers(found, None, "", level, best_with_excluded=every))
    return Asking(outcome, panel, _best_json(found, outcome.comparison.interval_confidence))


def ask_pairs(
    workspace: Path,
    articles: Sequence[str] = (),
    name: str | None = None,
    progress: Progress | None = None,
) -> Asking:
    """Each two of some articles against each other; of all, where none is named.

    Raises
    ------
    StrikeproofError
        If there is no such campaign, its runs cannot be asked, or an article is not there.
    """
    outcome = compare_campaign(workspace, name, progress)
    effects = _effects(outcome)
    for article in articles:
        if article not in _known(effects):
            raise NotFound("article", article, _known(effects))
    found = pairs_of_tools(
        effects,
        margin_percent=outcome.comparison.margin_percent,
        confidence=outcome.comparison.interval_confidence,
        timed=_timed(outcome),
        articles=articles,
        unconfirmed=_unconfirmed(outcome),
    )
    if found is None:
        raise BadInput(
            "no two of them ran with one tool",
            where="articles",
            allowed="two or more that did",
            fix="name others",
        )
    panel = _pairs_panel(outcome, found, told=len(found.found) <= len(effects.tools))
    return Asking(outcome, panel, _pairs_json(found))


def ask_tools(
    workspace: Path, article: str | None = None, name: str | None = None, progress: Progress | None = None
) -> Asking:
    """Which tool does most with one article (else the reference), and whether each tool has the same gains.

    Raises
    ------
    StrikeproofError
        If there is no such campaign, its runs cannot be asked, or no two tools drove the article.
    """
    outcome = compare_campaign(workspace, name, progress)
    effects = _effects(outcome)
    article = article or outcome.comparison.reference
    if article not in _known(effects):
        raise NotFound("article", article, _known(effects))
    margin, level, timed = (
        outcome.comparison.margin_percent,
        outcome.comparison.interval_confidence,
        _timed(outcome),
    )
    found = compare_tools(
        scored_runs(outcome.judged), article, margin_percent=margin, confidence=level, timed=timed
    )
    if found is None:
        raise BadInput(
            f"a single tool drove {article}",
            where="tools",
            allowed="two or more",
            fix="name another article",
        )
    apart = find_tool_effects(effects, margin_percent=margin, confidence=level, timed=timed)
    every = tools_with_excluded(
        scored_runs(outcome.judged), article, margin_percent=margin, confidence=level, timed=timed
    )
    answers = Answers(
        (), None, "", level, outcome.comparison.reference, found, apart, tools_with_excluded=every
    )
    first, *rest = _panels(outcome, answers)
    untold = () if apart is not None else (no_effects_said(tools_apart(effects)),)
    panel = replace(
        first,
        said=(*(each for one in (first, *rest) for each in one.said), *untold),
        tables=tuple(each for one in rest for each in one.tables),
        notes=tuple(each for one in (first, *rest) for each in one.notes),
    )
    return Asking(outcome, panel, _tools_json(found, apart))


def ask_product(
    workspace: Path, specimens: Sequence[str], name: str | None = None, progress: Progress | None = None
) -> Asking:
    """What specimens say of their product against the reference, with every tool that ran all of them.

    Raises
    ------
    StrikeproofError
        If there is no such campaign, its runs cannot be asked, or they cannot be judged as specimens.
    """
    outcome = compare_campaign(workspace, name, progress)
    effects, level = _effects(outcome), outcome.comparison.interval_confidence
    for article in specimens:
        if article not in _known(effects):
            raise NotFound("article", article, _known(effects))
    tools = [tool for tool in effects.tools if set(specimens) <= set(effects.articles(tool))]
    share = 1.0 - (1.0 - level) / max(len(tools), 1)
    found = [
        judge_product(
            effects,
            specimens,
            tool,
            margin_percent=outcome.comparison.margin_percent,
            confidence=share,
            timed=_timed(outcome),
        )
        for tool in tools or effects.tools[:1]
    ]
    reference, margin = outcome.comparison.reference, outcome.comparison.margin_percent
    panel = product_panel(found, reference, margin)
    return Asking(outcome, panel, {"confidence": level, "products": [asdict(each) for each in found]})


def ask_ageing(
    workspace: Path, article: str | None = None, name: str | None = None, progress: Progress | None = None
) -> Asking:
    """What the score of one article (else the reference) changes by from run to run, with every tool.

    Raises
    ------
    StrikeproofError
        If there is no such campaign, its runs cannot be asked, or no tool drove the article.
    """
    outcome = compare_campaign(workspace, name, progress)
    effects, level = _effects(outcome), outcome.comparison.interval_confidence
    article = article or outcome.comparison.reference
    if article not in _known(effects):
        raise NotFound("article", article, _known(effects))
    found = find_ageing(scored_runs(outcome.judged), article, confidence=level, timed=_timed(outcome))
    figures = {"article": article, "confidence": level, "ageing": [asdict(each) for each in found]}
    (panel,) = _panels(outcome, Answers((), None, "", level, article, ageing=found))
    return Asking(outcome, panel, figures)


@dataclass(frozen=True, slots=True)
class EnoughWishes:
    """What is asked of how many blocks are enough.

    Attributes
    ----------
    difference_percent
        Not to be missed; None takes the protocol's smallest difference, else the margin.
    power
        How often it is to be shown.
    hour_price, bolt_price
        In the campaign's currency; None where they do not count.
    """

    difference_percent: float | None = None
    power: float = 0.8
    hour_price: float | None = None
    bolt_price: float | None = None


def ask_enough(
    workspace: Path,
    wishes: EnoughWishes | None = None,
    name: str | None = None,
    progress: Progress | None = None,
) -> Asking:
    """How many blocks of this campaign's design show a difference, by simulation with its own scatter.

    Raises
    ------
    StrikeproofError
        If there is no such campaign, its runs cannot be asked or say nothing of their scatter, or a wish is
        out of range.
    """
    wishes = wishes or EnoughWishes()
    for key, price in (("hour", wishes.hour_price), ("bolt", wishes.bolt_price)):
        if price is not None and not 0.0 <= price < 1e9:
            raise BadInput(f"{price:g}", where=f"price of a {key}", allowed="0 or more")
    asked = wishes.difference_percent
    if asked is not None and not asked > 0.0:
        raise BadInput(f"{asked:g} %", where="difference", allowed="more than 0 %")
    outcome = compare_campaign(workspace, name, progress)
    effects, campaign = _effects(outcome), outcome.judged.campaign
    protocol = campaign.protocol
    shape = Shape(
        tuple(each.name for each in campaign.articles if each.name in _known(effects)),
        effects.tools,
        outcome.comparison.reference,
        outcome.comparison.confidence
        if protocol.looks is None
        else 1.0 - _last_level(protocol.looks, 1.0 - outcome.comparison.confidence),
        campaign.bolt.runs_per_bolt,
        protocol.duration_s + (protocol.cool_down_s or 0.0),
    )
    wanted = wishes.difference_percent or protocol.smallest_difference_percent or campaign.margin_percent
    found = find_enough(
        own_scatter(effects),
        shape,
        wanted,
        power=wishes.power,
        seed=protocol.seed or 0,
        campaigns=CAMPAIGNS,
    )
    made = min(len({each.block for each in effects.rows if each.tool == tool}) for tool in effects.tools)
    prices = Prices(wishes.hour_price, wishes.bolt_price, campaign.currency)
    figures = {
        "difference_percent": found.difference_percent,
        "power": found.power,
        "scatter_percent": found.scatter_percent,
        "simulated_campaigns": found.campaigns,
        "made": made,
        "needed": None if found.needed is None else found.needed.blocks,
        "tried": [asdict(each) | {"cost": prices.cost(each)} for each in found.tried],
    }
    return Asking(outcome, enough_panel(found, made, effects.fit.degrees_of_freedom, prices), figures)


def _last_level(looks: int, level: float) -> float:
    """Of the last planned look; where any are allowed, of one after as many blocks as are expected."""
    return Looks(looks, 1, 1).level(level)


def ask_change(
    workspace: Path, before: str, after: str, name: str | None = None, progress: Progress | None = None
) -> Asking:
    """What a change to a piece did, with every tool that drove both states.

    Raises
    ------
    StrikeproofError
        If there is no such campaign or article, or its runs cannot be asked.
    """
    outcome = compare_campaign(workspace, name, progress)
    effects, comparison = _effects(outcome), outcome.comparison
    for article in (before, after):
        if article not in _known(effects):
            raise NotFound("article", article, _known(effects))
    if before == after:
        raise BadInput(before, where="after", allowed="another article than before")
    found = find_changes(
        scored_runs(outcome.judged),
        comparison.reference,
        before,
        after,
        margin_percent=comparison.margin_percent,
        confidence=comparison.interval_confidence,
        timed=_timed(outcome),
        unconfirmed=_unconfirmed(outcome),
    )
    changes = [asdict(each) | {"difference": _difference_json(each.difference)} for each in found]
    figures = {"confidence": comparison.interval_confidence, "changes": changes}
    return Asking(outcome, changed_panel(found, comparison.reference, comparison.margin_percent), figures)


def ask_difference(
    workspace: Path, texts: Sequence[str], name: str | None = None, progress: Progress | None = None
) -> Asking:
    """Combinations of articles that a person wrote, each with every tool it ran with.

    Raises
    ------
    StrikeproofError
        If there is no such campaign, its runs cannot be asked, or a text cannot be read.
    """
    if not texts:
        raise BadInput("nothing is asked", where="difference", allowed="one or more", fix="write one")
    outcome = compare_campaign(workspace, name, progress)
    effects = _effects(outcome)
    asked = [read_asked(text, _known(effects)) for text in texts]
    wanted = [
        (each, tool)
        for each in asked
        for tool in effects.tools
        if {article for article, _ in each.weights} <= set(effects.articles(tool))
    ]
    wanted = wanted or [(each, tool) for each in asked for tool in effects.tools]
    found = find_differences(
        effects,
        wanted,
        margin_percent=outcome.comparison.margin_percent,
        confidence=outcome.comparison.interval_confidence,
        timed=_timed(outcome),
        unconfirmed=_unconfirmed(outcome),
    )
    return Asking(outcome, _pairs_panel(outcome, found, told=True), _pairs_json(found))


def _pairs_panel(outcome: ComparisonOutcome, found: Differences, *, told: bool) -> Panel:
    """The panel of differences, said in sentences too where they are few."""
    panel = _panels(outcome, Answers((), found, "", found.confidence))[-1]
    said = tuple(
        (difference_sign(each), difference_sentence(each, found.margin_percent)) for each in found.found
    )
    return replace(panel, heading="The answer", said=said) if told else panel


def _panels(outcome: ComparisonOutcome, answers: Answers) -> tuple[Panel, ...]:
    return answer_panels(
        answers,
        margin_percent=outcome.comparison.margin_percent,
        currency=outcome.judged.campaign.currency,
    )


def _effects(outcome: ComparisonOutcome) -> Effects:
    return fit_effects(scored_runs(outcome.judged), outcome.judged.campaign.reference)


def _unconfirmed(outcome: ComparisonOutcome) -> frozenset[tuple[str, str]]:
    return frozenset((each.article, each.tool) for each in outcome.comparison.results if each.unconfirmed)


def _known(effects: Effects) -> tuple[str, ...]:
    return tuple(dict.fromkeys(name for tool in effects.tools for name in effects.articles(tool)))


def _timed(outcome: ComparisonOutcome) -> bool:
    return outcome.judged.campaign.protocol.score.kind == "time to"


def _prices(outcome: ComparisonOutcome) -> dict[str, float]:
    return {each.name: each.price for each in outcome.judged.campaign.articles if each.price is not None}


def _best_json(best: Sequence[Best], confidence: float) -> dict[str, Any]:
    """The best with each tool, `confidence` for all of them together."""
    return {
        "confidence": confidence,
        "best": [
            {
                "tool": each.tool,
                "may_be_best": [contender.article for contender in each.possible],
                "unknown": each.unknown,
                "left_out": [{"article": article, "why": why} for article, why in each.left_out],
                "articles": [
                    {
                        "article": contender.article,
                        "runs": contender.runs,
                        "against_best_percent": contender.against_best_percent,
                        "behind_percent": contender.behind_percent,
                        "ahead_percent": contender.ahead_percent,
                        "place_first": contender.ranks[0],
                        "place_last": contender.ranks[1],
                        "chance_best": contender.chance,
                        "price": contender.price,
                    }
                    for contender in each.contenders
                ],
            }
            for each in best
        ],
    }


def _pairs_json(found: Differences) -> dict[str, Any]:
    """Differences with their common confidence, as JSON."""
    return {
        "confidence": found.confidence,
        "comparisons": found.comparisons,
        "critical_value": found.critical_value,
        "degrees_of_freedom": found.degrees_of_freedom,
        "differences": [_difference_json(each) for each in found.found],
    }


def _difference_json(each: Difference) -> dict[str, Any]:
    return {
        "asked": each.asked.text,
        "weights": dict(each.asked.weights),
        "tool": each.tool,
        "percent": each.percent,
        "low_percent": each.low_percent,
        "high_percent": each.high_percent,
        "p": each.p,
        "verdict": each.verdict,
        "why_not": each.why_not,
    }


def _tools_json(tools: Tools, effects: ToolEffects | None) -> dict[str, Any]:
    """The tools with one article, and how the articles' ratios to the reference differ between them."""
    return {
        "article": tools.article,
        "confidence": tools.differences.confidence,
        "paired": tools.paired,
        "hidden": list(tools.hidden),
        "unknown": tools.best.unknown,
        "tools": [
            {
                "tool": each.article,
                "blocks": each.runs,
                "against_best_percent": each.against_best_percent,
                "behind_percent": each.behind_percent,
                "ahead_percent": each.ahead_percent,
                "chance_best": each.chance,
            }
            for each in tools.best.contenders
        ],
        "differences": [
            {"tool": pair[0], "other": pair[1], **_difference_json(each)}
            | {"tool": pair[0], "article": tools.article}
            for each in tools.differences.found
            if (pair := each.asked.pair)
        ],
        "effects": None
        if effects is None
        else {
            "verdict": effects.verdict,
            "tools": list(effects.tools),
            "left_out": [{"tool": tool, "why": why} for tool, why in effects.left_out],
            "f": effects.f,
            "degrees_of_freedom": list(effects.freedoms),
            "p_f": effects.p_f,
            "differences": [asdict(each) for each in effects.found],
        },
    }
