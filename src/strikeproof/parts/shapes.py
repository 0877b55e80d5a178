"""Outlines around the axis: what a part looks like in a cut across it."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final, Literal, TypeAlias

__all__ = ["Kind", "Outline", "fits_inside", "free_play", "polygon_moments", "round_outline"]

Kind: TypeAlias = Literal["round", "square", "hexagon", "twelve-point"]

_SIDES: Final = {"square": 4, "hexagon": 6, "twelve-point": 6}  # flats that one corner meets in a turn


def polygon_moments(corners: Sequence[tuple[float, float]]) -> tuple[float, float]:
    """Area and polar moment about the origin of a polygon given anticlockwise. [m², m⁴]

    Parameters
    ----------
    corners
        (x, y) of each, anticlockwise. [m]

    References
    ----------
    Sum over triangles with a corner at the origin: A = ½ a×b, I_p = A/6 (a·a + a·b + b·b) (common practice,
    no source); for the square it gives a⁴/6.
    """
    area = moment = 0.0
    for (ax, ay), (bx, by) in zip(corners, (*corners[1:], corners[0]), strict=True):
        half = (ax * by - ay * bx) / 2
        area += half
        moment += half / 6 * (ax * ax + ay * ay + ax * bx + ay * by + bx * bx + by * by)
    return area, moment


def _twelve_point() -> tuple[float, float]:
    """Area and polar moment of two hexagons of flats 1 turned by 30° against each other."""
    corner, valley = 0.5 / math.cos(math.pi / 6), 0.5 / math.cos(math.pi / 12)
    radii = (corner, valley) * 12
    turns = (k * math.pi / 12 for k in range(24))
    return polygon_moments([(r * math.cos(t), r * math.sin(t)) for r, t in zip(radii, turns, strict=True)])


# area / size², polar moment / size⁴, across corners / size
_FACTORS: Final[dict[Kind, tuple[float, float, float]]] = {
    "round": (math.pi / 4, math.pi / 32, 1.0),
    "square": (1.0, 1 / 6, math.sqrt(2)),
    "hexagon": (math.sqrt(3) / 2, 5 * math.sqrt(3) / 72, 2 / math.sqrt(3)),
    "twelve-point": (*_twelve_point(), 2 / math.sqrt(3)),
}


@dataclass(frozen=True, slots=True)
class Outline:
    """A closed outline centred on the axis.

    Parameters
    ----------
    kind
        Its shape.
    size
        Diameter of a round, width across flats of the others. [m]
    """

    kind: Kind
    size: float

    @property
    def area(self) -> float:
        """Enclosed area. [m²]"""
        return _FACTORS[self.kind][0] * self.size**2

    @property
    def polar_moment(self) -> float:
        """Polar moment of the enclosed area about the axis. [m⁴]"""
        return _FACTORS[self.kind][1] * self.size**4

    @property
    def corners(self) -> float:
        """Diameter of the circle around it: across the corners. [m]"""
        return _FACTORS[self.kind][2] * self.size


def round_outline(diameter: float) -> Outline:
    """A circle of `diameter`. [m]"""
    return Outline("round", diameter)


def fits_inside(inner: Outline, outer: Outline) -> bool:
    """Whether `inner`, turned as suits best, lies within `outer`."""
    tight = 1 + 1e-9  # what is equal on paper fits
    if inner.corners <= outer.size * tight:
        return True
    same = inner.kind == outer.kind or (inner.kind, outer.kind) == ("hexagon", "twelve-point")
    return same and inner.size <= outer.size * tight


def free_play(kind: Kind, male: float, female: float) -> float:
    """Angle a polygon of flats `male` turns freely within one of flats `female`. [rad]

    A corner at radius (male/2)/cos(π/n) meets the flat when cos(π/n − φ) = cos(π/n)·female/male; the
    play is φ to either side, 2φ in all. It is NaN-free: where the corner clears the flat the play is
    a whole pitch and the drive slips round.

    Derived here.

    Parameters
    ----------
    kind
        Of the female.
    male, female
        Widths across flats, > 0; a male wider than the female counts as equal. [m]
    """
    half = math.pi / _SIDES[kind]
    ratio = math.cos(half) * max(female / male, 1.0)
    return 2 * half if ratio >= 1 else 2 * (half - math.acos(ratio))
