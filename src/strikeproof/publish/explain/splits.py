"""What inertia, stiffness, gap and bond each add to an article's gain."""

from __future__ import annotations

from typing import Any, Final

from matplotlib.axes import Axes
from matplotlib.figure import FigureBase

from strikeproof.explain import ArticleRow, Split
from strikeproof.publish.colours import light
from strikeproof.publish.drawing import Chart, Sheet
from strikeproof.publish.explain.left_out import article_numbers
from strikeproof.publish.explain.why import Why
from strikeproof.publish.panels import draw_panels, legend_above, name_row, panels_height
from strikeproof.publish.texts import clip
from strikeproof.quantity import write_percent

__all__ = ["split_charts"]

_FACES: Final[dict[str, dict[str, Any]]] = {
    "inertia": {"facecolor": light("accent"), "edgecolor": light("accent")},
    "stiffness": {"facecolor": light("paper"), "edgecolor": light("higher"), "hatch": "////"},
    "gap": {"facecolor": light("unknown"), "edgecolor": light("unknown")},
    "bond": {"facecolor": light("paper"), "edgecolor": light("lower"), "hatch": "\\\\\\\\"},
}


def split_charts(why: Why) -> tuple[Chart, ...]:
    """The one chart, when gains were split."""
    panels = [(tool, rows) for tool in why.tools if (rows := [r for r in why.rows(tool) if r.split])]
    if not panels:
        return ()

    def height(sheet: Sheet) -> int:
        return panels_height(sheet, [len(rows) for _, rows in panels], 84 if sheet.narrow else 64)

    def draw(figure: FigureBase, sheet: Sheet) -> None:
        def draw_row(cell: Axes, place: int, row: ArticleRow) -> None:
            _draw_row(cell, sheet, place, row)

        across = f"part of the gain over {clip(why.reference, 18)} (%)"
        cells = draw_panels(figure, sheet, panels, across, draw_row, above=0.85)
        legend_above(figure, sheet, cells[0], 3 if sheet.narrow else 5)

    says = "; ".join(
        f"{row.article} with {row.tool}: {_parts(row.split)}" for _, rows in panels for row in rows
    )
    return (
        Chart(
            "why-split",
            "why",
            "What each property adds",
            says,
            height,
            draw,
            key="Parts of the simulated gain that add up to it, each averaged over all orders of change.",
            rows=lambda: article_numbers(why),
        ),
    )


def _parts(split: Split | None) -> str:
    assert split is not None
    return ", ".join(f"{name} {write_percent(value)}" for name, value in split.as_json().items())


def _draw_row(cell: Axes, sheet: Sheet, place: int, row: ArticleRow) -> None:
    assert row.split is not None
    cell.margins(x=0.04)
    _draw_bars(cell, place, row.split, 0.34 if sheet.narrow else 0.5)
    name_row(cell, sheet, place, clip(row.article, 20), write_percent(row.split.total), above=0.24)


def _draw_bars(cell: Axes, place: int, split: Split, high: float) -> None:
    """Parts above zero to the right, below it to the left, and a diamond at their sum."""
    ends = {True: 0.0, False: 0.0}
    first = place == 0
    for name, value in split.as_json().items():
        side = value >= 0.0
        label = name if first else "_nolegend_"
        cell.barh(place, value, left=ends[side], height=high, linewidth=1.0, label=label, **_FACES[name])
        ends[side] += value
    face: dict[str, Any] = {"ms": 7, "mfc": light("paper"), "mec": light("ink"), "mew": 1.4}
    cell.plot([split.total], [place], "D", zorder=3, label="in all" if first else "_nolegend_", **face)
