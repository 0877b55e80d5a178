import math

import pytest
from hypothesis import example, given
from hypothesis import strategies as st
from scipy.integrate import quad

from strikeproof.errors import BadInput
from strikeproof.joint import (
    Layer,
    bolt_stiffness,
    bolt_twist_stiffness,
    frustum_stiffness,
    joint_constant,
    load_per_radian,
    parse_thread,
    stack_stiffness,
    wileman_stiffness,
)

STEEL, ALUMINIUM = 207e9, 71e9
thicknesses = st.floats(1e-3, 80e-3)


@given(thicknesses, st.floats(0.3, 0.9))
def test_a_frustum_is_the_sum_of_its_thin_rings(thickness, angle):
    hole, face = 20e-3, 30e-3

    def compliance(depth):
        outer = face + 2 * depth * math.tan(angle)
        return 4 / (math.pi * STEEL * (outer**2 - hole**2))

    whole, _ = quad(compliance, 0, thickness)
    found = frustum_stiffness(Layer(thickness, STEEL), hole, face, angle)
    assert found == pytest.approx(1 / whole, rel=1e-7)


@given(st.lists(st.tuples(thicknesses, st.sampled_from([STEEL, ALUMINIUM])), min_size=1, max_size=5))
@example([(0.0234375, STEEL), (0.03125, STEEL), (0.003, STEEL), (0.003, STEEL)])  # the middle is a border
def test_a_stack_is_the_same_from_either_end(parts):
    layers = [Layer(*part) for part in parts]
    there, back = (stack_stiffness(order, 20e-3, 30e-3) for order in (layers, layers[::-1]))
    assert there == pytest.approx(back)


@given(thicknesses, st.floats(0.05, 0.95))
def test_a_cut_through_a_layer_changes_nothing(thickness, part):
    whole = stack_stiffness([Layer(thickness, STEEL)], 20e-3, 30e-3)
    cut = [Layer(part * thickness, STEEL), Layer((1 - part) * thickness, STEEL)]
    assert stack_stiffness(cut, 20e-3, 30e-3) == pytest.approx(whole)


@given(st.floats(1.0, 4.0))
def test_cones_and_finite_element_fit_agree_within_a_tenth(grip_in_diameters):
    # Both describe one clamped material under a face of 1.5 d. Shigley's example 8-2, at 2.7 d, has them 2 %
    # apart; the cones come out 9.7 % stiffer at 1 d and 8.1 % softer at 4 d.
    d = 20e-3
    cones = stack_stiffness([Layer(grip_in_diameters * d, STEEL)], d, 1.5 * d)
    fit = wileman_stiffness(grip_in_diameters * d, d, STEEL, "steel")
    assert cones == pytest.approx(fit, rel=0.10)


def test_a_bolt_without_shank_is_a_rod_of_its_stress_area():
    thread = parse_thread("M20")
    assert bolt_stiffness(thread, 0.0, 0.1, STEEL) == pytest.approx(thread.stress_area * STEEL / 0.1)
    assert bolt_stiffness(thread, 0.1, 0.0, STEEL) == pytest.approx(math.pi / 4 * 0.02**2 * STEEL / 0.1)


def test_one_turn_against_rigid_parts_stretches_the_bolt_by_its_pitch():
    thread = parse_thread("M20")
    per_turn = 2 * math.pi * load_per_radian(thread, 1e8, 1e20)
    assert per_turn == pytest.approx(1e8 * thread.pitch)
    assert joint_constant(1e8, 3e8) == pytest.approx(0.25)


def test_a_bolt_twists_like_round_bars_in_series():
    # Roark, table 10.1: T/φ = G π d⁴/(32 l). M20x2.5 by ISO 898-1, 9.1.6.1: A_s = 245 mm², d3 = 16.933 mm;
    # ends of 10 mm by VDI 2230-1 (from memory)
    found = bolt_twist_stiffness(parse_thread("M20"), 0.06, 80e9)
    stress = math.sqrt(4 * 244.8e-6 / math.pi)
    twist = 32.0 / (math.pi * 80e9) * (0.01 / 0.02**4 + 0.06 / stress**4 + 0.01 / 0.016933**4)
    assert found == pytest.approx(1.0 / twist, rel=1e-3)
    longer = bolt_twist_stiffness(parse_thread("M20"), 0.12, 80e9)
    assert 1.0 / longer - 1.0 / found == pytest.approx(32.0 * 0.06 / (math.pi * 80e9 * stress**4), rel=1e-3)


@pytest.mark.parametrize(
    "wrong",
    [
        lambda: bolt_twist_stiffness(parse_thread("M20"), 0.0),
        lambda: Layer(0.0, STEEL),
        lambda: Layer(0.01, -1.0),
        lambda: stack_stiffness([], 0.02, 0.03),
        lambda: stack_stiffness([Layer(0.01, STEEL)], 0.03, 0.02),
        lambda: frustum_stiffness(Layer(0.01, STEEL), 0.0, 0.02),
        lambda: wileman_stiffness(0.05, 0.02, STEEL, "wood"),
        lambda: wileman_stiffness(0.0, 0.02, STEEL),
        lambda: bolt_stiffness(parse_thread("M20"), 0.0, 0.0, STEEL),
        lambda: bolt_stiffness(parse_thread("M20"), -0.1, 0.2, STEEL),
    ],
)
def test_what_has_no_stiffness_is_refused(wrong):
    with pytest.raises(BadInput):
        wrong()
