"""Gain over the reference with its simultaneous interval, a panel a tool, the margin of "same" shaded."""

from __future__ import annotations

from matplotlib.axes import Axes
from matplotlib.figure import FigureBase

from strikeproof.judge.records import ArticleResult
from strikeproof.publish.colours import light
from strikeproof.publish.drawing import Chart, Rows, Sheet, finish_axes
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

    def height(sheet: Sheet) -> int:
        row = 40 if sheet.narrow else 30
        return sum(row * len(rows) + 46 for _, rows in panels) + 50

    def draw(figure: FigureBase, sheet: Sheet) -> None:
        _draw(figure, sheet, report, panels)

    return (
        Chart(
            "gain",
            "found",
            f"Gain over {report.comparison.reference}",
            "; ".join(
                f"{row.article} with {row.tool} {gain_words(row)}, {sign_of(row).word}"
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


def _draw(
    figure: FigureBase, sheet: Sheet, report: Report, panels: list[tuple[str, list[ArticleResult]]]
) -> None:
    shares = [len(rows) + 0.6 for _, rows in panels]
    cells = figure.subplots(len(panels), 1, sharex=True, squeeze=False, height_ratios=shares)[:, 0]
    for cell, (tool, rows) in zip(cells, panels, strict=True):
        _draw_panel(cell, sheet, rows, report.comparison.margin_percent)
        cell.set_title(f"with {clip(tool, 40)}", fontweight="bold")
        finish_axes(cell)
        cell.spines["left"].set_visible(False)
    margin = given(report.comparison.margin_percent)
    tail = f"; shaded: within {margin} %" if report.comparison.margin_percent > 0 else ""
    figure.supxlabel(f"{report.gain_over}{tail}", fontsize=sheet.letters)


def _draw_panel(cell: Axes, sheet: Sheet, rows: list[ArticleResult], margin: float) -> None:
    cell.axvspan(-margin, margin, color=light("band"), lw=0)
    cell.axvline(0.0, color=light("soft"), lw=1.0)
    for place, row in enumerate(rows):
        _draw_row(cell, sheet, place, row)
    cell.set_ylim(len(rows) - 0.4, -0.75 if sheet.narrow else -0.6)
    cell.grid(visible=False, axis="y")
    if sheet.narrow:
        cell.set_yticks([])
    else:
        cell.set_yticks(range(len(rows)), [clip(row.article, 24) for row in rows])


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
    across = cell.get_yaxis_transform()
    if sheet.narrow:
        text = f"{clip(row.article, 20)}: {said}"
        cell.text(0.0, place - 0.3, text, transform=across, va="bottom", ha="left", fontsize=sheet.letters)
    else:
        cell.text(1.015, place, said, transform=across, va="center", ha="left")
