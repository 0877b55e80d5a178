"""A title picture from a chart of the report: a photo, and the chart on a card over it."""

from __future__ import annotations

from dataclasses import dataclass
from io import BytesIO
from typing import Final

import numpy as np

from strikeproof.errors import BadInput
from strikeproof.publish.drawing import WIDE, Chart, Sheet, render_png
from strikeproof.publish.film.lettering import line_height, wrap_words
from strikeproof.publish.film.looks import LOOKS
from strikeproof.publish.film.plates import Box, Pixels, Plate
from strikeproof.publish.film.shapes import Shape
from strikeproof.publish.film.still import lay_plates, mark_simulated, write_lines

__all__ = ["ChartTitle", "describe_chart_still", "draw_chart_still"]

_SCALES: Final = (2.3, 2.0, 1.7, 1.5, 1.3, 1.2, 1.1)
"""Pixels of a picture of 1080 for one of the chart; at the last its letters are 14 pixels high."""
_LEAST: Final = 11.0
"""Height of letters that can be read. [pixels]"""
_MOST_FOOT: Final = 7
"""Lines below the chart: beyond, the chart would have too little room."""
_LEFT_FREE: Final = 0.36
"""Of a wide picture's width, for the photo."""


@dataclass(frozen=True, slots=True, eq=False)
class ChartTitle:
    """What it says: a heading, the chart, what limits its results, and whether the runs are simulated."""

    heading: str
    chart: Chart
    caveats: tuple[str, ...]
    simulated: bool


def draw_chart_still(title: ChartTitle, photo: Pixels, shape: Shape) -> Pixels:
    """The picture (height, width, 3): charts have light colours, and so has the card.

    Parameters
    ----------
    photo : (height, width, 3)
        sRGB, of the size of `shape`.

    Raises
    ------
    BadInput
        If the chart needs more room than the picture has, at the smallest letters that can be read.
    """
    look, unit = LOOKS["light"], shape.short / 1080.0
    left, top, right, bottom = shape.safe
    gap, is_wide = round(26 * unit), shape.format == "16:9"
    begin = round(left + _LEFT_FREE * (right - left)) if is_wide else left
    room = right - begin - 2 * gap
    head, small = round(50 * unit), round(28 * unit)
    lines = (
        *((line, head, True) for line in wrap_words(title.heading, head, room, bold=True)[:2]),
        *((line, small, False) for line in wrap_words(title.chart.title, small, room)),
    )
    foot = [line for each in (title.chart.key, *title.caveats) for line in wrap_words(each, small, room)]
    if len(foot) > _MOST_FOOT:
        foot = [*foot[: _MOST_FOOT - 1], "… and more: see the page of results"]
    words = sum(line_height(size) for _line, size, _bold in lines) + len(foot) * line_height(small)
    badge = mark_simulated(title.simulated, shape, look)
    free = bottom - (top if is_wide else badge.place.bottom + gap) - 3 * gap - words
    drawn = _drawn(title.chart, room, free, unit)
    down = 3 * gap + words + drawn.shape[0]
    card = Plate(Box(begin, bottom - down, right - begin, down))
    y = gap
    for line, size, bold in lines:
        y = write_lines(card, [line], size, look, (gap, y), bold=bold)
    at = y + gap // 2
    write_lines(card, foot, small, look, (gap, at + drawn.shape[0] + gap // 2))
    picture = lay_plates([card, badge], photo, shape, look, opacity=1.0)
    across = begin + gap + (room - drawn.shape[1]) // 2
    there = bottom - down + at
    picture[there : there + drawn.shape[0], across : across + drawn.shape[1]] = drawn
    return picture


def _drawn(chart: Chart, width: int, height: int, unit: float) -> Pixels:
    """The chart in at most so many pixels, its letters as large as that allows."""
    from PIL import Image

    for scale in _SCALES:
        per = scale * unit
        if per * WIDE.letters < _LEAST:
            break
        sheet = Sheet("still", int(width / per), WIDE.letters, WIDE.points)
        if chart.height(sheet) * per <= height:
            picture = Image.open(BytesIO(render_png(chart, sheet, scale=per)))
            return np.asarray(picture.convert("RGB"))[:height, :width]
    raise BadInput(
        f"chart {chart.name!r} has more rows than can be read in this picture",
        where="still",
        allowed="a chart with fewer rows, another format or a larger size",
        fix="choose a larger --size, another format (9:16 has the most room), or another chart",
        key="chart",
    )


def describe_chart_still(title: ChartTitle) -> str:
    """The picture for who cannot see it."""
    said = "The runs are simulated." if title.simulated else ""
    parts = (f"Photo with a chart over it: {title.heading}.", said, f"{title.chart.title}.", title.chart.says)
    return " ".join(each for each in (*parts, *title.caveats) if each) + "\n"
