"""Where each part of a proposal comes from: the offers and bases of its brief."""

from __future__ import annotations

from collections.abc import Collection, Mapping
from typing import Any

from strikeproof.design.records import Brief
from strikeproof.parts import Article, Part, find_stock
from strikeproof.publish.workshop import Raw

__all__ = ["find_raw"]

_WHOLE = ("nut", "old nut", "long nut", "washer", "drive square")


def find_raw(
    brief: Brief, table: Mapping[str, Any], article: Article, stock: Collection[str]
) -> dict[str, Raw]:
    """By part: bought as a base, an item as it is sold, standing on another part, or sawn from stock.

    Parameters
    ----------
    stock
        What the search cuts the article from: of several bars that would do, the one that is among it.
    """
    bought = {
        name: base.name
        for base in brief.bases
        for name in _shared_parts(base.table.get("part", ()), table.get("part", ()))
    }
    return {part.name: _raw(brief, article, part, (bought, stock)) for part in article.parts}


def _shared_parts(base: Any, parts: Any) -> set[str]:
    """Names of the parts that are just those of a base, when all of the base is there."""
    plain = [_bare(each) for each in parts]
    own = [_bare(each) for each in base]
    if not own or any(each not in plain for each in own):
        return set()
    return {str(each.get("name")) for each in parts if _bare(each) in own}


def _bare(part: Mapping[str, Any]) -> dict[str, Any]:
    return {key: value for key, value in part.items() if key not in ("name", "price")}


def _raw(brief: Brief, article: Article, part: Part, known: tuple[Mapping[str, str], Collection[str]]) -> Raw:
    bought, stock = known
    if part.name in bought:
        return Raw("bought", bought[part.name])
    if part.stock is not None:
        return Raw("item" if part.family in _WHOLE and part.bond.kind != "loose" else "sawn", part.stock)
    carrier = next((each for each in article.parts if each.name == part.carrier), None)
    if carrier is not None and part.bond.kind == "rigid" and part.material == carrier.material:
        return Raw("with", carrier.name)
    return Raw("sawn", _bar(brief, part, _outside(article, part), stock))


def _outside(article: Article, part: Part) -> float:
    """Of the piece that a part is turned from: what is left standing on it may be wider. [m]"""
    on_it = [
        each.outer.size
        for each in article.parts
        if each.carrier == part.name and each.bond.kind == "rigid" and each.material == part.material
    ]
    return max([part.outer.size, part.outer_end, *on_it])


def _bar(brief: Brief, part: Part, outside: float, stock: Collection[str]) -> str:
    """The bar on offer that a part can be turned from: one that is named, else the thinnest."""
    offered = [(find_stock(each.item), each) for each in brief.offers]
    bars = [
        item
        for item, offer in offered
        if item.family == "bar"
        and (offer.material or item.material) == part.material
        and item.outer.size >= outside - 1e-6
    ]
    best = min(bars, key=lambda item: (item.name not in stock, item.outer.size), default=None)
    return best.name if best else f"bar {outside * 1e3:g} mm"
