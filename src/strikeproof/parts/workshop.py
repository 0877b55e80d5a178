"""What the workshop needs: prices, welds, and what to cut how long."""

from __future__ import annotations

from collections.abc import Sequence
from itertools import pairwise

from strikeproof.parts.article import Part
from strikeproof.parts.bonds import Bond
from strikeproof.parts.layout import Placed
from strikeproof.parts.prices import PriceTable
from strikeproof.parts.properties import CutLine, PartProperties, WeldLine

__all__ = ["cut_line", "list_welds", "part_price", "raw_volume", "whole_price"]


def raw_volume(part: Part) -> float:
    """What must be bought for a part: its outside over its length, hollow only if bought hollow. [m³]"""
    widest = part.outer.area * max(1.0, part.outer_end / part.outer.size) ** 2
    hollow = part.bore is not None and (part.stock is not None or part.shape in ("tube", "sleeve", "fill"))
    return part.length * (widest - (part.bore.area if hollow and part.bore else 0.0))


def part_price(placed: Placed, prices: PriceTable | None) -> float | None:
    """Price of one part, cut to length; None when nothing says it.

    Parameters
    ----------
    placed
        Its price is taken where the person gave one.
    prices
        None where nothing is looked up.

    Returns
    -------
    In the currency of the table.
    """
    part = placed.part
    if part.price is not None or prices is None:
        return part.price
    bought = placed.solid.volume if part.shape in ("ring", "fill") else raw_volume(part)
    names = tuple(name for name in (part.stock, part.family, placed.material.name) if name)
    cost = prices.cost(names, mass=bought * placed.material.density, length=part.length)
    sawn = part.shape not in ("ring", "fill") and part.family not in ("nut", "old nut", "long nut", "washer")
    return cost if cost is None or not sawn else cost + (prices.cost(("cut",)) or 0.0)


def whole_price(
    parts: Sequence[PartProperties],
    welds: Sequence[WeldLine],
    bonds: dict[str, Bond],
    prices: PriceTable | None,
) -> float | None:
    """Sum over parts and joints; None when a part has no price.

    Parameters
    ----------
    parts
        Each with its own price or None.
    welds
        Priced by the metre of bead.
    bonds
        By part; every press fit is priced as a piece.
    prices
        None leaves the joints out.

    Returns
    -------
    In the currency of the table.
    """
    known = [part.price for part in parts if part.price is not None]
    if len(known) < len(parts):
        return None
    if prices is None:
        return sum(known)
    beads = sum(prices.cost(("weld",), length=weld.length) or 0.0 for weld in welds)
    fits = sum(bond.kind == "press fit" for bond in bonds.values()) * (prices.cost(("press fit",)) or 0.0)
    return sum(known) + beads + fits


def list_welds(
    path: Sequence[Placed], placed: Sequence[Placed], bonds: dict[str, Bond]
) -> tuple[WeldLine, ...]:
    """Every weld with its bead.

    Parameters
    ----------
    path
        Parts that carry the torque, in order from the drive.
    placed
        All parts.
    bonds
        By the name of the part that each holds.
    """
    before = {after.part.name: first.part.name for first, after in pairwise(path)}
    by_name = {each.part.name: each for each in placed}
    lines = []
    for name, bond in bonds.items():
        if bond.kind == "weld":
            each = by_name[name]
            other = by_name[each.part.carrier or before[name]]
            preheat = each.material.hardenable or other.material.hardenable
            lines.append(WeldLine(name, other.part.name, each.part.bond.throat, bond.weld_length, preheat))
    return tuple(lines)


def cut_line(part: Part) -> CutLine:
    """What to take for a part, and how long to cut it."""
    return CutLine(
        part.name, part.stock or f"{part.shape} {part.outer.size * 1e3:.4g} mm", part.material, part.length
    )
