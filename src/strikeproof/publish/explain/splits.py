"""What inertia, stiffness, gap and bond each add to an article's gain."""

from __future__ import annotations

from typing import Any, Final

from matplotlib.axes import Axes
from matplotlib.figure import FigureBase

from strikeproof.explain import ArticleRow, Split
from strikeproof.publish.colours import light
from strikeproof.publish.drawing import Chart, Sheet, finish_axes
from strikeproof.publish.explain.left_out import article_numbers
from strikeproof.publish.explain.why import Why
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
        row = 40 if sheet.narrow else 30
        return sum(row * len(rows) + 46 for _, rows in panels) + (84 if sheet.narrow else 64)

    def draw(figure: FigureBase, sheet: Sheet) -> None:
        _draw(figure, sheet, why, panels)

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


def _draw(figure: FigureBase, sheet: Sheet, why: Why, panels: list[tuple[str, list[ArticleRow]]]) -> None:
    shares = [len(rows) + 0.6 for _, rows in panels]
    cells = figure.subplots(len(panels), 1, sharex=True, squeeze=False, height_ratios=shares)[:, 0]
    for cell, (tool, rows) in zip(cells, panels, strict=True):
        _draw_panel(cell, sheet, rows)
        cell.set_title(f"with {clip(tool, 40)}", fontweight="bold")
        finish_axes(cell)
        cell.spines["left"].set_visible(False)
    figure.supxlabel(f"part of the gain over {clip(why.reference, 18)} (%)", fontsize=sheet.letters)
    handles, labels = cells[0].get_legend_handles_labels()
    figure.legend(
        handles,
        labels,
        loc="outside upper left",
        ncols=3 if sheet.narrow else 5,
        fontsize=0.92 * sheet.letters,
    )


def _draw_panel(cell: Axes, sheet: Sheet, rows: list[ArticleRow]) -> None:
    cell.axvline(0.0, color=light("soft"), lw=1.0)
    across = cell.get_yaxis_transform()
    for place, row in enumerate(rows):
        assert row.split is not None
        _draw_bars(cell, place, row.split, 0.34 if sheet.narrow else 0.5)
        said = write_percent(row.split.total)
        if sheet.narrow:
            text = f"{clip(row.article, 20)}: {said}"
            cell.text(
                0.0, place - 0.24, text, transform=across, va="bottom", ha="left", fontsize=sheet.letters
            )
        else:
            cell.text(1.015, place, said, transform=across, va="center", ha="left")
    cell.set_ylim(len(rows) - 0.4, -0.85 if sheet.narrow else -0.6)
    cell.set_yticks([] if sheet.narrow else range(len(rows)))
    if not sheet.narrow:
        cell.set_yticklabels([clip(row.article, 24) for row in rows])
    cell.grid(visible=False, axis="y")
    cell.margins(x=0.04)


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
