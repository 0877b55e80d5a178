"""What can be built from the offers, bases and processes of a brief, as articles that a person could write.

A recipe is a choice of stock and joint; what is left open are its variables, each on the workshop's steps.
Positions are shares of the room that there is, so that any values within the bounds make an article; whether
it keeps the brief is judged afterwards.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from functools import partial
from typing import Any, Final

from strikeproof.design.bodies import (
    STEP,
    TurnedBody,
    in_mm,
    list_bars,
    lowest_place,
    material_of,
    open_base,
    to_step,
    turned_part,
    widest_room,
)
from strikeproof.design.plans import Plan, Recipe, Variable, bar_price, share, sized, write_size
from strikeproof.design.records import Brief
from strikeproof.design.ringed import rings_on_bars, rings_on_bases
from strikeproof.design.rings import holds, list_rings

__all__ = ["list_recipes"]

_COLLAR_MORE: Final = 4.0e-3
"""Least that a collar is wider than its body. [m]"""


def _turned_recipe(brief: Brief, bar: TurnedBody) -> Recipe:
    """A plain socket: its diameter and length."""
    variables = (sized(bar.narrowest, bar.widest), sized(bar.shortest, bar.longest, "length"))
    return Recipe("turned", variables, partial(_build_turned, brief, bar))


def _build_turned(brief: Brief, bar: TurnedBody, values: Sequence[float]) -> Plan:
    diameter, length = values
    part = turned_part(brief, bar, diameter, length, bar_price(brief, bar, length))
    words = (
        f"Turned from {bar.item.name} ({material_of(bar.offer, bar.item)}), {write_size(diameter, length)}"
    )
    return Plan(
        f"turned {in_mm(diameter):g}x{in_mm(length):g}",
        f"{words}.",
        (part,),
        _told_bar(bar),
        (bar.item.name,),
    )


def _told_bar(bar: TurnedBody) -> tuple[str, ...]:
    return f"of {material_of(bar.offer, bar.item)}", f"from {bar.item.name}"


def _collar_width(brief: Brief, bar: TurnedBody) -> float:
    return to_step(min(bar.item.outer.size, widest_room(brief, deep=False)))


def _collared_recipes(brief: Brief, bars: Sequence[TurnedBody]) -> list[Recipe]:
    """A socket with a collar from each bar that is wide enough: sizes of both, and where it is."""
    return [
        _collared(brief, bar) for bar in bars if _collar_width(brief, bar) >= bar.narrowest + _COLLAR_MORE
    ]


def _collared(brief: Brief, bar: TurnedBody) -> Recipe:
    widest = _collar_width(brief, bar)
    variables = (
        sized(bar.narrowest, min(bar.widest, widest - _COLLAR_MORE)),
        sized(bar.shortest, bar.longest, "length"),
        sized(bar.narrowest + _COLLAR_MORE, widest, "collar"),
        Variable("width", 5e-3, to_step(min(60e-3, bar.longest)), STEP),
        share("place"),
    )
    return Recipe("collar", variables, partial(_build_collared, brief, bar))


def _build_collared(brief: Brief, bar: TurnedBody, values: Sequence[float]) -> Plan | None:
    diameter, length, outside, width, place = values
    left = length - width - lowest_place(brief.envelope, outside)
    if outside < diameter + 2e-3 or left < 0:
        return None
    body = turned_part(brief, bar, diameter, length, bar_price(brief, bar, length))
    collar: dict[str, Any] = {
        "name": "collar",
        "shape": "disc",
        "outer_diameter_mm": in_mm(outside),
        "length_mm": in_mm(width),
        "material": material_of(bar.offer, bar.item),
        "carrier": "socket",
        "at_mm": in_mm(to_step(place * left)),
        "bond": "rigid",
    }
    if "price" in body:
        collar["price"] = 0.0  # it is cut from the body's own bar
    words = (
        f"Turned in one piece from {bar.item.name} ({collar['material']}), {write_size(diameter, length)} "
        f"with a collar of {write_size(outside, width)}, {collar['at_mm']:g} mm from the drive end."
    )
    title = f"collar {in_mm(outside):g}x{in_mm(width):g} on {in_mm(diameter):g}x{in_mm(length):g}"
    details = (f"at {collar['at_mm']:g}", *_told_bar(bar))
    return Plan(title, words, (body, collar), details, (bar.item.name,))


def list_recipes(brief: Brief) -> tuple[Recipe, ...]:
    """Every recipe that the brief's stock, bases and processes allow, in the order of the brief."""
    bars = list_bars(brief)
    rings = list_rings(brief)
    bases = [body for base in brief.bases if (body := open_base(base, brief, brief.materials)) is not None]
    plain = _without_doubles(bars)
    found = [_turned_recipe(brief, bar) for bar in plain]
    found += _collared_recipes(brief, bars)
    for ring in rings:
        for hold in holds(brief):
            for count in (1, 2):
                found += rings_on_bases(brief, bases, ring, hold, count)
                found += rings_on_bars(brief, plain, ring, hold, count)
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
