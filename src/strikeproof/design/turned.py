"""Sockets in one piece, turned from bar, plain or with a collar left standing."""

from __future__ import annotations

from collections.abc import Sequence
from functools import partial
from typing import Any, Final

from strikeproof.design.bodies import (
    STEP,
    TurnedBody,
    in_mm,
    lowest_place,
    material_of,
    to_step,
    turned_part,
    widest_room,
)
from strikeproof.design.plans import Plan, Recipe, Variable, bar_price, share, sized, write_size
from strikeproof.design.records import Brief

__all__ = ["collared_recipes", "turned_recipe"]

_COLLAR_MORE: Final = 4.0e-3
"""Least that a collar is wider than its body. [m]"""


def turned_recipe(brief: Brief, bar: TurnedBody) -> Recipe:
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


def collared_recipes(brief: Brief, bars: Sequence[TurnedBody]) -> list[Recipe]:
    """A socket with a collar from each bar that is wide enough: sizes of both, and where it stands."""
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
