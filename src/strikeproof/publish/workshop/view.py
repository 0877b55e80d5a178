"""The half-section with its dimensions and marks, before it finds its place on a sheet."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from typing import Final

from strikeproof.parts import Stroke, Words
from strikeproof.parts.layout import Placed
from strikeproof.parts.section_view import draw_bodies
from strikeproof.parts.sheet import Point
from strikeproof.publish.workshop.dimensions import Diameter, Length, draw_diameters, draw_lengths
from strikeproof.publish.workshop.frame import Box
from strikeproof.publish.workshop.marks import draw_balloons, draw_beads, draw_letters, name_ends
from strikeproof.publish.workshop.notes import SIGNS, millimetres

__all__ = ["View", "draw_view", "grow"]

_MM: Final = 1e3


def grow(points: Sequence[Point], by: float) -> tuple[Point, ...]:
    """Every point `by` times as far from the corner."""
    return tuple((x * by, y * by) for x, y in points)


@dataclass(frozen=True, slots=True)
class View:
    """What was drawn around the axis, and the corners of what it takes."""

    items: tuple[Stroke | Words, ...]
    box: Box

    def fits(self, room: Box) -> bool:
        """Whether the room takes it, with a little air around."""
        return self.box.width <= room.width - 6.0 and self.box.height <= room.height - 4.0

    def centred(self, room: Box) -> Iterator[Stroke | Words]:
        """Moved into the middle of the room."""
        dx = (room.left + room.right - self.box.left - self.box.right) / 2
        dy = (room.bottom + room.top - self.box.bottom - self.box.top) / 2
        for item in self.items:
            if isinstance(item, Words):
                yield replace(item, at=(item.at[0] + dx, item.at[1] + dy))
            else:
                yield replace(item, points=tuple((x + dx, y + dy) for x, y in item.points))


def draw_view(placed: Sequence[Placed], scale: float) -> View:
    """The view of parts in their places, around the axis at height 0."""
    by = _MM * scale
    left, right = min(each.start for each in placed) * by, max(each.end for each in placed) * by
    top = max(each.part.outer.corners for each in placed) / 2 * by
    sizes, far_left, far_right = draw_diameters(_diameters(placed, by), (left, right))
    items = (
        *(replace(stroke, points=grow(stroke.points, scale)) for stroke in draw_bodies(placed)),
        *draw_beads(placed, by),
        Stroke(((left - 4.0, 0.0), (right + 4.0, 0.0)), "centre"),
        *draw_lengths(_depths(placed, by), top, 1),
        *draw_lengths(_lengths(placed, by), -top, -1),
        *sizes,
        *draw_letters(placed, by),
        *name_ends(placed, by),
        *draw_balloons(placed, by, (far_left - 7.0, far_right + 7.0), top),
    )
    points = [point for item in items for point in (item.points if isinstance(item, Stroke) else (item.at,))]
    xs, ys = [x for x, _ in points], [y for _, y in points]
    return View(items, Box(min(xs), min(ys) - 1.0, max(*xs, far_right), max(ys) + 3.0))


def _diameters(placed: Sequence[Placed], by: float) -> list[Diameter]:
    found: dict[tuple[str, float], Diameter] = {}
    for each in placed:
        kind = each.part.outer.kind
        for size, start in ((each.part.outer.size, each.start), (each.part.outer_end, each.end)):
            key = (kind, round(size * _MM, 3))
            first = min(start * by, found[key].start) if key in found else start * by
            last = max(each.end * by, found[key].end) if key in found else each.end * by
            found[key] = Diameter(size / 2 * by, first, last, f"{SIGNS[kind]}{millimetres(size)}")
    return list(found.values())


def _lengths(placed: Sequence[Placed], by: float) -> Iterator[Length]:
    """Below: every part's length, where each ring begins, and the whole."""
    first, last = min(each.start for each in placed), max(each.end for each in placed)
    told: set[tuple[float, float]] = set()

    def once(a: float, b: float, radii: tuple[float, float]) -> Iterator[Length]:
        key = round(a * _MM, 2), round(b * _MM, 2)
        if key not in told and b - a > 1e-5:
            told.add(key)
            yield Length((a * by, -radii[0] * by), (b * by, -radii[1] * by), millimetres(b - a))

    datum = placed[0].part.outer.size / 2
    for each in placed:
        radius = each.part.outer.size / 2
        yield from once(each.start, each.end, (radius, radius))
        if each.part.carrier is not None:
            yield from once(first, each.start, (datum, radius))
    yield from once(first, last, (datum, placed[-1].part.outer.size / 2))


def _depths(placed: Sequence[Placed], by: float) -> Iterator[Length]:
    """Above: how deep each blind hole goes, from the face it enters, and where a cross hole is."""
    told: set[tuple[float, float]] = set()
    for each in placed:
        outside = each.part.outer.size / 2 * by
        for cut in each.part.cuts:
            hole = cut.size / 2 * by
            if cut.kind == "cross hole":
                a, b, ends = each.start, each.start + cut.at, (outside, outside)
            elif cut.kind == "chamfer" or cut.depth >= each.part.length * (1 - 1e-9):
                continue
            elif cut.end == "drive":
                a, b, ends = each.start, each.start + cut.depth, (outside, hole)
            else:
                a, b, ends = each.end - cut.depth, each.end, (hole, outside)
            if (key := (round(a * _MM, 2), round(b * _MM, 2))) not in told:
                told.add(key)
                yield Length((a * by, ends[0]), (b * by, ends[1]), millimetres(b - a))
