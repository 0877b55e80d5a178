"""The half-section with its dimensions and marks, before it finds its place on a sheet."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from itertools import combinations
from typing import Final, TypeAlias

from strikeproof.parts import Stroke, Words
from strikeproof.parts.layout import Placed
from strikeproof.parts.section_view import draw_bodies
from strikeproof.parts.shapes import Outline
from strikeproof.parts.sheet import Point, circle
from strikeproof.publish.workshop.dimensions import (
    Diameter,
    Length,
    draw_diameters,
    draw_lengths,
    words_width,
)
from strikeproof.publish.workshop.frame import Box
from strikeproof.publish.workshop.notes import SIGNS, cut_holes, millimetres

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
        *_draw_beads(placed, by),
        Stroke(((left - 4.0, 0.0), (right + 4.0, 0.0)), "centre"),
        *draw_lengths(_depths(placed, by), top, 1),
        *draw_lengths(_lengths(placed, by), -top, -1),
        *sizes,
        *_draw_letters(placed, by),
        *_name_ends(placed, by),
        *_draw_balloons(placed, by, (far_left - 7.0, far_right + 7.0), top),
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


_BALLOON: Final = 8.5
_Target: TypeAlias = tuple[float, float, str]
"""Where a line ends, and what its balloon says."""


def _name_ends(placed: Sequence[Placed], by: float) -> Iterator[Words]:
    """Which end is which: along the two faces, below the axis."""
    first = min(placed, key=lambda each: each.start)
    last = max(placed, key=lambda each: each.end)
    for each, at, name in (
        (first, first.start * by + 3.2, "drive end"),
        (last, last.end * by - 1.2, "bolt end"),
    ):
        radius = each.part.outer.size / 2 * by
        if radius > words_width(name, 2.3) + 3.0:
            yield Words((at, -0.55 * radius), name, 2.3, "middle", 90.0)


def _draw_letters(placed: Sequence[Placed], by: float) -> Iterator[Words]:
    """On the axis, the letter of each hole; a ring's bore is lettered inside its cut face."""
    on_axis: list[tuple[float, str, Placed, Outline]] = []
    for letter, each, cut, outline in cut_holes(placed):
        if each.part.carrier is not None:
            inside, outside = outline.size / 2 * by, each.part.outer.size / 2 * by
            if outside - inside > 7.0 and each.part.length * by > 6.0:
                yield Words((each.end * by - 2.2, inside + 0.7 * (outside - inside)), letter, 2.8)
        elif cut is not None and cut.kind == "cross hole":
            yield Words(((each.start + cut.at) * by + cut.size / 2 * by + 1.5, -3.6), letter, 2.8)
        else:
            at = _seen(each, outline, [other for other in placed if other is not each]) * by
            while any(abs(at - other) < 3.2 for other, *_rest in on_axis):
                at += 3.2
            on_axis.append((at, letter, each, outline))
    for at, letter, each, outline in on_axis:
        size = f"{letter} {SIGNS[outline.kind]}{millimetres(outline.size)}"
        room = min((abs(at - other) for other, *_rest in on_axis if other != at), default=1e3) - 1.6
        roomy = min(2 * room, _stretch(each, outline) * by) > words_width(size) + 2.0
        yield Words((at, 1.0), size if roomy and outline.size / 2 * by > 4.2 else letter, 2.8)


def _stretch(each: Placed, outline: Outline) -> float:
    """The longest run of this hole. [m]"""
    return max((body.length for body in each.solid.slices if body.hole == outline), default=0.0)


def _seen(each: Placed, outline: Outline, others: Sequence[Placed]) -> float:
    """The middle of the longest stretch where this hole is open and nothing is in it. [m]"""
    spans = []
    for body in each.solid.slices:
        if body.hole == outline:
            start, end = each.start + body.start, each.start + body.end
            plugs = [o.end for o in others if o.part.on_path and o.start <= start < o.end < end]
            spans.append((max((start, *plugs)), end))
    start, end = max(spans, key=lambda span: span[1] - span[0], default=(each.start, each.end))
    return (start + end) / 2


def _weld_spots(placed: Sequence[Placed]) -> Iterator[tuple[Placed, list[tuple[float, float, int]]]]:
    """Each welded part with its beads: place along the axis, radius of the corner, side it lies on. [m]"""
    by_name = {each.part.name: each for each in placed}
    before: Placed | None = None
    for each in placed:
        other = by_name[each.part.carrier] if each.part.carrier else before
        if each.part.carrier is None:
            before = each
        if each.part.bond.kind != "weld" or other is None:
            continue
        if each.part.carrier:
            radius = other.part.outer.size / 2 if each.part.seat == "outside" else each.part.outer.size / 2
            ends = [(each.start, radius, -1), (each.end, radius, 1)]
            yield each, ends[: 2 if each.part.bond.runs >= 2 else 1]
        else:
            slimmer = min(each.part.outer.size, other.part.outer.size) / 2
            wider_first = other.part.outer.size >= each.part.outer.size
            yield each, [(other.end, slimmer, 1) if wider_first else (each.start, slimmer, -1)]


def _draw_beads(placed: Sequence[Placed], by: float) -> Iterator[Stroke]:
    """Filled triangles in the corners, above and below the axis."""
    for each, spots in _weld_spots(placed):
        leg = max(each.part.bond.throat * 2**0.5 * by, 1.2)
        for x, radius, side in spots:
            for up in (1, -1):
                foot = (x * by, up * radius * by)
                corners = (foot, (foot[0] + side * leg, foot[1]), (foot[0], foot[1] + up * leg))
                yield Stroke(corners, "arrow", closed=True)


def _draw_balloons(
    placed: Sequence[Placed], by: float, columns: tuple[float, float], top: float
) -> Iterator[Stroke | Words]:
    """Beside the view, on the nearer side: the number of each part and weld, so that no lines cross."""
    targets = [(*_target(each, by), str(number)) for number, each in enumerate(placed, start=1)]
    middle = (columns[0] + columns[1]) / 2
    for number, (each, spots) in enumerate(_weld_spots(placed), start=1):
        x, radius, side = spots[-1 if (each.start + each.end) / 2 * by > middle else 0]
        leg = each.part.bond.throat * by / 2
        targets.append((x * by + side * leg, radius * by + leg, f"W{number}"))
    for column, inwards, here in (
        (columns[0], 3.4, [each for each in targets if each[0] <= middle]),
        (columns[1], -3.4, [each for each in targets if each[0] > middle]),
    ):
        for row, (x, height, text) in enumerate(_uncrossed(here, (column, top))):
            y = top - _BALLOON * row
            yield Stroke(((x, height), (column + inwards, y)), "thin")
            yield Stroke(circle((x, height), 0.45, 12), "arrow", closed=True)
            yield Stroke(circle((column, y), 3.4), "thin", closed=True)
            yield Words((column, y - 1.0), text, 2.8)


def _uncrossed(targets: list[_Target], corner: Point) -> list[_Target]:
    """In an order down the column in which as few lines cross as exchanges of two can reach."""
    order = sorted(targets, key=lambda each: (-each[1], abs(each[0] - corner[0])))
    least = _crossings(order, corner)
    for _again in order:
        for one, other in combinations(range(len(order)), 2):
            tried = list(order)
            tried[one], tried[other] = order[other], order[one]
            if (count := _crossings(tried, corner)) < least:
                order, least = tried, count
    return order


def _crossings(order: Sequence[_Target], corner: Point) -> int:
    feet = [(corner[0], corner[1] - _BALLOON * row) for row in range(len(order))]
    lines = [((x, y), foot) for (x, y, _text), foot in zip(order, feet, strict=True)]
    return sum(_cross(one, other) for one, other in combinations(lines, 2))


def _cross(one: tuple[Point, Point], other: tuple[Point, Point]) -> bool:
    """Whether two stretches cross: the ends of each lie on both sides of the other."""
    return _side(*one, other[0]) * _side(*one, other[1]) < 0 > _side(*other, one[0]) * _side(*other, one[1])


def _side(start: Point, end: Point, at: Point) -> float:
    return (end[0] - start[0]) * (at[1] - start[1]) - (end[1] - start[1]) * (at[0] - start[0])


def _target(each: Placed, by: float) -> Point:
    """A point in the cut face of a part, near its drive end."""
    outside = each.part.outer.size / 2
    if not each.solid.slices:
        return (each.start + each.part.length / 4) * by, (outside - each.part.length / 2) * by
    body = each.solid.slices[0]
    inside = body.hole.size / 2 if body.hole else 0.0
    return each.start * by + min(3.0, each.part.length / 2 * by), (0.4 * outside + 0.6 * inside) * by
