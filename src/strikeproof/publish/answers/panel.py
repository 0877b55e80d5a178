"""Each question of a campaign as a panel: what is said, its tables, what they mean."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

from strikeproof.judge.questions.answers import Answers
from strikeproof.language import say
from strikeproof.publish.answers.ageing import ageing_notes, ageing_said
from strikeproof.publish.answers.best import (
    best_notes,
    best_sentence,
    best_sign,
    best_table,
    excluded_sentence,
)
from strikeproof.publish.answers.differences import differences_note, differences_table
from strikeproof.publish.answers.table import AnswerTable
from strikeproof.publish.answers.tools import (
    effects_notes,
    effects_said,
    effects_table,
    tools_notes,
    tools_said,
)
from strikeproof.publish.report import Report
from strikeproof.publish.texts import sentence
from strikeproof.publish.verdicts import Sign

__all__ = ["AnswerTable", "Panel", "answer_panels", "panels_of"]


@dataclass(frozen=True, slots=True)
class Panel:
    """One question: its key and heading, sentences with their signs, tables, and small print."""

    key: str
    heading: str
    said: tuple[tuple[Sign, str], ...]
    tables: tuple[AnswerTable, ...]
    notes: tuple[str, ...]


def answer_panels(answers: Answers | None, *, margin_percent: float, currency: str) -> tuple[Panel, ...]:
    """The panels that there is something to say in."""
    if answers is None:
        return ()
    if answers.refused:
        return (Panel("best", say("Which is best"), (), (), (sentence(answers.refused),)),)
    return tuple(_panels(answers, margin_percent, currency))


def _tools(answers: Answers, margin_percent: float) -> Iterator[Panel]:
    """Which tool, and whether the articles do the same with each."""
    tools, effects = answers.tools, answers.tool_effects
    if tools is not None:
        heading = say("Which tool does most with {article}", article=tools.article)
        said = tools_said(tools, margin_percent, answers.tools_with_excluded)
        yield Panel("tool", heading, tuple(said), (), tools_notes(tools))
    if effects is not None:
        yield Panel(
            "tools",
            say("Does it hold with each tool"),
            tuple(effects_said(effects, answers.reference)),
            (effects_table(effects, answers.reference),),
            effects_notes(effects),
        )


def panels_of(report: Report) -> tuple[Panel, ...]:
    """The panels of a report."""
    return answer_panels(
        report.answers,
        margin_percent=report.comparison.margin_percent,
        currency=report.campaign.currency,
    )


def _panels(answers: Answers, margin_percent: float, currency: str) -> Iterator[Panel]:
    if answers.best:
        tables = (best_table(each, currency) for each in answers.best)
        yield Panel(
            "best",
            say("Which is best"),
            tuple(
                (
                    best_sign(each),
                    best_sentence(each, margin_percent, currency)
                    + excluded_sentence(each, answers.best_with_excluded),
                )
                for each in answers.best
            ),
            tuple(each for each in tables if each is not None),
            best_notes(answers.best, answers.confidence),
        )
    yield from _tools(answers, margin_percent)
    if answers.pairs is not None:
        tools = dict.fromkeys(each.tool for each in answers.pairs.found)
        yield Panel(
            "pairs",
            say("Each two against each other"),
            (),
            tuple(differences_table(answers.pairs, tool) for tool in tools),
            (differences_note(answers.pairs),),
        )
    if answers.ageing:
        yield Panel(
            "ageing",
            say("Does {reference} change with the runs", reference=answers.reference),
            ageing_said(answers.ageing, answers.reference),
            (),
            ageing_notes(answers.ageing, answers.reference),
        )
