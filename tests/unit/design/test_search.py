from __future__ import annotations

import threading
from dataclasses import replace

import numpy as np
import pytest
from tests.unit.design.search_bench import BRIEF, TINY, make_worlds

from strikeproof.design.choosing import sure_gains
from strikeproof.design.envelope import find_touches
from strikeproof.design.records import Brief, Found, Offer, Search, Worlds
from strikeproof.design.search import search_designs
from strikeproof.errors import BadInput
from strikeproof.parts import read_article, work_out
from strikeproof.team import Team

WORLDS = make_worlds(8)


def search(brief: Brief = BRIEF, worlds: Worlds = WORLDS, seed: int = 1, **more: object) -> Search:
    return search_designs(brief, worlds, rng=np.random.default_rng(seed), effort=TINY, **more)  # type: ignore[arg-type]


def check_keeps(brief: Brief, found: Found, worlds: Worlds) -> None:
    """From the file's table alone, as anybody would check it."""
    article = read_article(found.table, materials=brief.materials)
    known = work_out(article, materials=brief.materials, prices=brief.prices)
    assert find_touches(article, brief.envelope, brief.materials) == ()
    assert brief.largest_mass is None or known.mass <= brief.largest_mass
    assert brief.largest_inertia is None or known.polar_inertia <= brief.largest_inertia
    assert brief.budget is None or (known.price is not None and known.price <= brief.budget)
    assert found.peak == pytest.approx(np.quantile(found.peaks, 0.95, axis=0).max())
    margins = found.margins
    assert {(m.part, m.mode) for m in margins} == {(each.part, each.mode) for each in known.checks}
    assert margins[0].static >= max(brief.least_static, 1.0)
    if brief.least_fatigue is not None:
        assert min(each.fatigue for each in margins if each.fatigue is not None) >= brief.least_fatigue
    assert found.gains.shape == found.peaks.shape == (len(worlds.draws), len(worlds.middle.tools))
    assert known == found.properties


@pytest.fixture(scope="module")
def found() -> Search:
    return search()


def test_proposals_keep_the_brief_best_first_and_differ(found: Search) -> None:
    assert 3 <= len(found.proposals) <= BRIEF.proposals and found.complete
    for each in (*found.proposals, *found.pareto):
        check_keeps(BRIEF, each, WORLDS)
    expected = [sure_gains(each.gains)[0] for each in found.proposals]
    assert expected == sorted(expected, reverse=True)
    assert len({each.name for each in found.proposals}) == len(found.proposals)


def test_no_one_of_the_front_beats_another(found: Search) -> None:
    def losses(each: Found) -> tuple[float, ...]:
        known = each.properties
        return -float(sure_gains(each.gains)[0]), known.mass, known.price or 0.0, known.outer_diameter or 0.0

    rows = [losses(each) for each in found.pareto]
    for one in rows:
        assert not any(
            other != one and all(o <= i for o, i in zip(other, one, strict=True)) for other in rows
        )


def test_all_that_was_looked_at_is_accounted_for(found: Search) -> None:
    assert found.searched >= TINY.scan
    assert sum(found.refused.values()) < found.searched
    assert "cannot be made so" in found.refused


@pytest.mark.parametrize("workers", [2, 3])
def test_the_same_seed_finds_the_same_for_any_number_of_workers(found: Search, workers: int) -> None:
    again = search(team=Team(workers))
    assert [each.table for each in again.proposals] == [each.table for each in found.proposals]
    assert [each.table for each in again.pareto] == [each.table for each in found.pareto]
    assert again.refused == found.refused and again.searched == found.searched
    for one, other in zip(again.proposals, found.proposals, strict=True):
        assert np.array_equal(one.gains, other.gains) and np.array_equal(one.peaks, other.peaks)


def test_progress_never_falls_and_ends_at_the_end() -> None:
    told: list[tuple[int, int, str]] = []
    search(progress=lambda done, total, what: told.append((done, total, what)))
    done = [each[0] for each in told]
    assert done == sorted(done) and told[-1][0] == told[-1][1]
    assert {each[2] for each in told} == {"looking widely", "looking closely", "done"}


@pytest.mark.parametrize("after", [0, 3, 12, 25])
def test_what_was_found_is_kept_when_it_is_cancelled(after: int) -> None:
    calls, lock = iter(range(10**9)), threading.Lock()

    def cancelled() -> bool:
        with lock:
            return next(calls) >= after

    found = search(cancelled=cancelled)
    assert not found.complete
    assert found.proposals or after < 12
    for each in found.proposals:
        check_keeps(BRIEF, each, WORLDS)


def test_lightest_is_lighter_and_gains_enough() -> None:
    light = search(replace(BRIEF, objective="lightest", least_gain=0.1))
    mass = [each.properties.mass for each in light.proposals]
    assert mass == sorted(mass)
    assert all(np.median(each.gains) >= np.log(1.1) for each in light.proposals)
    assert mass[0] < search().proposals[0].properties.mass


def test_best_per_money_is_dearer_for_nothing() -> None:
    """Hardened bar makes a cheap plain socket; from soft bars alone so small a search stays among rings."""
    hard = replace(BRIEF, offers=(Offer("bar 50 mm", "4140 at 45 HRC"), *BRIEF.offers[1:]))
    cheap, best = search(replace(hard, objective="best per money")), search(hard)

    def rate(each: Found) -> float:
        return float(np.expm1(sure_gains(each.gains)[0])) / (each.properties.price or 1.0)

    assert rate(cheap.proposals[0]) >= rate(best.proposals[0])


def test_best_over_tools_takes_the_least_of_them() -> None:
    worlds = make_worlds(6, tools=2)
    found = search(replace(BRIEF, objective="best over tools"), worlds)
    least = [sure_gains(each.gains).min() for each in found.proposals]
    assert least == sorted(least, reverse=True)
    for each in found.proposals:
        check_keeps(BRIEF, each, worlds)


def test_names_of_built_articles_are_not_taken_again(found: Search) -> None:
    taken = found.proposals[0].name
    again = search(replace(BRIEF, built={taken: found.proposals[0].table}))
    assert taken not in [each.name for each in again.proposals]
    assert again.proposals[0].name == f"{taken} (2)" and again.proposals[0].table["name"] == f"{taken} (2)"


@pytest.mark.parametrize(
    ("change", "words"),
    [
        ({"offers": ()}, "stock"),
        ({"budget": 0.5, "bases": ()}, "budget"),
        ({"largest_mass": 0.05}, "largest_mass_kg"),
        ({"largest_inertia": 1e-6}, "largest_inertia_kg_m2 = "),
        ({"least_static": 30.0}, "least_margin = "),
        ({"objective": "lightest", "least_gain": 3.0}, "least_gain_percent = "),
        ({"offers": (Offer("bar 50 mm", "lead"),), "bases": ()}, "stronger material"),
    ],
)
def test_when_nothing_keeps_the_brief_it_says_what_would(change: dict[str, object], words: str) -> None:
    with pytest.raises(BadInput) as told:
        search(replace(BRIEF, **change))  # type: ignore[arg-type]
    assert words in str(told.value)
    assert "brief 'test'" in str(told.value)


def test_a_peak_too_high_for_all_is_told_in_plain_words() -> None:
    with pytest.raises(BadInput) as told:
        search(replace(BRIEF, least_static=30.0))
    said = told.value.problem
    assert "the predicted peak is too high" in said and "not 30 times" in said
    margin = told.value.fix.split("least_margin = ")[1].split(";")[0]
    assert f"withstands it {margin} times" in said


def test_the_way_out_that_is_told_is_one() -> None:
    strict = replace(BRIEF, least_static=30.0)
    with pytest.raises(BadInput) as told:
        search(strict)
    margin = float(told.value.fix.split("least_margin = ")[1].split(";")[0])
    relaxed = search(replace(strict, least_static=margin))
    assert relaxed.proposals[0].margins[0].static >= margin
