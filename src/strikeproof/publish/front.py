"""What a search found between gain and price, the mass as the size of each point."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from matplotlib.axes import Axes
from matplotlib.figure import FigureBase

from strikeproof.publish.colours import light
from strikeproof.publish.drawing import Chart, Sheet, finish_axes
from strikeproof.publish.labels import Box, place_labels
from strikeproof.publish.texts import clip

__all__ = ["FrontPoint", "front_chart"]

_AREA = 240.0  # pt², of the heaviest


@dataclass(frozen=True, slots=True)
class FrontPoint:
    """One article: gain with its interval [%], price, and mass in the unit of the reader.

    `proposal` is its number among the proposals, None for another one of the front.
    """

    name: str
    gain: float
    low: float
    high: float
    price: float
    mass: float
    proposal: int | None


def front_chart(
    points: Sequence[FrontPoint], *, reference: str, currency: str, mass_unit: str
) -> Chart | None:
    """The chart, None for fewer than two points."""
    if len(points) < 2:
        return None
    ranked = sorted(points, key=lambda each: (each.proposal is not None, each.gain))

    def draw(figure: FigureBase, sheet: Sheet) -> None:
        cell = figure.subplots()
        heaviest = max(each.mass for each in ranked)
        for each in ranked:
            _draw_point(cell, each, heaviest)
        finish_axes(cell, x=f"price ({currency})", y=f"gain over {clip(reference, 18)} (%)")
        cell.margins(x=0.14, y=0.14)
        _key(cell, sheet, heaviest, mass_unit)
        _number_points(cell, ranked, sheet)

    return Chart(
        "design-front",
        "design",
        "Gain against price",
        f"Gain over {reference} against price in {currency}: filled and numbered are the proposals with "
        "their 90 % intervals, hollow are others that none beats in gain, mass, price and diameter at once; "
        "the larger, the heavier. The table of proposals holds the same figures.",
        lambda sheet: 360 if sheet.narrow else 420,
        draw,
        "Filled: proposals, with 90 % intervals. Hollow: others that none beats in gain, mass, price and "
        "diameter at once, by the draws of the search.",
    )


def _size(mass: float, heaviest: float) -> float:
    return _AREA * mass / heaviest


def _draw_point(cell: Axes, point: FrontPoint, heaviest: float) -> None:
    colour = light("accent" if point.proposal is not None else "unknown")
    size = _size(point.mass, heaviest)
    if point.proposal is None:
        cell.scatter(
            [point.price], [point.gain], s=size, facecolor=light("paper"), edgecolor=colour, linewidth=1.4
        )
        return
    cell.plot([point.price, point.price], [point.low, point.high], color=colour, lw=1.3)
    cell.scatter([point.price], [point.gain], s=size, facecolor=colour, edgecolor=colour, zorder=3)


def _key(cell: Axes, sheet: Sheet, heaviest: float, unit: str) -> None:
    """Two sizes say which mass they stand for."""
    for share in (1.0, 0.5):
        cell.scatter(
            [],
            [],
            s=_size(share * heaviest, heaviest),
            facecolor="none",
            edgecolor=light("ink"),
            linewidth=1.4,
            label=f"{share * heaviest:.2g} {unit}",
        )
    cell.legend(
        loc="upper center",
        bbox_to_anchor=(0.5, 1.13 if not sheet.narrow else 1.16),
        ncols=2,
        fontsize=0.92 * sheet.letters,
    )


def _number_points(cell: Axes, points: Sequence[FrontPoint], sheet: Sheet) -> None:
    """The number of each proposal beside its point."""
    width, height = 0.86 * sheet.width, 260.0 if sheet.narrow else 320.0
    (left, right), (low, high) = cell.get_xlim(), cell.get_ylim()
    across, up = width / (right - left), height / (high - low)
    at = [((each.price - left) * across, (each.gain - low) * up) for each in points]
    taken = [Box(x - 8, y - 8, x + 8, y + 8) for x, y in at]
    taken += [
        Box(x - 1, (each.low - low) * up, x + 1, (each.high - low) * up)
        for each, (x, _y) in zip(points, at, strict=True)
        if each.proposal is not None
    ]
    named = [(each, place) for each, place in zip(points, at, strict=True) if each.proposal is not None]
    letters = sheet.letters
    sizes = [(0.7 * letters * len(str(each.proposal)) + 4, 1.25 * letters) for each, _place in named]
    spots = place_labels([place for _each, place in named], sizes, taken, Box(0.0, 0.0, width, height))
    for (each, _place), spot in zip(named, spots, strict=True):
        cell.annotate(
            str(each.proposal),
            (each.price, each.gain),
            xytext=(spot.across, spot.up),
            textcoords="offset points",
            ha=("center", "left", "right")[spot.side],
            va="center",
            fontweight="bold",
        )
