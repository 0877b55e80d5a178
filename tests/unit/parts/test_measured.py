from __future__ import annotations

import math

import numpy as np
import pytest
from scipy.integrate import solve_ivp
from tests.unit.parts.examples import article, socket

from strikeproof.errors import BadInput
from strikeproof.parts import Measured, Swing, inertia_from_swing, work_out

SWING = Swing(3, Measured(1.2, 0.002), Measured(0.6, 0.001), Measured(0.05, 0.0002), Measured(0.4, 0.0005))


def test_the_formula_agrees_with_the_exact_motion_of_a_trifilar_swing():
    """The body rises as it turns: ½Iθ̇² + ½mḣ² + mgh with h = L − √(L² − 4r² sin²(θ/2)), integrated at 1°."""
    inertia, mass, length, radius, g = 3e-4, 0.4, 0.6, 0.05, 9.80665

    def height_slope(theta):
        return radius**2 * np.sin(theta) / np.sqrt(length**2 - 4 * radius**2 * np.sin(theta / 2) ** 2)

    def motion(_, state):  # the rising mass itself is of second order in the angle and is left out
        return [state[1], -mass * g * height_slope(state[0]) / inertia]

    def turning(_, state):
        return state[1]

    turning.direction = 1.0
    out = solve_ivp(motion, (0, 5), [math.radians(1), 0.0], events=turning, rtol=1e-10, atol=1e-12)
    period = out.t_events[0][0] * 2  # from rest at one side to rest at the other is half a swing
    swing = Swing(3, Measured(period), Measured(length), Measured(radius), Measured(mass))
    assert inertia_from_swing(swing).value == pytest.approx(inertia, rel=1e-3)


def test_its_uncertainty_is_that_of_a_monte_carlo():
    """JCGM 101: the law of propagation against 200 000 draws; 1 % is three standard errors."""
    rng = np.random.default_rng(7)

    def draw(each):
        return rng.normal(each.value, each.uncertainty, 200_000)

    period, length, radius, mass = (draw(x) for x in (SWING.period, SWING.length, SWING.radius, SWING.mass))
    draws = mass * 9.80665 * radius**2 * period**2 / (4 * math.pi**2 * length)
    found = inertia_from_swing(SWING)
    assert found.uncertainty == pytest.approx(draws.std(), rel=0.01)


def test_a_platform_is_taken_off():
    own = inertia_from_swing(SWING).value
    loaded = Swing(
        3,
        SWING.period,
        SWING.length,
        SWING.radius,
        Measured(0.3),
        Measured(0.1),
        Measured(own / 2, own / 100),
    )
    assert inertia_from_swing(loaded).value == pytest.approx(own / 2)
    with pytest.raises(BadInput, match="platform"):
        inertia_from_swing(
            Swing(3, SWING.period, SWING.length, SWING.radius, SWING.mass, Measured(0.1), Measured(1.0))
        )


def test_a_measured_value_replaces_the_computed_and_the_difference_is_told():
    computed = work_out(article(socket()))
    heavier = computed.mass * 1.02
    measured = {"mass_kg": heavier, "mass_uncertainty_kg": 0.001}
    found = work_out(article(socket(), measured=measured))
    assert found.mass == heavier
    difference = found.differences[0]
    assert difference.quantity == "mass"
    assert difference.percent == pytest.approx(2.0)
    spread = computed.mass * math.hypot(2 * 0.1e-3 / 0.034, 0.005)
    assert difference.uncertainties == pytest.approx(0.02 * computed.mass / math.hypot(spread, 0.001))


def test_a_measured_inertia_scales_the_lumps_and_a_stiffness_the_springs():
    computed = work_out(article(socket()))
    found = work_out(
        article(
            socket(),
            measured={
                "polar_inertia_kg_m2": computed.polar_inertia * 1.1,
                "stiffness_n_m_per_rad": computed.stiffness / 2,
            },
        )
    )
    assert sum(lump.inertia for lump in found.lumps) == pytest.approx(found.polar_inertia)
    assert found.drive_stiffness == pytest.approx(computed.drive_stiffness / 2)


def test_a_swing_in_the_file_gives_the_inertia():
    swing = {"wires": 2, "period_s": 1.0, "wire_length_mm": 600, "spacing_mm": 60, "mass_kg": 0.4}
    found = work_out(article(socket(), measured={"swing": swing | {"period_uncertainty_s": 0.002}}))
    by_hand = 0.4 * 9.80665 * 0.03**2 / (4 * math.pi**2 * 0.6)
    assert found.polar_inertia == pytest.approx(by_hand)
    assert found.mass == 0.4
    assert found.differences[1].uncertainties is not None
    three = work_out(article(socket(), measured={"swing": swing | {"wires": 3}}))
    assert three.polar_inertia == pytest.approx(by_hand * 4 / 3)  # s/√3 in place of s/2
