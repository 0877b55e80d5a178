"""The limits of a brief one by one: whether a body keeps one, and how far it would have to be moved."""

from __future__ import annotations

import math
from collections.abc import Callable, Iterator
from dataclasses import dataclass, replace
from typing import Final

import numpy as np

from strikeproof.design.envelope import free_radius, widened
from strikeproof.design.possible import Option
from strikeproof.design.records import Brief, Envelope

__all__ = ["PROCESSES_RULE", "ROOM_RULE", "RULES", "STOCK_RULE", "Rule", "tell_changes"]

_STRONGER: Final = "take stronger stock, a wider pocket or a gentler tool"
_LEAST_STATIC: Final = 1.0
"""No margin below it is ever offered as a way out: it is a stop."""


def _up(value: float, step: float) -> float:
    """On the step above, so that what is told is enough."""
    return round(math.ceil(value / step - 1e-9) * step, 9)


@dataclass(frozen=True, slots=True)
class Rule:
    """One limit of a brief.

    Parameters
    ----------
    keys
        What it is called in the file.
    words
        In a sentence.
    move
        The brief with the limit moved so that an option keeps it; the brief itself when it does already,
        None when no way out is offered.
    tell
        What an option takes of it, and what there is.
    otherwise
        What helps where no way out is offered.
    """

    keys: tuple[str, ...]
    words: str
    move: Callable[[Brief, Option], Brief | None]
    tell: Callable[[Brief, Option], str]
    otherwise: str = ""


def _in_mm(value: float) -> str:
    return f"{value * 1e3:.4g} mm"


def _move_room(brief: Brief, option: Option) -> Brief:
    old = replace(brief.envelope, free_length=None)
    new = widened(old, option.bodies)
    if new == old:
        return brief
    pocket = tuple(
        after if after == before else replace(after, diameter=_up(after.diameter, 0.1e-3))
        for before, after in zip(old.pocket, new.pocket, strict=True)
    )
    wall = new.wall if new.wall == old.wall or new.wall is None else _up(new.wall, 0.1e-3)
    return replace(brief, envelope=Envelope(pocket, brief.envelope.free_length, wall, old.clearance))


def _tell_room(brief: Brief, option: Option) -> str:
    widest = 2 * max(body.reach(body.low, body.high) for body in option.bodies)
    free = float(free_radius(brief.envelope, np.zeros(1))[0]) * 2
    there = f"{_in_mm(max(free, 0.0))} are free at the seat"
    clear = f"with a clearance of {_in_mm(brief.envelope.clearance)}"
    return f"takes {_in_mm(widest)} around the {_in_mm(brief.hexagon)} hexagon where {there} {clear}"


def _move_length(brief: Brief, option: Option) -> Brief:
    longest = brief.envelope.free_length
    if longest is None or option.length <= longest + 1e-9:
        return brief
    return replace(brief, envelope=replace(brief.envelope, free_length=_up(option.length, 0.1e-3)))


def _tell_length(brief: Brief, option: Option) -> str:
    return f"is {_in_mm(option.length)} long where {_in_mm(brief.envelope.free_length or 0.0)} are free"


def _move_mass(brief: Brief, option: Option) -> Brief:
    if brief.largest_mass is None or option.mass <= brief.largest_mass:
        return brief
    return replace(brief, largest_mass=_up(option.mass, 1e-3))


def _tell_mass(brief: Brief, option: Option) -> str:
    return f"has {option.mass:.3f} kg where {brief.largest_mass:g} kg are allowed"


def _move_budget(brief: Brief, option: Option) -> Brief | None:
    if brief.budget is None or (option.price is not None and option.price <= brief.budget):
        return brief
    return None if option.price is None else replace(brief, budget=_up(option.price, 0.01))


def _tell_price(brief: Brief, option: Option) -> str:
    if option.price is None:
        return "has no price"
    return f"costs {option.price:.2f} where {brief.budget:g} are allowed"


def _move_static(brief: Brief, option: Option) -> Brief | None:
    if option.static is None or option.static >= brief.least_static:
        return brief
    least = math.floor(option.static * 100) / 100
    return replace(brief, least_static=least) if least >= _LEAST_STATIC else None


def _move_fatigue(brief: Brief, option: Option) -> Brief | None:
    if brief.least_fatigue is None or option.fatigue is None or option.fatigue >= brief.least_fatigue:
        return brief
    least = math.floor(option.fatigue * 100) / 100
    return replace(brief, least_fatigue=least) if least > 0 else None


def _move_stock(brief: Brief, option: Option) -> Brief:
    return brief if option.offer is None else replace(brief, offers=(*brief.offers, option.offer))


def _move_processes(brief: Brief, option: Option) -> Brief:
    if not option.turning or "turning" in brief.processes:
        return brief
    return replace(brief, processes=brief.processes | {"turning"})


def _tell_stock(_brief: Brief, _option: Option) -> str:
    return "is not at hand"


def _tell_static(brief: Brief, option: Option) -> str:
    return f"stands {option.static:.3g} times the peak torque where {brief.least_static:g} times are asked"


def _tell_fatigue(brief: Brief, option: Option) -> str:
    return f"endures {option.fatigue:.3g} times the peak torque where {brief.least_fatigue:g} times are asked"


RULES: Final[tuple[Rule, ...]] = (
    Rule(("stock", "start_from"), "the stock", _move_stock, _tell_stock),
    Rule(("processes",), "the processes", _move_processes, lambda *_: "must be turned"),
    Rule(("pocket", "nearest_wall_mm"), "the room", _move_room, _tell_room),
    Rule(("free_length_mm",), "the free length", _move_length, _tell_length),
    Rule(("largest_mass_kg",), "the largest mass", _move_mass, _tell_mass),
    Rule(("budget",), "the budget", _move_budget, _tell_price, "give what is at hand a price in prices.csv"),
    Rule(("least_margin",), "the least margin", _move_static, _tell_static, _STRONGER),
    Rule(("least_fatigue_margin",), "the least fatigue margin", _move_fatigue, _tell_fatigue, _STRONGER),
)

STOCK_RULE, PROCESSES_RULE, ROOM_RULE = range(3)
"""Places of these in `RULES`."""


def tell_changes(before: Brief, after: Brief) -> str:
    """What one brief has otherwise than another, as it is written in the file."""
    return ", ".join(_changes(before, after)) or "nothing"


def _changes(before: Brief, after: Brief) -> Iterator[str]:
    for offer in after.offers[len(before.offers) :]:
        material = "" if offer.material is None else f', material = "{offer.material}"'
        length = "" if offer.length is None else f", length_mm = {offer.length * 1e3:g}"
        yield f'[[stock]] item = "{offer.item}"{material}{length}'
    for process in sorted(after.processes - before.processes):
        yield f'processes with "{process}"'
    top = 0.0
    for old, new in zip(before.envelope.pocket, after.envelope.pocket, strict=True):
        if old != new:
            size = f"diameter_mm = {new.diameter * 1e3:g}"
            yield f"pocket from {_in_mm(top)} to {_in_mm(new.depth)} with {size}"
        top = new.depth
    numbers = (
        ("nearest_wall_mm", before.envelope.wall, after.envelope.wall, 1e3),
        ("free_length_mm", before.envelope.free_length, after.envelope.free_length, 1e3),
        ("largest_mass_kg", before.largest_mass, after.largest_mass, 1.0),
        ("budget", before.budget, after.budget, 1.0),
        ("least_margin", before.least_static, after.least_static, 1.0),
        ("least_fatigue_margin", before.least_fatigue, after.least_fatigue, 1.0),
    )
    for key, was, now, factor in numbers:
        if was != now and now is not None:
            yield f"{key} = {now * factor:g}"
