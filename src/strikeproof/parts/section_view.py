"""What is seen of an article in a half-section: cut faces above the axis, outsides below."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from typing import Final

from strikeproof.parts.layout import Placed
from strikeproof.parts.sheet import Point, Stroke, circle

__all__ = ["draw_bodies"]

_MM: Final = 1e3


def draw_bodies(placed: Sequence[Placed]) -> Iterator[Stroke]:
    """Cut faces above the axis, outsides below it; at full size. [mm]"""
    # What is wider hides what is within it.
    for each in sorted(placed, key=lambda each: each.part.outer.corners):
        yield Stroke(_below(each), hatch=0)
        yield from _edges(each)
    for number, each in enumerate(placed, start=1):
        if each.solid.slices:
            yield Stroke(_face(each, each.part.eccentric * _MM), closed=True, hatch=number)
        else:
            yield Stroke(_ring(each, 1), closed=True, hatch=number)


def _ring(each: Placed, side: int) -> tuple[Point, ...]:
    """The round stock of a ring, above (1) or below (-1) the axis."""
    radius = each.part.length / 2 * _MM
    mean = each.part.outer.size / 2 * _MM - radius
    return circle((each.start * _MM + radius, side * mean + each.part.eccentric * _MM), radius)


def _face(each: Placed, off: float) -> tuple[Point, ...]:
    start = each.start
    bored = 0.0 if each.bore_on_axis else off
    top = [
        ((start + at) * _MM, size / 2 * _MM + off)
        for body in each.solid.slices
        for at, size in ((body.start, body.outer.size), (body.end, body.outer_end))
    ]
    low = [
        ((start + at) * _MM, (body.hole.size / 2 * _MM + bored) if body.hole else 0.0)
        for body in reversed(each.solid.slices)
        for at in (body.end, body.start)
    ]
    return (*top, *low)


def _below(each: Placed) -> tuple[Point, ...]:
    """The outside seen from the side, corners down, from the axis and back to it."""
    if not each.solid.slices:
        half = _ring(each, -1)[24:]
        return ((half[0][0], 0.0), *half, (half[-1][0], 0.0))
    factor = each.part.outer.corners / each.part.outer.size / 2 * _MM
    off = each.part.eccentric * _MM
    outline = [
        ((each.start + at) * _MM, off - size * factor)
        for body in each.solid.slices
        for at, size in ((body.start, body.outer.size), (body.end, body.outer_end))
    ]
    return ((each.start * _MM, 0.0), *outline, (each.end * _MM, 0.0))


def _edges(each: Placed) -> Iterator[Stroke]:
    """The next edge of a hexagon, and the lower half of a cross hole, as seen from the side."""
    if each.part.outer.kind == "hexagon":
        y = -each.part.outer.corners / 4 * _MM
        yield Stroke(((each.start * _MM, y), (each.end * _MM, y)), "thin")
    for cut in each.part.cuts:
        if cut.kind == "cross hole":
            round_hole = circle(((each.start + cut.at) * _MM, 0.0), cut.size / 2 * _MM)
            yield Stroke((*round_hole[24:], round_hole[0]), "thin")
