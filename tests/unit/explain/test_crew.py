"""Work that is kept piece by piece comes to the same numbers, whichever pieces were there."""

from collections.abc import Callable

import numpy as np
import pytest
from tests.unit.explain.bench import BRISK, measured

from strikeproof.explain import Arrays, Explanation
from strikeproof.explain.crew import ALONE
from strikeproof.explain.explaining import explain_within
from strikeproof.plain_json import to_json


class Shelf:
    """Keeps pieces; is torn down after so many new ones."""

    def __init__(self, most: float = np.inf) -> None:
        self.pieces: dict[str, Arrays] = {}
        self.most = most
        self.made: list[str] = []

    def __call__(self, name: str, work: Callable[[], Arrays]) -> Arrays:
        if name not in self.pieces:
            if len(self.made) >= self.most:
                raise KeyboardInterrupt
            self.made.append(name)
            self.pieces[name] = work()
        return self.pieces[name]


def explain(shelf: Shelf | None = None) -> Explanation:
    return explain_within(measured(), BRISK, np.random.default_rng(1), keep=shelf)


def test_stopped_and_taken_up_again_it_says_the_same_to_the_last_bit():
    """Whichever of the pieces are there: the first ones, after a stop, but for every second of them."""
    undisturbed, shelf = explain(), Shelf(most=15)
    with pytest.raises(KeyboardInterrupt):
        explain(shelf)
    for name in list(shelf.pieces)[::2]:
        del shelf.pieces[name]
    before = set(shelf.pieces)
    shelf.most, shelf.made = np.inf, []
    found = explain(shelf)
    assert before and not before & set(shelf.made)
    assert to_json(found) == to_json(undisturbed)
    for one, other in zip(found.fits.physical, undisturbed.fits.physical, strict=True):
        assert np.array_equal(one.chains.draws, other.chains.draws)
        assert np.array_equal(one.runs.scores, other.runs.scores)
        assert np.array_equal(one.particles.log_weight, other.particles.log_weight)


def test_pieces_are_named_by_their_task():
    assert ALONE.at("fit").at("chain").task == "fit/chain"
