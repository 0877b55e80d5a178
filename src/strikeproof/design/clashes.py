"""Which limits of a brief clash, and the nearest brief that can be kept.

Every least body (`possible`) breaks some limits. A clash is a smallest set of limits of which each body
breaks at least one: no article keeps all of the set, and for each of them what would be enough is told.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass, replace
from itertools import combinations
from typing import Final, TypeAlias

import numpy as np

from strikeproof.design.envelope import free_radius, widened
from strikeproof.design.possible import Option, list_options
from strikeproof.design.records import Brief, Envelope, Need

__all__ = ["find_clashes", "nearest_brief", "tell_changes"]

_LEAST_STATIC: Final = 1.0
"""No margin below it is ever offered as a way out: it is a stop."""
_GAIN: Final = math.log(2.0)
"""What buying stock or learning a process counts beside a limit that is moved: as much as doubling it."""
_STRENGTH: Final = 10
"""How many times over a margin against yield counts: rather any other limit is moved."""
_NO_WAY: Final = "take stronger stock, a wider pocket or a gentler tool"
_LARGEST: Final = 3
_MOST: Final = 5
"""Clashes that are told, of so many limits at most unless even the smallest has more."""


def _up(value: float, step: float) -> float:
    """On the step above, so that what is told is enough."""
    return round(math.ceil(value / step - 1e-9) * step, 9)


@dataclass(frozen=True, slots=True)
class _Rule:
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
    """

    keys: tuple[str, ...]
    words: str
    move: Callable[[Brief, Option], Brief | None]
    tell: Callable[[Brief, Option], str]


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
        return "has no price: add it to prices.csv"
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


_RULES: Final[tuple[_Rule, ...]] = (
    _Rule(("stock", "start_from"), "the stock", _move_stock, _tell_stock),
    _Rule(("processes",), "the processes", _move_processes, lambda *_: "must be turned"),
    _Rule(("pocket", "nearest_wall_mm"), "the room", _move_room, _tell_room),
    _Rule(("free_length_mm",), "the free length", _move_length, _tell_length),
    _Rule(("largest_mass_kg",), "the largest mass", _move_mass, _tell_mass),
    _Rule(("budget",), "the budget", _move_budget, _tell_price),
    _Rule(("least_margin",), "the least margin", _move_static, _tell_static),
    _Rule(("least_fatigue_margin",), "the least fatigue margin", _move_fatigue, _tell_fatigue),
)

_STOCK, _PROCESSES, _ROOM = range(3)

_Moves: TypeAlias = dict[int, tuple[Brief | None, float]]
"""For every rule that an option breaks: the brief that it would keep, and how far that is."""


def _distance(before: Brief, after: Brief | None) -> float:
    """How far a limit is moved: the logarithm of its change, summed. Infinite when there is no way out."""
    if after is None:
        return math.inf
    pairs = [
        (before.largest_mass, after.largest_mass),
        (before.budget, after.budget),
        *[(before.least_static, after.least_static)] * _STRENGTH,
        (before.least_fatigue, after.least_fatigue),
        (before.envelope.wall, after.envelope.wall),
        (before.envelope.free_length, after.envelope.free_length),
        *(
            (old.diameter, new.diameter)
            for old, new in zip(before.envelope.pocket, after.envelope.pocket, strict=True)
        ),
    ]
    moved = sum(
        abs(math.log(max(b, 1e-9) / max(a, 1e-9))) for a, b in pairs if a is not None and b is not None
    )
    gained = len(after.offers) - len(before.offers) + len(after.processes) - len(before.processes)
    return moved + gained * _GAIN


def _moves(brief: Brief, option: Option) -> _Moves:
    found: _Moves = {}
    for index, rule in enumerate(_RULES):
        after = rule.move(brief, option)
        if after is not brief:
            found[index] = after, _distance(brief, after)
    return found


def _smallest_sets(broken: Sequence[frozenset[int]]) -> list[tuple[int, ...]]:
    """Smallest sets of rules of which every option breaks at least one; none contains another."""
    rules = sorted(set().union(*broken))
    found: list[tuple[int, ...]] = []
    for size in range(1, len(rules) + 1):
        for chosen in combinations(rules, size):
            if any(set(other) <= set(chosen) for other in found):
                continue
            if all(set(chosen) & each for each in broken):
                found.append(chosen)
    return found


def find_clashes(brief: Brief, peak: float | None = None) -> tuple[Need, ...]:
    """Which limits no article can keep together, and what would be enough; none when a body keeps them all.

    What is found is sure. Nothing found is no promise: a search may still come back with empty hands.

    Parameters
    ----------
    peak
        Smallest peak torque at the bolt's head that an article must stand, where it is known; without one the
        margins are left aside. [N·m]
    """
    options = list_options(brief, peak)
    moves = [_moves(brief, option) for option in options]
    if any(not each for each in moves):
        return ()
    sets = _smallest_sets([frozenset(each) for each in moves])
    most = max(_LARGEST, len(sets[0]))
    told = [chosen for chosen in sets if len(chosen) <= most][:_MOST]
    return tuple(_need(brief, chosen, options, moves) for chosen in told)


def _nearest_for(
    rule: int, chosen: tuple[int, ...], options: Sequence[Option], moves: Sequence[_Moves]
) -> tuple[Option, Brief | None]:
    """The option that keeps the others of a clash and takes least of one rule, with the brief for it."""
    others = set(chosen) - {rule}
    able = [index for index, each in enumerate(moves) if rule in each and not others & set(each)]

    def order(index: int) -> tuple[int, float, float, float]:
        broken, distance = moves[index], moves[index][rule][1]
        # Among those that nothing helps, the strongest; else the lightest, and rather of what is at hand.
        strongest = 0.0 if math.isfinite(distance) else -(options[index].static or 0.0)
        return len({_STOCK, _PROCESSES} & set(broken) - {rule}), distance, strongest, options[index].mass

    best = min(able, key=order)
    return options[best], moves[best][rule][0]


def _need(brief: Brief, chosen: tuple[int, ...], options: Sequence[Option], moves: Sequence[_Moves]) -> Need:
    told: list[str] = []
    mends: list[str] = []
    keys: list[str] = []
    for rule in chosen:
        option, after = _nearest_for(rule, chosen, options, moves)
        told.append(_told(brief, rule, chosen, option))
        keys += _room_keys(brief, after) if rule == _ROOM else _RULES[rule].keys
        if after is not None:
            mends.append(tell_changes(brief, after))
    alone = len(chosen) == 1
    words = [_RULES[rule].words for rule in chosen]
    start = f"nothing can be made within {words[0]}" if alone else f"{_listed(words)} cannot be kept together"
    # A limit that clashes alone does so with the bolt and the drive.
    limits = (*keys, "hexagon_mm", "drive_mm") if alone else tuple(keys)
    mend = "set " + ", or ".join(dict.fromkeys(mends)) if mends else _NO_WAY
    return Need(limits, f"{start}: {'; '.join(told)}", mend)


def _room_keys(brief: Brief, after: Brief | None) -> tuple[str, ...]:
    """Which sides of the room are too narrow."""
    if after is None:
        return _RULES[_ROOM].keys
    before, new = brief.envelope, after.envelope
    sides = (new.pocket != before.pocket, new.wall != before.wall)
    return tuple(key for key, narrow in zip(_RULES[_ROOM].keys, sides, strict=True) if narrow)


def _listed(words: Sequence[str]) -> str:
    return words[0] if len(words) == 1 else f"{', '.join(words[:-1])} and {words[-1]}"


def _told(brief: Brief, rule: int, chosen: tuple[int, ...], option: Option) -> str:
    """What the nearest option takes of one limit, the others of the clash kept."""
    others = [_RULES[each].words for each in chosen if each != rule]
    within = f"within {_listed(others)} " if others else ""
    return f"{within}the nearest, {option.name}, {_RULES[rule].tell(brief, option)}"


def nearest_brief(brief: Brief, peak: float | None = None) -> Brief:
    """The brief itself when it does not clash, else the nearest one that does not.

    Nearest is the smallest sum of changes, each as the logarithm of a limit after over before. When nothing
    helps, which takes a torque that no bar stands, it is the brief itself.
    """
    options = list_options(brief, peak)
    moves = [_moves(brief, option) for option in options]
    far = [sum(distance for _, distance in each.values()) for each in moves]
    best = min(range(len(options)), key=lambda index: (far[index], options[index].mass))
    if not math.isfinite(far[best]):
        return brief
    for rule in moves[best]:
        moved = _RULES[rule].move(brief, options[best])
        assert moved is not None  # its distance would be infinite
        brief = moved
    return brief


def tell_changes(before: Brief, after: Brief) -> str:
    """What one brief has otherwise than another, as it is written in the file."""
    return ", ".join(_changes(before, after)) or "nothing"


def _changes(before: Brief, after: Brief) -> Iterator[str]:
    for offer in after.offers[len(before.offers) :]:
        length = "" if offer.length is None else f", length_mm = {offer.length * 1e3:g}"
        yield f'[[stock]] item = "{offer.item}", material = "{offer.material}"{length}'
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
