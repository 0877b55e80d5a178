"""ISO 16047:2005, torque/clamp force testing, clause 9 (from memory), and JIS B 1083 for an even pressure."""

import math

import pytest
from scipy.integrate import quad

from strikeproof.joint import (
    Bearing,
    Friction,
    bearing_of,
    estimate_friction,
    estimate_nut_factor,
    estimate_total_friction,
    parse_thread,
    torque_tension,
)

THREAD = parse_thread("M16x1.5")
FRICTION = Friction(thread=0.11, head=0.16)


def test_torque_is_the_sum_the_standard_prints():
    """T = F [P / 2π + 0.577 d2 μ_th + 0.5 Db μ_b], 0.577 standing for 1 / (2 cos 30°): 0.1 %."""
    bearing = Bearing(22.49e-3, 17.5e-3)
    arm = 1.5e-3 / (2 * math.pi) + 0.577 * THREAD.pitch_diameter * 0.11 + 0.5 * 19.995e-3 * 0.16
    assert torque_tension(THREAD, FRICTION, bearing).torque_per_force == pytest.approx(arm, rel=1e-3)


def test_nut_factor_equals_the_form_of_jis_b_1083():
    """K = (1 / 2d) (P / π + μ_s d2 sec 30° + μ_w Dw)."""
    ring = Bearing(22.49e-3, 17.5e-3, rule="annulus")
    terms = (
        1.5e-3 / math.pi
        + 0.11 * THREAD.pitch_diameter / math.cos(math.pi / 6)
        + 0.16 * ring.friction_diameter
    )
    assert torque_tension(THREAD, FRICTION, ring).nut_factor == pytest.approx(terms / (2 * 16e-3), rel=1e-12)


@pytest.mark.parametrize(("outer", "inner"), [(22.49e-3, 17.5e-3), (50e-3, 20e-3), (10e-3, 0.0)])
def test_annulus_diameter_is_the_moment_of_an_even_pressure(outer, inner):
    """JIS B 1083: Dw = 2/3 (Do³ - Di³) / (Do² - Di²), against the integral it stands for (scipy)."""
    area = math.pi / 4 * (outer**2 - inner**2)
    moment, _ = quad(lambda radius: 2 * math.pi * radius**2 / area, inner / 2, outer / 2)
    assert Bearing(outer, inner, rule="annulus").friction_diameter == pytest.approx(2 * moment, rel=1e-9)


def test_measured_torques_give_back_the_friction_that_made_them():
    tension, load = torque_tension(THREAD, FRICTION), 80e3
    in_thread = load * (tension.pitch_lever + tension.thread_lever)
    found = estimate_friction(THREAD, in_thread, load * tension.bearing_lever, load)
    assert (found.thread, found.head) == pytest.approx((0.11, 0.16))


def test_total_friction_follows_the_printed_formula():
    """μ_tot = (T / F - P / 2π) / (0.577 d2 + 0.5 Db)."""
    ring = bearing_of(THREAD)
    torque, load = 210.0, 80e3
    arm = 0.577 * THREAD.pitch_diameter + 0.5 * ring.friction_diameter
    expected = (torque / load - 1.5e-3 / (2 * math.pi)) / arm
    assert estimate_total_friction(THREAD, torque, load) == pytest.approx(expected, rel=1e-3)
    assert estimate_nut_factor(THREAD, torque, load) == pytest.approx(torque / (load * 16e-3))
