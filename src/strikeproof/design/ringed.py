"""Bodies with one or two rings, welded or pressed on."""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from functools import partial
from typing import Any, Final

from strikeproof.design.bodies import (
    BaseBody,
    TurnedBody,
    in_mm,
    lowest_place,
    material_of,
    to_step,
    turned_part,
)
from strikeproof.design.plans import Plan, Recipe, Variable, bar_price, share, sized, write_size
from strikeproof.design.records import Brief
from strikeproof.design.rings import (
    Hold,
    RingCut,
    RingStock,
    fits_body,
    interference,
    ring_part,
    ring_room,
    ring_widths,
    weld_throat,
)
from strikeproof.parts.shapes import Outline

__all__ = ["rings_on_bars", "rings_on_bases"]

_PRESS: Final = (0.0003, 0.0012)
"""Interference over diameter of a press fit: medium to heavy drive fits (common practice, no source)."""
_PRESS_STEP: Final = 0.0001
_RUNS: Final = 2  # one circle of weld on either face of a ring


@dataclass(frozen=True, slots=True)
class _Seat:
    """What a ring goes on: the parts of the body, which of them, its outside, length and wall, how far its
    bolt end is above the seat, what may set it apart from other bodies, and the stock it is cut from. [m]"""

    parts: tuple[dict[str, Any], ...]
    carrier: str
    outside: float
    length: float
    wall: float
    below: float
    words: str
    details: tuple[str, ...]
    stock: tuple[str, ...] = ()


def _ring_variables(ring: RingStock, hold: Hold, room: tuple[float, float], along: float, count: int) -> Any:
    widths = ring_widths(ring, hold, along / count)
    if widths is None:
        return None
    variables = []
    for number in range(1, count + 1):
        if ring.is_turned:
            variables.append(sized(*room, f"ring {number}"))
        if ring.width is None:
            variables.append(sized(*widths, f"width {number}"))
        variables.append(share(f"place {number}"))
    if hold == "press fit":
        variables.append(Variable("interference", *_PRESS, _PRESS_STEP))
    return tuple(variables)


def rings_on_bases(
    brief: Brief, bases: Sequence[BaseBody], ring: RingStock, hold: Hold, count: int
) -> Iterator[Recipe]:
    """So many rings of one stock on every base that they go on.

    Parameters
    ----------
    brief
        Processes and room.
    bases
        Sockets to start from.
    ring
        What the rings are cut from.
    hold
        Welded or pressed on.
    count
        Rings, 1 or 2.
    """
    for body in bases:
        outside, length = body.carrier.outer.size, body.carrier.length
        room = ring_room(ring, outside)
        if room is None or not fits_body(brief, ring, outside, hold):
            continue
        variables = _ring_variables(ring, hold, room, length, count)
        if variables is not None:
            build = partial(_build_on_base, brief, body, ring, hold, count)
            yield Recipe(_ring_kind(ring, hold, count, body.base.name), variables, build)


def rings_on_bars(
    brief: Brief, bars: Sequence[TurnedBody], ring: RingStock, hold: Hold, count: int
) -> Iterator[Recipe]:
    """The same on bodies turned from every bar.

    Parameters
    ----------
    brief
        Processes and room.
    bars
        What the body is turned from.
    ring
        What the rings are cut from.
    hold
        Welded or pressed on.
    count
        Rings, 1 or 2.
    """
    for bar in bars:
        low = max(bar.narrowest, to_step(ring.bore, up=True))
        room = ring_room(ring, low)
        if low > bar.widest or room is None or not fits_body(brief, ring, low, hold):
            continue
        variables = _ring_variables(ring, hold, room, bar.longest, count)
        if variables is not None:
            high = min(bar.widest, to_step(ring.outside - 6e-3))
            own = (sized(low, high), sized(bar.shortest, bar.longest, "length"))
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
    name, size, length = body.base.name, carrier.outer.size, carrier.length
    seat = _Seat(parts, carrier.name, size, length, body.wall, body.below, name, (f"on {name}", ""))
    return _put_rings(brief, seat, ring, hold, count, values)


def _build_on_bar(
    brief: Brief, bar: TurnedBody, ring: RingStock, hold: Hold, count: int, values: Sequence[float]
) -> Plan | None:
    diameter, length, *rest = values
    if not fits_body(brief, ring, diameter, hold):
        return None
    part = turned_part(brief, bar, diameter, length, bar_price(brief, bar, length))
    wall = (diameter - Outline("hexagon", brief.hexagon).corners) / 2
    material = material_of(bar.offer, bar.item)
    words = f"a body turned from {bar.item.name} ({material}) to {write_size(diameter, length)}"
    details = (f"on {in_mm(diameter):g}x{in_mm(length):g}", f"on {material} from {bar.item.name}")
    seat = _Seat((part,), "socket", diameter, length, wall, 0.0, words, details, (bar.item.name,))
    return _put_rings(brief, seat, ring, hold, count, rest)


def _put_rings(
    brief: Brief, seat: _Seat, ring: RingStock, hold: Hold, count: int, values: Sequence[float]
) -> Plan | None:
    cuts = _cut_rings(brief, seat, ring, hold, count, values)
    if cuts is None:
        return None
    parts = [*seat.parts]
    for cut in cuts:
        bond = _bond(hold, seat, cut, values)
        parts.append(ring_part(brief, ring, cut, seat.carrier, bond))
    how = "welded" if hold == "weld" else "pressed"
    sizes = " and ".join(f"{write_size(cut.outside, cut.width)} at {in_mm(cut.at):g} mm" for cut in cuts)
    material = material_of(ring.offer, ring.item)
    tight = f"{parts[-1]['bond']['interference_mm']:g} mm tight" if hold == "press fit" else ""
    words = (
        f"{'A ring' if count == 1 else 'Two rings'} of {ring.item.name} ({material}), {sizes} from the drive "
        f"end, {how} on {seat.words}{tight and ', '}{tight}."
    )
    first = cuts[0]
    more = "" if count == 1 else f" and {in_mm(cuts[1].outside):g}x{in_mm(cuts[1].width):g}"
    title = f"{how} ring {in_mm(first.outside):g}x{in_mm(first.width):g}{more}"
    ats = "at " + " and ".join(f"{in_mm(cut.at):g}" for cut in cuts)
    details = (*seat.details, ats, tight, f"of {material}", f"of {ring.item.name}")
    return Plan(title, words, tuple(parts), details, (*seat.stock, ring.item.name))


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
    brief: Brief, seat: _Seat, ring: RingStock, hold: Hold, count: int, values: Sequence[float]
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
    if any(outside < room[0] - 1e-9 for outside, _, _ in taken):
        return None
    beads = [_bead_room(hold, seat, outside, width) for outside, width, _ in taken]
    spans = [width + 2 * bead for (_, width, _), bead in zip(taken, beads, strict=True)]
    lows = [lowest_place(brief.envelope, outside) - seat.below for outside, _, _ in taken]
    ends = _lowest_ends(seat.length, spans, lows, beads)
    for number, ((outside, width, place), end) in enumerate(zip(taken, ends, strict=True), start=1):
        bead, span = beads[number - 1], spans[number - 1]
        if end < start + span - 1e-9:
            return None
        at = start + to_step(place * (end - span - start)) + bead
        name = "ring" if count == 1 else f"ring {number}"
        cuts.append(RingCut(name, outside, width, at, seat.outside))
        start = at + width + bead
    return cuts


def _lowest_ends(
    length: float, spans: Sequence[float], lows: Sequence[float], beads: Sequence[float]
) -> list[float]:
    """How far from the drive end each ring with its beads may reach, the bolt's side last. [m]

    Parameters
    ----------
    spans
        What each ring takes with its beads.
    lows
        Lowest height of each above the bolt end of what it sits on.
    """
    ends: list[float] = []
    room = length
    for span, low, bead in zip(reversed(spans), reversed(lows), reversed(beads), strict=True):
        ends.append(min(room, length - low + bead))
        room = ends[-1] - span
    return ends[::-1]
