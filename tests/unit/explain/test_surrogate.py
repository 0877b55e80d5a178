import math

import numpy as np
import pytest
from tests.unit.explain.bench import AIR, BASE, blank, models

from strikeproof.explain import ToolFacts
from strikeproof.explain.crew import Crew
from strikeproof.explain.engine import Job, simulate_jobs
from strikeproof.explain.parameters import build_bench, build_tool, draw_design, list_parameters, read_values
from strikeproof.explain.surrogate import fit_surrogate, plan_jobs, read_gains, run_plan
from strikeproof.explain.variants import BONDED, CHAIN, STIFFNESS
from strikeproof.team import Team


def test_a_draw_at_the_centre_builds_the_declared_bench():
    evidence = blank((ToolFacts("air-a", "air", known={"hammer_inertia": 3e-4, "blow_speed": 400.0}),))
    parameters = list_parameters(evidence, bonds=False)
    values = read_values(parameters, np.zeros(len(parameters)))
    tool = build_tool(evidence.tools[0], AIR, values)
    bolt, rig = build_bench(evidence, values)
    assert tool.hammer_inertia == pytest.approx(3e-4)
    assert bolt.thread_friction == pytest.approx(evidence.bolt.thread_friction)
    assert rig.clamp_stiffness == pytest.approx(evidence.rig.clamp_stiffness)


def test_what_was_declared_is_known_better():
    told = list_parameters(blank((ToolFacts("air-a", "air", known={"hammer_inertia": 3e-4}),)), bonds=False)
    guessed = list_parameters(blank(), bonds=False)
    assert told[0].spread < 0.2 * guessed[0].spread
    assert told[2].spread == guessed[2].spread


def test_energy_and_inertia_leave_no_free_speed():
    known = {"hammer_inertia": 4e-4, "blow_energy": 32.0}
    parameters = list_parameters(blank((ToolFacts("air-a", "air", known=known),)), bonds=False)
    speed = next(each for each in parameters if each.name == "blow_speed")
    assert speed.centre == pytest.approx(400.0)
    assert speed.spread < 0.1


def test_two_tools_share_bolt_rig_and_fits():
    both = list_parameters(blank((ToolFacts("air-a", "air"), ToolFacts("b", "spring-and-cam"))), bonds=True)
    shared = [each.name for each in both if not each.tool]
    assert shared == [
        "hexagon_stiffness",
        "gap",
        "fit_damping",
        "friction",
        "clamp_stiffness",
        "bond_stiffness",
        "bond_slip",
    ]
    assert len(both) == 2 * 5 + 7


def test_design_is_standard_normal_and_even():
    points = draw_design(256, 6, np.random.default_rng(1))
    assert points.mean(axis=0) == pytest.approx(np.zeros(6), abs=0.03)
    assert points.std(axis=0) == pytest.approx(np.ones(6), abs=0.06)


def test_equal_runs_are_made_once():
    plan = plan_jobs(blank(), STIFFNESS)
    assert len(plan.jobs) == 3  # the reference, one more like it with its own stiffness, the extension
    assert len(plan_jobs(blank(), BONDED).jobs) == 5


def test_results_do_not_depend_on_the_number_of_workers():
    evidence = blank()
    parameters = list_parameters(evidence, bonds=True)
    points = draw_design(20, len(parameters), np.random.default_rng(1))
    jobs = [Job(each, AIR) for each in models()[:2]]
    one, two = (
        simulate_jobs(evidence, parameters, jobs, points, np.zeros((20, 3)), crew=Crew(Team(n)))
        for n in (1, 2)
    )
    assert np.array_equal(one, two)


def test_more_friction_means_less_clamp_but_the_same_torque_nearly():
    evidence = blank()
    parameters = list_parameters(evidence, bonds=False)
    points = np.zeros((2, len(parameters)))
    points[1, [each.name for each in parameters].index("friction")] = 2.0
    scores = simulate_jobs(evidence, parameters, [Job(BASE, AIR)], points, np.zeros((2, 3)))
    assert scores[1, 0] == pytest.approx(scores[0, 0], abs=0.05)


def test_surrogate_foretells_the_engine_within_its_own_error():
    evidence, rng = blank(), np.random.default_rng(2)
    parameters = list_parameters(evidence, bonds=False)
    plan = plan_jobs(evidence, CHAIN)
    d = len(parameters)
    design = draw_design(80, d + 3, rng)
    runs = run_plan(evidence, parameters, plan, design[:, :d], design[:, d:])
    surrogate = fit_surrogate(evidence, parameters, plan, runs, rounds=30)
    fresh = 0.8 * rng.standard_normal((30, d))
    found = read_gains(plan, run_plan(evidence, parameters, plan, fresh, rng.standard_normal((30, 3))))
    mean, variance = surrogate.predict(fresh)
    far = (found - mean) / np.sqrt(variance)
    assert math.sqrt(np.mean(far**2)) < 1.6
    assert np.mean(np.abs(found - mean)) < 0.5 * found.std()


def test_emulators_err_alike_where_articles_share_the_references_runs():
    evidence, rng = blank(), np.random.default_rng(2)
    parameters = list_parameters(evidence, bonds=False)
    plan = plan_jobs(evidence, CHAIN)
    d = len(parameters)
    design = draw_design(64, d + 3, rng)
    runs = run_plan(evidence, parameters, plan, design[:, :d], design[:, d:])
    surrogate = fit_surrogate(evidence, parameters, plan, runs, rounds=20)
    _mean, variance = surrogate.predict(design[:5, :d])
    covariance = surrogate.gain_covariance(variance)
    assert np.allclose(np.diagonal(covariance, axis1=1, axis2=2), variance)
    assert np.linalg.eigvalsh(covariance).min() > 0.0
    size = np.sqrt(np.diagonal(covariance, axis1=1, axis2=2))
    assert np.all(covariance[:, 0, 1] / (size[:, 0] * size[:, 1]) > 0.1), "two rings on one reference"
