"""How much say each rival has in the best mixture of them, and by how much it misses."""

from __future__ import annotations

from typing import Any

from matplotlib.axes import Axes
from matplotlib.figure import FigureBase

from strikeproof.explain import EXPLANATIONS, RivalRow
from strikeproof.publish.colours import light
from strikeproof.publish.drawing import Chart, Rows, Sheet, finish_axes
from strikeproof.publish.explain.why import Why
from strikeproof.publish.panels import legend_above

__all__ = ["weight_charts"]

_FIGURES = ("weight", "probability", "error_percent", "elpd", "elpd_error")


def weight_charts(why: Why) -> tuple[Chart, ...]:
    """The one chart, when rivals were judged."""
    if not why.explanation.rivals:
        return ()

    def height(sheet: Sheet) -> int:
        return (38 if sheet.narrow else 28) * len(why.explanation.rivals) + 74

    def draw(figure: FigureBase, sheet: Sheet) -> None:
        _draw(figure, sheet, why)

    says = "; ".join(
        f"{EXPLANATIONS[each.name].label}: weight {100 * each.weight:.0f} %, probability "
        f"{100 * each.probability:.0f} %, misses left-out articles by {each.error_percent:.1f} %"
        for each in why.explanation.rivals
    )
    return (
        Chart(
            "why-weights",
            "why",
            "The rivals: weight of each",
            says,
            height,
            draw,
            key="Bar: share in the mixture that foretells left-out articles best. Diamond: probability.",
            rows=lambda: _numbers(why),
        ),
    )


def _numbers(why: Why) -> Rows:
    yield ("rival", *_FIGURES)
    for each in why.explanation.rivals:
        yield (each.name, *(getattr(each, name) for name in _FIGURES))


def _draw(figure: FigureBase, sheet: Sheet, why: Why) -> None:
    rows = why.explanation.rivals
    cell = figure.subplots()
    top = max(range(len(rows)), key=lambda place: rows[place].weight)
    for place, row in enumerate(rows):
        face = light("accent") if row.name == why.explanation.verdict else light("unknown")
        _draw_row(cell, sheet, place, row, face=face, first=place == top)
    cell.set_xlim(-2.0, 102.0)
    cell.set_ylim(len(rows) - 0.4, -0.85 if sheet.narrow else -0.6)
    cell.set_yticks([] if sheet.narrow else range(len(rows)))
    if not sheet.narrow:
        cell.set_yticklabels([EXPLANATIONS[row.name].label for row in rows])
    cell.grid(visible=False, axis="y")
    finish_axes(cell, x="share (%)")
    legend_above(figure, sheet, cell, 2)


def _draw_row(cell: Axes, sheet: Sheet, place: int, row: RivalRow, *, face: str, first: bool) -> None:
    """Weight as a bar, probability as a diamond; the first one names both in the legend."""
    names = ("weight", "probability") if first else ("_nolegend_",) * 2
    cell.barh(place, 100 * row.weight, height=0.34 if sheet.narrow else 0.5, color=face, label=names[0])
    diamond: dict[str, Any] = {"ms": 8, "mfc": light("paper"), "mec": light("ink"), "mew": 1.4}
    cell.plot([100 * row.probability], [place], "D", clip_on=False, zorder=3, label=names[1], **diamond)
    said, across = f"misses by {row.error_percent:.1f} %", cell.get_yaxis_transform()
    if sheet.narrow:
        text = f"{EXPLANATIONS[row.name].label}: {said}"
        cell.text(0.0, place - 0.24, text, transform=across, va="bottom", ha="left", fontsize=sheet.letters)
    else:
        cell.text(1.03, place, said, transform=across, va="center", ha="left")
