"""Price against gain: what more money buys, a panel a tool."""

from __future__ import annotations

from matplotlib.axes import Axes
from matplotlib.figure import FigureBase

from strikeproof.judge.records import ArticleResult
from strikeproof.publish.colours import light
from strikeproof.publish.drawing import Chart, Sheet, finish_axes
from strikeproof.publish.report import Report
from strikeproof.publish.texts import clip
from strikeproof.publish.verdicts import sign_of

__all__ = ["price_charts"]


def price_charts(report: Report) -> tuple[Chart, ...]:
    """The one price chart, when at least two articles have a price and a gain."""
    panels = [(tool, rows) for tool in report.tools if len(rows := _rows(report, tool)) > 1]
    if not panels:
        return ()

    def height(sheet: Sheet) -> int:
        return len(panels) * 290 + 40 if sheet.narrow else 380

    def draw(figure: FigureBase, sheet: Sheet) -> None:
        _draw(figure, sheet, report, panels)

    return (
        Chart(
            "price",
            "price",
            "What more money buys",
            f"Gain over {report.comparison.reference} against price in {report.campaign.currency}, "
            "one point an article with its interval; the table of results holds the same figures.",
            height,
            draw,
        ),
    )


def _rows(report: Report, tool: str) -> list[ArticleResult]:
    return [
        each
        for each in report.comparison.results
        if each.tool == tool and each.price is not None and each.gain_percent is not None
    ]


def _draw(
    figure: FigureBase, sheet: Sheet, report: Report, panels: list[tuple[str, list[ArticleResult]]]
) -> None:
    shape = (len(panels), 1) if sheet.narrow else (1, len(panels))
    cells = figure.subplots(*shape, sharex=True, sharey=True, squeeze=False)
    for cell, (tool, rows) in zip(cells.flat, panels, strict=True):
        _draw_panel(cell, sheet, rows)
        cell.set_title(f"with {clip(tool, 30)}", fontweight="bold")
        finish_axes(cell)
        cell.margins(x=0.16, y=0.1)
    figure.supxlabel(f"price ({report.campaign.currency})", fontsize=sheet.letters)
    figure.supylabel(f"gain over {clip(report.comparison.reference, 18)} (%)", fontsize=sheet.letters)


def _draw_panel(cell: Axes, sheet: Sheet, rows: list[ArticleResult]) -> None:
    cell.axhline(0.0, color=light("soft"), lw=1.0)
    for row in rows:
        sign, gain, price = sign_of(row), row.gain_percent or 0.0, row.price or 0.0
        colour = light(sign.role)
        if row.low_percent is not None and row.high_percent is not None and row.verdict != "reference":
            cell.plot([price, price], [row.low_percent, row.high_percent], color=colour, lw=1.2)
        face = light("paper") if sign.hollow or row.verdict == "reference" else colour
        marker = "o" if row.verdict == "reference" else sign.marker
        cell.plot([price], [gain], marker, ms=8, mfc=face, mec=colour, mew=1.6)
    low, high = cell.get_ylim()
    step = (high - low) * (0.075 if sheet.narrow else 0.06)
    spots = sorted(((row.gain_percent or 0.0, row.price or 0.0, row.article) for row in rows), reverse=True)
    for y, (_, price, name) in zip(_apart([gain for gain, _, _ in spots], step), spots, strict=True):
        cell.annotate(
            clip(name, 14),
            (price, y),
            xytext=(8, 0),
            textcoords="offset points",
            va="center",
            fontsize=sheet.letters * 0.92,
        )


def _apart(heights: list[float], step: float) -> list[float]:
    """Heights in falling order, pushed down where two would be closer than `step`, then centred again."""
    placed: list[float] = []
    for height in heights:
        placed.append(min(height, placed[-1] - step) if placed else height)
    shift = sum(a - b for a, b in zip(heights, placed, strict=True)) / max(len(heights), 1)
    return [height + shift for height in placed]
