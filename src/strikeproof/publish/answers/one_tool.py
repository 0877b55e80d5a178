"""One tool by itself: its result sheet, its gains, its place among the tools, and its course, in words."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

from strikeproof.judge.questions.ageing import Ageing
from strikeproof.judge.questions.best import Contender
from strikeproof.judge.questions.tool_sheet import SheetLine
from strikeproof.judge.records import ArticleResult
from strikeproof.publish.answers.ageing import ageing_said
from strikeproof.publish.answers.panel import Panel
from strikeproof.publish.answers.table import AnswerTable
from strikeproof.publish.texts import count
from strikeproof.publish.verdicts import SIGNS, Sign, gain_words, sign_of
from strikeproof.quantity import unit_label, write_number, write_percent

__all__ = ["OneTool", "one_tool_panel"]

USUAL_RUNS = 25


@dataclass(frozen=True, slots=True)
class OneTool:
    """What is known of one tool.

    `place` is its place among the tools with the reference; None where a single tool ran, or their order
    hides it. `unit` is that of the scores.
    """

    tool: str
    reference: str
    unit: str
    lines: tuple[SheetLine, ...]
    supplies: tuple[SheetLine, ...]
    results: tuple[ArticleResult, ...]
    place: Contender | None
    ageing: tuple[Ageing, ...]


def one_tool_panel(found: OneTool) -> Panel:
    """The sheet, what the tool does among others, and what the figures are not."""
    tables = [_results(found), _lines("Scores by article", "Article", found.lines, found.unit)]
    if len(found.supplies) > 1:
        tables.append(_lines(f"Scores of {found.reference} by supply", "Supply", found.supplies, found.unit))
    return Panel(
        "one tool", f"The tool {found.tool}", tuple(_said(found)), tuple(tables), tuple(_notes(found))
    )


def _said(found: OneTool) -> Iterator[tuple[Sign, str]]:
    place = found.place
    if place is not None:
        first, last = place.ranks
        places = f"place {first}" if first == last else f"place {first} to {last}"
        ends = f"{write_percent(place.behind_percent)} to {write_percent(place.ahead_percent)}"
        against = f"{write_percent(place.against_best_percent)} ({ends}) against the best of the others"
        sign = SIGNS["higher"] if first == last == 1 else SIGNS["cannot tell"]
        yield sign, f"With {found.reference} {found.tool} has {places} among the tools: {against}."
    yield from ageing_said(found.ageing, found.reference)


def _results(found: OneTool) -> AnswerTable:
    rows = tuple(
        (sign_of(each), ((each.article,), (sign_of(each).word,), (gain_words(each),), (f"{each.runs}",)))
        for each in found.results
    )
    return AnswerTable(f"Gains over {found.reference}", ("Article", "Verdict", "Gain", "Runs"), rows, 1)


def _lines(caption: str, head: str, lines: Sequence[SheetLine], unit: str) -> AnswerTable:
    rows = tuple((SIGNS["reference"], _cells(each)) for each in lines)
    heads = (head, "Runs", f"Mean [{unit_label(unit)}]", "Deviation", "Lowest", "Highest", "6 s / mean")
    return AnswerTable(caption, heads, rows, 0)


def _cells(each: SheetLine) -> tuple[tuple[str, ...], ...]:
    deviation = "–" if each.deviation is None else write_number(each.deviation, 3)
    wide = "–" if each.scatter_percent is None else f"{each.scatter_percent:.1f} %"
    numbers = (write_number(each.mean), deviation, write_number(each.lowest), write_number(each.highest))
    return tuple((text,) for text in (each.name, f"{each.runs}", *numbers, wide))


def _notes(found: OneTool) -> Iterator[str]:
    most = max((each.runs for each in found.lines), default=0)
    yield (
        "Mean, standard deviation and 6 s over the mean are the figures of ISO 5393 for a rotary tool. "
        f"This is no test by it: that asks for {USUAL_RUNS} runs on a stiff and on a soft joint, here are "
        f"{count(most, 'run')} of an article at most, in blocks that differ."
    )
    if found.place is None:
        yield "Its place among the tools is not known: a single tool ran, or their order hides it."
    if len(found.supplies) > 1:
        yield "Supplies were not shuffled: what differs between them may have another cause."
