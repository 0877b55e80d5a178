"""Measured gains beside what was foretold of each article without it."""

from __future__ import annotations

from matplotlib.axes import Axes
from matplotlib.figure import FigureBase

from strikeproof.explain import ArticleRow
from strikeproof.publish.colours import light
from strikeproof.publish.drawing import Chart, Rows, Sheet, finish_axes
from strikeproof.publish.explain.why import Why
from strikeproof.publish.texts import clip
from strikeproof.quantity import write_percent

__all__ = ["article_numbers", "left_out_charts"]


def left_out_charts(why: Why) -> tuple[Chart, ...]:
    """The one chart, when there is an article to show."""
    if not why.tools:
        return ()

    def height(sheet: Sheet) -> int:
        row = 40 if sheet.narrow else 30
        return sum(row * len(why.rows(tool)) + 46 for tool in why.tools) + 84

    def draw(figure: FigureBase, sheet: Sheet) -> None:
        _draw(figure, sheet, why)

    says = "; ".join(
        f"{row.article} with {row.tool}: measured {write_percent(row.measured_percent)}, foretold "
        f"{write_percent(row.predicted_percent)} ({write_percent(row.low)} to {write_percent(row.high)})"
        for row in why.explanation.articles
    )
    return (
        Chart(
            "why-left-out",
            "why",
            "Each article foretold from the others, and measured",
            says,
            height,
            draw,
            key="Bar: 90 % of what the rivals expect of an article they have not seen. Point: measured.",
            rows=lambda: article_numbers(why),
        ),
    )


def article_numbers(why: Why) -> Rows:
    """Every article: measured, predicted without it, and the parts of its gain."""
    yield (
        *("tool", "article", "measured_percent", "predicted_percent", "low_percent", "high_percent"),
        *("inertia_percent", "stiffness_percent", "gap_percent", "bond_percent"),
    )
    for row in why.explanation.articles:
        parts = ("",) * 4 if row.split is None else tuple(row.split.as_json().values())
        yield (row.tool, row.article, row.measured_percent, row.predicted_percent, row.low, row.high, *parts)


def _draw(figure: FigureBase, sheet: Sheet, why: Why) -> None:
    shares = [len(why.rows(tool)) + 0.6 for tool in why.tools]
    cells = figure.subplots(len(shares), 1, sharex=True, squeeze=False, height_ratios=shares)[:, 0]
    for cell, tool in zip(cells, why.tools, strict=True):
        _draw_panel(cell, sheet, why.rows(tool))
        cell.set_title(f"with {clip(tool, 40)}", fontweight="bold")
        finish_axes(cell)
        cell.spines["left"].set_visible(False)
    figure.supxlabel(f"gain over {clip(why.reference, 18)} (%)", fontsize=sheet.letters)
    handles, labels = cells[0].get_legend_handles_labels()
    figure.legend(
        handles,
        labels,
        loc="outside upper left",
        ncols=1 if sheet.narrow else 3,
        fontsize=0.92 * sheet.letters,
    )


def _draw_panel(cell: Axes, sheet: Sheet, rows: list[ArticleRow]) -> None:
    cell.axvline(0.0, color=light("soft"), lw=1.0)
    for place, row in enumerate(rows):
        _draw_row(cell, sheet, place, row, first=place == 0)
    cell.set_ylim(len(rows) - 0.4, -0.75 if sheet.narrow else -0.6)
    cell.grid(visible=False, axis="y")
    if sheet.narrow:
        cell.set_yticks([])
    else:
        cell.set_yticks(range(len(rows)), [clip(row.article, 24) for row in rows])


def _draw_row(cell: Axes, sheet: Sheet, place: int, row: ArticleRow, *, first: bool) -> None:
    inside = row.low <= row.measured_percent <= row.high
    labels = ("foretold, 90 %", "its middle", "measured") if first else ("_nolegend_",) * 3
    cell.plot(
        [row.low, row.high], [place, place], color=light("band"), lw=9, solid_capstyle="butt", label=labels[0]
    )
    cell.plot([row.predicted_percent], [place], "|", ms=11, mew=1.6, color=light("accent"), label=labels[1])
    cell.plot([row.measured_percent], [place], "o", ms=6.5, color=light("ink"), label=labels[2])
    said = f"{write_percent(row.measured_percent)}{'' if inside else ', unforeseen'}"
    across = cell.get_yaxis_transform()
    if sheet.narrow:
        text = f"{clip(row.article, 20)}: {said}"
        cell.text(0.0, place - 0.3, text, transform=across, va="bottom", ha="left", fontsize=sheet.letters)
    else:
        cell.text(1.015, place, said, transform=across, va="center", ha="left")
