"""A campaign of known truth: the worlds of a search are those of a prediction, and they hold the truth."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from tests.design_benches import SETTING, draw_bench
from tests.design_study import grid_best

from strikeproof.design.judging import Strain, run_worlds
from strikeproof.design.search import QUICK, search_designs
from strikeproof.design.worlds import worlds_from_fit
from strikeproof.drivetrain import with_ring
from strikeproof.explain import ArticleFacts, Setting
from strikeproof.explain.article_model import article_model
from strikeproof.explain.fits import QUICK as QUICK_FIT
from strikeproof.explain.fits import Fits, make_table
from strikeproof.explain.outlook import Item, run_ahead
from strikeproof.explain.physical import Physical, fit_physical
from strikeproof.team import Team

BENCH = draw_bench(0, 20261125)


@pytest.fixture(scope="module")
def fit() -> Physical:
    rng = np.random.default_rng(4)
    return fit_physical(BENCH.evidence, make_table(BENCH.evidence), "chain-bonds", QUICK_FIT, rng)


def test_gains_in_the_worlds_are_those_a_prediction_draws(fit: Physical) -> None:
    """Two ways through the same posterior: 160 draws each, so that medians differ by their scatter only."""
    reference = BENCH.evidence.article("plain").model
    assert reference is not None
    heavier = with_ring(reference, 3.0 * reference.polar_inertia)
    worlds = worlds_from_fit(BENCH.evidence, fit, [SETTING], 160, np.random.default_rng(1))
    ours = run_worlds([heavier], worlds.draws, Strain(scatter=False)).gains[0, :, 0]
    fits = Fits(BENCH.evidence, make_table(BENCH.evidence), (fit,), ())
    item = Item(ArticleFacts("heavier", heavier), SETTING)
    rng = np.random.default_rng(2)
    view = run_ahead(fits, fit, [item], 160, rng)
    theirs = view.gains[:, 0] + view.own * rng.standard_normal(160)
    scatter = 1.25 * np.hypot(ours.std(), theirs.std()) / np.sqrt(160)  # of a median over that of a mean
    assert abs(np.median(ours) - np.median(theirs)) < 4.0 * scatter
    assert ours.std() == pytest.approx(theirs.std(), rel=0.3)


@pytest.mark.long
def test_what_is_found_is_truly_near_the_best_of_a_grid(fit: Physical) -> None:
    worlds = worlds_from_fit(BENCH.evidence, fit, [SETTING], 32, np.random.default_rng(1))
    effort = replace(QUICK, scan=800, front=0)
    found = search_designs(BENCH.brief, worlds, rng=np.random.default_rng(2), effort=effort, team=Team(2))
    models = [article_model(each.properties) for each in found.proposals]
    true = run_worlds(models, [BENCH.truth], Strain(scatter=False)).gains[:, 0, 0]
    best, cells, _name = grid_best(BENCH, worlds, workers=2, size=2000)
    assert cells > 50 and true[0] > best - 0.03
    low, high = np.quantile(found.proposals[0].gains, [0.005, 0.995])
    assert low <= true[0] <= high


def test_a_tool_that_was_not_run_keeps_its_prior(fit: Physical) -> None:
    tools = (*BENCH.evidence.tools, replace(BENCH.evidence.tools[0], name="other"))
    evidence = replace(BENCH.evidence, tools=tools)
    both = [SETTING, Setting("other")]
    worlds = worlds_from_fit(evidence, fit, both, 200, np.random.default_rng(1))
    known, other = (np.log([each.tools[i].hammer_inertia for each in worlds.draws]) for i in range(2))
    assert other.std() == pytest.approx(0.32, rel=0.2) and known.std() < 0.9 * other.std()
