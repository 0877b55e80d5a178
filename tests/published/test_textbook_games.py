"""Shapley values of two textbook games, from memory."""

import numpy as np
import pytest

from strikeproof.explain.splits import shapley


def test_glove_game():
    """One right and two left gloves: 2/3 to the right, 1/6 to each left.

    Osborne, Rubinstein, *A Course in Game Theory*, 1994, chapter 14 (from memory).
    """

    def pairs(hands: frozenset[str]) -> float:
        return float(min(sum(h.startswith("l") for h in hands), sum(h.startswith("r") for h in hands)))

    assert shapley(["l1", "l2", "r"], pairs) == pytest.approx({"l1": 1 / 6, "l2": 1 / 6, "r": 2 / 3})


def test_airport_game():
    """A runway for needs 8, 11, 13 and 18 is paid 2, 3, 4 and 9.

    Littlechild, Owen, "A simple expression for the Shapley value in a special case", Management Science 20
    (1973) 370; these numbers are the usual classroom example (from memory).
    """
    need = {"a": 8.0, "b": 11.0, "c": 13.0, "d": 18.0}
    shares = shapley(list(need), lambda group: max((need[each] for each in group), default=0.0))
    assert shares == pytest.approx({"a": 2.0, "b": 3.0, "c": 4.0, "d": 9.0})


def test_shares_add_up_to_the_whole():
    worth = dict.fromkeys([frozenset()], 0.0)
    rng = np.random.default_rng(1)

    def value(group: frozenset[int]) -> float:
        return worth.setdefault(group, float(rng.normal()))

    shares = shapley([1, 2, 3, 4], value)
    assert sum(shares.values()) == pytest.approx(worth[frozenset([1, 2, 3, 4])])
