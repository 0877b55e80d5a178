"""What each article gains with each tool, side by side: where the lines cross over, it hangs on the tool."""

from __future__ import annotations

from typing import Final

from matplotlib.axes import Axes
from matplotlib.figure import FigureBase

from strikeproof.judge.questions.tools import Apart
from strikeproof.judge.records import ArticleResult
from strikeproof.language import say
from strikeproof.publish.answers.tools import apart_words
from strikeproof.publish.colours import light
from strikeproof.publish.drawing import Chart, Rows, Sheet, finish_axes
from strikeproof.publish.panels import legend_above, name_row
from strikeproof.publish.report import Report
from strikeproof.publish.texts import clip
from strikeproof.publish.verdicts import SIGNS, gain_words
from strikeproof.quantity import write_percent

__all__ = ["tool_charts"]

_MARKERS: Final = "osD^vP"
_COLOURS: Final = ("accent", "ink", "soft")


def tool_charts(report: Report) -> tuple[Chart, ...]:
    """The one chart, where several tools ran the same articles."""
    effects = report.answers.tool_effects if report.answers else None
    if effects is None or not report.runs:
        return ()
    rows = _rows(report)
    names = sorted(
        rows, key=lambda name: -max(abs(each.percent) for each in effects.found if each.article == name)
    )
    said = {name: _said([each for each in effects.found if each.article == name]) for name in names}

    def height(sheet: Sheet) -> int:
        return (54 if sheet.narrow else 38) * len(names) + 96

    def draw(figure: FigureBase, sheet: Sheet) -> None:
        cell = figure.subplots()
        cell.axvline(0.0, color=light("soft"), lw=1.0)
        for place, name in enumerate(names):
            _draw_row(cell, report, place, rows[name])
            name_row(cell, sheet, place, clip(name, 20), said[name], above=0.34)
        cell.set_ylim(len(names) - 0.4, -0.9 if sheet.narrow else -0.6)
        cell.grid(visible=False, axis="y")
        cell.set_yticks(
            [] if sheet.narrow else range(len(names)),
            [] if sheet.narrow else [clip(each, 24) for each in names],
        )
        finish_axes(cell, x=report.gain_over)
        cell.spines["left"].set_visible(False)
        legend_above(figure, sheet, cell, 1 if sheet.narrow else 3)

    words = [
        say(
            "{article} with {tool} {gain}",
            article=each.article,
            tool=each.tool,
            gain=gain_words(each),
        )
        for name in names
        for each in rows[name]
    ]
    return (
        Chart(
            "tools",
            "tools",
            say("What each article gains with each tool"),
            "; ".join([*words, *(f"{each.article}: {apart_words(each)}" for each in effects.found)]),
            height,
            draw,
            say(
                "A bar is the interval of a gain, all comparisons together. The words are the largest "
                "difference between two tools and its verdict."
            ),
            rows=lambda: _numbers(effects.found),
        ),
    )


def _rows(report: Report) -> dict[str, list[ArticleResult]]:
    """The results of the articles that ran with several tools, with those tools."""
    effects = report.answers.tool_effects if report.answers else None
    shared = {
        (each.article, tool)
        for each in (effects.found if effects else ())
        for tool in (each.tool, each.other)
    }
    found: dict[str, list[ArticleResult]] = {}
    for each in report.comparison.results:
        if (each.article, each.tool) in shared and each.gain_percent is not None:
            found.setdefault(each.article, []).append(each)
    return found


def _said(apart: list[Apart]) -> str:
    largest = max(apart, key=lambda each: abs(each.percent))
    differs = largest.verdict in ("higher", "lower")
    word = say("differs") if differs else SIGNS[largest.verdict].word
    return f"{write_percent(largest.percent)} {word}"


def _draw_row(cell: Axes, report: Report, place: int, rows: list[ArticleResult]) -> None:
    """One article: its gain with each tool, a line from one to the next."""
    tools = list(dict.fromkeys(each.tool for each in report.comparison.results))
    step = 0.5 / max(len(tools), 2)
    at = {tool: place + step * (i - (len(tools) - 1) / 2) for i, tool in enumerate(tools)}
    ordered = sorted(rows, key=lambda each: at[each.tool])
    cell.plot(
        [each.gain_percent or 0.0 for each in ordered],
        [at[each.tool] for each in ordered],
        color=light("soft"),
        lw=0.9,
        ls=":",
    )
    for each in ordered:
        number = tools.index(each.tool)
        colour = light(_COLOURS[number % len(_COLOURS)])
        if each.low_percent is not None and each.high_percent is not None:
            cell.plot([each.low_percent, each.high_percent], [at[each.tool]] * 2, color=colour, lw=1.8)
        cell.plot(
            [each.gain_percent or 0.0],
            [at[each.tool]],
            _MARKERS[number % len(_MARKERS)],
            ms=6.5,
            mfc=light("paper") if number else colour,
            mec=colour,
            mew=1.5,
            label=say("with {tool}", tool=clip(each.tool, 24)) if place == 0 else None,
        )


def _numbers(apart: tuple[Apart, ...]) -> Rows:
    heads = ("article", "tool", "other", "percent", "low_percent", "high_percent", "p", "verdict")
    return (heads, *([getattr(each, head) for head in heads] for each in apart))
