"""Which limits of a brief conflict, and the nearest brief that can be met.

Every least body (`possible`) breaks some limits. A conflict is a smallest set of limits of which each body
breaks at least one: no article keeps all of the set, and for each of them what would be enough is said.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass, replace
from itertools import combinations
from typing import Final, TypeAlias

import numpy as np

from strikeproof.design.envelope import free_radius, widened
from strikeproof.design.limits import LIMITS, LimitKind, relax
from strikeproof.design.possible import Option, list_options
from strikeproof.design.records import Brief, Envelope, Need

__all__ = ["find_clashes", "nearest_brief", "tell_changes"]

_GAIN: Final = math.log(2.0)
"""What buying stock or learning a process counts beside a limit that is moved: as much as doubling it."""
_NO_BODY: Final = Need(
    ("hexagon_mm", "drive_mm"),
    "no wall around this hexagon and square can be worked out",
    "set a smaller hexagon_mm or drive_mm",
)
_LARGEST: Final = 3
_MOST: Final = 5
"""Conflicts that are named, of so many limits at most unless even the smallest has more."""


_Moves: TypeAlias = dict[int, tuple[Brief | None, float]]
"""For every rule that an option breaks: the brief that it would keep, and how far that is."""


def _up(value: float, step: float) -> float:
    """On the step above, so that what is named is enough."""
    return round(math.ceil(value / step - 1e-9) * step, 9)


@dataclass(frozen=True, slots=True)
class _Rule:
    """What a brief limits: stock, room, or a number.

    Parameters
    ----------
    keys
        Their keys in the file.
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


def _move_stock(brief: Brief, option: Option) -> Brief:
    return brief if option.offer is None else replace(brief, offers=(*brief.offers, option.offer))


def _move_processes(brief: Brief, option: Option) -> Brief:
    if not option.turning or "turning" in brief.processes:
        return brief
    return replace(brief, processes=brief.processes | {"turning"})


def _tell_stock(_brief: Brief, _option: Option) -> str:
    return "is not at hand"


def _number_rule(kind: LimitKind) -> _Rule:
    def move(brief: Brief, option: Option) -> Brief | None:
        if not kind.excess(brief, option.reached):
            return brief
        enough = kind.enough(option.reached)
        return None if enough is None else relax(brief, {kind.key: enough})

    return _Rule(
        (kind.key,), kind.words, move, lambda brief, option: kind.tell(brief, option.reached), kind.otherwise
    )


_RULES: Final = (
    _Rule(("stock", "start_from"), "the stock", _move_stock, _tell_stock),
    _Rule(("processes",), "the processes", _move_processes, lambda *_: "must be turned"),
    _Rule(("pocket", "nearest_wall_mm"), "the room", _move_room, _tell_room),
    _Rule(("free_length_mm",), "the free length", _move_length, _tell_length),
    *map(_number_rule, LIMITS.values()),
)
_STOCK_RULE, _PROCESSES_RULE, _ROOM_RULE = range(3)
"""Places of these in `_RULES`."""


def _distance(before: Brief, after: Brief | None) -> float:
    """How far a limit is moved: the logarithm of its change, summed. Infinite when there is no way out."""
    if after is None:
        return math.inf
    pairs = [
        *((kind.asked(before), kind.asked(after)) for kind in LIMITS.values() for _ in range(kind.weight)),
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
    brief
        Its limits are asked, not its objective.
    peak
        Smallest peak torque at the bolt's head that an article must stand, where it is known; without one the
        margins are left aside. [N·m]
    """
    options = list_options(brief, peak)
    if not options:
        return (_NO_BODY,)
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
    """The option that keeps the others of a conflict and takes least of one rule, with the brief for it."""
    others = set(chosen) - {rule}
    able = [index for index, each in enumerate(moves) if rule in each and not others & set(each)]

    def order(index: int) -> tuple[int, float, float, float]:
        broken, distance = moves[index], moves[index][rule][1]
        # Among those that nothing helps, the strongest; else the lightest, and rather of what is at hand.
        strongest = 0.0 if math.isfinite(distance) else -(options[index].reached.static or 0.0)
        return (
            len({_STOCK_RULE, _PROCESSES_RULE} & set(broken) - {rule}),
            distance,
            strongest,
            options[index].mass,
        )

    best = min(able, key=order)
    return options[best], moves[best][rule][0]


def _need(brief: Brief, chosen: tuple[int, ...], options: Sequence[Option], moves: Sequence[_Moves]) -> Need:
    told: list[str] = []
    fixes: list[str] = []
    keys: list[str] = []
    for rule in chosen:
        option, after = _nearest_for(rule, chosen, options, moves)
        told.append(_told(brief, rule, chosen, option))
        keys += _room_keys(brief, after) if rule == _ROOM_RULE else _RULES[rule].keys
        if after is not None:
            fixes.append(tell_changes(brief, after))
    alone = len(chosen) == 1
    words = [_RULES[rule].words for rule in chosen]
    start = f"nothing can be made within {words[0]}" if alone else f"{_listed(words)} cannot be met together"
    # A limit that conflicts alone does so with the bolt and the drive.
    limits = (*keys, "hexagon_mm", "drive_mm") if alone else tuple(keys)
    helps = dict.fromkeys(_RULES[rule].otherwise for rule in chosen)
    otherwise = ", or ".join(each for each in helps if each)
    fix = "set " + ", or ".join(dict.fromkeys(fixes)) if fixes else otherwise
    return Need(limits, f"{start}: {'; '.join(told)}", fix)


def _room_keys(brief: Brief, after: Brief | None) -> tuple[str, ...]:
    """Which sides of the room are too narrow."""
    if after is None:
        return _RULES[_ROOM_RULE].keys
    before, new = brief.envelope, after.envelope
    sides = (new.pocket != before.pocket, new.wall != before.wall)
    return tuple(key for key, narrow in zip(_RULES[_ROOM_RULE].keys, sides, strict=True) if narrow)


def _listed(words: Sequence[str]) -> str:
    return words[0] if len(words) == 1 else f"{', '.join(words[:-1])} and {words[-1]}"


def _told(brief: Brief, rule: int, chosen: tuple[int, ...], option: Option) -> str:
    """What the nearest option takes of one limit, the others of the conflict met."""
    others = [_RULES[each].words for each in chosen if each != rule]
    within = f"within {_listed(others)} " if others else ""
    return f"{within}the nearest, {option.name}, {_RULES[rule].tell(brief, option)}"


def nearest_brief(brief: Brief, peak: float | None = None) -> Brief:
    """The brief itself when it does not conflict, else the nearest one that does not.

    Nearest is the smallest sum of changes, each as the logarithm of a limit after over before. When nothing
    helps, which takes a torque that no bar withstands, it is the brief itself.

    Parameters
    ----------
    brief
        Any.
    peak
        Smallest peak torque at the bolt's head that an article must stand; None where it is not known. [N·m]

    References
    ----------
    Derived here (docs/design.md).
    """
    options = list_options(brief, peak)
    if not options:
        return brief
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
    sizes = (
        ("nearest_wall_mm", before.envelope.wall, after.envelope.wall),
        ("free_length_mm", before.envelope.free_length, after.envelope.free_length),
    )
    for key, was, now in sizes:
        if was != now and now is not None:
            yield f"{key} = {now * 1e3:g}"
    for key, kind in LIMITS.items():
        wanted = kind.written(after)
        if wanted is not None and wanted != kind.written(before):
            yield f"{key} = {wanted:g}"
