"""Gain over the reference with its simultaneous interval, a panel a tool, the margin of "same" shaded."""

from __future__ import annotations

from matplotlib.axes import Axes
from matplotlib.figure import FigureBase

from strikeproof.judge.records import ArticleResult
from strikeproof.language import say
from strikeproof.publish.colours import light
from strikeproof.publish.drawing import Chart, Rows, Sheet
from strikeproof.publish.panels import draw_panels, name_row, panels_height
from strikeproof.publish.report import Report
from strikeproof.publish.texts import clip, given
from strikeproof.publish.verdicts import gain_at, gain_words, range_words, sign_of
from strikeproof.quantity import write_percent

__all__ = ["gain_charts", "gain_numbers"]


def gain_charts(report: Report) -> tuple[Chart, ...]:
    """The one gain chart, when there is at least one gain to show."""
    panels = [(tool, rows) for tool in report.tools if (rows := _rows(report, tool))]
    if not panels:
        return ()

    margin = report.comparison.margin_percent
    tail = say("; shaded: within {margin} %", margin=given(margin)) if margin > 0 else ""

    def height(sheet: Sheet) -> int:
        return panels_height(sheet, [len(rows) for _, rows in panels], 50)

    def draw(figure: FigureBase, sheet: Sheet) -> None:
        def draw_row(cell: Axes, place: int, row: ArticleResult) -> None:
            if place == 0:
                cell.axvspan(-margin, margin, color=light("band"), lw=0)
            _draw_row(cell, sheet, place, row)

        draw_panels(figure, sheet, panels, report.gain_over + tail, draw_row)

    return (
        Chart(
            "gain",
            "found",
            say("Gain over {reference}", reference=report.comparison.reference),
            "; ".join(
                say(
                    "{article} with {tool} {gain}, {word}",
                    article=row.article,
                    tool=row.tool,
                    gain=gain_words(row),
                    word=sign_of(row).word,
                )
                for _, rows in panels
                for row in rows
            ),
            height,
            draw,
            rows=lambda: gain_numbers(report),
        ),
    )


def gain_numbers(report: Report) -> Rows:
    """Every result, also those that are not drawn."""
    heads = ("tool", "article", "verdict", "gain_percent", "low_percent", "high_percent", "p", "price")
    return (heads, *([getattr(each, head) for head in heads] for each in report.comparison.results))


def _rows(report: Report, tool: str) -> list[ArticleResult]:
    rows = [
        each
        for each in report.comparison.results
        if each.tool == tool and each.verdict != "reference" and gain_at(each) is not None
    ]
    return sorted(rows, key=lambda each: gain_at(each) or 0.0, reverse=True)


def _draw_row(cell: Axes, sheet: Sheet, place: int, row: ArticleResult) -> None:
    sign, gain = sign_of(row), gain_at(row) or 0.0
    colour = light(sign.role)
    if row.low_percent is not None and row.high_percent is not None:
        cell.plot([row.low_percent, row.high_percent], [place, place], color=colour, lw=2.2)
    face = light("paper") if sign.hollow else colour
    cell.plot([gain], [place], sign.marker, ms=8, mfc=face, mec=colour, mew=1.6)
    said = f"{write_percent(gain)} {sign.word}"
    if row.gain_percent is None:  # beyond what was watched nothing bounds it
        said = f"{range_words(row)} {sign.word}"
        away = -30 if row.low_percent is None else 30
        arrow = {"arrowstyle": "<-", "color": colour, "lw": 2.2}
        cell.annotate("", (gain, place), (away, 0), textcoords="offset points", arrowprops=arrow)
    name_row(cell, sheet, place, clip(row.article, 20), said)
