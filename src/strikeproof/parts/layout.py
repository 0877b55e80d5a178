"""Where each part sits along the axis, and whether it fits what it touches."""

from __future__ import annotations

import math
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from typing import Final

from strikeproof.errors import BadInput, NotFound, at_place
from strikeproof.parts.article import Article, Part
from strikeproof.parts.bonds import Fit
from strikeproof.parts.materials import Material, MaterialBook, find_material
from strikeproof.parts.shapes import Outline, fits_inside
from strikeproof.parts.solids import Slice, Solid, make_solid

__all__ = ["Placed", "fit_between", "place"]

_ROUNDING: Final = 0.05e-3
_REACH: Final = 6e-3
"""Widest gap on the diameter that a weld or a loose seat spans. [m]"""


@dataclass(frozen=True, slots=True)
class Placed:
    """A part with its material and body, and where it starts from the drive end of the article. [m]

    `number` is its position among the parts of the article, from 0.
    """

    number: int
    part: Part
    material: Material
    solid: Solid
    start: float

    @property
    def end(self) -> float:
        """Where it ends. [m]"""
        return self.start + self.part.length

    @property
    def mass(self) -> float:
        """[kg]"""
        return self.solid.volume * self.material.density

    @property
    def bore_on_axis(self) -> bool:
        """Whether its bore stays on the axis where its outside is eccentric: it sits around a carrier."""
        return self.part.carrier is not None and self.part.seat == "outside"

    @property
    def shifted_mass(self) -> float:
        """What sits off the axis where the part is eccentric: with a bore on the axis all within its
        outside. [kg]

        Derived here: the moment of a disc at e less that of its bore at 0.
        """
        if not self.bore_on_axis:
            return self.mass
        holes = sum(each.length * each.hole.area for each in self.solid.slices if each.hole)
        return self.mass + holes * self.part.packing * self.material.density

    @property
    def inertia(self) -> float:
        """About the article's axis, by the parallel-axis theorem where it is eccentric. [kg·m²]"""
        own = self.solid.second_moment * self.material.density
        return own + self.shifted_mass * self.part.eccentric**2

    def slice_at(self, at: float) -> Slice | None:
        """The slice at a distance from the drive end of the part; None in a ring."""
        slices = self.solid.slices
        return next((each for each in slices if each.start <= at <= each.end), slices[-1] if slices else None)


def _wall(part: Part) -> float:
    return (part.outer.size - (part.bore.size if part.bore else 0.0)) / 2 if part.bore else part.outer.size


def _placed(number: int, part: Part, start: float, own: MaterialBook | None) -> Placed:
    material = find_material(part.material, own, diameter=part.outer.size, thickness=_wall(part))
    return Placed(number, part, material, make_solid(part), start)


def _outline_at(placed: Placed, at: float) -> tuple[Outline, Outline | None]:
    there = placed.slice_at(at)
    if there is None:
        inside = placed.part.outer.size - 2 * placed.part.length
        return placed.part.outer, Outline("round", inside)
    return there.middle, there.hole


def _slack(part: Part) -> float:
    """What a part may be larger than its seat: the interference, and what dimensions are rounded by. [m]"""
    return part.bond.interference + _ROUNDING


def _check_overlap(before: Placed, after: Placed) -> None:
    """That two parts which reach into each other have room to.

    Raises
    ------
    BadInput
        If neither goes into the other.
    """
    reach, part = after.part.overlap, after.part
    if reach <= 0:
        return
    outside_a, hole_a = _outline_at(before, before.part.length - reach / 2)
    outside_b, hole_b = _outline_at(after, reach / 2)
    slack = _slack(part)
    goes_in = hole_b is not None and fits_inside(Outline(outside_a.kind, outside_a.size - slack), hole_b)
    goes_over = hole_a is not None and fits_inside(Outline(outside_b.kind, outside_b.size - slack), hole_a)
    if not (goes_in or goes_over):
        raise BadInput(
            f"overlap_mm = {reach * 1e3:g} with {before.part.name!r}, but neither goes into the other",
            where=f"part {part.name!r}",
            allowed="an overlap where one part fits into the hole of the other",
            fix="set overlap_mm = 0, or make the hole wide enough",
            key="overlap_mm",
        )


def _off_carrier(rider: Part, carrier: Part, what: str, allowed: str, *, key: str = "") -> BadInput:
    return BadInput(
        f"{what}, off its carrier {carrier.name!r}",
        where=f"part {rider.name!r}",
        allowed=allowed,
        fix="change at_mm, the bore or the outside so that it sits on the carrier",
        key=key,
    )


def _check_seat(rider: Placed, carrier: Placed) -> None:
    """That a rider sits on its carrier, along the axis and around it.

    Raises
    ------
    BadInput
        If it is off its carrier.
    """
    part, under = rider.part, carrier.part
    middle, own_middle = _meeting(rider, carrier)
    if part.second_carrier is not None:
        if not 0 < middle < under.length:
            raise _off_carrier(part, under, "it does not reach it", "a length that reaches both", key="at_mm")
    elif not 0 <= middle <= under.length:
        allowed = f"at_mm from {-part.length / 2 * 1e3:.4g} to {(under.length - part.length / 2) * 1e3:.4g}"
        raise _off_carrier(part, under, f"at_mm = {part.at * 1e3:.4g}", allowed, key="at_mm")
    outside, hole = _outline_at(carrier, middle)
    own_outside, own_hole = _outline_at(rider, own_middle)
    inner, outer = (outside, own_hole) if part.seat == "outside" else (own_outside, hole)
    if outer is None:
        which = "a bore" if part.seat == "outside" else "a hole in its carrier"
        raise _off_carrier(part, under, f"no {which[2:]}", f"{which} to sit in")
    if not fits_inside(Outline(inner.kind, inner.size - _slack(part)), outer):
        what = (
            f"{inner.kind} {inner.size * 1e3:.4g} mm does not go into {outer.kind} {outer.size * 1e3:.4g} mm"
        )
        raise _off_carrier(part, under, what, "a hole at least as wide as what goes into it")
    if outer.size - inner.corners > _REACH:
        what = f"{(outer.size - inner.corners) * 1e3:.4g} mm of play on the diameter"
        raise _off_carrier(part, under, what, f"up to {_REACH * 1e3:g} mm")


def _meeting(rider: Placed, carrier: Placed) -> tuple[float, float]:
    """Where a rider is joined to its carrier, from the drive end of the carrier and of the rider. [m]

    In the rider's middle; where two parts hold it, in the middle of what it shares with this one, and off the
    carrier where it shares nothing.
    """
    part = rider.part
    if part.second_carrier is None:
        return part.at + part.length / 2, part.length / 2
    first, last = max(rider.start, carrier.start), min(rider.end, carrier.end)
    at = (first + last) / 2 if last > first else -math.inf
    return at - carrier.start, at - rider.start


def _check_ring(part: Part) -> None:
    """That a ring of round stock rides on something and is complete: nothing else is worked out for it.

    Raises
    ------
    BadInput
        If it is on the torque path, or cut.
    """
    if part.carrier is None or part.cuts:
        raise BadInput(
            "a ring of round stock " + ("with a cut" if part.cuts else "on the torque path"),
            where=f"part {part.name!r}",
            allowed="a whole ring on a carrier",
            fix="name its carrier and leave cuts out, or take a disc",
        )


def place(article: Article, own: MaterialBook | None = None) -> tuple[Placed, ...]:
    """Every part in its place, in the order of the article.

    Parameters
    ----------
    article
        Parts in the order of its file.
    own
        The person's own materials.

    Raises
    ------
    NotFound
        If a material or a carrier is not there.
    BadInput
        If the geometry is impossible.
    """
    return tuple(_place(article, own))


def _place(article: Article, own: MaterialBook | None) -> Iterator[Placed]:
    by_name: dict[str, Placed] = {}
    before: Placed | None = None
    for number, part in enumerate(article.parts):
        with at_place("part", number):
            if part.name in by_name:
                raise BadInput(
                    f"two parts are called {part.name!r}",
                    where=f"article {article.name!r}",
                    allowed="names once each",
                    key="name",
                )
            placed = _place_one(number, part, by_name, before, own)
        before = placed if part.on_path else before
        by_name[part.name] = placed
        yield placed


def _place_one(
    number: int, part: Part, above: Mapping[str, Placed], before: Placed | None, own: MaterialBook | None
) -> Placed:
    if part.shape == "ring":
        _check_ring(part)
    if part.carrier is None:
        placed = _placed(number, part, before.end - part.overlap if before else 0.0, own)
        if before is not None:
            _check_overlap(before, placed)
        return placed
    if part.carrier not in above:
        raise NotFound(f"carrier of part {part.name!r} above it:", part.carrier, above, key="carrier")
    placed = _placed(number, part, above[part.carrier].start + part.at, own)
    for name in part.carriers:
        if name not in above:
            raise NotFound(f"carrier of part {part.name!r} above it:", name, above, key="second_carrier")
        _check_seat(placed, above[name])
    return placed


def fit_between(placed: Placed, other: Placed) -> Fit:
    """The cylinder where a part meets its carrier or the part before it.

    Parameters
    ----------
    placed
        The part, in its place.
    other
        Its carrier, or the part before it on the path.
    """
    part = placed.part
    if part.on_path:
        return _path_fit(placed, other)
    middle, own_middle = _meeting(placed, other)
    outside, hole = _outline_at(other, min(max(middle, 0.0), other.part.length))
    own_outside, own_hole = _outline_at(placed, own_middle)
    start = part.at if part.carrier == other.part.name else placed.start - other.start
    shared = min(start + part.length, other.part.length) - max(start, 0.0)
    if part.seat == "outside":
        bore = hole.size if hole else 0.0
        return Fit(outside.size, shared, other.material, placed.material, bore, own_outside.size)
    bore = own_hole.size if own_hole else 0.0
    return Fit(own_outside.size, shared, placed.material, other.material, bore, outside.size)


def _path_fit(after: Placed, before: Placed) -> Fit:
    reach = after.part.overlap
    outside_a, hole_a = _outline_at(before, before.part.length - reach / 2)
    outside_b, hole_b = _outline_at(after, reach / 2)
    if outside_a.size <= outside_b.size:
        bore = hole_a.size if hole_a else 0.0
        return Fit(outside_a.size, reach, before.material, after.material, bore, outside_b.size)
    bore = hole_b.size if hole_b else 0.0
    return Fit(outside_b.size, reach, after.material, before.material, bore, outside_a.size)
