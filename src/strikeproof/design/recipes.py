"""What can be built from the offers, bases and processes of a brief, as articles that a person could write.

A recipe is a choice of stock and joint; what is left open are its variables, each on the workshop's steps.
Positions are shares of the room that there is, so that any values within the bounds make an article; whether
it keeps the brief is judged afterwards.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass, replace
from functools import partial
from typing import Any, Final, TypeAlias

import numpy as np

from strikeproof.design.bodies import (
    STEP,
    BaseBody,
    TurnedBody,
    in_mm,
    list_bars,
    material_of,
    open_base,
    raw_price,
    to_step,
    turned_part,
    widest_room,
)
from strikeproof.design.records import Brief
from strikeproof.design.rings import (
    Hold,
    RingCut,
    RingStock,
    fits_body,
    holds,
    interference,
    list_rings,
    ring_part,
    ring_room,
    ring_widths,
    weld_throat,
)
from strikeproof.parts import find_material
from strikeproof.parts.shapes import Outline
from strikeproof.quantity import FloatArray

__all__ = ["Plan", "Recipe", "Variable", "list_recipes"]

_SHARE_STEP: Final = 0.05
_PRESS: Final = (0.0003, 0.0012)
"""Interference over diameter of a press fit: medium to heavy drive fits (common practice, no source)."""
_PRESS_STEP: Final = 0.0001
_COLLAR_MORE: Final = 4.0e-3
_RUNS: Final = 2  # one circle of weld on either face of a ring


@dataclass(frozen=True, slots=True)
class Variable:
    """One open value: `low` to `high` in steps. [m, or a share]"""

    name: str
    low: float
    high: float
    step: float

    @property
    def count(self) -> int:
        """How many values it can take."""
        return max(1, round((self.high - self.low) / self.step) + 1)

    def at(self, place: float) -> float:
        """The value so many steps up."""
        return min(self.low + min(max(round(place), 0), self.count - 1) * self.step, self.high)


@dataclass(frozen=True, slots=True)
class Plan:
    """One article on paper: its table but for the name, and what it is made of in a sentence."""

    title: str
    words: str
    parts: tuple[dict[str, Any], ...]


Build: TypeAlias = Callable[[Sequence[float]], Plan | None]


@dataclass(frozen=True, slots=True)
class Recipe:
    """A choice of stock and joint.

    Parameters
    ----------
    kind
        What the person would call it: two recipes of one kind differ only in what they are cut from.
    variables
        What is left open.
    build
        From their values to an article; None where no room is left for it.
    """

    kind: str
    variables: tuple[Variable, ...]
    build: Build

    @property
    def counts(self) -> tuple[int, ...]:
        """How many values every variable can take."""
        return tuple(each.count for each in self.variables)

    def values(self, places: Sequence[float] | FloatArray) -> tuple[float, ...]:
        """Values so many steps up, one for every variable."""
        return tuple(each.at(float(place)) for each, place in zip(self.variables, places, strict=True))

    def places(self, points: FloatArray) -> FloatArray:
        """Steps of points (n, d) in the unit cube, evenly over all values."""
        counts = np.array(self.counts, dtype=float)
        return np.asarray(np.minimum(np.floor(points * counts), counts - 1.0))


def list_recipes(brief: Brief) -> tuple[Recipe, ...]:
    """Every recipe that the brief's stock, bases and processes allow, in the order of the brief."""
    bars = list_bars(brief)
    rings = list_rings(brief)
    bases = [body for base in brief.bases if (body := open_base(base, brief, brief.materials)) is not None]
    plain = _without_doubles(bars)
    found = [_turned(brief, bar) for bar in plain]
    found += [_collared(brief, bar) for bar in bars if _has_collar(brief, bar)]
    for ring in rings:
        for hold in holds(brief):
            for count in (1, 2):
                found += _on_bases(brief, bases, ring, hold, count)
                found += _on_bars(brief, plain, ring, hold, count)
    return tuple(found)


def _without_doubles(bars: Sequence[TurnedBody]) -> list[TurnedBody]:
    """The bars without the diameters that a thinner one of the same material, as long, gives too."""
    found = []
    for bar in bars:
        thinner = [each.widest for each in bars if _replaces(each, bar)]
        low = max([bar.narrowest, *(each + STEP for each in thinner)])
        if low <= bar.widest:
            found.append(replace(bar, narrowest=low))
    return found


def _replaces(one: TurnedBody, other: TurnedBody) -> bool:
    alike = material_of(one.offer, one.item) == material_of(other.offer, other.item)
    return alike and one.longest >= other.longest and one.item.outer.size < other.item.outer.size


def _diameter(low: float, high: float, name: str = "diameter") -> Variable:
    return Variable(name, low, to_step(high), STEP)


def _share(name: str) -> Variable:
    return Variable(name, 0.0, 1.0, _SHARE_STEP)


# A socket in one piece


def _turned(brief: Brief, bar: TurnedBody) -> Recipe:
    variables = (_diameter(bar.narrowest, bar.widest), _diameter(bar.shortest, bar.longest, "length"))
    return Recipe("turned", variables, partial(_build_turned, brief, bar))


def _build_turned(brief: Brief, bar: TurnedBody, values: Sequence[float]) -> Plan:
    diameter, length = values
    part = turned_part(brief, bar, diameter, length, _bar_price(brief, bar, length))
    words = f"Turned from {bar.item.name} ({material_of(bar.offer, bar.item)}), {_size(diameter, length)}"
    return Plan(f"turned {in_mm(diameter):g}x{in_mm(length):g}", f"{words}.", (part,))


def _bar_price(brief: Brief, bar: TurnedBody, length: float) -> float | None:
    size = bar.item.outer.size
    material = find_material(material_of(bar.offer, bar.item), brief.materials, diameter=size, thickness=size)
    return raw_price(brief, bar.offer, bar.item, length, material.density)


def _size(diameter: float, length: float) -> str:
    return f"{diameter * 1e3:.4g} mm by {length * 1e3:.4g} mm"


# The same with a collar left standing


def _collar_width(brief: Brief, bar: TurnedBody) -> float:
    return to_step(min(bar.item.outer.size, widest_room(brief, deep=False)))


def _has_collar(brief: Brief, bar: TurnedBody) -> bool:
    return _collar_width(brief, bar) >= bar.narrowest + _COLLAR_MORE


def _collared(brief: Brief, bar: TurnedBody) -> Recipe:
    widest = _collar_width(brief, bar)
    variables = (
        _diameter(bar.narrowest, min(bar.widest, widest - _COLLAR_MORE)),
        _diameter(bar.shortest, bar.longest, "length"),
        _diameter(bar.narrowest + _COLLAR_MORE, widest, "collar"),
        Variable("width", 5e-3, to_step(min(60e-3, bar.longest)), STEP),
        _share("place"),
    )
    return Recipe("collar", variables, partial(_build_collared, brief, bar))


def _build_collared(brief: Brief, bar: TurnedBody, values: Sequence[float]) -> Plan | None:
    diameter, length, outside, width, place = values
    if outside < diameter + 2e-3 or width > length:
        return None
    body = turned_part(brief, bar, diameter, length, _bar_price(brief, bar, length))
    collar: dict[str, Any] = {
        "name": "collar",
        "shape": "disc",
        "outer_diameter_mm": in_mm(outside),
        "length_mm": in_mm(width),
        "material": material_of(bar.offer, bar.item),
        "carrier": "socket",
        "at_mm": in_mm(place * (length - width)),
        "bond": "rigid",
    }
    if "price" in body:
        collar["price"] = 0.0  # it is cut from the body's own bar
    words = (
        f"Turned in one piece from {bar.item.name} ({collar['material']}), {_size(diameter, length)} with a "
        f"collar of {_size(outside, width)}, {collar['at_mm']:g} mm from the drive end."
    )
    title = f"collar {in_mm(outside):g}x{in_mm(width):g} on {in_mm(diameter):g}x{in_mm(length):g}"
    return Plan(title, words, (body, collar))


# Rings on a body


@dataclass(frozen=True, slots=True)
class _Seat:
    """What a ring goes on: the parts of the body, which of them, its outside, length and wall. [m]"""

    parts: tuple[dict[str, Any], ...]
    carrier: str
    outside: float
    length: float
    wall: float
    words: str


def _ring_variables(ring: RingStock, hold: Hold, room: tuple[float, float], along: float, count: int) -> Any:
    widths = ring_widths(ring, hold, along / count)
    if widths is None:
        return None
    variables = []
    for number in range(1, count + 1):
        if ring.is_turned:
            variables.append(_diameter(*room, f"ring {number}"))
        if ring.width is None:
            variables.append(_diameter(*widths, f"width {number}"))
        variables.append(_share(f"place {number}"))
    if hold == "press fit":
        variables.append(Variable("interference", *_PRESS, _PRESS_STEP))
    return tuple(variables)


def _on_bases(
    brief: Brief, bases: Sequence[BaseBody], ring: RingStock, hold: Hold, count: int
) -> Iterator[Recipe]:
    for body in bases:
        outside, length = body.carrier.outer.size, body.carrier.length
        room = ring_room(ring, outside)
        if room is None or not fits_body(brief, ring, outside, hold):
            continue
        variables = _ring_variables(ring, hold, room, length, count)
        if variables is not None:
            build = partial(_build_on_base, brief, body, ring, hold, count)
            yield Recipe(_ring_kind(ring, hold, count, body.base.name), variables, build)


def _on_bars(
    brief: Brief, bars: Sequence[TurnedBody], ring: RingStock, hold: Hold, count: int
) -> Iterator[Recipe]:
    for bar in bars:
        low = max(bar.narrowest, to_step(ring.bore, up=True))
        room = ring_room(ring, low)
        if low > bar.widest or room is None or not fits_body(brief, ring, low, hold):
            continue
        variables = _ring_variables(ring, hold, room, bar.longest, count)
        if variables is not None:
            high = min(bar.widest, to_step(ring.outside - 6e-3))
            own = (_diameter(low, high), _diameter(bar.shortest, bar.longest, "length"))
            build = partial(_build_on_bar, brief, bar, ring, hold, count)
            yield Recipe(_ring_kind(ring, hold, count, "a turned body"), (*own, *variables), build)


def _ring_kind(ring: RingStock, hold: Hold, count: int, body: str) -> str:
    how = "welded" if hold == "weld" else "pressed"
    return f"{'ring' if count == 1 else 'two rings'} of {ring.item.family} {how} on {body}"


def _build_on_base(
    brief: Brief, body: BaseBody, ring: RingStock, hold: Hold, count: int, values: Sequence[float]
) -> Plan | None:
    carrier = body.carrier
    parts = tuple(dict(each) for each in body.parts)
    seat = _Seat(parts, carrier.name, carrier.outer.size, carrier.length, body.wall, body.base.name)
    return _put_rings(brief, seat, ring, hold, count, values)


def _build_on_bar(
    brief: Brief, bar: TurnedBody, ring: RingStock, hold: Hold, count: int, values: Sequence[float]
) -> Plan | None:
    diameter, length, *rest = values
    if not fits_body(brief, ring, diameter, hold):
        return None
    part = turned_part(brief, bar, diameter, length, _bar_price(brief, bar, length))
    wall = (diameter - Outline("hexagon", brief.hexagon).corners) / 2
    material = material_of(bar.offer, bar.item)
    words = f"a body turned from {bar.item.name} ({material}) to {_size(diameter, length)}"
    return _put_rings(brief, _Seat((part,), "socket", diameter, length, wall, words), ring, hold, count, rest)


def _put_rings(
    brief: Brief, seat: _Seat, ring: RingStock, hold: Hold, count: int, values: Sequence[float]
) -> Plan | None:
    cuts = _cut_rings(seat, ring, hold, count, values)
    if cuts is None:
        return None
    parts = [*seat.parts]
    for cut in cuts:
        bond = _bond(hold, seat, cut, values)
        parts.append(ring_part(brief, ring, cut, seat.carrier, bond))
    how = "welded" if hold == "weld" else "pressed"
    sizes = " and ".join(f"{_size(cut.outside, cut.width)} at {in_mm(cut.at):g} mm" for cut in cuts)
    material = material_of(ring.offer, ring.item)
    words = (
        f"{'A ring' if count == 1 else 'Two rings'} of {ring.item.name} ({material}), {sizes} from the drive "
        f"end, {how} on {seat.words}."
    )
    first = cuts[0]
    more = "" if count == 1 else f" and {in_mm(cuts[1].outside):g}x{in_mm(cuts[1].width):g}"
    title = f"{how} ring {in_mm(first.outside):g}x{in_mm(first.width):g}{more}"
    return Plan(title, words, tuple(parts))


def _bond(hold: Hold, seat: _Seat, cut: RingCut, values: Sequence[float]) -> dict[str, Any]:
    if hold == "press fit":
        return {
            "kind": "press fit",
            "interference_mm": in_mm(interference(seat.outside, values[-1]), 1e-5),
        }
    return {"kind": "weld", "throat_mm": in_mm(_throat(seat, cut.outside, cut.width)), "runs": _RUNS}


def _throat(seat: _Seat, outside: float, width: float) -> float:
    """A thin ring melts away under a bead that its height alone would allow."""
    return weld_throat((min((outside - seat.outside) / 2, width), seat.wall))


def _bead_room(hold: Hold, seat: _Seat, outside: float, width: float) -> float:
    """What a bead takes on either side of a ring: the leg of its fillet. [m]"""
    return to_step(math.sqrt(2.0) * _throat(seat, outside, width), up=True) if hold == "weld" else 0.0


def _cut_rings(
    seat: _Seat, ring: RingStock, hold: Hold, count: int, values: Sequence[float]
) -> list[RingCut] | None:
    """Sizes and places of the rings, one after the other; None where they do not fit."""
    room, widths = ring_room(ring, seat.outside), ring_widths(ring, hold, seat.length / count)
    if room is None or widths is None:
        return None
    given = iter(values)
    cuts: list[RingCut] = []
    start = 0.0
    taken = []
    for _ in range(count):
        outside = next(given) if ring.is_turned else room[1]
        width = next(given) if ring.width is None else ring.width
        taken.append((outside, width, next(given)))
    beads = [_bead_room(hold, seat, outside, width) for outside, width, _ in taken]
    left = seat.length - sum(width for _, width, _ in taken) - 2 * sum(beads)
    if left < 0 or any(outside < room[0] - 1e-9 for outside, _, _ in taken):
        return None
    for number, ((outside, width, place), bead) in enumerate(zip(taken, beads, strict=True), start=1):
        step = to_step(place * left)
        start, left = start + step + bead, left - step
        name = "ring" if count == 1 else f"ring {number}"
        cuts.append(RingCut(name, outside, width, start, seat.outside))
        start += width + bead
    return cuts
