"""What a brief begins with: all that the campaign tells already, and the usual margins."""

from __future__ import annotations

import math
from collections.abc import Iterator, Mapping
from typing import Any, Final

from strikeproof.campaign.records import Campaign

__all__ = ["first_brief"]

_DRIVES: Final = (6.3, 10.0, 12.5, 20.0, 25.0, 40.0)  # mm, nominal squares (ISO 1174-1, from memory)
_STEEL: Final = "42CrMo4 +QT"
"""The hardest that is turned without trouble and sold as round bar (common practice, no source)."""
_USUAL_HEAD: Final = 24.0  # mm


def first_brief(campaign: Campaign, articles: Mapping[str, Mapping[str, Any]]) -> dict[str, Any]:
    """The tables of a new brief; what a campaign does not tell is left to be filled in."""
    brief: dict[str, Any] = {
        "name": f"next article for {campaign.name}",
        "tools": [each.name for each in campaign.tools],
        "objective": "highest score",
        "least_margin": 1.5,
        "start_from": [name for name, table in articles.items() if table.get("part")][:1],
    }
    head = _first(campaign, articles, "hexagon", "bolt_across_flats_mm")
    square = _first(campaign, articles, "square drive", "")
    drive = next((each.drive_mm for each in campaign.tools if each.drive_mm), square)
    if head is not None:
        brief["hexagon_mm"] = head
    if drive is not None:
        brief["drive_mm"] = min(_DRIVES, key=lambda size: abs(size - drive))
    return {"brief": brief, "envelope": {"clearance_mm": 1}, "stock": [_first_bar(head or _USUAL_HEAD)]}


def _first_bar(head: float) -> dict[str, Any]:
    """One piece to begin the list of stock with, from which something sound can be turned.

    The wall over the hexagon decides what an article stands: three heads of bar leave room for one that is
    thick enough.
    """
    return {"item": f"bar {5 * math.ceil(0.6 * head):d} mm", "material": _STEEL, "length_mm": 300}


def _first(
    campaign: Campaign, articles: Mapping[str, Mapping[str, Any]], kind: str, given: str
) -> float | None:
    """Nominal size of the first hole of a kind, that of the reference before all others. [mm]"""
    ranked = sorted(articles.items(), key=lambda each: each[0] != campaign.reference)
    return next((size for _name, table in ranked for size in _sizes(table, kind, given)), None)


def _sizes(table: Mapping[str, Any], kind: str, given: str) -> Iterator[float]:
    for part in table.get("part", ()):
        for cut in part.get("cut", ()):
            size = cut.get("size_mm")
            if cut.get("kind") == kind and isinstance(size, int | float):
                yield size
    value = table.get(given)
    if isinstance(value, int | float):
        yield value
