"""Bodies around the axis: volume, second moment, centre, and the slices that carry twist."""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass
from functools import reduce
from itertools import pairwise
from typing import Final

import numpy as np

from strikeproof.errors import BadInput
from strikeproof.parts.article import Cut, Part
from strikeproof.parts.shapes import Outline, fits_inside

__all__ = ["Slice", "Solid", "cross_hole", "make_solid", "slice_part"]

_CONE_SLICES: Final = 8
_STATIONS: Final = 24
_NODES, _WEIGHTS = (tuple(each.tolist()) for each in np.polynomial.legendre.leggauss(_STATIONS))


@dataclass(frozen=True, slots=True)
class Slice:
    """A stretch of a part with one hole and an outside that is level or evenly tapered.

    Parameters
    ----------
    start, end
        From the drive end of the part. [m]
    outer
        Outside at `start`.
    outer_end
        Size of the outside at `end`. [m]
    hole
        None where it is solid.
    """

    start: float
    end: float
    outer: Outline
    outer_end: float
    hole: Outline | None

    @property
    def length(self) -> float:
        """Along the axis. [m]"""
        return self.end - self.start

    @property
    def middle(self) -> Outline:
        """Its outside half way. [m]"""
        if self.outer_end == self.outer.size:
            return self.outer
        return Outline(self.outer.kind, (self.outer.size + self.outer_end) / 2)

    @property
    def volume(self) -> float:
        """[m³]; the square of an evenly tapered size has the mean (a² + ab + b²)/3."""
        a, b = self.outer.size, self.outer_end
        whole = self.outer.area * (a * a + a * b + b * b) / (3 * a * a)
        return self.length * (whole - (self.hole.area if self.hole else 0.0))

    @property
    def second_moment(self) -> float:
        """∫r² dV about the axis [m⁵]; the fourth power has the mean (a⁴ + a³b + a²b² + ab³ + b⁴)/5."""
        a, b = self.outer.size, self.outer_end
        mean = (a**4 + a**3 * b + a * a * b * b + a * b**3 + b**4) / (5 * a**4)
        return self.length * (self.outer.polar_moment * mean - (self.hole.polar_moment if self.hole else 0.0))


@dataclass(frozen=True, slots=True)
class Solid:
    """A part as a body.

    Parameters
    ----------
    volume, second_moment
        ∫dV and ∫r² dV about its own axis. [m³, m⁵]
    centre
        Of volume, from the drive end of the part. [m]
    lopsided
        ∫r dV towards the one wall of a cross hole, negative where material is missing. [m⁴]
    slices
        Along the axis; none for a ring.
    """

    volume: float
    second_moment: float
    centre: float
    lopsided: float
    slices: tuple[Slice, ...]


def _wider(one: Outline | None, cut: Cut, where: str) -> Outline:
    """The hole that is left where two cuts lie in each other: the outer of the two."""
    other = cut.outline
    if one is None or fits_inside(one, other):
        return other
    if fits_inside(other, one):
        return one
    raise BadInput(
        f"a {one.kind} of {one.size * 1e3:.4g} mm and a {other.kind} of {other.size * 1e3:.4g} mm cross",
        where=where,
        allowed="cuts of which one lies within the other, or which do not overlap",
        fix="shorten one of them",
    )


def _axial(part: Part) -> tuple[Cut, ...]:
    cuts = tuple(cut for cut in part.cuts if cut.kind not in ("cross hole", "chamfer"))
    if part.bore is None:
        return cuts
    return (_through(part.bore, part.length), *cuts)


def _through(bore: Outline, length: float) -> Cut:
    kinds = {"round": "bore", "square": "square drive", "hexagon": "hexagon", "twelve-point": "twelve-point"}
    return Cut(kinds[bore.kind], bore.size, length)  # type: ignore[arg-type]  # values are kinds of cut


def _span(cut: Cut, length: float) -> tuple[float, float]:
    return (0.0, cut.depth) if cut.end == "drive" else (length - cut.depth, length)


def _outside(part: Part, at: float) -> float:
    """Size of the outside at a distance from the drive end, chamfers taken off. [m]"""
    size = part.outer.size + (part.outer_end - part.outer.size) * at / part.length
    for cut in part.cuts:
        if cut.kind == "chamfer":
            away = at if cut.end == "drive" else part.length - at
            size -= 2 * max(0.0, cut.size - away)
    return size


def _marks(part: Part) -> list[float]:
    """Where the shape changes along the axis, ends included."""
    marks = {0.0, part.length}
    for cut in part.cuts:
        if cut.kind == "chamfer":
            marks.add(cut.size if cut.end == "drive" else part.length - cut.size)
        elif cut.kind != "cross hole":
            marks.update(_span(cut, part.length))
    if part.outer_end != part.outer.size:
        marks.update(part.length * k / _CONE_SLICES for k in range(_CONE_SLICES))
    return sorted(marks)


def slice_part(part: Part) -> tuple[Slice, ...]:
    """The part in slices from its drive end.

    Parameters
    ----------
    part
        Its bore and cuts along the axis; cross holes make no slice.

    Raises
    ------
    BadInput
        If two cuts cross, or a cut breaks through the outside.
    """
    return tuple(_slices(part))


def _slices(part: Part) -> Iterator[Slice]:
    where = f"part {part.name!r}"
    cuts = _axial(part)
    marks = _marks(part)
    for start, end in pairwise(marks):
        if end - start < 1e-9:
            continue
        middle = (start + end) / 2
        here = (cut for cut in cuts if _covers(_span(cut, part.length), middle))
        hole: Outline | None = reduce(lambda one, cut: _wider(one, cut, where), here, None)
        outer = Outline(part.outer.kind, _outside(part, start))
        outer_end = _outside(part, end)
        if min(outer.size, outer_end) <= 0:
            raise BadInput(
                "its chamfers leave nothing",
                where=where,
                allowed="chamfers below half the outside",
                fix="take smaller chamfers",
            )
        if hole is not None and hole.corners >= min(outer.size, outer_end) * (1 - 1e-9):
            raise _broken_through(where, hole, min(outer.size, outer_end))
        yield Slice(start, end, outer, outer_end, hole)


def _covers(span: tuple[float, float], at: float) -> bool:
    return span[0] <= at <= span[1]


def _broken_through(where: str, hole: Outline, outside: float) -> BadInput:
    factor = hole.corners / hole.size
    return BadInput(
        f"a {hole.kind} hole of {hole.size * 1e3:.4g} mm in an outside of {outside * 1e3:.4g} mm",
        where=where,
        allowed=f"a hole below {outside / factor * 1e3:.4g} mm",
        fix="take a wider bar or a smaller hole",
    )


def cross_hole(cut: Cut, outside: float, inside: float) -> tuple[float, float, float]:
    """What a hole across the axis takes out of a wall: ∫dV, ∫r² dV, ∫x dV along the hole. [m³, m⁵, m⁴]

    The hole of diameter d runs along x; at height y it is 2√(d²/4 − y²) long in the axis and passes the wall
    from x = √(r_i² − y²) to √(r_o² − y²). Gauss-Legendre in the angle over the hole.

    Parameters
    ----------
    cut
        Its diameter, and through how many walls.
    outside
        Diameter of the part there. [m]
    inside
        Diameter of its hole there, 0 where it is solid. [m]

    References
    ----------
    Derived here; the rule of Gauss and Legendre as in any text on quadrature.
    """
    radius = cut.size / 2
    volume = moment = first = 0.0
    for node, weight in zip(_NODES, _WEIGHTS, strict=True):
        angle = node * math.pi / 2
        y = radius * math.sin(angle)
        area = 2 * (radius * math.cos(angle)) ** 2 * weight * math.pi / 2
        near = math.sqrt(max((inside / 2) ** 2 - y * y, 0.0))
        far = math.sqrt(max((outside / 2) ** 2 - y * y, 0.0))
        volume += area * (far - near)
        moment += area * ((far**3 - near**3) / 3 + y * y * (far - near))
        first += area * (far**2 - near**2) / 2
    return cut.walls * volume, cut.walls * moment, first if cut.walls == 1 else 0.0


def _ring(part: Part) -> Solid:
    """A torus of mean radius R and stock radius r: V = 2π²Rr², ∫r² dV = V(R² + ¾r²) (Meriam, tables)."""
    stock = part.length / 2
    mean = part.outer.size / 2 - stock
    volume = 2 * math.pi**2 * mean * stock**2
    return Solid(volume, volume * (mean**2 + 0.75 * stock**2), stock, 0.0, ())


def make_solid(part: Part) -> Solid:
    """The part as a body.

    Parameters
    ----------
    part
        Its volume, cuts and packing.

    Raises
    ------
    BadInput
        If two cuts cross, or a cut breaks through the outside.

    References
    ----------
    Sums of slices, derived here (`Slice`); a torus as in Meriam's tables (`_ring`).
    """
    if part.shape == "ring":
        return _ring(part)
    slices = slice_part(part)
    volume = sum(each.volume for each in slices)
    moment = sum(each.second_moment for each in slices)
    first = sum(each.volume * (each.start + each.end) / 2 for each in slices)
    lopsided = 0.0
    for cut in part.cuts:
        if cut.kind == "cross hole":
            there = next(each for each in slices if each.start <= cut.at <= each.end)
            taken = cross_hole(cut, there.middle.size, there.hole.size if there.hole else 0.0)
            volume, moment, first = volume - taken[0], moment - taken[1], first - taken[0] * cut.at
            lopsided -= taken[2]
    return Solid(volume * part.packing, moment * part.packing, first / volume, lopsided, slices)
