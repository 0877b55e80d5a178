"""Where everything of a film is placed, for any format, size and number of runs."""

from __future__ import annotations

from dataclasses import dataclass

from strikeproof.publish.film.plates import Box
from strikeproof.publish.film.shapes import Shape

__all__ = ["Layout", "Sizes", "lay_out"]


@dataclass(frozen=True, slots=True)
class Sizes:
    """Sizes of letters, of a gap and of a line. [pixels]"""

    number: int
    name: int
    words: int
    small: int
    gap: int
    line: float


@dataclass(frozen=True, slots=True)
class Layout:
    """Boxes of a picture; those of `rows`, `numbers` and `chart` count from the corner of `panel`.

    `numbers` are inside the rows: all that changes in a row is there. `above` is where a result may stand.
    """

    panel: Box
    rows: tuple[Box, ...]
    numbers: tuple[Box, ...]
    chart: Box
    badge: Box
    above: Box
    sizes: Sizes
    stacked: bool


def lay_out(shape: Shape, runs: int) -> Layout:
    """The layout for so many runs, 1 to 4."""
    unit = shape.short / 1080.0
    left, top, right, bottom = shape.safe
    gap = max(round(22 * unit), 2)
    wide = shape.format == "16:9"
    stacked = wide and runs == 1
    sizes = Sizes(
        round((86 if stacked else 52 if runs == 1 else 42) * unit),
        round((46 if runs == 1 else 40) * unit),
        round(34 * unit),
        round(28 * unit),
        gap,
        max(5.0 * unit, 1.0),
    )
    across = right - left
    many = runs > 2 and shape.format == "1:1"  # less of each, so that a result has room above
    row = round((300 if stacked else 94 if many else 112) * unit)
    if wide:
        column = round((0.40 if stacked else 0.52) * across)
        down = max(round(300 * unit), runs * row) + 2 * gap
        chart = Box(column + gap, gap, across - column - 2 * gap, down - 2 * gap)
    else:
        column = across
        tall = (220 if runs == 3 else 184) if many else 300
        drawn = round((tall if shape.format == "1:1" else 400) * unit)
        down = runs * row + drawn + 3 * gap
        chart = Box(gap, runs * row + 2 * gap, across - 2 * gap, drawn)
    panel = Box(left, bottom - down, across, down).even()
    rows = tuple(Box(gap, gap + place * row, column - 2 * gap, row) for place in range(runs))
    badge = Box(left, top, round(8.2 * sizes.words), round(1.3 * sizes.words) + gap)
    above = Box(left, badge.bottom + gap, across, panel.top - badge.bottom - 2 * gap)
    return Layout(
        panel,
        rows,
        tuple(_number(each, sizes, stacked) for each in rows),
        chart,
        badge,
        above,
        sizes,
        stacked,
    )


def _number(row: Box, sizes: Sizes, stacked: bool) -> Box:
    """All of a row's width below its names, or its right part."""
    if stacked:
        used = round(1.28 * sizes.name) + round(1.28 * sizes.small) + sizes.gap // 2
        return Box(row.left, row.top + used, row.width, row.height - used)
    width = round(0.52 * row.width)
    return Box(row.right - width, row.top, width, row.height)
