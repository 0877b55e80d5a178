"""In which order a block's runs were made: whether chance made it, and what is together."""

from __future__ import annotations

from collections import Counter, defaultdict
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from itertools import pairwise
from math import factorial, prod

import numpy as np

from strikeproof.judge.records import ScoredRun

__all__ = ["HeldPlace", "find_held_places", "find_together"]

UNLIKELY = 0.01
"""An order that chance makes less often than this was not shuffled."""
TOGETHER = 0.05
"""So many blocks in which each article's runs stand together, as chance makes less often than this."""


@dataclass(frozen=True, slots=True)
class HeldPlace:
    """A place of the block that the reference had in `times` of `blocks`, which chance makes so `likely`."""

    where: str
    times: int
    blocks: int
    likely: float


def find_held_places(runs: Sequence[ScoredRun], reference: str) -> tuple[HeldPlace, ...]:
    """Where the reference ran first, or last, or both, more often than a shuffled order would have it.

    Blocks that hold the reference alone, or not at all, say nothing.
    """
    orders = [names for names in _by_block(runs).values() if reference in names and set(names) != {reference}]
    if not orders:
        return ()
    shares = [names.count(reference) / len(names) for names in orders]
    found = []
    for where, place in (("first", 0), ("last", -1)):
        times = sum(names[place] == reference for names in orders)
        found.append(HeldPlace(where, times, len(orders), chance_of_so_many(shares, times)))
    held = [each for each in found if each.likely < UNLIKELY]
    if held:
        return tuple(held)
    both = sum(names[0] == names[-1] == reference for names in orders)
    pairs = [
        share * (names.count(reference) - 1) / (len(names) - 1)
        for share, names in zip(shares, orders, strict=True)
    ]
    ends = HeldPlace("at both ends", both, len(orders), chance_of_so_many(pairs, both))
    return (ends,) if ends.likely < UNLIKELY else ()


def find_together(runs: Sequence[ScoredRun]) -> tuple[tuple[str, str], ...]:
    """Block and tool where articles that repeat never come back one after another.

    Named when all blocks that repeat two articles or more are so, or more of them than chance makes.
    """
    blocks = {key: names for key, names in _by_block(runs).items() if _repeats(names) > 1}
    clumped = tuple(key for key, names in blocks.items() if _stands_together(names))
    likely = chance_of_so_many([_chance_together(names) for names in blocks.values()], len(clumped))
    return clumped if clumped and (len(clumped) == len(blocks) or likely < TOGETHER) else ()


def chance_of_so_many(chances: Iterable[float], times: int) -> float:
    """Probability that at least `times` of independent events happen.

    Parameters
    ----------
    chances
        Of each event, 0 to 1.
    times
        0 or more.

    References
    ----------
    Convolution of the events' own distributions (Poisson's binomial), any text on probability.
    """
    spread = np.ones(1)
    for each in chances:
        spread = np.convolve(spread, [1.0 - each, each])
    return float(spread[times:].sum())


def _by_block(runs: Sequence[ScoredRun]) -> dict[tuple[str, str], list[str]]:
    blocks: dict[tuple[str, str], list[str]] = defaultdict(list)
    for each in sorted(runs, key=lambda run: run.order):
        blocks[each.block, each.tool].append(each.article)
    return blocks


def _repeats(names: Sequence[str]) -> int:
    """How many articles a block holds more than once."""
    return sum(times > 1 for times in Counter(names).values())


def _stands_together(names: Sequence[str]) -> bool:
    return sum(a != b for a, b in pairwise(names)) == len(set(names)) - 1


def _chance_together(names: Sequence[str]) -> float:
    counts = Counter(names)
    return factorial(len(counts)) * prod(map(factorial, counts.values())) / factorial(len(names))
