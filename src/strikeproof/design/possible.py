"""The least that can be built for a brief: what it takes of room, mass, money and strength.

Whatever a search builds has one of these bodies in it, so it is no shorter, lighter, cheaper or stronger than
the body by itself. That makes them sound bounds: what they break, nothing keeps.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Iterator
from dataclasses import dataclass, replace
from functools import partial
from typing import Any, Final

from strikeproof.design.bodies import (
    STEP,
    TurnedBody,
    material_of,
    narrowest_body,
    open_base,
    shortest_body,
    turned_part,
)
from strikeproof.design.envelope import Body, swept_bodies
from strikeproof.design.limits import Reached
from strikeproof.design.plans import bar_price
from strikeproof.design.records import Base, Brief, Envelope, Offer
from strikeproof.design.rings import fits_body, holds, list_rings
from strikeproof.errors import StrikeproofError
from strikeproof.parts import (
    Article,
    ArticleProperties,
    Margin,
    find_stock,
    margins_at,
    read_article,
    work_out,
)
from strikeproof.parts.layout import place

__all__ = ["Option", "list_options"]

_HARD: Final = "4140 at 45 HRC"
_MORE: Final = 40e-3
"""How much wider than the narrowest a body is looked at when it must stand a torque. [m]"""
_PATH: Final = ("shear", "wall")


@dataclass(frozen=True, slots=True)
class Option:
    """One body as it could be built.

    Parameters
    ----------
    name
        In words.
    bodies
        What it sweeps.
    reached
        Its least mass and price; margins at the peak torque, where that is known and the material has any.
    offer
        Stock that the brief would have to gain for it; None when the brief has what it takes.
    turning
        Whether it must be turned.
    """

    name: str
    bodies: tuple[Body, ...]
    reached: Reached
    offer: Offer | None = None
    turning: bool = True

    @property
    def mass(self) -> float:
        """Least. [kg]"""
        return 0.0 if self.reached.properties is None else self.reached.properties.mass

    @property
    def length(self) -> float:
        """From the seat. [m]"""
        return max(body.high for body in self.bodies)


def list_options(brief: Brief, peak: float | None = None) -> tuple[Option, ...]:
    """Every least body: from the brief's bars and bases, and from bars that it could gain.

    Parameters
    ----------
    peak
        Smallest peak torque at the bolt's head that any article must stand; margins are left out without
        one. [N·m]

    Raises
    ------
    NotFound, BadInput
        If an offer or a base cannot be used; a brief that was read has none such.
    """
    free = replace(brief, envelope=Envelope(), processes=brief.processes | {"turning"})
    found = [option for offer in brief.offers for option in _from_offer(free, offer, peak)]
    found += [option for base in brief.bases for option in _from_base(brief, base, peak)]
    return (*found, *_from_new_bars(free, peak))


def _least_bodies(
    brief: Brief, offer: Callable[[float], Offer], widest: float, peak: float | None
) -> Iterator[Option]:
    """The narrowest body that can be worked out; every wider one too when it must stand a torque."""
    narrowest = narrowest_body(brief)
    most = min(widest, narrowest + _MORE)
    for count in range(math.floor((most - narrowest) / STEP + 1e-6) + 1):
        diameter = narrowest + count * STEP
        option = _turned(brief, offer(diameter), diameter, peak)
        if option is not None:
            yield option
            if peak is None:
                return


def _from_offer(brief: Brief, offer: Offer, peak: float | None) -> Iterator[Option]:
    item = find_stock(offer.item)
    if item.family != "bar":
        return
    short = offer.length is not None and offer.length < shortest_body(brief) - 1e-9
    gained = replace(offer, length=shortest_body(brief)) if short else None
    for option in _least_bodies(brief, lambda _: offer, item.outer.size, peak):
        yield replace(option, offer=gained)


def _from_new_bars(brief: Brief, peak: float | None) -> Iterator[Option]:
    """From the thinnest bar for each body, in whole millimetres, of every material at hand and a hard one."""
    items = [(offer, find_stock(offer.item)) for offer in brief.offers]
    materials = {material_of(offer, item): None for offer, item in items if item.family == "bar"} | {
        _HARD: None
    }
    for material in materials:
        thin = partial(_thinnest_bar, material)
        for option in _least_bodies(brief, thin, math.inf, peak):
            yield replace(option, offer=thin(2 * option.bodies[0].at_low))


def _thinnest_bar(material: str, diameter: float) -> Offer:
    return Offer(f"bar {math.ceil(diameter * 1e3 - 1e-6)} mm", material)


def _turned(brief: Brief, offer: Offer, diameter: float, peak: float | None) -> Option | None:
    """The shortest body of one diameter; None when it cannot be made of this material."""
    item, length = find_stock(offer.item), shortest_body(brief)
    body = TurnedBody(offer, item, diameter, diameter, length, length)
    try:
        table = turned_part(brief, body, diameter, length, bar_price(brief, body, length))
        facts = _facts(brief, {"name": "body", "part": [table]})
    except StrikeproofError:
        return None
    name = f"{item.name} of {material_of(offer, item)} turned to {diameter * 1e3:.4g} mm"
    sweep = (Body("socket", 0.0, length, diameter / 2, diameter / 2),)
    return Option(name, sweep, Reached(facts, *_margins(facts, peak)))


def _facts(brief: Brief, table: dict[str, Any]) -> ArticleProperties:
    article: Article = read_article(table, materials=brief.materials)
    return work_out(article, materials=brief.materials, prices=brief.prices)


def _margins(facts: ArticleProperties, peak: float | None) -> tuple[float | None, float | None]:
    """Smallest static and fatigue margin of the path, which no ring makes larger."""
    if peak is None:
        return None, None
    path: list[Margin] = [each for each in margins_at(facts, peak) if each.mode in _PATH]
    static = min((each.static for each in path), default=None)
    return static, min((each.fatigue for each in path if each.fatigue is not None), default=None)


def _from_base(brief: Brief, base: Base, peak: float | None) -> Iterator[Option]:
    """A base that some ring at hand goes on, by itself."""
    body = open_base(base, brief, brief.materials)
    free = replace(brief, envelope=Envelope())
    if body is None:
        return
    seat = body.carrier.outer.size
    if not any(fits_body(free, ring, seat, hold) for ring in list_rings(free) for hold in holds(free)):
        return
    article = read_article(base.table, materials=brief.materials)
    facts = work_out(article, materials=brief.materials, prices=brief.prices)
    bodies = swept_bodies(place(article, brief.materials))
    if min(each.low for each in bodies) >= -1e-9:
        price = facts.price if base.price is None else base.price
        reached = Reached(replace(facts, price=price), *_margins(facts, peak))
        yield Option(base.name, bodies, reached, turning=False)
