"""What lies over the footage at any moment: names, numbers, curves, blow marks, at last the result."""

from __future__ import annotations

import re
from typing import Final

import numpy as np

from strikeproof.publish.film.chart import STROKES, FilmChart
from strikeproof.publish.film.layout import Layout, Sizes, lay_out
from strikeproof.publish.film.lettering import (
    Mask,
    draw_line,
    draw_shape,
    fit_words,
    line_height,
    text_width,
    wrap_words,
)
from strikeproof.publish.film.looks import Look
from strikeproof.publish.film.plates import Box, Change, Plate
from strikeproof.publish.film.shapes import Shape
from strikeproof.publish.film.story import FilmRun, FilmStory, FilmVerdict
from strikeproof.publish.texts import count

__all__ = [
    "BADGE",
    "PANEL",
    "RESULT",
    "Overlay",
    "number_size",
    "number_words",
    "sign_mask",
    "write_number_box",
]

PANEL, BADGE, RESULT = range(3)
_FLASH_S: Final = 0.07
"""How long the mark of a blow stays lit. [s]"""


class Overlay:
    """The plates of a film at one moment, brought from each to the next.

    Parameters
    ----------
    story
        What the film shows.
    shape
        Of the picture.
    look
        Of `looks.LOOKS`.
    """

    def __init__(self, story: FilmStory, shape: Shape, look: Look) -> None:
        self.story, self.shape, self.look = story, shape, look
        self.layout = lay_out(shape, len(story.runs))
        panel = Plate(self.layout.panel)
        for place, run in enumerate(story.runs):
            _write_names(panel, run, place, self.layout, look)
        self._chart = FilmChart(panel, self.layout.chart, story, look, self.layout.sizes)
        badge = Plate(self.layout.badge, shown=story.simulated)
        size = self.layout.sizes.words
        badge.write(
            "Simulated", size, look["ink"], self.layout.sizes.gap, self.layout.sizes.gap // 2, bold=True
        )
        self.plates = [panel, badge, _result_plate(story, self.layout, look)]
        self._said: list[tuple[str, str, bool, bool] | None] = [None] * len(story.runs)
        self._begun = False

    def advance(self, time: float) -> list[Change]:
        """Draw the moment `time` [s after the first blow]; what changed since the last one."""
        changes = []
        panel, result = self.plates[PANEL], self.plates[RESULT]
        moved = self._chart.advance(time)
        if moved is not None:
            changes.append(self._change(moved))
        for place, run in enumerate(self.story.runs):
            won = time >= self.story.verdict_s and run.article == self.story.winner
            said = (*number_words(run, time), _is_lit(run, time), won)
            if said != self._said[place]:
                self._said[place] = said
                box = self.layout.numbers[place]
                write_number_box(panel, box, said, self.layout, self.look)
                changes.append(self._change(box))
        shown = time >= self.story.verdict_s and self.story.has_result
        turned, result.shown = shown != result.shown, shown
        if not self._begun or turned:
            self._begun = True
            return [Change(place, _whole(plate)) for place, plate in enumerate(self.plates)]
        return changes

    def _change(self, box: Box) -> Change:
        plate = self.plates[PANEL].place
        return Change(PANEL, box.within(plate.width, plate.height).even().within(plate.width, plate.height))


def _whole(plate: Plate) -> Box:
    return Box(0, 0, plate.place.width, plate.place.height)


def number_words(run: FilmRun, time: float) -> tuple[str, str]:
    """Number of a run at a moment, and what it is and after how many blows."""
    if time < 0.0:
        return run.number_at(time), run.label_at(time)
    if not run.blows.size:  # blows that cannot be separated: nobody knows how many
        return run.number_at(time), run.label_at(time)
    blows = count(run.blows_until(time), "blow")
    return run.number_at(time), f"{run.label_at(time)} · {blows}"


def _is_lit(run: FilmRun, time: float) -> bool:
    struck = run.blows_until(time)
    return struck > 0 and time < run.end_s + _FLASH_S and time - float(run.blows[struck - 1]) < _FLASH_S


def write_number_box(
    plate: Plate, box: Box, said: tuple[str, str, bool, bool], layout: Layout, look: Look
) -> None:
    """Write number, what it is, the mark of a blow and that of a winner into a row's box.

    Parameters
    ----------
    said
        Number, its label, whether a blow has just struck, whether this article came out highest.
    """
    number, label, lit, won = said
    sizes = layout.sizes
    plate.clear(box)
    mark = round(0.62 * sizes.small)
    size = number_size(number, box, sizes)
    label = fit_words(label, sizes.small, box.width - 2 * mark)
    high = line_height(sizes.number)
    low = box.top + high + round(0.05 * sizes.small)
    if layout.stacked:
        plate.write(number, size, look["ink"], box.left, box.top + (sizes.number - size), bold=True)
        plate.write(label, sizes.small, look["ink"], box.left + 2 * mark, low)
        at = box.left
    else:
        plate.write(
            number, size, look["ink"], box.right, box.top + (sizes.number - size), bold=True, end=True
        )
        plate.write(label, sizes.small, look["ink"], box.right, low, end=True)
        at = box.right - text_width(label, sizes.small) - 2 * mark
    middle = low + round(0.34 * sizes.small)
    square = draw_shape(
        (mark, mark), [(1, 1), (mark - 1, 1), (mark - 1, mark - 1), (1, mark - 1)], 0 if lit else 1.5
    )
    plate.paint(square, look["accent"], at, middle)
    if won:
        across = text_width(number, size, bold=True) + mark
        left = box.left + across if layout.stacked else box.right - across - mark
        wide = round(1.1 * sizes.small)
        up = draw_shape((wide, wide), [(0, wide), (wide / 2, 0), (wide, wide)])
        plate.paint(
            up,
            look["higher"],
            left if layout.stacked else left - wide // 2,
            box.top + round(0.3 * sizes.number),
        )


def number_size(number: str, box: Box, sizes: Sizes) -> int:
    """Size of a number's letters, so that it fits into its box. [pixels]"""
    size = sizes.number
    while text_width(number, size, bold=True) > box.width - round(1.24 * sizes.small) and size > sizes.small:
        size -= 1
    return size


def _write_names(panel: Plate, run: FilmRun, place: int, layout: Layout, look: Look) -> None:
    row, sizes, number = layout.rows[place], layout.sizes, layout.numbers[place]
    role, dash = STROKES[place]
    sample = round(1.8 * sizes.name)
    points = np.array([[0.0, sizes.name * 0.5], [float(sample), sizes.name * 0.5]])
    scaled = tuple(sizes.line * each for each in dash)
    panel.paint(
        draw_line((sample, sizes.name), points, sizes.line, dash=scaled),
        look[role],
        row.left,
        row.top + round(0.2 * sizes.name),
    )
    left = row.left + sample + sizes.gap // 2
    room = (row.right if layout.stacked else number.left) - left
    panel.write(
        fit_words(run.article, sizes.name, room, bold=True), sizes.name, look["ink"], left, row.top, bold=True
    )
    words = f"{'excluded: ' if run.excluded else ''}{run.tool}, run {run.run}"
    panel.write(
        fit_words(words, sizes.small, room), sizes.small, look["ink"], left, row.top + line_height(sizes.name)
    )


def _result_plate(story: FilmStory, layout: Layout, look: Look) -> Plate:
    """The plate of the result, as high as its words need and the picture allows."""
    sizes, above = layout.sizes, layout.above
    for size, short in ((sizes.words, False), (sizes.small, False), (sizes.small, True)):
        sign = round(1.1 * size)
        room = above.width - 2 * sizes.gap - sign - sizes.gap
        lines = [
            (each, wrap_words(each.short if short else each.words, size, room)) for each in story.verdicts
        ]
        more = [line for each in story.caveats for line in wrap_words(each, size, room)]
        fixed = 2 * sizes.gap + (1 + sum(len(words) for _each, words in lines)) * line_height(size)
        needed = fixed + len(more) * line_height(size)
        if needed <= above.height:
            break
    spare = max((above.height - fixed) // line_height(size), 0)
    if len(more) > spare:
        # One line is for what limits the result most, cut with an ellipsis where it does not fit.
        first = [fit_words(story.caveats[0], size, room)] if spare == 1 else []
        more = first or [*more[: max(spare - 1, 0)], "… and more: see the page of results"][:spare]
        needed = fixed + len(more) * line_height(size)
    height = min(needed, above.height)
    plate = Plate(Box(above.left, above.bottom - height, above.width, height), shown=False)
    y, left = sizes.gap, sizes.gap + sign + sizes.gap
    plate.write("Result of the whole campaign", size, look["ink"], sizes.gap, y, bold=True)
    y += line_height(size)
    for each, words in lines:
        _paint_sign(plate, each, look, (sizes.gap, y, sign))
        for line in words:
            plate.write(line, size, look["ink"], left, y)
            y += line_height(size)
    for line in more:
        plate.write(line, size, look["ink"], left, y)
        y += line_height(size)
    return plate


def _paint_sign(plate: Plate, verdict: FilmVerdict, look: Look, place: tuple[int, int, int]) -> None:
    left, top, size = place
    mask = sign_mask(verdict.path, size, hollow=verdict.hollow)
    plate.paint(mask, look[verdict.role], left, top + round(0.12 * size))


def sign_mask(path: str, size: int, *, hollow: bool) -> Mask:
    """A shape of `publish.verdicts.SIGNS`, drawn in a square from −5 to 5, as a mask of so many pixels."""
    corners = [((x + 5.5) / 11.0 * size, (y + 5.5) / 11.0 * size) for x, y in _corners(path)]
    return draw_shape((size, size), corners, 0.12 * size if hollow else 0.0)


def _corners(path: str) -> list[tuple[float, float]]:
    """Corners of an SVG path of straight lines by absolute numbers: M, H, V and Z, as all signs are."""
    corners: list[tuple[float, float]] = []
    for command, numbers in re.findall(r"([MHV])([^MHVZ]*)", path):
        values = [float(each) for each in re.findall(r"-?\d+(?:\.\d+)?", numbers)]
        if command == "M":
            corners.extend(zip(values[::2], values[1::2], strict=True))
        else:
            x, y = corners[-1]
            corners.append((values[0], y) if command == "H" else (x, values[0]))
    return corners
