from collections import Counter, defaultdict

import pytest
from hypothesis import given
from hypothesis import strategies as st

from strikeproof.errors import BadInput
from strikeproof.judge.planning import plan_runs
from strikeproof.judge.repeats import difference_shown, power_of_repeats, repeats_for

ARTICLES = ("ref", "a", "b", "c", "d")


def planned(**settings):
    given = {"repeats": 4, "seed": 7, "duration_s": 10.0}
    return plan_runs(ARTICLES, ("air", "battery"), "ref", **(given | settings))


def by_block(plan):
    blocks = defaultdict(list)
    for run in plan:
        blocks[run.block].append(run)
    return blocks


def test_every_block_has_each_article_once_and_the_reference_twice():
    for runs in by_block(planned()).values():
        assert sorted(run.article for run in runs) == ["a", "b", "c", "d", "ref", "ref"]
        assert len({run.tool for run in runs}) == 1


def test_every_tool_gets_as_many_blocks_as_repeats():
    tools = Counter(runs[0].tool for runs in by_block(planned()).values())
    assert tools == {"air": 4, "battery": 4}


def test_the_seed_makes_the_order():
    assert planned() == planned()
    assert planned(seed=8) != planned()


def test_orders_are_spread_evenly():
    """Each article, the reference too, stands at each of the six places equally often: chi-square, 25
    degrees of freedom, 0.1 %; the reference twice in a block makes it a little smaller than that."""
    places = Counter()
    for runs in by_block(planned(repeats=500)).values():
        places.update((run.article, i) for i, run in enumerate(runs))
    expected = {name: 1000 / 6 * (2 if name == "ref" else 1) for name in ARTICLES}
    assert sum((places[n, i] - expected[n]) ** 2 / expected[n] for n in ARTICLES for i in range(6)) < 52.6


def test_names_and_times_run_on():
    plan = planned(cool_down_s=50.0)
    assert [run.run for run in plan[:2]] == ["r001", "r002"]
    assert [run.start_s for run in plan[:3]] == [0.0, 60.0, 120.0]
    assert len({run.run for run in plan}) == len(plan) == 4 * 2 * 6


def test_bolts_change_between_blocks_when_the_budget_allows():
    plan = planned(runs_per_bolt=13)
    assert all(len({run.bolt for run in runs}) == 1 for runs in by_block(plan).values())
    assert max(Counter(run.bolt for run in plan).values()) == 12


def test_a_bolt_that_lasts_less_than_a_block_is_changed_in_equal_parts():
    plan = planned(runs_per_bolt=4)
    assert set(Counter(run.bolt for run in plan).values()) == {3}


def test_no_budget_no_bolt():
    assert {(run.bolt, run.bolt_use) for run in planned()} == {(None, None)}


@given(st.integers(1, 30), st.integers(1, 6), st.integers(0, 100))
def test_no_bolt_ever_sees_more_than_its_budget(budget, repeats, seed):
    plan = planned(repeats=repeats, seed=seed, runs_per_bolt=budget)
    assert max(Counter(run.bolt for run in plan).values()) <= budget
    used = Counter()
    for run in plan:
        assert run.bolt_use == used[run.bolt]
        assert run.new_bolt == (run.bolt_use == 0)
        used[run.bolt] += 1


@pytest.mark.parametrize(
    "settings", [{"repeats": 0}, {"runs_per_bolt": 0}, {"duration_s": 0.0}, {"duration_s": float("nan")}]
)
def test_a_plan_that_cannot_be_run_is_refused(settings):
    with pytest.raises(BadInput):
        planned(**settings)


def test_nothing_to_compare_is_refused():
    with pytest.raises(BadInput, match="no article besides the reference"):
        plan_runs(("ref",), ("air",), "ref", repeats=1, seed=1, duration_s=10.0)


def test_more_comparisons_and_smaller_differences_need_more_repeats():
    assert repeats_for(3.0, 2.5, 1) < repeats_for(3.0, 2.5, 4) < repeats_for(3.0, 2.5, 12)
    assert repeats_for(6.0, 2.5, 8) < repeats_for(3.0, 2.5, 8) < repeats_for(1.5, 2.5, 8)


def test_a_difference_beyond_reach_is_refused():
    with pytest.raises(BadInput, match="10 000 repeats"):
        repeats_for(0.001, 10.0, 3)


@pytest.mark.parametrize("wish", [(0.0, 2.0, 3), (3.0, 0.0, 3), (3.0, 2.0, 0)])
def test_wishes_out_of_range_are_refused(wish):
    with pytest.raises(BadInput):
        repeats_for(*wish)


@pytest.mark.parametrize("repeats", [2, 3, 6, 15])
@pytest.mark.parametrize(("comparisons", "tools"), [(1, 1), (7, 1), (14, 2)])
def test_the_difference_shown_is_the_one_the_repeats_are_for(repeats, comparisons, tools):
    shown = difference_shown(repeats, 1.5, comparisons, tools=tools)
    assert repeats_for(1.001 * shown, 1.5, comparisons, tools=tools) == repeats
    assert repeats_for(0.98 * shown, 1.5, comparisons, tools=tools) > repeats


def test_no_repeats_show_no_difference():
    with pytest.raises(BadInput, match="0 repeats"):
        difference_shown(0, 1.5, 3)


def test_the_power_is_a_number_however_large_the_effect():
    for free in (1, 2, 6, 40, 200):
        powers = [power_of_repeats(1, effect, 0.01, degrees_of_freedom=free) for effect in range(0, 1600, 7)]
        assert powers == sorted(powers)
        assert powers[-1] == pytest.approx(1.0)
