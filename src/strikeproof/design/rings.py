"""Rings to put on a body: from bar, pipe and tube, nuts and washers, welded or pressed on."""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass
from typing import Any, Final, Literal, TypeAlias

from strikeproof.design.bodies import STEP, in_mm, material_of, raw_price, to_step, widest_room
from strikeproof.design.records import Brief, Offer
from strikeproof.parts import find_material, find_stock
from strikeproof.parts.stock import StockItem

__all__ = ["Hold", "RingStock", "fits_body", "list_rings", "ring_part", "ring_room", "weld_throat"]

Hold: TypeAlias = Literal["weld", "press fit"]

LEAST_WALL: Final = 3.0e-3
LEAST_WIDTH: Final = 5.0e-3
MOST_WIDTH: Final = 60.0e-3
PRESS_WIDTH: Final = 10.0e-3
"""Narrowest ring that a press fit holds square. [m]"""
_WELD_GAP: Final = 1.0e-3
"""On the diameter, that a weld bridges between a ring and its seat (common practice, no source). [m]"""
_THROAT: Final = (2.0e-3, 6.0e-3)
_THROAT_SHARE: Final = 0.7
"""A throat is at most 0.7 of the thinner wall (common practice, no source)."""
_SOLID: Final = "bar"
_HEXAGONS: Final = ("nut", "old nut", "long nut")


@dataclass(frozen=True, slots=True)
class RingStock:
    """An offer that rings can be made of.

    Parameters
    ----------
    bore
        Smallest bore it has as bought; 0 of a solid bar. [m]
    outside
        Largest outside that stock and envelope leave room for. [m]
    width
        What it comes in; None where it is sawn to length. [m]
    longest
        Widest ring that can be sawn from it. [m]
    """

    offer: Offer
    item: StockItem
    bore: float
    outside: float
    width: float | None
    longest: float

    @property
    def is_turned(self) -> bool:
        """Whether its outside is turned to size."""
        return self.item.family == _SOLID


def list_rings(brief: Brief) -> list[RingStock]:
    """Every offer that a ring can be made of.

    Raises
    ------
    NotFound, BadInput
        If an offer is no stock; a brief that was read has none such.
    """
    return [ring for offer in brief.offers if (ring := _ring(brief, offer)) is not None]


def _ring(brief: Brief, offer: Offer) -> RingStock | None:
    item = find_stock(offer.item)
    turned = item.family == _SOLID
    if item.family == "drive square" or (turned and "turning" not in brief.processes):
        return None
    room = widest_room(brief, deep=False)
    outside = to_step(min(item.outer.size, room)) if turned else item.outer.size
    if not turned and item.outer.corners > room:
        return None
    longest = min([MOST_WIDTH] + [each for each in (offer.length, item.length) if each is not None])
    if longest < (item.length or LEAST_WIDTH):
        return None
    return RingStock(offer, item, item.bore.size if item.bore else 0.0, outside, item.length, longest)


def ring_room(ring: RingStock, seat: float) -> tuple[float, float] | None:
    """Between which outsides a ring over a seat can be turned; equal where it is not turned. [m]

    None where no wall is left.

    Parameters
    ----------
    ring
        What it is cut from.
    seat
        Diameter under it. [m]
    """
    if not ring.is_turned:
        return (ring.outside, ring.outside) if ring.outside - seat >= 2 * LEAST_WALL else None
    low = to_step(seat + 2 * LEAST_WALL, up=True)
    return (low, ring.outside) if low <= ring.outside else None


def fits_body(brief: Brief, ring: RingStock, seat: float, hold: Hold) -> bool:
    """Whether a ring of this stock goes over a seat and can be held there.

    Parameters
    ----------
    brief
        Its processes.
    ring
        What it is cut from.
    seat
        Diameter under it. [m]
    hold
        Welded or pressed on.
    """
    if ring_room(ring, seat) is None:
        return False
    loose = ring.bore - seat
    bored = loose < -1e-9 or not ring.item.bore
    if bored and "turning" not in brief.processes:
        return False
    if hold == "press fit":
        wide = ring.width if ring.width is not None else ring.longest
        return "press fit" in brief.processes and loose < 1e-9 and wide >= PRESS_WIDTH and not _is_hex(ring)
    return "welding" in brief.processes and loose <= _WELD_GAP


def _is_hex(ring: RingStock) -> bool:
    return ring.item.family in _HEXAGONS


def weld_throat(walls: tuple[float, float]) -> float:
    """Throat of the fillets between two walls. [m]

    Parameters
    ----------
    walls
        Of ring and seat. [m]
    """
    low, high = _THROAT
    return min(max(to_step(_THROAT_SHARE * min(walls)), low), high)


@dataclass(frozen=True, slots=True)
class RingCut:
    """One ring as it is cut: its name, outside, width, start on its carrier, and seat. [m]"""

    name: str
    outside: float
    width: float
    at: float
    seat: float


def ring_part(
    brief: Brief, ring: RingStock, cut: RingCut, carrier: str, bond: dict[str, Any]
) -> dict[str, Any]:
    """The table of a ring.

    Parameters
    ----------
    brief
        Prices and the person's own materials.
    ring
        What it is cut from.
    cut
        Its size and place.
    carrier
        Name of the part under it.
    bond
        Its table in the file.

    Raises
    ------
    NotFound, BadInput
        If the material is not known in this size.
    """
    table: dict[str, Any] = {"name": cut.name, "carrier": carrier, "at_mm": in_mm(cut.at), "bond": bond}
    if ring.is_turned:
        price = _price(brief, ring, cut)
        table |= {"shape": "disc", "outer_diameter_mm": in_mm(cut.outside)}
        table |= {} if price is None else {"price": round(price, 2)}
    else:
        table["stock"] = ring.item.name
        if ring.bore < cut.seat - 1e-9:
            table["bore_mm"] = round(cut.seat * 1e3, 4)
    if ring.width is None:
        table["length_mm"] = in_mm(cut.width)
    return table | {"material": material_of(ring.offer, ring.item)}


def _price(brief: Brief, ring: RingStock, cut: RingCut) -> float | None:
    name = material_of(ring.offer, ring.item)
    material = find_material(name, brief.materials, diameter=cut.outside, thickness=cut.outside)
    return raw_price(brief, ring.offer, ring.item, cut.width, material.density)


def holds(brief: Brief) -> Iterator[Hold]:
    """How the workshop can hold a ring."""
    if "welding" in brief.processes:
        yield "weld"
    if "press fit" in brief.processes:
        yield "press fit"


def ring_widths(ring: RingStock, hold: Hold, along: float) -> tuple[float, float] | None:
    """Between which widths a ring on a body so long can be; None where none. [m]

    Parameters
    ----------
    ring
        What it is cut from.
    hold
        Welded or pressed on.
    along
        Length that there is for it. [m]
    """
    least = PRESS_WIDTH if hold == "press fit" else LEAST_WIDTH
    if ring.width is not None:
        return (ring.width, ring.width) if ring.width <= along else None
    most = to_step(min(ring.longest, along))
    return (least, most) if least <= most else None


def interference(seat: float, share: float) -> float:
    """Interference on the diameter, in hundredths of a millimetre. [m]

    Parameters
    ----------
    seat
        Diameter of the fit. [m]
    share
        Of the diameter.
    """
    return max(1e-5, math.floor(share * seat / 1e-5 + 1e-6) * 1e-5)


__all__ += ["LEAST_WIDTH", "STEP", "RingCut", "holds", "interference", "ring_widths"]
