"""Which limits of a brief clash, and the nearest brief that can be kept.

Every least body (`possible`) breaks some limits. A clash is a smallest set of limits of which each body
breaks at least one: no article keeps all of the set, and for each of them what would be enough is told.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from itertools import combinations
from typing import Final, TypeAlias

from strikeproof.design.limits import PROCESSES_RULE, ROOM_RULE, RULES, STOCK_RULE, tell_changes
from strikeproof.design.possible import Option, list_options
from strikeproof.design.records import Brief, Need

__all__ = ["find_clashes", "nearest_brief"]

_GAIN: Final = math.log(2.0)
"""What buying stock or learning a process counts beside a limit that is moved: as much as doubling it."""
_STRENGTH: Final = 10
"""How many times over a margin against yield counts: rather any other limit is moved."""
_NO_BODY: Final = Need(
    ("hexagon_mm", "drive_mm"),
    "no wall around this hexagon and square can be worked out",
    "set a smaller hexagon_mm or drive_mm",
)
_LARGEST: Final = 3
_MOST: Final = 5
"""Clashes that are told, of so many limits at most unless even the smallest has more."""


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
    for index, rule in enumerate(RULES):
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
    """The option that keeps the others of a clash and takes least of one rule, with the brief for it."""
    others = set(chosen) - {rule}
    able = [index for index, each in enumerate(moves) if rule in each and not others & set(each)]

    def order(index: int) -> tuple[int, float, float, float]:
        broken, distance = moves[index], moves[index][rule][1]
        # Among those that nothing helps, the strongest; else the lightest, and rather of what is at hand.
        strongest = 0.0 if math.isfinite(distance) else -(options[index].static or 0.0)
        return (
            len({STOCK_RULE, PROCESSES_RULE} & set(broken) - {rule}),
            distance,
            strongest,
            options[index].mass,
        )

    best = min(able, key=order)
    return options[best], moves[best][rule][0]


def _need(brief: Brief, chosen: tuple[int, ...], options: Sequence[Option], moves: Sequence[_Moves]) -> Need:
    told: list[str] = []
    mends: list[str] = []
    keys: list[str] = []
    for rule in chosen:
        option, after = _nearest_for(rule, chosen, options, moves)
        told.append(_told(brief, rule, chosen, option))
        keys += _room_keys(brief, after) if rule == ROOM_RULE else RULES[rule].keys
        if after is not None:
            mends.append(tell_changes(brief, after))
    alone = len(chosen) == 1
    words = [RULES[rule].words for rule in chosen]
    start = f"nothing can be made within {words[0]}" if alone else f"{_listed(words)} cannot be kept together"
    # A limit that clashes alone does so with the bolt and the drive.
    limits = (*keys, "hexagon_mm", "drive_mm") if alone else tuple(keys)
    otherwise = ", or ".join(dict.fromkeys(RULES[rule].otherwise for rule in chosen if RULES[rule].otherwise))
    mend = "set " + ", or ".join(dict.fromkeys(mends)) if mends else otherwise
    return Need(limits, f"{start}: {'; '.join(told)}", mend)


def _room_keys(brief: Brief, after: Brief | None) -> tuple[str, ...]:
    """Which sides of the room are too narrow."""
    if after is None:
        return RULES[ROOM_RULE].keys
    before, new = brief.envelope, after.envelope
    sides = (new.pocket != before.pocket, new.wall != before.wall)
    return tuple(key for key, narrow in zip(RULES[ROOM_RULE].keys, sides, strict=True) if narrow)


def _listed(words: Sequence[str]) -> str:
    return words[0] if len(words) == 1 else f"{', '.join(words[:-1])} and {words[-1]}"


def _told(brief: Brief, rule: int, chosen: tuple[int, ...], option: Option) -> str:
    """What the nearest option takes of one limit, the others of the clash kept."""
    others = [RULES[each].words for each in chosen if each != rule]
    within = f"within {_listed(others)} " if others else ""
    return f"{within}the nearest, {option.name}, {RULES[rule].tell(brief, option)}"


def nearest_brief(brief: Brief, peak: float | None = None) -> Brief:
    """The brief itself when it does not clash, else the nearest one that does not.

    Nearest is the smallest sum of changes, each as the logarithm of a limit after over before. When nothing
    helps, which takes a torque that no bar stands, it is the brief itself.
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
        moved = RULES[rule].move(brief, options[best])
        assert moved is not None  # its distance would be infinite
        brief = moved
    return brief
