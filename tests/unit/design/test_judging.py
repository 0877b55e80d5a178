from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from tests.unit.design.search_bench import BRIEF, PLAIN, REFERENCE, make_worlds

from strikeproof.design import judging
from strikeproof.design.judging import (
    Strain,
    draft_article,
    excess,
    find_broken,
    run_worlds,
    stiffen,
    worst_margins,
)
from strikeproof.design.recipes import list_recipes
from strikeproof.drivetrain import Rider, build_chain, draw_scatter, simulate_run
from strikeproof.parts import Margin, margins_at, read_article, work_out
from strikeproof.team import Team

WORLDS = make_worlds(9, tools=2)
RING = replace(REFERENCE, riders=(Rider("ring", 3e-4, 3e-4 * (2 * np.pi * 1500.0) ** 2),))
KNOWN = work_out(read_article(PLAIN))


def draft(kind: str = "ring of washer welded on plain"):  # type: ignore[no-untyped-def]
    recipe = next(each for each in list_recipes(BRIEF) if each.kind == kind)
    return draft_article(BRIEF, recipe, [count // 2 for count in recipe.counts])


def test_gains_are_those_of_the_engine_world_by_world() -> None:
    found = run_worlds([RING], WORLDS.draws, Strain(scatter=False)).gains[0]
    for w, world in enumerate(WORLDS.draws):
        for t, tool in enumerate(world.tools):
            runs = [
                simulate_run(build_chain(tool, model, world.bolt, world.rig), tool, duration=2.0)
                for model in (world.change(RING), world.reference)
            ]
            gain = np.log(runs[0].end_load / runs[1].end_load)
            ratio = np.log(RING.polar_inertia / REFERENCE.polar_inertia)
            spread = 0.01 * np.sqrt(2 * (1 - np.exp(-0.5 * ratio**2)))
            assert found[w, t] == pytest.approx(gain + spread * world.misfit, abs=1e-6)


def test_the_reference_gains_nothing_where_it_is_as_recorded() -> None:
    found = run_worlds([REFERENCE], [WORLDS.middle], Strain(scatter=False))
    assert np.abs(found.gains).max() < 1e-9


@pytest.mark.parametrize("workers", [2, 3])
def test_results_do_not_depend_on_the_workers(workers: int) -> None:
    models = [RING, REFERENCE] * 10
    one, other = (run_worlds(models, WORLDS.draws[:3], Strain(team=Team(n))) for n in (1, workers))
    assert np.array_equal(one.gains, other.gains) and np.array_equal(one.peaks, other.peaks)


def test_what_is_found_of_an_article_does_not_depend_on_those_beside_it() -> None:
    """Each has its own hardest worlds: those of a heavier one differ, and must not be taken for both."""
    heavy = replace(RING, riders=(replace(RING.riders[0], inertia=3e-3),))
    alone = run_worlds([REFERENCE], WORLDS.draws, Strain())
    beside = run_worlds([heavy, REFERENCE, RING], WORLDS.draws, Strain())
    assert np.array_equal(beside.peaks[1], alone.peaks[0])
    assert np.array_equal(beside.gains[1], alone.gains[0])


def test_scattered_peaks_decide_as_if_all_were_run() -> None:
    """Only the hardest third is run with scatter: the 95 % quantile is that of all."""
    worlds = make_worlds(24).draws
    found = run_worlds([RING, REFERENCE], worlds, Strain()).peaks[:, :, 0]
    every = np.empty_like(found)
    for a, model in enumerate((RING, REFERENCE)):
        for w, world in enumerate(worlds):
            tool = world.tools[0]
            scatter = draw_scatter(tool, 2.0, np.random.default_rng([w, 0]))
            chain = build_chain(tool, world.whole(model), world.bolt, world.rig)
            every[a, w] = simulate_run(chain, tool, duration=2.0, scatter=scatter).peak_torque.max()
    assert np.quantile(found, 0.95, axis=1) == pytest.approx(np.quantile(every, 0.95, axis=1), rel=0.005)
    assert found == pytest.approx(every, rel=0.15)


def test_stiff_riders_become_part_of_their_lump_and_soft_ones_stay() -> None:
    stiff = replace(RING, riders=(replace(RING.riders[0], stiffness=1e7),))
    assert stiffen(RING, 15e3) == RING
    whole = stiffen(stiff, 15e3)
    assert not whole.riders and whole.polar_inertia == pytest.approx(stiff.polar_inertia)
    nested = replace(stiff, riders=(*stiff.riders, Rider("on it", 1e-5, 1e7, carrier_rider=0)))
    assert stiffen(nested, 15e3) == nested


def test_one_piece_instead_of_a_stiff_weld_hardly_moves_the_gain() -> None:
    welded = draft("ring of bar welded on plain")
    assert welded.model.riders and not stiffen(welded.model, 15e3).riders
    exact = run_worlds([welded.model], WORLDS.draws[:2], Strain(scatter=False)).gains
    for w, world in enumerate(WORLDS.draws[:2]):
        for t, tool in enumerate(world.tools):
            chain = build_chain(tool, world.change(welded.model), world.bolt, world.rig)
            load = simulate_run(chain, tool, duration=2.0).end_load
            base = simulate_run(build_chain(tool, world.reference, world.bolt, world.rig), tool, duration=2.0)
            assert exact[0, w, t] == pytest.approx(np.log(load / base.end_load), abs=0.03)


def test_every_limit_is_asked_under_its_name() -> None:
    one = draft()
    assert excess(BRIEF, one) == {}
    price, mass = one.properties.price, one.properties.mass
    assert excess(replace(BRIEF, budget=price / 2), one) == {"budget": pytest.approx(np.log(2))}
    assert excess(replace(BRIEF, largest_mass=mass / 3), one) == {"largest_mass_kg": pytest.approx(np.log(3))}
    inertia = one.properties.polar_inertia
    far = excess(replace(BRIEF, largest_inertia=inertia / 2), one)
    assert far == {"largest_inertia_kg_m2": pytest.approx(np.log(2))}
    assert "price" in excess(
        replace(BRIEF, prices=None), replace(one, properties=replace(one.properties, price=None))
    )
    small = replace(BRIEF, envelope=replace(BRIEF.envelope, wall=0.02))
    assert excess(small, one)["envelope"] == np.inf


def test_margins_and_gain_are_asked_at_the_peak() -> None:
    one = draft()

    def at(peak: float) -> tuple[Margin, ...]:
        return margins_at(one.properties, peak)

    holds, lasts = worst_margins(at(100.0))
    assert find_broken(BRIEF, at(100.0 * holds / 1.2 * 0.999), 0.0) == {}
    assert set(find_broken(BRIEF, at(100.0 * holds / 1.2 * 1.001), 0.0)) == {"least_margin"}
    lasting = replace(BRIEF, least_fatigue=1.0)
    assert set(find_broken(lasting, at(100.0 * lasts * 1.01), 0.0)) >= {"least_fatigue_margin"}
    light = replace(BRIEF, objective="lightest", least_gain=0.1)
    assert find_broken(light, at(1.0), 0.0) == {"least_gain_percent": pytest.approx(np.log(1.1))}


def test_a_margin_below_one_is_never_let_through() -> None:
    one = draft()
    holds, _ = worst_margins(margins_at(one.properties, 1.0))
    weak = margins_at(one.properties, holds * 1.01)
    assert "least_margin" in find_broken(replace(BRIEF, least_static=0.0), weak, 0.0)


def test_worlds_that_scatter_are_those_that_come_highest_at_any_place() -> None:
    heads = np.arange(12.0)[:, None] + 1.0
    places = np.stack([heads, 20.0 - heads], axis=2)  # a bond that sees most where the head sees least
    assert judging._hard_worlds(heads, places, 4).tolist() == [0, 1, 10, 11]


def test_a_place_is_raised_by_its_greatest_ratio() -> None:
    still, hard = np.ones((4, 1, 1)), np.array([0, 3])
    found = np.array([1.1, 1.0, 1.0, 1.5]).reshape(4, 1, 1)
    assert judging._raise(still, found, hard, np.max).ravel() == pytest.approx([1.1, 1.5, 1.5, 1.5])
