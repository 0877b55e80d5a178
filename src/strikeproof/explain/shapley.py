"""Share a result among those who brought it about: the average over all orders of joining."""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from itertools import combinations
from typing import TypeVar

__all__ = ["shapley"]

Player = TypeVar("Player")


def shapley(players: Sequence[Player], worth: Callable[[frozenset[Player]], float]) -> dict[Player, float]:
    """Each player's mean contribution over all orders; the shares add up to worth(all) − worth(none).

    References
    ----------
    Shapley, "A value for n-person games", Contributions to the Theory of Games II (1953) 307, eq. (13)
    (from memory).
    """
    n = len(players)
    worths = {
        group: worth(group) for size in range(n + 1) for group in map(frozenset, combinations(players, size))
    }
    shares = {}
    for player in players:
        share = 0.0
        for group, alone in worths.items():
            if player not in group:
                before = len(group)
                weight = math.factorial(before) * math.factorial(n - before - 1) / math.factorial(n)
                share += weight * (worths[group | {player}] - alone)
        shares[player] = share
    return shares
