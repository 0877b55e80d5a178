"""The blow against what the open literature says of impact tightening: docs/against-the-world.md shows each.

Sources, with what could be read of them:

- Kulak, Fisher, Struik, *Guide to Design Criteria for Bolted and Riveted Joints*, 2nd ed., 1987, fig. 4.18
  and its text: 7/8 in A325 bolts snugged by an impact wrench, "the point at which the wrench started to
  impact", average about 26 kip. Text read as quoted on a public forum, the figure itself not; reading
  uncertainty 1 kip.
- RCSC specification: snug is commonly reached by "a few impacts of an impact wrench" (AISC engineering FAQ
  6.5.2; Iowa DOT, Materials I.M. 453.06B); least pretension of 7/8 in A325, 39 kip (from memory);
  pretension lost in five days, 2.5 % uncoated and 6.5 % galvanized (commentary, after Munse 1967).
- VDI 2230 (2001), guideline values of the tightening factor: preloads of all methods vary by ±9 to ±60 %,
  impact wrenches having the largest (range as retold in a public catalogue; 2.5 to 4 for impact wrenches
  from memory).
- Preprints 202601.0315 (2026), introduction: impacts of the tool repeat at about 42 Hz.
- Zhang and Tang, J. Manuf. Sci. Eng. 138 (2016) 111010, abstract only: "dynamic events occurring at vastly
  different time scales". Its identified parameters could not be had.
- An independent study in a trade journal of assembly: lug nuts are typically tightened to 100 ft-lb, and
  impact wrenches are the predominant tool for it.
- ASTM J. ASTM Int. 3 (2006) JAI13072, abstract only: tightening speed has a pronounced effect on friction.
- SN Applied Sciences 3 (2021), 10.1007/s42452-021-04149-8, introduction only: the torque has a large
  scatter.
"""

from __future__ import annotations

import math
from functools import cache

import numpy as np
import pytest

from strikeproof.drivetrain import (
    BoltModel,
    Chain,
    RigModel,
    Run,
    ToolModel,
    build_chain,
    complete_tool,
    draw_scatter,
    plain_article,
    simulate_run,
)
from strikeproof.joint import Thread, bearing_of, parse_class, parse_thread, proof_load, tensile_load
from strikeproof.joint.stiffness import (
    bolt_stiffness,
    bolt_twist_stiffness,
    load_per_radian,
    wileman_stiffness,
)

KIP = 4448.2216  # N
FOOT_POUND = 1.3558179  # N·m
STEEL = 205e9  # Pa
GRIP = 0.127  # m, 5 in: the joint's own grip could not be read
STRUCTURAL = parse_thread("7/8-9 UNC")
A325 = parse_class("SAE 5")  # 85 ksi proof and 120 ksi tensile, as A325 of this size
INERTIAS = {0.0127: 6e-5, 0.01905: 2e-4}


def stiffness(thread: Thread, grip: float) -> tuple[float, float]:
    """Bolt and clamped parts. [N/m]"""
    bolt = bolt_stiffness(thread, grip - thread.diameter, thread.diameter, STEEL)
    return bolt, wileman_stiffness(grip, thread.diameter, STEEL)


def bench(thread: Thread, grip: float, tool: ToolModel, drive: float, friction: float, start: float) -> Chain:
    bolt, clamped = stiffness(thread, grip)
    model = BoltModel(
        thread.pitch,
        thread.pitch_diameter / 2,
        bearing_of(thread).friction_diameter / 2,
        thread_friction=friction,
        head_friction=friction,
        shank_stiffness=bolt_twist_stiffness(thread, grip),
    )
    rig = RigModel(clamp_stiffness=bolt * clamped / (bolt + clamped), snug_load=start)
    return build_chain(tool, plain_article("plain", INERTIAS[drive]), model, rig)


@cache
def structural(mechanism: str, drive: float, friction: float, seconds: float = 3.0) -> Run:
    tool = complete_tool("tool", mechanism, drive).tool
    chain = bench(STRUCTURAL, GRIP, tool, drive, friction, 1000.0)
    return simulate_run(chain, tool, duration=seconds)


def wheel(tool: ToolModel, friction: float) -> Chain:
    return bench(parse_thread("M12x1.5"), 0.030, tool, 0.0127, friction, 1000.0)


@pytest.mark.parametrize("friction", [0.12, 0.15, 0.20])
def test_a_few_impacts_bring_a_structural_bolt_to_snug(friction: float) -> None:
    """26 kip in 2 to 6 blows of an air wrench of 3/4 in, whose priors know nothing of it."""
    run = structural("air", 0.01905, friction)
    blows = int(np.searchsorted(run.clamp_load, 26.0 * KIP)) + 1
    print(f"friction {friction}: 26 kip at blow {blows}")
    assert 2 <= blows <= 6


def test_the_least_pretension_is_the_proof_load() -> None:
    assert proof_load(STRUCTURAL, A325) / KIP == pytest.approx(39.0, rel=0.01)


def test_half_a_turn_from_snug_leaves_the_elastic_line() -> None:
    """Bolts live through it since they yield; the model, which does not, would give thrice their load."""
    half_turn = math.pi * load_per_radian(STRUCTURAL, *stiffness(STRUCTURAL, GRIP))
    print(f"elastic: half a turn adds {half_turn / KIP:.0f} kip")
    assert (26.0 * KIP + half_turn) / tensile_load(STRUCTURAL, A325) > 2.0


def test_blows_of_spring_and_cam_repeat_as_measured() -> None:
    """42 Hz; the prior was taken from there, so that this asks only whether a run keeps it."""
    rate = structural("spring-and-cam", 0.0127, 0.15).blow_rate
    print(f"{rate:.1f} Hz")
    assert rate == pytest.approx(42.0, rel=0.1)


@pytest.mark.parametrize("mechanism", ["air", "spring-and-cam"])
def test_contact_and_interval_are_vastly_different_times(mechanism: str) -> None:
    """At least a factor of ten, which is what the abstract's words are taken to say."""
    run = structural(mechanism, 0.0127, 0.15)
    width = float(np.median(run.pulse_width))
    print(f"{mechanism}: half width {1e3 * width:.2f} ms, interval {1e3 / run.blow_rate:.0f} ms")
    assert 1.0 / run.blow_rate > 10.0 * width


def test_an_impact_wrench_tightens_a_lug_nut() -> None:
    """100 ft-lb (136 N·m), on M12x1.5 with a grip of 30 mm (common practice, no source), in 2 s."""
    tool = complete_tool("tool", "air", 0.0127).tool
    chain = wheel(tool, 0.15)
    run = simulate_run(chain, tool, duration=5.0)
    torque = run.clamp_load * chain.torque_per_load
    after = run.time[np.searchsorted(torque, 100.0 * FOOT_POUND)]
    print(f"136 N·m after {after:.2f} s, {torque[-1]:.0f} N·m after 5 s")
    assert after < 2.0


def test_preloads_scatter_as_those_of_impact_wrenches() -> None:
    """Tightening factor 2.5 to 4 (VDI 2230): friction 0.10 to 0.24, two times, speed ±10 % (estimates).

    Ours was 2.52; the lower bound asked for is a tenth below the published one, as the spans are estimates.
    """
    loads = []
    for friction in (0.10, 0.24):
        for energy in (0.8, 1.2):  # the square of ±10 % in speed
            for seconds in (1.0, 4.0):
                known = {"blow_energy": energy * 0.5 * 4.5e-4 * 420.0**2}
                tool = complete_tool("tool", "air", 0.0127, known).tool
                chain = bench(parse_thread("M20"), 0.060, tool, 0.0127, friction, 1000.0)
                loads.append(simulate_run(chain, tool, duration=seconds).end_load)
    factor = max(loads) / min(loads)
    print(f"largest over smallest {factor:.2f}")
    assert 0.9 * 2.5 <= factor <= 4.0


def test_scatter_of_the_speed_alone_is_far_less_than_that() -> None:
    """Scatter from blow to blow averages out over a run; friction and time make preloads scatter."""
    tool = complete_tool("tool", "air", 0.0127).tool
    chain = wheel(tool, 0.15)
    ends, peaks = [], []
    for draw in range(8):
        scatter = draw_scatter(tool, 2.0, np.random.default_rng(draw))
        run = simulate_run(chain, tool, duration=2.0, scatter=scatter)
        ends.append(run.end_load)
        peaks.append(np.std(run.peak_torque[4:]) / np.mean(run.peak_torque[4:]))
    print(f"end load CV {np.std(ends) / np.mean(ends):.3f}, peaks within a run {np.mean(peaks):.3f}")
    assert np.std(ends) / np.mean(ends) < 0.05 and 0.02 < np.mean(peaks) < 0.5


def test_friction_does_not_know_the_speed() -> None:
    """Measured friction does (JAI13072): ours lies outside of what was measured."""
    slow, fast = (
        wheel(complete_tool("tool", "air", 0.0127, {"blow_speed": speed}).tool, 0.15).torque_per_load
        for speed in (200.0, 500.0)
    )
    assert slow == fast
