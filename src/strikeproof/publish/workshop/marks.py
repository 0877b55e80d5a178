"""Marks on a view: which end is which, letters of holes, beads of weld, numbers of parts."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from itertools import combinations
from typing import Final, TypeAlias

from strikeproof.parts import Stroke, Words
from strikeproof.parts.layout import Placed
from strikeproof.parts.shapes import Outline
from strikeproof.parts.sheet import Point, circle
from strikeproof.publish.workshop.dimensions import words_width
from strikeproof.publish.workshop.notes import SIGNS, cut_holes, millimetres

__all__ = ["draw_balloons", "draw_beads", "draw_letters", "name_ends"]

_BALLOON: Final = 8.5
_Target: TypeAlias = tuple[float, float, str]
"""Where a line ends, and what its balloon says."""


def name_ends(placed: Sequence[Placed], by: float) -> Iterator[Words]:
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


def draw_letters(placed: Sequence[Placed], by: float) -> Iterator[Words]:
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
    """The middle of the longest stretch where this hole is open and nothing stands in it. [m]"""
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


def draw_beads(placed: Sequence[Placed], by: float) -> Iterator[Stroke]:
    """Filled triangles in the corners, above and below the axis."""
    for each, spots in _weld_spots(placed):
        leg = max(each.part.bond.throat * 2**0.5 * by, 1.2)
        for x, radius, side in spots:
            for up in (1, -1):
                foot = (x * by, up * radius * by)
                corners = (foot, (foot[0] + side * leg, foot[1]), (foot[0], foot[1] + up * leg))
                yield Stroke(corners, "arrow", closed=True)


def draw_balloons(
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
