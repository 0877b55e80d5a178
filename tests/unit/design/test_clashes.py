"""What clashes, against everything that the recipes can build; and that the nearest brief can be kept."""

from __future__ import annotations

import tomllib
from dataclasses import replace

import numpy as np
import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from tests.unit.design.places import envelopes
from tests.unit.parts.examples import HARD

from strikeproof.design.clashes import find_clashes, nearest_brief, tell_changes
from strikeproof.design.envelope import find_touches
from strikeproof.design.recipes import list_recipes
from strikeproof.design.records import Base, Brief, Envelope, Offer, Step
from strikeproof.errors import StrikeproofError
from strikeproof.parts import EXAMPLE_PRICES, margins_at, read_article, work_out

MM = 1e-3
SOCKET = {
    "name": "socket",
    "shape": "bar",
    "outer_diameter_mm": 38,
    "length_mm": 50,
    "material": HARD,
    "cut": [
        {"kind": "square drive", "size_mm": 12.5, "depth_mm": 18},
        {"kind": "hexagon", "size_mm": 27, "depth_mm": 25},
        {"kind": "bore", "size_mm": 11},
    ],
}
BASE = Base("plain-27", {"name": "plain-27", "part": [SOCKET]}, 16.0)
POCKET = (Step(30 * MM, 90 * MM), Step(55 * MM, 52 * MM))
BRIEF = Brief(
    "pocket",
    hexagon=27 * MM,
    drive=12.7 * MM,
    envelope=Envelope(POCKET, 120 * MM, 60 * MM),
    offers=(Offer("bar 40 mm", HARD), Offer("washer M36"), Offer("bar 70 mm")),
    bases=(BASE,),
    prices=EXAMPLE_PRICES,
    largest_mass=1.2,
    budget=60.0,
)


def pocket(*widths):
    steps = zip((30 * MM, 55 * MM), widths, strict=True)
    return replace(BRIEF.envelope, pocket=tuple(Step(depth, width) for depth, width in steps))


def test_a_brief_that_can_be_kept_has_no_clash():
    assert find_clashes(BRIEF) == ()
    assert find_clashes(BRIEF, 900.0) == ()
    assert nearest_brief(BRIEF, 900.0) is BRIEF


BROKEN = [
    ({"offers": (), "bases": ()}, "stock", "is not at hand", "bar 36 mm"),
    ({"offers": (Offer("bar 30 mm"),), "bases": ()}, "stock", "is not at hand", 'item = "bar 36 mm"'),
    ({"offers": (Offer("bar 40 mm", HARD, 0.02),), "bases": ()}, "stock", "at hand", "length_mm = 35"),
    ({"offers": (Offer("pipe NPS 2 sch 80"),), "bases": ()}, "stock", "is not at hand", "bar 36 mm"),
    ({"envelope": pocket(90 * MM, 30 * MM)}, "pocket", "28 mm are free", "diameter_mm = 37.5"),
    (
        {"envelope": replace(BRIEF.envelope, wall=15 * MM)},
        "nearest_wall_mm",
        "28 mm",
        "nearest_wall_mm = 18.8",
    ),
    ({"envelope": replace(BRIEF.envelope, free_length=30 * MM)}, "free_length_mm", "30 mm", "= 35"),
    ({"budget": 2.0}, "budget", "2 are allowed", "budget = 2.88"),
    ({"largest_mass": 0.05}, "largest_mass_kg", "0.05 kg are allowed", "largest_mass_kg = 0.16"),
    ({"processes": frozenset()}, "processes", "must be turned", 'processes with "turning"'),
    ({"prices": replace(EXAMPLE_PRICES, rows={}), "bases": ()}, "budget", "has no price", "prices.csv"),
]


@pytest.mark.parametrize(("changes", "limit", "problem", "fix"), BROKEN)
def test_each_limit_is_named_with_what_would_be_enough(changes, limit, problem, fix):
    brief = replace(BRIEF, **changes)
    (need,) = find_clashes(brief)
    assert limit in need.limits
    assert problem in need.problem
    assert fix in need.fix


def test_the_narrowest_body_is_the_hexagon_with_its_wall():
    """27 mm over the flats are 27 × 2/√3 = 31.2 over the corners; with clearance and 2 mm of wall."""
    (need,) = find_clashes(replace(BRIEF, envelope=pocket(90 * MM, 30 * MM)))
    assert 27 * 2 / 3**0.5 + 4 < float(need.fix.split("= ")[-1]) - 2 < 27 * 2 / 3**0.5 + 5
    assert need.limits == ("pocket", "hexagon_mm", "drive_mm")


def test_limits_that_clash_only_together_are_told_together():
    """Plain steel must be thick to stand the torque, and has no room then."""
    soft = replace(BRIEF, bases=(), offers=(Offer("bar 60 mm", "A36"),), envelope=pocket(90 * MM, 38 * MM))
    assert find_clashes(soft) == ()
    needs = find_clashes(soft, 230.0)
    limits = [need.limits for need in needs]
    assert ("stock", "start_from", "pocket", "least_margin") in limits
    (need,) = [each for each in needs if each.limits == ("stock", "start_from", "pocket", "least_margin")]
    assert "cannot be met together" in need.problem
    assert HARD in need.fix and "pocket from 30 mm to 55 mm" in need.fix


def test_everything_wrong_at_once_is_told_one_by_one():
    bad = replace(
        BRIEF,
        offers=(),
        bases=(),
        budget=1.0,
        largest_mass=0.05,
        envelope=Envelope((Step(30 * MM, 20 * MM),), 30 * MM),
    )
    told = [need.limits[0] for need in find_clashes(bad)]
    assert told == ["stock", "pocket", "free_length_mm", "largest_mass_kg", "budget"]
    assert find_clashes(nearest_brief(bad)) == ()


def test_no_way_out_offers_less_than_the_peak_itself():
    """A margin below one is a stop, never a fix."""
    needs = find_clashes(BRIEF, 15_000.0)
    assert needs
    assert not any("least_margin =" in need.fix for need in needs)
    assert nearest_brief(BRIEF, 15_000.0) is BRIEF


def test_a_base_for_another_bolt_is_none():
    (need,) = find_clashes(replace(BRIEF, hexagon=36 * MM, offers=(Offer("washer M36"),)))
    assert need.limits[:2] == ("stock", "start_from")


def test_a_base_will_do_where_a_ring_can_be_held_on_it():
    """A washer bored to 38 mm is welded on; it is too thin to be pressed on."""
    washers = replace(BRIEF, offers=(Offer("washer M36"),), processes=frozenset({"turning", "welding"}))
    assert find_clashes(washers) == ()
    (need,) = find_clashes(replace(washers, processes=frozenset({"turning", "press fit"})))
    assert need.limits[:2] == ("stock", "start_from")


@pytest.mark.parametrize("hexagon", [3, 10, 36, 70, 100, 200])
@pytest.mark.parametrize("drive", [6.3, 25, 40])
def test_any_hexagon_and_drive_have_a_body(hexagon, drive):
    bare = Brief("bare", hexagon=hexagon * MM, drive=drive * MM)
    (need,) = find_clashes(bare)
    assert need.limits[:2] == ("stock", "start_from")
    assert find_clashes(nearest_brief(bare)) == ()


@st.composite
def briefs(draw: st.DrawFn) -> Brief:
    items = ["bar 30 mm", "bar 40 mm", "bar 60 mm", "washer M30", "pipe NPS 2 sch 80", "nut M30"]
    chosen = draw(st.lists(st.sampled_from(items), max_size=3, unique=True))
    processes = draw(st.sets(st.sampled_from(["turning", "welding", "press fit"])))
    return replace(
        BRIEF,
        envelope=draw(envelopes()),
        offers=tuple(Offer(item, HARD if "bar" in item else None) for item in chosen),
        bases=(BASE,) if draw(st.booleans()) else (),
        largest_mass=draw(st.none() | st.floats(0.05, 1.0)),
        budget=draw(st.none() | st.floats(1.0, 40.0)),
        processes=frozenset(processes),
        least_static=draw(st.floats(1.0, 3.0)),
        least_fatigue=draw(st.none() | st.floats(0.1, 1.0)),
    )


def keeps(brief: Brief, plan, peak: float | None) -> bool:
    """Whether an article keeps every limit, by the plain checks one after the other."""
    try:
        made = read_article({"name": "tried", "part": list(plan.parts)})
        facts = work_out(made, prices=brief.prices)
    except StrikeproofError:
        return False
    margins = margins_at(facts, peak) if peak is not None else ()
    fatigue = [each.fatigue for each in margins if each.fatigue is not None]
    return not (
        find_touches(made, brief.envelope)
        or (brief.largest_mass is not None and facts.mass > brief.largest_mass)
        or (brief.budget is not None and (facts.price is None or facts.price > brief.budget))
        or any(each.static < brief.least_static for each in margins)
        or (brief.least_fatigue is not None and any(each < brief.least_fatigue for each in fatigue))
    )


@settings(max_examples=40, deadline=None, suppress_health_check=[HealthCheck.too_slow])
@given(briefs(), st.none() | st.floats(200.0, 3000.0), st.integers(0, 2**31))
def test_where_limits_clash_nothing_that_can_be_built_keeps_them(brief, peak, seed):
    if not find_clashes(brief, peak):
        return
    rng = np.random.default_rng(seed)
    for recipe in list_recipes(brief):
        points = np.vstack([np.zeros(len(recipe.variables)), rng.random((3, len(recipe.variables)))])
        for places in recipe.places(points):
            plan = recipe.build(recipe.values(places))
            assert plan is None or not keeps(brief, plan, peak)


@settings(max_examples=60, deadline=None, suppress_health_check=[HealthCheck.too_slow])
@given(briefs(), st.none() | st.floats(200.0, 1500.0))
def test_the_nearest_brief_can_be_kept_and_each_need_names_its_limits(brief, peak):
    needs = find_clashes(brief, peak)
    nearest = nearest_brief(brief, peak)
    if not needs:
        assert nearest is brief
        return
    assert all(need.limits and need.problem and need.fix for need in needs)
    if nearest is not brief:
        assert find_clashes(nearest, peak) == ()
        assert tell_changes(brief, nearest) != "nothing"


def test_changes_are_told_as_the_file_writes_them():
    after = replace(BRIEF, budget=70.0, envelope=replace(BRIEF.envelope, free_length=0.13))
    assert tell_changes(BRIEF, after) == "free_length_mm = 130, budget = 70"
    assert tell_changes(BRIEF, BRIEF) == "nothing"
    short = replace(BRIEF, offers=(Offer("bar 60 mm", None, 0.02),), bases=())
    assert find_clashes(short)[0].fix == 'set [[stock]] item = "bar 60 mm", length_mm = 35'
    assert tomllib.loads(tell_changes(BRIEF, after).replace(", ", "\n"))["budget"] == 70
