"""The growth curves of a film: what stays, and what comes with time, from left to right."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

import numpy as np

from strikeproof.publish.film.layout import Sizes
from strikeproof.publish.film.lettering import Mask, draw_line, text_width
from strikeproof.publish.film.looks import Look
from strikeproof.publish.film.plates import Box, Pixels, Plate
from strikeproof.publish.film.story import FilmStory
from strikeproof.quantity import FloatArray

__all__ = ["STROKES", "FilmChart"]

STROKES: Final = (
    ("accent", ()),
    ("ink", (5.0, 3.0)),
    ("accent", (1.6, 1.6)),
    ("ink", (7.0, 2.0, 1.6, 2.0)),
)
"""Colour and dashes of each run's line, in widths of the line."""
_PLENTY: Final = 1200


@dataclass(frozen=True, slots=True)
class _Scale:
    """From seconds and levels to pixels of the plate."""

    plot: Box
    end_s: float
    top: float

    def x(self, time: float | FloatArray) -> FloatArray:
        return np.asarray(self.plot.left + np.asarray(time) / self.end_s * (self.plot.width - 1))

    def y(self, level: float | FloatArray) -> FloatArray:
        return np.asarray(self.plot.bottom - 1 - np.asarray(level) / self.top * (self.plot.height - 1))


class FilmChart:
    """Curves, traces and blow marks of all runs.

    Parameters
    ----------
    plate
        On which its axes are drawn at once, and all else as time goes on.
    box
        Where it is on the plate.
    """

    def __init__(self, plate: Plate, box: Box, story: FilmStory, look: Look, sizes: Sizes) -> None:
        self._plate, self._story, self._look, self._sizes = plate, story, look, sizes
        top = 1.08 * story.highest
        lanes = max(round(2.2 * sizes.line), 2) * len(story.runs) + sizes.gap // 3
        head, foot = round(1.28 * sizes.small), round(1.28 * sizes.small)
        fit = (box.height - head - foot - lanes) // round(1.4 * sizes.small)  # numbers below each other
        ticks = _ticks(top, max(min(4 if len(story.runs) == 1 else 5, fit), 2))
        left = max(text_width(f"{each:g}", sizes.small) for each in ticks) + sizes.gap // 2
        plot = Box(
            box.left + left,
            box.top + head,
            box.width - left - sizes.gap // 2,
            box.height - head - foot - lanes,
        )
        self._scale = _Scale(plot, story.end_s, top)
        self._lanes = Box(plot.left, plot.bottom + sizes.gap // 3, plot.width, lanes - sizes.gap // 3)
        self._draw_axes(box, ticks)
        reach = round(3 * sizes.line) + 2
        self._area = Box(plot.left, plot.top - reach, plot.width + reach, plot.height + lanes + 2 * reach)
        self._area = self._area.within(plate.place.width, plate.place.height)
        self._before = self._cut(plate).copy()
        full = Plate(plate.place)
        full.ink[:] = plate.ink
        self._draw_runs(full)
        self._after = self._cut(full).copy()
        self._shown = 0  # columns of the area
        self._dots: tuple[int, int] = (0, 0)

    def _cut(self, plate: Plate) -> Pixels:
        area = self._area
        return plate.ink[area.top : area.bottom, area.left : area.right]

    def advance(self, time: float) -> Box | None:
        """Draw all until `time` [s after the first blow]; the part of the plate that changed."""
        upto = round(float(self._scale.x(min(max(time, 0.0), self._story.end_s)))) - self._area.left
        upto = int(np.clip(upto if time > 0.0 else 0, 0, self._area.width))
        if upto == self._shown and self._dots[1]:
            return None
        reach = round(3 * self._sizes.line) + 2
        first = max(min(self._shown, upto) - reach, 0)
        last = min(max(self._shown, upto) + reach, self._area.width)
        live = self._cut(self._plate)
        live[:, first:upto] = self._after[:, first:upto]
        live[:, upto:last] = self._before[:, upto:last]
        self._shown, self._dots = upto, (first, last)
        self._draw_dots(time)
        return Box(self._area.left + first, self._area.top, last - first, self._area.height)

    def _draw_dots(self, time: float) -> None:
        """Where each run is now: a filled dot of its colour."""
        if time <= 0.0:
            return
        radius = max(round(2.2 * self._sizes.line), 2)
        span = np.arange(-radius, radius + 1)
        round_mask: Mask = (np.hypot(*np.meshgrid(span, span)) <= radius).astype(np.uint8) * 255
        for place, run in enumerate(self._story.runs):
            at = min(time, run.end_s)
            if at < time and self._scale.x(at) < self._area.left + self._dots[0] + radius:
                continue  # it rests farther left
            x, y = round(float(self._scale.x(at))), round(float(self._scale.y(run.level_at(at))))
            self._plate.paint(round_mask, self._look[STROKES[place][0]], x - radius, y - radius)

    def _draw_axes(self, box: Box, ticks: list[float]) -> None:
        look, sizes, plot, scale = self._look, self._sizes, self._scale.plot, self._scale
        for each in ticks:
            y = round(float(scale.y(each)))
            line: Mask = np.full((max(round(sizes.line / 3), 1), plot.width), 255, np.uint8)
            self._plate.paint(line, look["soft"], plot.left, y, 0.55)
            self._plate.write(
                f"{each:g}",
                sizes.small,
                look["ink"],
                plot.left - sizes.gap // 2,
                y - round(0.64 * sizes.small),
                end=True,
            )
        unit = self._story.runs[0].unit
        self._plate.write(f"{self._story.quantity}, {unit}", sizes.small, look["ink"], plot.left, box.top)
        foot = self._lanes.bottom
        for each in _ticks(self._story.end_s, 4):
            words = f"{each:g} s"
            x = int(scale.x(each))
            room = text_width(words, sizes.small)
            left = min(max(x - room // 2, plot.left), plot.right - room)
            self._plate.write(words, sizes.small, look["ink"], left, foot)

    def _draw_runs(self, plate: Plate) -> None:
        size, sizes = (plate.place.width, plate.place.height), self._sizes
        lane = self._lanes.height // max(len(self._story.runs), 1)
        for place, run in enumerate(self._story.runs):
            role, dash = STROKES[place]
            colour = self._look[role]
            if len(self._story.runs) == 1 and run.trace_time.size > 1:
                level = np.clip(run.trace_level, 0.0, self._scale.top)
                points = np.stack([self._scale.x(run.trace_time), self._scale.y(level)], axis=1)
                plate.paint(draw_line(size, points, 0.5 * sizes.line), self._look["soft"], 0, 0, 0.6)
            top = self._lanes.top + place * lane
            marks: Mask = np.zeros((max(lane - 2, 1), self._scale.plot.width + 2), np.uint8)
            at = np.round(self._scale.x(run.blows)).astype(np.int64) - self._scale.plot.left
            marks[:, at[(at >= 0) & (at < marks.shape[1])]] = 255
            plate.paint(marks, colour, self._scale.plot.left, top)
            time, level = _steps(run.growth_time, run.growth_level, self._scale.end_s)
            points = np.stack([self._scale.x(time), self._scale.y(level)], axis=1)
            scaled = tuple(sizes.line * each for each in dash)
            plate.paint(draw_line(size, points, sizes.line, dash=scaled), colour, 0, 0)


def _steps(time: FloatArray, level: FloatArray, end_s: float) -> tuple[FloatArray, FloatArray]:
    """The curve as the stairs that it is, where they can be seen."""
    kept = (time <= end_s) & (time >= 0.0)
    time, level = time[kept], level[kept]
    if time.size < 2 or time.size > _PLENTY:
        return time, level
    return np.repeat(time, 2)[1:], np.repeat(level, 2)[:-1]


def _ticks(top: float, most: int = 5) -> list[float]:
    """A few round numbers from 0 up."""
    rough = top / most
    size = 10.0 ** np.floor(np.log10(rough))
    step = next(each * size for each in (1.0, 2.0, 5.0, 10.0) if each * size >= rough * 0.999)
    return [float(round(place * step, 10)) for place in range(int(top / step + 0.01) + 1)]
