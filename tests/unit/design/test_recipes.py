from __future__ import annotations

import math
from dataclasses import replace
from itertools import product

import numpy as np
import pytest
from tests.unit.design.search_bench import BRIEF, PLAIN

from strikeproof.design.bodies import hexagon_depth, lowest_place
from strikeproof.design.envelope import fits_envelope
from strikeproof.design.judging import draft_article
from strikeproof.design.plans import Recipe
from strikeproof.design.recipes import list_recipes
from strikeproof.design.records import Base, Envelope, Offer, Step
from strikeproof.errors import StrikeproofError
from strikeproof.parts import find_stock, read_article

RECIPES = list_recipes(BRIEF)


def some_places(recipe: Recipe) -> list[tuple[int, ...]]:
    ends = [sorted({0, count - 1}) for count in recipe.counts]
    middles = np.random.default_rng(1).random((12, len(recipe.counts)))
    return [*product(*ends), *(tuple(int(x) for x in row) for row in recipe.places(middles))]


@pytest.mark.parametrize("recipe", RECIPES, ids=[f"{i} {each.kind}" for i, each in enumerate(RECIPES)])
def test_whatever_is_built_reads_as_an_article(recipe: Recipe) -> None:
    made = [plan for places in some_places(recipe) if (plan := recipe.build(recipe.values(places)))]
    assert made
    read = 0
    for plan in made:
        try:
            article = read_article({"name": plan.title, "part": list(plan.parts)})
        except StrikeproofError:
            continue  # a press fit that would yield, a wall too thin: refused as what a person wrote would be
        read += 1
        for table, part in zip(plan.parts, article.parts, strict=True):
            for key in ("outer_diameter_mm", "length_mm", "at_mm"):
                assert float(2 * table.get(key, 0)) == pytest.approx(round(2 * table.get(key, 0)), abs=1e-9)
            inside = [cut for cut in part.cuts if cut.kind == "hexagon"]
            assert all(cut.depth >= 0.625 * BRIEF.hexagon - 1e-9 for cut in inside)
    assert read


def test_nothing_is_longer_or_wider_than_its_stock() -> None:
    brief = replace(BRIEF, offers=(Offer("bar 80 mm", None, 0.06),), bases=())
    for recipe in list_recipes(brief):
        for places in some_places(recipe):
            draft = draft_article(brief, recipe, places)
            if draft is not None:
                assert draft.properties.length is not None and draft.properties.length <= 0.06 + 1e-9
                assert draft.properties.outer_diameter is not None
                assert draft.properties.outer_diameter <= 0.08 + 1e-9


def test_what_is_turned_pays_for_the_whole_bar() -> None:
    """π/4 · 80² · 60 mm³ of S355J2 at 7850 kg/m³ and 4.00 a kilogram, and one cut of 1.50."""
    recipe = next(
        each for each in list_recipes(replace(BRIEF, offers=BRIEF.offers[1:2])) if each.kind == "turned"
    )
    places = [round((0.06 - v.low) / v.step) if v.name == "length" else 0 for v in recipe.variables]
    draft = draft_article(BRIEF, recipe, places)
    assert draft is not None
    kilograms = math.pi / 4 * 0.08**2 * 0.06 * 7850
    assert draft.properties.price == pytest.approx(kilograms * 4.0 + 1.5, abs=0.005)


def test_processes_decide_what_can_be_built() -> None:
    def kinds(*processes: str) -> set[str]:
        return {each.kind for each in list_recipes(replace(BRIEF, processes=frozenset(processes)))}  # type: ignore[arg-type]

    assert kinds() == set()
    assert kinds("turning") == {"turned", "collar"}
    assert kinds("welding") == set()  # the washer's hole is narrower than the base, and nothing bores it
    assert all("pressed" in each for each in kinds("turning", "press fit") - {"turned", "collar"})
    assert "ring of washer welded on plain" in kinds("turning", "welding")


def test_a_washer_that_fits_is_welded_on_unbored() -> None:
    slim = {**PLAIN, "part": [{**PLAIN["part"][0], "outer_diameter_mm": 36.5}]}
    brief = replace(BRIEF, bases=(Base("slim", slim, 10.0),), processes=frozenset({"welding"}))
    recipe = next(each for each in list_recipes(brief) if "washer" in each.kind)
    plan = recipe.build(recipe.values([0] * len(recipe.counts)))
    assert plan is not None and "bore_mm" not in plan.parts[1]


def test_a_base_for_another_bolt_or_drive_is_left_aside() -> None:
    for changed in (replace(BRIEF, hexagon=0.030), replace(BRIEF, drive=0.020)):
        assert not any("plain" in each.kind for each in list_recipes(changed))


def test_the_price_of_a_base_stands_on_its_first_part() -> None:
    recipe = next(each for each in RECIPES if "washer welded on plain" in each.kind)
    plan = recipe.build(recipe.values([0] * len(recipe.counts)))
    assert plan is not None and plan.parts[0]["price"] == 16.0


def test_a_thinner_bar_of_the_same_steel_spares_the_thicker_one() -> None:
    brief = replace(BRIEF, offers=(Offer("bar 45 mm"), Offer("bar 60 mm")), bases=())
    thin, thick = (each for each in list_recipes(brief) if each.kind == "turned")
    assert thin.variables[0].high < thick.variables[0].low


def test_hexagon_is_as_deep_as_the_head_is_high() -> None:
    assert hexagon_depth(replace(BRIEF, head_height=0.0221)) == pytest.approx(0.0225)
    assert find_stock("bar 50 mm").outer.size == 0.05


def test_values_stay_within_their_bounds_and_on_their_steps() -> None:
    for recipe in RECIPES:
        low, high = recipe.values([-5] * len(recipe.counts)), recipe.values([10**6] * len(recipe.counts))
        for variable, one, other in zip(recipe.variables, low, high, strict=True):
            assert one == variable.low and other == pytest.approx(variable.high, abs=1e-12)
        places = recipe.places(np.array([[0.0] * len(recipe.counts), [1.0 - 1e-12] * len(recipe.counts)]))
        assert places[0].tolist() == [0] * len(recipe.counts)
        assert places[1].tolist() == [count - 1 for count in recipe.counts]


def test_rings_and_collars_stand_above_a_pocket_that_is_too_narrow() -> None:
    """Every place from the drive end down to the lowest with room; none touches the pocket."""
    envelope = Envelope((Step(0.010, 0.070), Step(0.025, 0.050)), clearance=0.001)
    assert lowest_place(envelope, 0.045) == 0.0
    assert lowest_place(envelope, 0.060) == pytest.approx(0.016)  # 25 - 10 mm deep, and the clearance
    assert lowest_place(envelope, 0.080) == pytest.approx(0.026)
    assert lowest_place(replace(envelope, wall=0.03), 0.080) == math.inf
    brief = replace(BRIEF, envelope=envelope, bases=())
    for recipe in list_recipes(brief):
        if "washer" in recipe.kind or recipe.kind == "collar":
            drafts = [draft_article(brief, recipe, places) for places in some_places(recipe)]
            assert all(fits_envelope(each.properties, envelope) for each in drafts if each is not None)
