"""How fast prototypes are searched: 10 000 of them, against looking at each in turn with a plain library.

The brief: a 27 mm hexagon in a pocket, six offers of stock, a base to start from, an air hammer of the 1/2 in
class for 10 s a run. The plain way works out each article as well, but simulates every blow of its run with
SciPy's LSODA and the same equations as `test_drivetrain_speed`.
"""

from __future__ import annotations

import time
from dataclasses import replace
from typing import Any

import numpy as np
import pytest
from scipy.integrate import solve_ivp
from tests.benchmarks.test_drivetrain_speed import rate_of
from tests.benchmarks.yardstick import within
from tests.unit.design.search_bench import BRIEF, make_worlds

from strikeproof.design.judging import Draft, Strain, draft_article, excess
from strikeproof.design.recipes import list_recipes
from strikeproof.design.records import Brief, Envelope, Offer, World
from strikeproof.design.scanning import Aim, Allowance, Hunt, Scan, scan_recipes, spread_points
from strikeproof.design.search import FULL, search_designs
from strikeproof.drivetrain import build_chain, simulate_run
from strikeproof.team import Team

CANDIDATES = 10_000
BLOW = 1.5e-3  # s, the time that a blow acts
STOCK = (
    *BRIEF.offers,
    Offer("pipe NPS 2 sch 160"),
    Offer("nut M36"),
    Offer("bar 65 mm"),
)
WIDE = replace(BRIEF, offers=STOCK)
LOOSE = replace(WIDE, envelope=Envelope(), largest_mass=None, budget=None)

pytestmark = pytest.mark.benchmark


@pytest.mark.parametrize("brief", [WIDE, LOOSE], ids=["a real brief", "nothing refused before its run"])
def test_ten_thousand_candidates_on_two_cores(brief: Brief) -> None:
    worlds = make_worlds(2, seconds=10.0)
    recipes, strain = list_recipes(brief), Strain(rough=True, scatter=False, team=Team(2))

    def look(size: int) -> tuple[Scan, float]:
        scan, begun = Scan(), time.perf_counter()
        rng = np.random.default_rng(1)
        aim = Aim(brief, (worlds.middle,), Allowance(1.3, 1.3, np.zeros(len(worlds.middle.tools))), 0)
        scan_recipes(Hunt(recipes, scan, aim, strain), size, rng)
        return scan, time.perf_counter() - begun

    look(256)  # kernels compiled, threads started
    scan, spent = look(CANDIDATES)
    run = sum(each.gains is not None for each in scan.judged.values())
    plain = CANDIDATES * plain_seconds(brief, recipes, worlds.middle)
    print(
        f"\n{scan.searched} candidates of {len(recipes)} recipes, {run} of them run, 2 threads: {spent:.1f} s"
    )
    print(f"one by one in plain SciPy {plain:.0f} s (a sample, scaled): {plain / spent:.0f} times")
    assert scan.searched == CANDIDATES
    assert spent < within(30.0)
    assert plain > 100.0 * spent


def plain_seconds(brief: Brief, recipes: Any, middle: World, sample: int = 24) -> float:
    """Seconds a candidate: every one worked out, and those that keep size, mass and money simulated."""
    places = spread_points(recipes, CANDIDATES, np.random.default_rng(1))
    chosen = [places[i] for i in np.random.default_rng(2).permutation(len(places))[:sample].tolist()]
    begun = time.perf_counter()
    drafts = [draft_article(brief, recipes[number], place) for number, place in chosen]
    kept = [each for each in drafts if each is not None and not excess(brief, each)]
    spent = time.perf_counter() - begun
    return (spent + sum(plain_run(each, middle) for each in kept)) / sample


def plain_run(draft: Draft, world: World, sample: int = 3) -> float:
    """Seconds of a whole run by LSODA at a tolerance of 1e-3, from a few of its blows."""
    tool = world.tools[0]
    chain = build_chain(tool, replace(world.change(draft.model), riders=()), world.bolt, world.rig)
    run, system, n = simulate_run(chain, tool), chain.system, len(chain.bodies)
    out = np.empty(2 * n + 1)

    def rate(_t: float, y: np.ndarray) -> np.ndarray:
        rate_of(y, system.bodies, system.springs, system.clamp, out)
        return out.copy()

    blows = np.unique(np.geomspace(1, run.clamp_load.size - 1, sample).astype(int))
    begun = time.perf_counter()
    for blow in blows:
        y = np.zeros(2 * n + 1)
        y[n], y[2 * n] = run.speed[blow], run.clamp_load[blow - 1]
        solve_ivp(rate, (0.0, BLOW), y, method="LSODA", rtol=1e-3, atol=1e-9)
    return (time.perf_counter() - begun) * run.clamp_load.size / blows.size


def test_a_whole_search_on_two_cores() -> None:
    worlds = make_worlds(40, seconds=10.0)
    begun = time.perf_counter()
    found = search_designs(WIDE, worlds, rng=np.random.default_rng(1), effort=FULL, team=Team(2))
    spent = time.perf_counter() - begun
    print(f"\na whole search, {found.searched} articles, 40 draws, 2 threads: {spent:.1f} s")
    assert found.complete and found.proposals
    assert spent < within(120.0)
