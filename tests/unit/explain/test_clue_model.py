"""Clues in a fit: how likely they are, what a left-out article hides, and what stays as it was."""

from dataclasses import replace

import numpy as np
import pytest
from scipy.stats import multivariate_normal
from tests.unit.explain.bench import AIR, BASE, BRISK, blank, measured, models

from strikeproof.errors import BadInput, NotFound
from strikeproof.explain import Clue, Evidence
from strikeproof.explain.clue_model import NO_CLUES, ClueModel, clue_misfit, model_clues
from strikeproof.explain.engine import Job, simulate_readings
from strikeproof.explain.explaining import explain_within
from strikeproof.explain.fits import QUICK, fit_rivals, usable
from strikeproof.explain.judgement import judge_rivals
from strikeproof.explain.parameters import draw_design, list_parameters
from strikeproof.explain.particles import Particles
from strikeproof.explain.physical import folds
from strikeproof.explain.sampling import Effort
from strikeproof.explain.surrogate import fit_surrogate, plan_jobs, read_clues, run_plan
from strikeproof.explain.variants import CHAIN, INERTIA

GROWTH = tuple(Clue(each.name, AIR, 0.4, 0.0, 0.8) for each in models()[1:])
ALL = (*GROWTH, Clue("plain", AIR, 0.4, -0.2, 1.0), Clue("ring 6", AIR, "peak", 0.1, 0.3))
ROUGH = replace(QUICK, first=32, second=0, effort=Effort(40, 20, 20, 50, rounds=0), workers=1)


def told(clues: tuple[Clue, ...] = ALL, evidence: Evidence | None = None) -> Evidence:
    return replace(evidence or blank(), clues=clues, clue_covariance=1e-4 * np.eye(len(clues)))


def test_the_engine_reads_levels_on_the_way_and_peaks():
    evidence = blank()
    parameters = list_parameters(evidence, bonds=False)
    points = np.zeros((1, len(parameters)))
    readings = (0.15, 0.4, 0.999, "peak")
    found = simulate_readings(evidence, parameters, [Job(BASE, AIR)], points, np.zeros((1, 3)), readings)
    end, early, middle, late, peak = found[0, 0]
    assert early < middle < late < end + 1e-12
    assert late == pytest.approx(end, abs=0.005)
    assert peak > end, "a blow has to overcome what slow tightening to that load takes"


def test_a_plan_reads_what_the_clues_say():
    evidence, rng = told(), np.random.default_rng(1)
    parameters = list_parameters(evidence, bonds=False)
    plan = plan_jobs(evidence, CHAIN)
    points = draw_design(4, len(parameters), rng)
    runs = run_plan(evidence, parameters, plan, points, np.zeros((4, 3)))
    found = read_clues(evidence, plan, runs)
    article, base = runs.readings[:, plan.of_gain[0], 0], runs.readings[:, plan.reference_of[0], 0]
    ends = runs.scores[:, plan.of_gain[0]] - runs.scores[:, plan.reference_of[0]]
    assert np.allclose(found[:, 0], article - base - 0.8 * ends)
    assert np.allclose(found[:, 4], base - runs.scores[:, plan.reference_of[0]])


def test_gains_are_emulated_the_same_with_and_without_clues():
    rng = np.random.default_rng(1)
    parameters = list_parameters(blank(), bonds=False)
    d = len(parameters)
    design = draw_design(32, d + 3, rng)
    found = []
    for evidence in (blank(), told()):
        plan = plan_jobs(evidence, INERTIA)
        runs = run_plan(evidence, parameters, plan, design[:, :d], design[:, d:])
        surrogate = fit_surrogate(evidence, parameters, plan, runs, rounds=10)
        found.append(surrogate.predict(design[:, :d])[0][:, :4])
    assert np.array_equal(*found)


def test_density_is_that_of_a_normal_and_leaves_an_article_out():
    covariance = np.array([[4.0, 1.0, 0.5], [1.0, 3.0, 0.2], [0.5, 0.2, 2.0]]) * 1e-4
    model = ClueModel(np.array([0.01, -0.02, 0.03]), covariance, ("a", "b", "a"))
    mean = np.random.default_rng(1).normal(0.0, 0.02, (5, 4))
    wanted = multivariate_normal(np.zeros(3), covariance).logpdf(model.values - mean[:, 1:])
    assert model.log_density(mean) == pytest.approx(wanted)
    left = multivariate_normal(0.0, 3e-4).logpdf(model.values[1] - mean[:, 2])
    assert model.log_density(mean, "a") == pytest.approx(left)
    assert not NO_CLUES.log_density(mean).any()


def test_particles_see_clues_but_not_those_of_the_left_out_article():
    clues = np.log([[1.0, 4.0], [3.0, 4.0]])
    rival = Particles("chain", np.log([0.5, 0.5]), np.zeros((2, 1)), np.zeros((2, 1, 1)), clues, clues)
    assert np.exp(rival.seeing(0).log_weight) == pytest.approx([0.25, 0.75])
    assert np.exp(rival.seeing().log_weight) == pytest.approx([0.5, 0.5])
    bare = replace(rival, clues=np.zeros((0, 0)))
    assert bare.seeing(0) is bare


def test_what_is_left_out_is_wider_for_articles_of_other_inertia():
    evidence, rng = told(), np.random.default_rng(1)
    parameters = list_parameters(evidence, bonds=False)
    d = len(parameters)
    plan = plan_jobs(evidence, INERTIA)
    design = draw_design(32, d + 3, rng)
    runs = run_plan(evidence, parameters, plan, design[:, :d], design[:, d:])
    surrogate = fit_surrogate(evidence, parameters, plan, runs, rounds=10)
    model = model_clues(evidence, surrogate, design[:, :d])
    assert np.linalg.eigvalsh(model.covariance).min() > 0.0
    slight, large, peak = np.diag(model.covariance)[[0, 1, 5]]
    assert slight < large and peak > 3.0 * large


def test_rivals_are_judged_by_the_gains_alone():
    """The same particles with and without clues have the same evidence; rivals without physics, all."""
    evidence = told(GROWTH, measured())
    fits = fit_rivals(evidence, ROUGH, np.random.default_rng(1))
    bare = replace(fits, rivals=tuple(replace(each, clues=np.zeros((0, 0))) for each in fits.rivals))
    ample = np.random.default_rng(3)
    seeing, blind = (
        judge_rivals(each.rivals, each.gains, evidence.covariance, folds(evidence), ample)
        for each in (fits, bare)
    )
    assert np.array_equal(seeing.evidence, blind.evidence)
    plain = [seeing.names.index(name) for name in ("nothing", "mass", "curve")]
    assert np.array_equal(seeing.log_scores[:, plain], blind.log_scores[:, plain])
    chain = seeing.names.index("chain")
    assert not np.array_equal(seeing.log_scores[:, chain], blind.log_scores[:, chain])


def test_an_explanation_tells_what_its_clues_were_worth(explanation):
    assert explanation.diagnostics.clues == 0 and explanation.diagnostics.p_clues is None
    evidence = told((ALL[4],), measured())
    found = explain_within(evidence, BRISK, np.random.default_rng(1))
    assert found.diagnostics.clues == 1 and 0.0 <= found.diagnostics.p_clues <= 1.0


def test_clues_that_the_chain_cannot_account_for_have_a_small_p():
    evidence, rng = told(), np.random.default_rng(1)
    parameters = list_parameters(evidence, bonds=False)
    d = len(parameters)
    plan = plan_jobs(evidence, INERTIA)
    design = draw_design(32, d + 3, rng)
    runs = run_plan(evidence, parameters, plan, design[:, :d], design[:, d:])
    surrogate = fit_surrogate(evidence, parameters, plan, runs, rounds=10)
    model = model_clues(evidence, surrogate, design[:, :d])
    near = replace(model, values=surrogate.predict(np.zeros((1, d)))[0][0, -len(ALL) :])
    far = replace(near, values=near.values - 8.0 * np.sqrt(np.diag(model.covariance)))
    some = np.zeros((2, d))
    assert clue_misfit(near, surrogate, some) == pytest.approx(1.0)
    assert clue_misfit(far, surrogate, some) < 0.005
    assert clue_misfit(NO_CLUES, surrogate, some) == 1.0


def test_an_article_that_is_left_aside_takes_its_clues_along():
    evidence = told(ALL, measured())
    articles = tuple(
        replace(each, model=None) if each.name == "ring 6" else each for each in evidence.articles
    )
    reduced, _left = usable(replace(evidence, articles=articles))
    assert {each.article for each in reduced.clues} == {"plain", "ring 2.5", "extension", "soft ring"}
    assert reduced.clue_covariance.shape == (4, 4)


def test_clues_name_what_is_there():
    with pytest.raises(NotFound):
        told((Clue("ring 7", AIR, 0.4, 0.1, 0.8),))
    with pytest.raises(BadInput, match="clues"):
        replace(told(), clue_covariance=np.eye(2))
