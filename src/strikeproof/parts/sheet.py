"""What a drawing is made of: strokes and words on a sheet, in millimetres, y upwards."""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass
from typing import Literal, TypeAlias

__all__ = ["Anchor", "Point", "Sheet", "Stroke", "Style", "Words", "arrow", "circle", "dimension"]

Point: TypeAlias = tuple[float, float]
Style: TypeAlias = Literal["outline", "thin", "centre", "arrow"]
Anchor: TypeAlias = Literal["start", "middle", "end"]

_ARROW_LENGTH, _ARROW_WIDTH = 2.5, 0.9


@dataclass(frozen=True, slots=True)
class Stroke:
    """A polyline.

    Parameters
    ----------
    points
        Its corners. [mm]
    style
        Thick outline, thin line, dash-dotted centre line, or a filled arrow head.
    closed
        Whether its end joins its start.
    hatch
        Number of the part whose cut face it is; 0 for a blank face, which hides; None for a line.
    """

    points: tuple[Point, ...]
    style: Style = "outline"
    closed: bool = False
    hatch: int | None = None


@dataclass(frozen=True, slots=True)
class Words:
    """A line of text: where its foot is, how high, and how far it is turned. [mm, mm, degrees]"""

    at: Point
    text: str
    height: float = 3.0
    anchor: Anchor = "middle"
    turned: float = 0.0


@dataclass(frozen=True, slots=True)
class Sheet:
    """A drawing: its corner at the lower left, its size, and what is on it. [mm]"""

    title: str
    corner: Point
    size: Point
    strokes: tuple[Stroke, ...]
    words: tuple[Words, ...]


def circle(centre: Point, radius: float, count: int = 48) -> tuple[Point, ...]:
    """A circle as a polygon.

    Parameters
    ----------
    centre
        [mm]
    radius
        [mm]
    count
        Of its corners.

    Returns
    -------
    Corners, anticlockwise from the right. [mm]
    """
    turns = (2 * math.pi * k / count for k in range(count))
    return tuple((centre[0] + radius * math.cos(t), centre[1] + radius * math.sin(t)) for t in turns)


def arrow(tip: Point, back: Point) -> Stroke:
    """An arrow head at `tip`, pointing away from `back`."""
    length = math.dist(tip, back) or 1.0
    ux, uy = (tip[0] - back[0]) / length, (tip[1] - back[1]) / length
    foot = tip[0] - _ARROW_LENGTH * ux, tip[1] - _ARROW_LENGTH * uy
    half = _ARROW_WIDTH / 2
    corners = (tip, (foot[0] - half * uy, foot[1] + half * ux), (foot[0] + half * uy, foot[1] - half * ux))
    return Stroke(corners, "arrow", closed=True)


def dimension(one: Point, other: Point, line: tuple[Point, Point], text: str) -> Iterator[Stroke | Words]:
    """A dimension between two points: extension lines, dimension line with arrows, and its text.

    Parameters
    ----------
    one, other
        What is measured. [mm]
    line
        Ends of the dimension line, level or upright. [mm]
    text
        The figure written on it.
    """
    start, end = line
    for point, foot in ((one, start), (other, end)):
        if math.dist(point, foot) > 1e-6:
            yield Stroke((point, foot), "thin")
    yield Stroke((start, end), "thin")
    yield arrow(start, end)
    yield arrow(end, start)
    middle = (start[0] + end[0]) / 2, (start[1] + end[1]) / 2
    if abs(start[1] - end[1]) < 1e-6:
        yield Words((middle[0], middle[1] + 0.8), text)
    else:
        yield Words((middle[0] - 0.8, middle[1]), text, turned=90.0)
