"""Measured gains beside what was predicted of each article without it."""

from __future__ import annotations

from dataclasses import asdict

from matplotlib.axes import Axes
from matplotlib.figure import FigureBase

from strikeproof.explain import ArticleRow
from strikeproof.language import say
from strikeproof.publish.colours import light
from strikeproof.publish.drawing import Chart, Rows, Sheet
from strikeproof.publish.explain.why import Why
from strikeproof.publish.panels import draw_panels, legend_above, name_row, panels_height
from strikeproof.publish.texts import clip
from strikeproof.quantity import write_percent

__all__ = ["article_numbers", "left_out_charts"]


def left_out_charts(why: Why) -> tuple[Chart, ...]:
    """The one chart, when there is an article to show."""
    if not why.tools:
        return ()

    panels = [(tool, why.rows(tool)) for tool in why.tools]

    def height(sheet: Sheet) -> int:
        return panels_height(sheet, [len(rows) for _, rows in panels], 84)

    def draw(figure: FigureBase, sheet: Sheet) -> None:
        def draw_row(cell: Axes, place: int, row: ArticleRow) -> None:
            _draw_row(cell, sheet, place, row)

        across = say("gain over {reference} (%)", reference=clip(why.reference, 18))
        cells = draw_panels(figure, sheet, panels, across, draw_row)
        legend_above(figure, sheet, cells[0], 1 if sheet.narrow else 3)

    says = "; ".join(
        say(
            "{article} with {tool}: measured {measured_percent}, predicted {predicted_percent} ({low} to "
            "{high})",
            article=row.article,
            tool=row.tool,
            measured_percent=write_percent(row.measured_percent),
            predicted_percent=write_percent(row.predicted_percent),
            low=write_percent(row.low),
            high=write_percent(row.high),
        )
        for row in why.explanation.articles
    )
    return (
        Chart(
            "why-left-out",
            "why",
            say("Each article predicted from the others, and measured"),
            says,
            height,
            draw,
            key=say("Bar: 90 % of what the explanations expect of an unseen article. Point: measured."),
            rows=lambda: article_numbers(why),
        ),
    )


def article_numbers(why: Why) -> Rows:
    """Every article: measured, predicted without it, the parts of its gain, and what it has of its own."""
    found = why.explanation.unexplained
    own = {} if found is None else {each.article: each.percent for each in found.parts}
    yield (
        *("tool", "article", "measured_percent", "predicted_percent", "low_percent", "high_percent"),
        *("inertia_percent", "stiffness_percent", "gap_percent", "bond_percent", "own_percent"),
    )
    for row in why.explanation.articles:
        parts = ("",) * 4 if row.split is None else tuple(asdict(row.split).values())
        yield (
            *(row.tool, row.article, row.measured_percent, row.predicted_percent, row.low, row.high),
            *(*parts, own.get(row.article, "")),
        )


def _draw_row(cell: Axes, sheet: Sheet, place: int, row: ArticleRow) -> None:
    inside = row.low <= row.measured_percent <= row.high
    labels = (
        (say("predicted, 90 %"), say("its middle"), say("measured")) if place == 0 else ("_nolegend_",) * 3
    )
    cell.plot(
        [row.low, row.high], [place, place], color=light("band"), lw=9, solid_capstyle="butt", label=labels[0]
    )
    cell.plot([row.predicted_percent], [place], "|", ms=11, mew=1.6, color=light("accent"), label=labels[1])
    cell.plot([row.measured_percent], [place], "o", ms=6.5, color=light("ink"), label=labels[2])
    said = write_percent(row.measured_percent)
    if not inside:
        said = say("{percent}, not predicted", percent=said)
    name_row(cell, sheet, place, clip(row.article, 20), said)
