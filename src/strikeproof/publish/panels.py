"""What charts with a panel a tool and a row an article have in common."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from textwrap import wrap
from typing import Protocol, TypeVar

from matplotlib.axes import Axes
from matplotlib.figure import FigureBase

from strikeproof.language import say
from strikeproof.publish.colours import light
from strikeproof.publish.drawing import Sheet, finish_axes
from strikeproof.publish.texts import clip

__all__ = ["draw_panels", "legend_above", "name_row", "panels_height"]


class _OfArticle(Protocol):
    @property
    def article(self) -> str: ...


Row = TypeVar("Row", bound=_OfArticle)


def panels_height(sheet: Sheet, rows: Sequence[int], more: int) -> int:
    """Pixels for panels with so many rows each, and for what is around them."""
    return sum((40 if sheet.narrow else 30) * each + 46 for each in rows) + more


def draw_panels(
    figure: FigureBase,
    sheet: Sheet,
    panels: Sequence[tuple[str, Sequence[Row]]],
    across: str,
    draw_row: Callable[[Axes, int, Row], None],
    *,
    above: float = 0.75,
) -> Sequence[Axes]:
    """A panel for each tool over one axis `across`, with zero marked; returns the panels.

    `above` is the room over the first row on a narrow sheet, where names stand over their rows.
    """
    shares = [len(rows) + 0.6 for _, rows in panels]
    grid = figure.subplots(len(panels), 1, sharex=True, squeeze=False, height_ratios=shares)
    cells: list[Axes] = list(grid[:, 0])
    for cell, (tool, rows) in zip(cells, panels, strict=True):
        cell.axvline(0.0, color=light("soft"), lw=1.0)
        for place, row in enumerate(rows):
            draw_row(cell, place, row)
        cell.set_ylim(len(rows) - 0.4, -above if sheet.narrow else -0.6)
        cell.grid(visible=False, axis="y")
        if sheet.narrow:
            cell.set_yticks([])
        else:
            cell.set_yticks(range(len(rows)), [clip(row.article, 24) for row in rows])
        cell.set_title(say("with {tool}", tool=clip(tool, 40)), fontweight="bold")
        finish_axes(cell)
        cell.spines["left"].set_visible(False)
    room = int(sheet.width / (0.56 * sheet.letters))
    figure.supxlabel("\n".join(wrap(across, room)), fontsize=sheet.letters)
    return cells


def name_row(cell: Axes, sheet: Sheet, place: int, name: str, said: str, *, above: float = 0.3) -> None:
    """What a row says at its end; on a narrow sheet over it, with its name."""
    across = cell.get_yaxis_transform()
    if sheet.narrow:
        text = f"{name}: {said}"
        cell.text(0.0, place - above, text, transform=across, va="bottom", ha="left", fontsize=sheet.letters)
    else:
        cell.text(1.015, place, said, transform=across, va="center", ha="left")


def legend_above(figure: FigureBase, sheet: Sheet, cell: Axes, columns: int) -> None:
    """The legend of a panel over all of them."""
    handles, labels = cell.get_legend_handles_labels()
    small = 0.92 * sheet.letters
    figure.legend(handles, labels, loc="outside upper left", ncols=columns, fontsize=small)
