"""A title picture: a photo, and over it each article's gain over the reference with its interval."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final

import numpy as np

from strikeproof.publish.film.lettering import Mask, fit_words, line_height, text_width, wrap_words
from strikeproof.publish.film.looks import Look, needed_opacity
from strikeproof.publish.film.mixing import Layer
from strikeproof.publish.film.overlay import sign_mask
from strikeproof.publish.film.plates import Box, Change, Pixels, Plate
from strikeproof.publish.film.shapes import Shape

__all__ = [
    "MOST_ROWS",
    "StillRow",
    "Title",
    "describe_still",
    "draw_still",
    "lay_plates",
    "mark_simulated",
    "write_lines",
]

MOST_ROWS: Final = 7


@dataclass(frozen=True, slots=True)
class StillRow:
    """One article: gain with interval in words and as numbers [%], where there are some; its sign."""

    article: str
    says: str
    gain: float | None
    low: float | None
    high: float | None
    word: str
    role: str
    path: str
    hollow: bool


@dataclass(frozen=True, slots=True)
class Title:
    """What a title picture says: heading, what the gains are over, rows, and what limits them."""

    heading: str
    over: str
    rows: tuple[StillRow, ...]
    caveats: tuple[str, ...]
    simulated: bool


def draw_still(title: Title, photo: Pixels, shape: Shape, look: Look) -> Pixels:
    """The picture (height, width, 3).

    Parameters
    ----------
    photo : (height, width, 3)
        sRGB, of the size of `shape`.
    """
    plates = [_panel(title, shape, look, shape.short / 1080.0), mark_simulated(title.simulated, shape, look)]
    below = [
        photo[each.top : each.bottom : 3, each.left : each.right : 3]
        for each in (one.place for one in plates)
    ]
    opacity = needed_opacity(look, np.concatenate([each.reshape(-1, 3) for each in below]))
    return lay_plates(plates, photo, shape, look, opacity)


def lay_plates(plates: Sequence[Plate], photo: Pixels, shape: Shape, look: Look, opacity: float) -> Pixels:
    """The photo (height, width, 3) with plates over it, their ground of an opacity from 0 to 1."""
    layer = Layer(plates, look, (shape.width, shape.height), opacity)
    over = layer.advance(
        [Change(place, Box(0, 0, one.place.width, one.place.height)) for place, one in enumerate(plates)]
    )
    alpha = over[..., 3:].astype(np.float32) / 255.0
    mixed: Pixels = np.rint(photo * (1.0 - alpha) + over[..., :3] * alpha).astype(np.uint8)
    return mixed


def mark_simulated(simulated: bool, shape: Shape, look: Look) -> Plate:
    """The plate that says so, shown where it is."""
    unit = shape.short / 1080.0
    left, top, _right, _bottom = shape.safe
    size, gap = round(40 * unit), round(22 * unit)
    plate = Plate(Box(left, top, text_width("Simulated", size, bold=True) + 2 * gap, round(1.3 * size) + gap))
    plate.shown = simulated
    plate.write("Simulated", size, look["ink"], gap, gap // 2, bold=True)
    return plate


def _panel(title: Title, shape: Shape, look: Look, unit: float) -> Plate:
    """On the right of a wide picture, at the foot of others; as high as it needs to be."""
    left, top, right, bottom = shape.safe
    gap = round(26 * unit)
    wide = shape.format == "16:9"
    begin = round(left + 0.45 * (right - left)) if wide else left
    across = right - begin
    room = across - 2 * gap
    size = _row_size(title.rows[:MOST_ROWS], room, round(38 * unit), round(24 * unit))
    heading = wrap_words(title.heading, round(58 * unit), room, bold=True)[:3]
    over = wrap_words(title.over, round(30 * unit), room)
    caveats = [line for each in title.caveats for line in wrap_words(each, round(28 * unit), room)]
    row = line_height(size) + round(40 * unit)
    head = len(heading) * line_height(round(58 * unit)) + len(over) * line_height(round(30 * unit)) + gap // 2
    many = min(len(title.rows), MOST_ROWS)
    spare = (bottom - top - 2 * gap - head - many * row) // line_height(round(28 * unit))
    if len(caveats) > max(spare, 0):
        caveats = [*caveats[: max(spare - 1, 0)], "… and more: see the page of results"][: max(spare, 0)]
    down = min(2 * gap + head + many * row + len(caveats) * line_height(round(28 * unit)), bottom - top)
    plate = Plate(Box(begin, bottom - down, across, down))
    y = write_lines(plate, heading, round(58 * unit), look, (gap, gap), bold=True)
    y = write_lines(plate, over, round(30 * unit), look, (gap, y)) + gap // 2
    span = _span(title.rows)
    for each in title.rows[:MOST_ROWS]:
        _draw_row(plate, each, look, Box(gap, y, room, row), size, span)
        y += row
    write_lines(plate, caveats, round(28 * unit), look, (gap, y))
    return plate


def write_lines(
    plate: Plate, lines: Sequence[str], size: int, look: Look, at: tuple[int, int], *, bold: bool = False
) -> int:
    """Write lines below each other from a corner on [pixels]; where the next one would be."""
    left, y = at
    for line in lines:
        plate.write(line, size, look["ink"], left, y, bold=bold)
        y += line_height(size)
    return y


def _span(rows: Sequence[StillRow]) -> tuple[float, float]:
    """The lowest and highest percentage of all intervals, 0 included."""
    known = [each for row in rows for each in (row.gain, row.low, row.high) if each is not None]
    low, high = min([0.0, *known]), max([0.0, *known])
    return (low, high) if high > low else (low - 1.0, high + 1.0)


def _row_says(row: StillRow) -> str:
    return f"{row.word}, {row.says}" if row.says != "–" else row.word


def _row_size(rows: Sequence[StillRow], room: int, most: int, least: int) -> int:
    """The largest size of letters at which every row has room for its name and its numbers. [pixels]"""
    size = most
    while size > least and any(
        text_width(row.article, size, bold=True) + text_width(_row_says(row), size) + size > room
        for row in rows
    ):
        size -= 1
    return size


def _draw_row(
    plate: Plate, row: StillRow, look: Look, box: Box, size: int, span: tuple[float, float]
) -> None:
    words = _row_says(row)
    used = text_width(words, size)
    name = fit_words(row.article, size, box.width - used - size, bold=True)
    plate.write(name, size, look["ink"], box.left, box.top, bold=True)
    plate.write(words, size, look["ink"], box.right, box.top, end=True)
    top, thick = box.top + line_height(size) + round(0.3 * size), max(round(0.12 * size), 1)

    def x(percent: float) -> int:
        return box.left + round((percent - span[0]) / (span[1] - span[0]) * (box.width - size)) + size // 2

    rule: Mask = np.full((max(thick // 3, 1), box.width), 255, np.uint8)
    plate.paint(rule, look["soft"], box.left, top, 0.6)
    zero: Mask = np.full((size // 2, thick // 2 + 1), 255, np.uint8)
    plate.paint(zero, look["ink"], x(0.0), top - size // 4)
    if row.gain is None:
        return
    if row.low is not None and row.high is not None:
        bar: Mask = np.full((thick, max(x(row.high) - x(row.low), 1)), 255, np.uint8)
        plate.paint(bar, look[row.role], x(row.low), top - thick // 2)
    side = round(0.62 * size)
    plate.paint(
        sign_mask(row.path, side, hollow=row.hollow), look[row.role], x(row.gain) - side // 2, top - side // 2
    )


def describe_still(title: Title) -> str:
    """The picture for who cannot see it."""
    rows = " ".join(f"{each.article}: {each.word}, {each.says}." for each in title.rows[:MOST_ROWS])
    said = "The runs are simulated. " if title.simulated else ""
    return (
        " ".join((f"Photo with a chart over it: {title.heading}. {said}{title.over}.", rows, *title.caveats))
        + "\n"
    )
