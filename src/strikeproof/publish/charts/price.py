"""Price against gain: what more money buys, a panel a tool."""

from __future__ import annotations

from matplotlib.axes import Axes
from matplotlib.figure import FigureBase

from strikeproof.judge.records import ArticleResult
from strikeproof.language import say
from strikeproof.publish.charts.gain import gain_numbers
from strikeproof.publish.colours import light
from strikeproof.publish.drawing import Chart, Sheet, finish_axes
from strikeproof.publish.labels import Box, place_labels
from strikeproof.publish.report import Report
from strikeproof.publish.texts import clip
from strikeproof.publish.verdicts import gain_at, sign_of

__all__ = ["price_charts"]


def price_charts(report: Report) -> tuple[Chart, ...]:
    """The one price chart, when at least two articles have a price and a gain."""
    panels = [(tool, rows) for tool in report.tools if len(rows := _rows(report, tool)) > 1]
    if not panels:
        return ()

    def height(sheet: Sheet) -> int:
        return _shape(sheet, len(panels))[0] * (290 if sheet.narrow else 340) + 40

    def draw(figure: FigureBase, sheet: Sheet) -> None:
        _draw(figure, sheet, report, panels)

    return (
        Chart(
            "price",
            "price",
            say("What more money buys"),
            say(
                "Gain over {reference} against price in {currency}, one point an article with its "
                "interval, an arrow where nothing bounds it; the table of results holds the same figures.",
                reference=report.comparison.reference,
                currency=report.campaign.currency,
            ),
            height,
            draw,
            rows=lambda: gain_numbers(report),
        ),
    )


def _rows(report: Report, tool: str) -> list[ArticleResult]:
    return [
        each
        for each in report.comparison.results
        if each.tool == tool and each.price is not None and gain_at(each) is not None
    ]


def _shape(sheet: Sheet, panels: int) -> tuple[int, int]:
    """Rows and columns of panels."""
    columns = 1 if sheet.narrow else min(2, panels)
    return -(-panels // columns), columns


def _draw(
    figure: FigureBase, sheet: Sheet, report: Report, panels: list[tuple[str, list[ArticleResult]]]
) -> None:
    shape = _shape(sheet, len(panels))
    cells = figure.subplots(*shape, sharex=True, sharey=True, squeeze=False)
    for cell, (tool, rows) in zip(cells.flat, panels, strict=False):
        _draw_panel(cell, rows)
        cell.set_title(say("with {tool}", tool=clip(tool, 30)), fontweight="bold")
        finish_axes(cell)
        cell.margins(x=0.14, y=0.1)
    figure.supxlabel(say("price ({currency})", currency=report.campaign.currency), fontsize=sheet.letters)
    figure.supylabel(report.gain_over, fontsize=sheet.letters)
    for spare in cells.flat[len(panels) :]:
        spare.set_axis_off()
    # The layout is settled only when drawn; this is near enough to keep names off each other.
    across = 0.88 * sheet.width / shape[1]
    for cell, (_, rows) in zip(cells.flat, panels, strict=False):
        _name_points(cell, rows, (across, 235.0 if sheet.narrow else 310.0), 0.92 * sheet.letters)


def _draw_panel(cell: Axes, rows: list[ArticleResult]) -> None:
    cell.axhline(0.0, color=light("soft"), lw=1.0)
    for row in rows:
        sign, gain, price = sign_of(row), gain_at(row) or 0.0, row.price or 0.0
        colour = light(sign.role)
        if row.low_percent is not None and row.high_percent is not None and row.verdict != "reference":
            cell.plot([price, price], [row.low_percent, row.high_percent], color=colour, lw=1.2)
        if row.gain_percent is None:  # beyond what was watched nothing bounds it
            away = -26 if row.low_percent is None else 26
            arrow = {"arrowstyle": "<-", "color": colour, "lw": 1.6}
            cell.annotate("", (price, gain), (0, away), textcoords="offset points", arrowprops=arrow)
        face = light("paper") if sign.hollow or row.verdict == "reference" else colour
        marker = "o" if row.verdict == "reference" else sign.marker
        cell.plot([price], [gain], marker, ms=8, mfc=face, mec=colour, mew=1.6)


def _name_points(cell: Axes, rows: list[ArticleResult], size: tuple[float, float], letters: float) -> None:
    """Names beside the points of a panel that is about `size` pixels wide and high."""
    (left, right), (low, high) = cell.get_xlim(), cell.get_ylim()
    across, up = size[0] / (right - left), size[1] / (high - low)
    points, taken = [], []
    for row in rows:
        gain, price = gain_at(row) or 0.0, row.price or 0.0
        x, y = (price - left) * across, (gain - low) * up
        bottom, top = ((end - low) * up for end in (row.low_percent or gain, row.high_percent or gain))
        points.append((x, y))
        taken += [Box(x - 6, y - 6, x + 6, y + 6), Box(x - 1, bottom, x + 1, top)]
    taken.append(Box(0.0, -low * up - 1, size[0], -low * up + 1))
    names = [clip(row.article, 14) for row in rows]
    sizes = [(0.62 * letters * len(name) + 4, 1.25 * letters) for name in names]
    spots = place_labels(points, sizes, taken, Box(0.0, 0.0, *size))
    for row, name, spot in zip(rows, names, spots, strict=True):
        cell.annotate(
            name,
            (row.price or 0.0, gain_at(row) or 0.0),
            xytext=(spot.across, spot.up),
            textcoords="offset points",
            ha=("center", "left", "right")[spot.side],
            va="center",
            fontsize=letters,
        )
