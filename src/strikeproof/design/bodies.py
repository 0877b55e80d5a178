"""Bodies that carry the torque: turned from bar, or a finished socket to start from."""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any, Final

import numpy as np

from strikeproof.design.envelope import free_radius
from strikeproof.design.records import Base, Brief, Envelope, Offer
from strikeproof.parts import Article, Part, find_stock, read_article
from strikeproof.parts.materials import MaterialBook
from strikeproof.parts.shapes import Outline
from strikeproof.parts.stock import StockItem, drive_square

__all__ = [
    "STEP",
    "BaseBody",
    "TurnedBody",
    "in_mm",
    "list_bars",
    "lowest_place",
    "material_of",
    "narrowest_body",
    "open_base",
    "raw_price",
    "shortest_body",
    "to_step",
    "turned_part",
    "widest_room",
]

STEP: Final = 0.5e-3
"""What a workshop turns and saws to. [m]"""

_SQUARE_DEPTH: Final = 1.4
"""Depth of a drive square over its nominal size; the male goes in 1.2 times (common practice, no source)."""
_HEAD: Final = 0.625
"""Height of a bolt's head over its width across flats, about k/s of ISO 4014."""
_BORE: Final = 0.85
"""Bore between square and hexagon over the square: it lets chips and water out and leaves a shoulder."""
_LEAST_WALL: Final = 2.0e-3
_LONGEST_MORE: Final = 60e-3
"""How much longer than need be, or than the pocket is deep, a body is looked at. [m]"""
_SAME_SIZE: Final = 0.03


def to_step(value: float, *, up: bool = False) -> float:
    """A length on the workshop's step: the one below, or the one above. [m]

    Parameters
    ----------
    value
        [m]
    up
        Whether the step above is meant.
    """
    steps = value / STEP
    return STEP * (math.ceil(steps - 1e-6) if up else math.floor(steps + 1e-6))


def in_mm(value: float, step: float = STEP) -> float:
    """A length as a file writes it, on its step. [mm]"""
    return round(round(value / step) * step * 1e3, 6)


def material_of(offer: Offer, item: StockItem) -> str:
    """What a piece of an offer is made of, in words."""
    return offer.material or item.material


def raw_price(brief: Brief, offer: Offer, item: StockItem, length: float, density: float) -> float | None:
    """What a piece of stock costs, sawn to length; None where nothing says it.

    Stock is paid for as it is bought, however much of it is turned off.

    Parameters
    ----------
    brief
        Its price table; None where nothing is priced.
    offer
        Names the material where it is not the item's usual one.
    item
        What is bought.
    length
        Sawn off. [m]
    density
        Of the material. [kg/m³]

    Returns
    -------
    In the currency of the table.
    """
    if brief.prices is None:
        return None
    area = item.outer.area - (item.bore.area if item.bore is not None else 0.0)
    names = (item.name, item.family, material_of(offer, item))
    cost = brief.prices.cost(names, mass=area * length * density, length=length)
    whole = item.length is not None
    return cost if cost is None or whole else cost + (brief.prices.cost(("cut",)) or 0.0)


def square_depth(brief: Brief) -> float:
    """How deep the drive square is cut. [m]"""
    return to_step(_SQUARE_DEPTH * brief.drive, up=True)


def hexagon_depth(brief: Brief) -> float:
    """How deep the hexagon is cut: as deep as the head is high, or a step more. [m]"""
    return to_step(brief.head_height or _HEAD * brief.hexagon, up=True)


def shortest_body(brief: Brief) -> float:
    """Square and hexagon end to end. [m]"""
    return square_depth(brief) + hexagon_depth(brief)


def longest_body(brief: Brief, offer: Offer) -> float:
    """As long as stock and envelope leave room for, within reason. [m]"""
    reach = max(shortest_body(brief), brief.envelope.depth) + _LONGEST_MORE
    free = brief.envelope.free_length
    return to_step(min(each for each in (reach, offer.length, free) if each is not None))


def narrowest_body(brief: Brief) -> float:
    """Thinnest bar around square and hexagon that leaves a wall. [m]

    Raises
    ------
    BadInput
        If the drive is no standard square; a brief that was read has none such.
    """
    hexagon = Outline("hexagon", brief.hexagon * 1.005 + 0.05e-3).corners
    square = Outline("square", drive_square(brief.drive).female).corners
    return to_step(max(hexagon, square) + 2 * _LEAST_WALL, up=True)


def widest_room(brief: Brief, *, deep: bool) -> float:
    """Largest diameter that has room anywhere, or right down at the seat when `deep`. [m]"""
    envelope = brief.envelope
    limits = [math.inf] if envelope.wall is None else [2 * envelope.wall]
    if deep:
        limits += [step.diameter for step in envelope.pocket]
    return min(limits) - 2 * envelope.clearance


def lowest_place(envelope: Envelope, outside: float) -> float:
    """Lowest height above the seat with room around the axis; infinite where there is none. [m]

    Parameters
    ----------
    envelope
        The room above the seat.
    outside
        Swept diameter. [m]
    """
    depth = envelope.depth
    tops = [0.0, *(step.depth for step in envelope.pocket[:-1])]
    edges = np.array([0.0, *(depth - top + envelope.clearance for top in reversed(tops))])
    free = np.flatnonzero(free_radius(envelope, edges) >= outside / 2 - 1e-9)
    return float(edges[free[0]]) if len(free) else math.inf


@dataclass(frozen=True, slots=True)
class TurnedBody:
    """A body to be turned from an offer of bar, with its bounds.

    Parameters
    ----------
    offer, item
        What is bought.
    narrowest, widest, shortest, longest
        Of the body. [m]
    """

    offer: Offer
    item: StockItem
    narrowest: float
    widest: float
    shortest: float
    longest: float


def list_bars(brief: Brief) -> list[TurnedBody]:
    """Every bar that a socket for this bolt can be turned from.

    Raises
    ------
    NotFound, BadInput
        If an offer is no stock; a brief that was read has none such.
    """
    if "turning" not in brief.processes:
        return []
    found = []
    for offer in brief.offers:
        item = find_stock(offer.item)
        if item.family != "bar":
            continue
        widest = to_step(min(item.outer.size, widest_room(brief, deep=True)))
        body = TurnedBody(
            offer, item, narrowest_body(brief), widest, shortest_body(brief), longest_body(brief, offer)
        )
        if body.narrowest <= body.widest and body.shortest <= body.longest:
            found.append(body)
    return found


def turned_part(
    brief: Brief, body: TurnedBody, diameter: float, length: float, price: float | None
) -> dict[str, Any]:
    """The table of a body turned from bar: square, hexagon, and a bore right through.

    Parameters
    ----------
    brief
        Square, hexagon and head height.
    body
        What it is turned from.
    diameter, length
        Finished, on the workshop's step. [m]
    price
        Of the bar, sawn off; None where nothing says it.
    """
    table: dict[str, Any] = {
        "name": "socket",
        "shape": "bar",
        "outer_diameter_mm": in_mm(diameter),
        "length_mm": in_mm(length),
        "material": material_of(body.offer, body.item),
        "cut": [
            {
                "kind": "square drive",
                "size_mm": round(brief.drive * 1e3, 3),
                "depth_mm": in_mm(square_depth(brief)),
            },
            {
                "kind": "hexagon",
                "size_mm": round(brief.hexagon * 1e3, 3),
                "depth_mm": in_mm(hexagon_depth(brief)),
            },
            {"kind": "bore", "size_mm": in_mm(to_step(_BORE * min(brief.drive, brief.hexagon)))},
        ],
    }
    if price is not None:
        table["price"] = round(price, 2)
    return table


@dataclass(frozen=True, slots=True)
class BaseBody:
    """A finished socket that a ring can be put on.

    Parameters
    ----------
    base
        As the brief has it.
    parts
        Its tables, with its price on the first of them.
    carrier
        The part that a ring goes on.
    wall
        Of that part, around its widest hole. [m]
    below
        From the seat up to its bolt end. [m]
    """

    base: Base
    parts: tuple[Mapping[str, Any], ...]
    carrier: Part
    wall: float
    below: float


def open_base(base: Base, brief: Brief, materials: MaterialBook | None = None) -> BaseBody | None:
    """The socket as a body; None when it is for another bolt or drive, or nothing round is on it.

    Parameters
    ----------
    base
        The socket, its geometry known to be right.
    brief
        Hexagon and drive that it must be for.
    materials
        The person's own.

    Raises
    ------
    NotFound, BadInput
        If the socket is no article; a brief that was read has none such.
    """
    article = read_article(base.table, materials=materials)
    rounds = [part for part in article.parts if part.on_path and part.outer.kind == "round"]
    level = [part for part in rounds if part.outer_end == part.outer.size]
    if not level or not _belongs(article, brief):
        return None
    carrier = max(level, key=lambda part: part.outer.size)
    widest = max([cut.outline.corners for cut in carrier.cuts if cut.kind != "chamfer"], default=0.0)
    path = [part for part in article.parts if part.on_path]
    after = path[path.index(carrier) + 1 :]
    below = sum(part.length - part.overlap for part in after)
    return BaseBody(base, _priced(base, article), carrier, (carrier.outer.size - widest) / 2, below)


def _belongs(article: Article, brief: Brief) -> bool:
    """Whether square and hexagon are those of the brief, for a hole is a little wider than what goes in."""
    path = [part for part in article.parts if part.on_path]
    ends = ((path[0], "drive", ("square drive",), brief.drive),)
    ends += ((path[-1], "bolt", ("hexagon", "twelve-point"), brief.hexagon),)  # type: ignore[assignment]
    return all(
        any(cut.end == end and cut.kind in kinds and _alike(cut.size, size) for cut in part.cuts)
        for part, end, kinds, size in ends
    )


def _alike(hole: float, size: float) -> bool:
    return abs(hole / size - 1.0) < _SAME_SIZE + 0.3e-3 / size


def _priced(base: Base, article: Article) -> tuple[Mapping[str, Any], ...]:
    """The parts' tables by name; the price of the whole is on the first, the others then cost nothing."""
    price = base.price if base.price is not None else article.given.price
    tables = []
    for number, (table, part) in enumerate(zip(base.table["part"], article.parts, strict=True)):
        named = {**table, "name": part.name}
        if price is not None:
            named["price"] = round(price, 2) if number == 0 else 0.0
        tables.append(named)
    return tuple(tables)
