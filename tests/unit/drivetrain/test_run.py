"""A whole run: the blow map against every blow simulated, scatter, loosening, its ledger."""

from __future__ import annotations

import math
from dataclasses import replace
from typing import Any

import numpy as np
import pytest
from scipy.integrate import solve_ivp
from tests.random_chains import draw_chain

from strikeproof.drivetrain import (
    MECHANISMS,
    AirHammer,
    BoltModel,
    RigModel,
    SpringCam,
    account_run,
    at_supply,
    blow_of_run,
    build_chain,
    complete_tool,
    draw_scatter,
    plain_article,
    simulate_run,
    with_ring,
)
from strikeproof.drivetrain.mechanism import pack_mechanism, recover
from strikeproof.drivetrain.priors import find_damping_ratio
from strikeproof.drivetrain.records import ToolModel
from strikeproof.errors import BadInput, NotFound

BOLT = BoltModel(2.5e-3, 9.19e-3, 13e-3)
RIG = RigModel()


@pytest.mark.parametrize("mechanism", MECHANISMS)
@pytest.mark.parametrize("inertia", [6e-5, 5e-4])
@pytest.mark.parametrize("shank", [math.inf, 2e4])
def test_map_ends_where_every_blow_simulated_ends(mechanism: str, inertia: float, shank: float) -> None:
    tool = complete_tool("t", mechanism, 0.0127).tool
    chain = build_chain(tool, plain_article("p", inertia), replace(BOLT, shank_stiffness=shank), RIG)
    quick, full = simulate_run(chain, tool), simulate_run(chain, tool, method="every")
    assert quick.end_load == pytest.approx(full.end_load, rel=1e-3)
    # an oil pulse that meets its anvil twice in some blows jumps in growth: there every blow is simulated
    assert quick.simulated < 0.5 * full.simulated or np.array_equal(quick.clamp_load, full.clamp_load)
    assert quick.peak_torque[-1] == pytest.approx(full.peak_torque[-1], rel=5e-3)
    assert quick.clamp_load.size == pytest.approx(full.clamp_load.size, abs=1)


def test_finer_tolerance_brings_the_map_closer() -> None:
    tool = complete_tool("t", "air", 0.0127).tool
    chain = build_chain(tool, plain_article("p", 1e-4), BOLT, RIG)
    full = simulate_run(chain, tool, method="every").clamp_load
    misses = []
    for tolerance in (1e-2, 1e-4):
        quick = simulate_run(chain, tool, tolerance=tolerance).clamp_load
        shared = min(quick.size, full.size)
        misses.append(np.abs(quick[:shared] / full[:shared] - 1.0).max())
    assert misses[1] < 0.2 * misses[0] and misses[1] < 1e-3


def test_growth_curve_rises_and_times_run_on() -> None:
    tool = complete_tool("t", "air", 0.0127).tool
    run = simulate_run(build_chain(tool, plain_article("p", 6e-5), BOLT, RIG), tool, duration=3.0)
    assert np.all(np.diff(run.clamp_load) >= 0.0)
    assert np.all(np.diff(run.time) > 0.0) and run.time[-1] <= 3.0
    assert run.torque_equivalent == pytest.approx(BOLT.torque_per_load * run.end_load)
    assert 10.0 < run.blow_rate < 40.0
    assert np.all((run.pulse_width > 5e-5) & (run.pulse_width < 5e-3))


def test_same_generator_gives_the_same_run_and_articles_meet_the_same_luck() -> None:
    tool = complete_tool("t", "air", 0.0127).tool
    draws = [draw_scatter(tool, 5.0, np.random.default_rng(7)) for _ in range(2)]
    assert np.array_equal(draws[0].speed_factors, draws[1].speed_factors)
    chain = build_chain(tool, plain_article("p", 6e-5), BOLT, RIG)
    runs = [simulate_run(chain, tool, duration=5.0, scatter=each) for each in draws]
    assert np.array_equal(runs[0].clamp_load, runs[1].clamp_load)
    other = draw_scatter(tool, 5.0, np.random.default_rng(8))
    assert simulate_run(chain, tool, duration=5.0, scatter=other).end_load != runs[0].end_load
    assert np.std(draws[0].speed_factors) == pytest.approx(tool.speed_scatter, rel=0.2)


def test_common_luck_narrows_the_difference_between_articles() -> None:
    tool = replace(complete_tool("t", "air", 0.0127).tool, gap_openness=(0.0,), speed_scatter=0.05)
    chains = [build_chain(tool, plain_article("p", value), BOLT, RIG) for value in (6e-5, 6.5e-5)]
    luck = [draw_scatter(tool, 4.0, np.random.default_rng(seed)) for seed in range(12)]
    ends = np.log([[simulate_run(c, tool, duration=4.0, scatter=s).end_load for s in luck] for c in chains])
    assert np.std(ends[0] - ends[1]) < 0.7 * np.std(ends[0] - np.roll(ends[1], 1))


def test_plateau_creeps_up_with_scatter() -> None:
    # 1.047 and 1.116 with CV 3 and 7 % (project's own scripts); here against the run without scatter
    tool = ToolModel("t", SpringCam(20.0, 0.0, 0.02), 4e-4, math.sqrt(2 * 20.0 / 4e-4), 1e-5, 9e3)
    chain = build_chain(tool, plain_article("p", 3e-5, hexagon_gap=0.0, square_gap=0.0), BOLT, RIG)
    calm = simulate_run(chain, tool, duration=8.0).end_load
    gains = []
    for cv in (0.03, 0.07):
        rough = replace(tool, speed_scatter=cv)
        scatter = draw_scatter(rough, 8.0, np.random.default_rng(2))
        gains.append(simulate_run(chain, rough, duration=8.0, scatter=scatter).end_load / calm)
    assert 1.02 < gains[0] < gains[1] < 1.16


def test_ledger_of_a_run_closes_and_names_its_blows() -> None:
    tool = complete_tool("t", "spring-and-cam", 0.0127).tool
    chain = build_chain(tool, plain_article("p", 6e-5), replace(BOLT, shank_stiffness=1.2e4), RIG)
    run = simulate_run(chain, tool, duration=4.0)
    ledger = account_run(chain, tool, run)
    assert all(abs(each.unaccounted) < 1e-3 * each.hammer_in for each in ledger.ledgers)
    assert abs(ledger.total.unaccounted) < 1e-3 * ledger.total.hammer_in
    assert ledger.blows[0] == 1 and ledger.blows[-1] == run.clamp_load.size
    stored = 0.5 * (run.end_load**2 - run.start_load**2) / RIG.clamp_stiffness
    assert ledger.total.clamp_work == pytest.approx(stored, rel=2e-3)  # the map's own tolerance


# chains whose blows take turns, a loose rider, slip, loosening: entries rebuilt from some blows were 81 % too
# large, 51 % and 99 % too small on 17, 50 and 57
@pytest.mark.parametrize("seed", [3, 11, 17, 32, 41, 50, 57])
def test_clamp_work_of_any_run_is_what_the_joint_has_stored(seed: int) -> None:
    chain, tool, luck = draw_chain(seed)
    run = simulate_run(chain, tool, duration=3600.0, scatter=luck)
    ledger = account_run(chain, tool, run)
    stiffness = chain.system.clamp[0] / chain.system.bodies[int(chain.system.clamp[2]), 4]
    stored = 0.5 * (run.end_load**2 - run.start_load**2) / stiffness
    assert ledger.total.clamp_work == pytest.approx(stored, rel=1e-4)
    assert ledger.total.clamp_work == pytest.approx(ledger.clamp_energy, rel=1e-4)
    assert abs(ledger.total.unaccounted) < 1e-3 * ledger.total.hammer_in


def test_blow_of_a_run_is_that_blow() -> None:
    tool = complete_tool("t", "air", 0.0127).tool
    chain = build_chain(tool, plain_article("p", 6e-5), replace(BOLT, shank_stiffness=1.2e4), RIG)
    run = simulate_run(chain, tool, duration=3.0, method="every")
    for number in (1, 2, 20):
        blow = blow_of_run(chain, tool, run, number)
        assert blow.load_after == pytest.approx(run.clamp_load[number - 1], rel=2e-4)
    with pytest.raises(BadInput, match="blow"):
        blow_of_run(chain, tool, run, 10_000)


def test_seized_bolt_holds_until_a_blow_beats_it() -> None:
    tool = complete_tool("t", "air", 0.0127).tool
    ends, counts = [], []
    for torque in (0.0, 200.0, 1e5):
        bolt = replace(BOLT, breakaway_torque=torque)
        chain = build_chain(tool, plain_article("p", 6e-5), bolt, RIG, direction="loosen", start_load=1e5)
        run = simulate_run(chain, tool, duration=3.0)
        ends.append(run.end_load)
        counts.append(run.clamp_load.size)
        assert np.isfinite(run.clamp_load).all()
    assert ends[0] == 0.0 and ends[1] == 0.0 and ends[2] == 1e5
    assert counts[0] <= counts[1] < counts[2]


def test_blow_of_a_bolt_that_was_seized_is_that_blow() -> None:
    """What a blow finds wound in the shank was left by a thread that had moved long before."""
    bolt = replace(BOLT, shank_stiffness=5e3, breakaway_torque=150.0)
    tool = complete_tool("t", "air", 0.0127).tool
    chain = build_chain(tool, plain_article("a", 6e-5), bolt, RigModel(snug_load=2000.0))
    run = simulate_run(chain, tool, duration=0.3)
    found = [blow_of_run(chain, tool, run, number, fineness=1).load_after for number in range(1, 7)]
    assert found == pytest.approx(run.clamp_load[:6], rel=5e-3)


def test_loosening_takes_less_than_tightening_took() -> None:
    # the pitch helps: T_L = F (−p/2π + ...), so what was tightened comes loose
    tool = complete_tool("t", "air", 0.0127).tool
    article = plain_article("p", 6e-5)
    tight = simulate_run(build_chain(tool, article, BOLT, RIG), tool, duration=2.0).end_load
    chain = build_chain(tool, article, BOLT, RIG, direction="loosen", start_load=tight)
    run = simulate_run(chain, tool, duration=5.0)
    assert run.ran_free and run.end_load == 0.0
    assert chain.torque_per_load == pytest.approx(BOLT.torque_per_load - 2 * BOLT.pitch_arm)


def test_recovery_of_a_motor_is_the_solution_of_its_equation() -> None:
    # J dω/dt = T (1 − ω/ω_f) over one turn, against SciPy's DOP853
    drive = np.array([0.0, 4.5e-4, 9.0, 900.0, 2 * math.pi, 0.0, 1.0, math.inf])
    for rebound in (0.0, 150.0):

        def rate(_t: float, y: np.ndarray) -> list[float]:
            return [y[1], 9.0 / 4.5e-4 * (1.0 - y[1] / 900.0)]

        def arrived(_t: float, y: np.ndarray) -> float:
            return float(y[0] - 2 * math.pi)

        arrived.terminal = True  # type: ignore[attr-defined]
        found = solve_ivp(
            rate, (0, 1), [0.0, -rebound], events=arrived, rtol=1e-11, atol=1e-12, method="DOP853"
        )
        speed, time = recover(drive, rebound)
        assert (speed, time) == pytest.approx((found.y[1, -1], found.t[-1]), rel=1e-8)


@pytest.mark.parametrize("rebound", [100.0, 250.0, 400.0])
def test_a_hammer_thrown_back_hard_meets_the_rear_contact(rebound: float) -> None:
    """J dω/dt = T (1 − ω/ω_f) back to 90° or the turning point and forward again, against SciPy's DOP853."""
    push, rear, share = 9.0 / 4.5e-4, math.pi / 2, 0.8

    def rate(_t: float, y: np.ndarray) -> list[float]:
        return [y[1], push * (1.0 - y[1] / 900.0)]

    def at(angle: float, way: float) -> Any:
        def reached(_t: float, y: np.ndarray) -> float:
            return float(y[0] - angle)

        reached.terminal, reached.direction = True, way  # type: ignore[attr-defined]
        return reached

    events = [at(-rear, -1.0), at(2 * math.pi, 1.0)]
    options: dict[str, Any] = {"rtol": 1e-11, "atol": 1e-12, "method": "DOP853"}
    first = solve_ivp(rate, (0, 1), [0.0, -math.sqrt(share) * rebound], events=events, **options)
    turned, met = first.y[1, -1], first.t[-1]
    if first.t_events[0].size:
        second = solve_ivp(rate, (0, 1), [-rear, 0.6 * -turned], events=events[1:], **options)
        turned, met = second.y[1, -1], met + second.t[-1]
    assert bool(first.t_events[0].size) == (rebound > 300.0)
    drive = np.array([0.0, 4.5e-4, 9.0, 900.0, 2 * math.pi, 0.0, share, rear])
    assert recover(drive, rebound) == pytest.approx((turned, met), rel=1e-8)


@pytest.mark.parametrize("mechanism", MECHANISMS)
@pytest.mark.parametrize(("speed", "rate"), [(250.0, 18.0), (400.0, 25.0)])
def test_late_blows_have_the_speed_and_rate_that_are_declared(
    mechanism: str, speed: float, rate: float
) -> None:
    known = {"hammer_inertia": 4e-4, "blow_speed": speed, "blow_rate": rate}
    done = complete_tool("t", mechanism, 0.0127, known)
    bolt = replace(BOLT, shank_stiffness=1.2e4)
    run = simulate_run(build_chain(done.tool, plain_article("p", 6e-5), bolt, RIG), done.tool, duration=6.0)
    late = run.speed.size // 2
    assert run.speed[late:].mean() == pytest.approx(speed, rel=0.08)
    assert 1.0 / np.diff(run.time[late:]).mean() == pytest.approx(rate, rel=0.1)
    assert done.speed == speed and done.most_rate >= rate


def test_a_spring_wound_to_the_end_of_its_cam_returns_no_more() -> None:
    drive = pack_mechanism(ToolModel("t", SpringCam(7.0, 1.0, 0.02, 10.0), 2e-4, 260.0, 2e-5, 9e3))
    assert recover(drive, 100.0)[0] == pytest.approx(math.sqrt(2 * 8.0 / 2e-4))
    assert recover(drive, 250.0)[0] == pytest.approx(math.sqrt(2 * 10.0 / 2e-4))


def test_spring_returns_its_share_of_the_rebound() -> None:
    tool = ToolModel("t", SpringCam(7.0, 0.5, 0.02), 2e-4, 260.0, 2e-5, 9e3)
    speed, time = recover(pack_mechanism(tool), 100.0)
    assert speed == pytest.approx(math.sqrt(2 * (7.0 + 0.5 * 0.5 * 2e-4 * 100.0**2) / 2e-4))
    assert time == 0.02


@pytest.mark.parametrize("mechanism", MECHANISMS)
def test_more_supply_hammers_harder(mechanism: str) -> None:
    tool = complete_tool("t", mechanism, 0.0127).tool
    article = plain_article("p", 6e-5)
    ends = []
    for ratio in (0.7, 1.0, 1.2):
        moved = at_supply(tool, ratio)
        ends.append(simulate_run(build_chain(moved, article, BOLT, RIG), moved, duration=4.0).end_load)
    assert ends[0] < ends[1] < ends[2]
    with pytest.raises(BadInput, match="supply"):
        at_supply(tool, 0.0)


@pytest.mark.parametrize(
    ("mechanism", "drive", "low", "high"),
    [
        ("air", 0.0127, 20.0, 60.0),
        ("air", 0.019, 60.0, 200.0),
        ("spring-and-cam", 0.0127, 5.0, 25.0),
        ("spring-and-cam", 0.0095, 1.5, 3.0),
    ],
)
def test_priors_of_a_class_hold_together(mechanism: str, drive: float, low: float, high: float) -> None:
    # energy per blow of the class: engineering estimates, no source
    done = complete_tool("t", mechanism, drive)
    names = [name for name, _value, _unit in done.priors]
    assert "hammer_inertia" in names and "blow_speed" in names
    speed = next(value for name, value, _unit in done.priors if name == "blow_speed")
    assert low <= 0.5 * done.tool.hammer_inertia * speed**2 <= high


def test_what_is_known_of_a_tool_is_kept_and_not_called_a_prior() -> None:
    done = complete_tool("t", "air", 0.0127, {"hammer_inertia": 3e-4, "blow_energy": 24.0, "blow_rate": 20.0})
    names = [name for name, _value, _unit in done.priors]
    assert done.tool.hammer_inertia == 3e-4
    assert not {"hammer_inertia", "blow_speed", "blow_rate"} & set(names)
    drive = done.tool.mechanism
    assert isinstance(drive, AirHammer)
    speed, time = recover(pack_mechanism(done.tool), 0.75 * 400.0)
    assert speed == pytest.approx(400.0, rel=1e-6)
    assert time == pytest.approx(0.05, rel=1e-6)


def test_contradicting_knowledge_of_a_tool_is_refused() -> None:
    with pytest.raises(BadInput, match="blow_energy"):
        complete_tool("t", "air", 0.0127, {"hammer_inertia": 3e-4, "blow_energy": 24.0, "blow_speed": 200.0})
    with pytest.raises(BadInput, match="blow_energy"):
        complete_tool("t", "air", 0.0127, {"blow_energy": 0.0})
    with pytest.raises(NotFound, match="mechanism"):
        complete_tool("t", "steam", 0.0127)


def test_damping_ratios_of_usual_restitutions() -> None:
    # e = 0.8, 0.7, 0.5 gives ζ = 0.07, 0.11, 0.22
    assert [find_damping_ratio(e) for e in (0.8, 0.7, 0.5)] == pytest.approx([0.07, 0.11, 0.22], abs=5e-3)


def test_ring_adds_its_inertia() -> None:
    assert with_ring(plain_article("p", 6e-5), 3e-4).polar_inertia == pytest.approx(3.6e-4)


def test_run_refuses_a_start_beyond_proof_and_a_loosening_without_load() -> None:
    tool = complete_tool("t", "air", 0.0127).tool
    bolt = replace(BOLT, proof_load=2e5)
    with pytest.raises(BadInput, match="proof"):
        build_chain(tool, plain_article("p", 6e-5), bolt, RIG, start_load=3e5)
    with pytest.raises(BadInput, match="start_load"):
        build_chain(tool, plain_article("p", 6e-5), bolt, RIG, direction="loosen")
    chain = build_chain(tool, plain_article("p", 6e-5), BOLT, RIG)
    with pytest.raises(BadInput, match="duration"):
        simulate_run(chain, tool, duration=0.0)
