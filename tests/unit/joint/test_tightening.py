import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from strikeproof.errors import BadInput
from strikeproof.joint import (
    Bearing,
    Friction,
    assembly_preload,
    bearing_of,
    estimate_friction,
    estimate_nut_factor,
    estimate_total_friction,
    has_standard_head,
    parse_class,
    parse_thread,
    torque_tension,
    total_friction,
)

THREAD = parse_thread("M20")
coefficients = st.floats(0.0, 1.0)


@given(coefficients, coefficients)
def test_shares_make_up_the_whole_torque(in_thread, under_head):
    tension = torque_tension(THREAD, Friction(in_thread, under_head))
    assert tension.pitch_share + tension.thread_share + tension.bearing_share == pytest.approx(1)


@given(coefficients, coefficients, st.floats(1.0, 1e6))
def test_clamp_load_undoes_torque(in_thread, under_head, load):
    tension = torque_tension(THREAD, Friction(in_thread, under_head))
    assert tension.clamp_load(tension.torque(load)) == pytest.approx(load)


@given(coefficients, coefficients, st.floats(1.0, 1e6))
def test_tightening_exceeds_loosening_by_twice_the_pitch(in_thread, under_head, load):
    tension = torque_tension(THREAD, Friction(in_thread, under_head))
    difference = tension.torque(load) - tension.loosening_torque(load)
    assert difference == pytest.approx(2 * load * THREAD.pitch / (2 * math.pi))


@given(st.floats(0.02, 1.0), st.floats(0.02, 1.0))
def test_total_friction_gives_the_same_torque(in_thread, under_head):
    friction = Friction(in_thread, under_head)
    same = Friction.total(total_friction(THREAD, friction))
    expected = torque_tension(THREAD, friction).torque_per_force
    assert torque_tension(THREAD, same).torque_per_force == pytest.approx(expected)
    assert estimate_total_friction(THREAD, 1e3 * expected, 1e3) == pytest.approx(same.thread)


def test_without_friction_all_work_goes_into_the_bolt():
    tension = torque_tension(THREAD, Friction.total(0.0))
    assert tension.torque(1.0) * 2 * math.pi == pytest.approx(THREAD.pitch)  # one turn, one pitch
    assert tension.loosening_torque_per_force < 0


def test_whole_curves_are_turned_at_once():
    tension = torque_tension(THREAD, Friction.total(0.12))
    loads = np.array([0.0, 50e3, 100e3])
    assert tension.clamp_load(tension.torque(loads)) == pytest.approx(loads)


def test_changed_friction_equals_friction_given_anew():
    changed = torque_tension(THREAD, Friction(0.10, 0.15)).with_friction_changed(1.2)
    anew = torque_tension(THREAD, Friction(0.12, 0.18))
    assert changed.torque_per_force == pytest.approx(anew.torque_per_force)
    assert changed.pitch_lever == anew.pitch_lever


def test_thread_friction_alone_lowers_the_assembly_preload():
    chosen = parse_class("10.9")
    low, high = (assembly_preload(THREAD, chosen, Friction(each, 0.1)) for each in (0.08, 0.2))
    same = assembly_preload(THREAD, chosen, Friction(0.08, 0.3))
    assert high < low == same


def test_assembly_preload_meets_the_yield_criterion():
    # Von Mises with the plastic torsion modulus π d0³ / 12, from torque and not from the closed form.
    chosen, friction = parse_class("10.9"), Friction.total(0.14)
    load = assembly_preload(THREAD, chosen, friction, yield_share=1.0)
    tension = torque_tension(THREAD, friction)
    twist = load * (tension.pitch_lever + tension.thread_lever) / (math.pi * THREAD.stress_diameter**3 / 12)
    stress = math.hypot(load / THREAD.stress_area, math.sqrt(3) * twist)
    assert stress == pytest.approx(chosen.strength(THREAD).yield_strength, rel=1e-9)


@pytest.mark.parametrize("wrong", [-0.01, 1.01, math.nan, math.inf])
def test_a_coefficient_out_of_range_is_refused(wrong):
    with pytest.raises(BadInput, match="head friction"):
        Friction(0.1, wrong)


@pytest.mark.parametrize("load", [0.0, -1.0, math.nan])
def test_no_clamp_load_tells_no_friction(load):
    for estimate in (estimate_nut_factor, estimate_total_friction):
        with pytest.raises(BadInput, match="clamp load"):
            estimate(THREAD, 100.0, load)


def test_a_torque_too_small_for_its_load_is_refused():
    with pytest.raises(BadInput, match="without any friction"):
        estimate_total_friction(THREAD, 10.0, 100e3)
    with pytest.raises(BadInput, match="without any friction"):
        estimate_friction(THREAD, 10.0, 50.0, 100e3)


def test_the_two_bearing_rules_differ_little():
    mean, annulus = (Bearing(28.19e-3, 22e-3, rule).friction_diameter for rule in ("mean", "annulus"))
    assert 1.0 < annulus / mean < 1.01


@pytest.mark.parametrize(("outer", "inner"), [(0.02, 0.02), (0.02, 0.03), (0.02, -0.001)])
def test_a_ring_without_width_is_refused(outer, inner):
    with pytest.raises(BadInput, match="bearing face"):
        Bearing(outer, inner)


@pytest.mark.parametrize(
    ("thread", "tabulated", "diameter_mm"),
    [("M20", True, 25.095), ("M7", False, 8.75), ("3/4-16", False, 1.25 * 19.05)],
)
def test_a_head_without_a_table_rubs_at_a_quarter_more_than_the_diameter(thread, tabulated, diameter_mm):
    found = parse_thread(thread)
    assert has_standard_head(found) is tabulated
    assert bearing_of(found).friction_diameter == pytest.approx(diameter_mm * 1e-3)
