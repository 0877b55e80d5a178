"""Orders nobody shuffled are named, and nothing is concluded that they cannot show."""

from itertools import permutations

import numpy as np
import pytest
from tests.unit.judge.campaigns import runs_of
from tests.validity import Truth, simulate_campaign

from strikeproof.judge.comparison import compare_runs
from strikeproof.judge.orders import chance_of_so_many, find_held_places, find_together

PAIRS = "\n".join(f"ref={100 + i % 3} a={104 + i % 2}" for i in range(8))


def compared(runs, reference="ref", draws=199):
    rng = np.random.default_rng(1)
    return compare_runs(runs, reference=reference, margin_percent=1.0, rng=rng, draws=draws)


def test_a_reference_that_always_came_first_is_named_and_no_verdict_given():
    result = compared(runs_of(PAIRS))
    row = next(each for each in result.results if each.article == "a")
    assert (row.verdict, row.more_runs, row.p_randomisation) == ("cannot tell", None, None)
    assert row.low_percent > 0.0  # the interval is still there for who knows better
    assert any("ref ran first in 8 of 8 blocks" in each for each in result.warnings)
    assert any("looks like a difference between articles, so no verdict" in each for each in result.warnings)


def test_a_reference_at_both_ends_gets_no_second_opinion():
    ends = Truth(order="ends", missing=0.0, blocks=(5, 5))
    result = compared(simulate_campaign(ends, np.random.default_rng(1)), "plain")
    assert {row.p_randomisation for row in result.results} == {None}
    assert any("plain ran first in 5 of 5 blocks" in each for each in result.warnings)
    assert any("the place of the reference was never shuffled" in each for each in result.warnings)


def test_shuffled_orders_are_seldom_called_anything_else():
    held = together = 0
    rng = np.random.default_rng(2)
    for _ in range(200):
        runs = simulate_campaign(Truth(missing=0.0, blocks=(6, 6)), rng)
        held += bool(find_held_places(runs, "plain"))
        together += bool(find_together(runs))
    assert held <= 12  # at most 3 % by chance, and three Monte Carlo errors
    assert together == 0


@pytest.mark.parametrize("text", ["ref=1 ref=1 a=1 a=1", "ref=1 ref=1 a=1 a=1\n" * 3])
def test_runs_that_stand_together_in_every_block_are_named(text):
    assert find_together(runs_of(text))


def test_the_chance_of_so_many_is_that_of_all_outcomes_counted():
    first = [order[0] == 0 for order in permutations((0, 0, 1, 2))]
    share = sum(first) / len(first)
    assert chance_of_so_many([share, share], 2) == pytest.approx(share**2)
    assert chance_of_so_many([0.5] * 8, 8) == pytest.approx(2.0**-8)
    assert chance_of_so_many([0.5] * 3, 0) == pytest.approx(1.0)


def test_a_warm_up_that_shows_is_named():
    warm = Truth(missing=0.0, blocks=(8, 8), warm_up_percent=6.0)
    result = compared(simulate_campaign(warm, np.random.default_rng(4)), "plain", draws=0)
    assert any(each.startswith("the first run of a block reads −") for each in result.warnings)
