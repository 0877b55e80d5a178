"""What can be built from the offers, bases and processes of a brief, as articles that a person could write.

A recipe is a choice of stock and joint; what is left open are its variables, each on the workshop's steps.
Positions are shares of the room that there is, so that any values within the bounds make an article; whether
it keeps the brief is judged afterwards.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

from strikeproof.design.bodies import STEP, TurnedBody, list_bars, material_of, open_base
from strikeproof.design.plans import Recipe
from strikeproof.design.records import Brief
from strikeproof.design.ringed import rings_on_bars, rings_on_bases
from strikeproof.design.rings import holds, list_rings
from strikeproof.design.turned import collared_recipes, turned_recipe

__all__ = ["list_recipes"]


def list_recipes(brief: Brief) -> tuple[Recipe, ...]:
    """Every recipe that the brief's stock, bases and processes allow, in the order of the brief."""
    bars = list_bars(brief)
    rings = list_rings(brief)
    bases = [body for base in brief.bases if (body := open_base(base, brief, brief.materials)) is not None]
    plain = _without_doubles(bars)
    found = [turned_recipe(brief, bar) for bar in plain]
    found += collared_recipes(brief, bars)
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
