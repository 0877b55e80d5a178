"""Natural frequencies and Coulomb decay against textbooks.

Rao, "Mechanical Vibrations" (three discs on four shafts seen, the rest from memory); Thomson, "Theory of
Vibration", ex. 12.4-1, Table 12.4-1, p. 389 (inputs and table seen, frequencies recomputed); Den Hartog,
"Mechanical Vibrations", ch. 2, from memory.
"""

from __future__ import annotations

import math

import numpy as np
import pytest

from strikeproof.drivetrain import Joint
from strikeproof.drivetrain.chain import Body, find_pace, link_chain
from strikeproof.drivetrain.exact import make_outcome, make_room, strike
from strikeproof.drivetrain.propagate import make_memory
from strikeproof.drivetrain.system import System, fill_matrix
from strikeproof.quantity import FloatArray

WALL = Body("wall", 1.0, drag=math.inf)


def frequencies(bodies: list[Body], joints: list[Joint]) -> FloatArray:
    """Positive natural frequencies from the engine's own matrix. [rad/s]"""
    system = link_chain(bodies, joints)
    n = len(bodies)
    braked = np.array([0 if math.isinf(body.drag) else 1 for body in bodies])
    matrix = np.zeros((2 * n + 2, 2 * n + 2))
    fill_matrix(system, np.ones(len(joints), dtype=np.int64), braked, matrix)
    free = np.flatnonzero(braked)
    states = np.concatenate([free, n + free])
    roots = np.linalg.eigvals(matrix[np.ix_(states, states)])
    assert np.abs(roots.real).max() < 1e-3 * np.abs(roots.imag).max()
    return np.sort(roots.imag[roots.imag > 1e-3 * np.abs(roots.imag).max()])


def bond(first: int, second: int, stiffness: float) -> Joint:
    return Joint(first, second, "bond", stiffness)


def test_two_free_discs() -> None:
    # ω = √(k (J1 + J2)/(J1 J2)), Den Hartog ch. 2
    found = frequencies([Body("a", 2e-4), Body("b", 5e-4)], [bond(0, 1, 9e3)])
    assert found == pytest.approx([math.sqrt(9e3 * 7e-4 / 1e-7)], rel=1e-9)


def test_two_discs_fixed_at_one_end() -> None:
    # Rao ex. 5.2: kt1 = kt2, J1 = J0, J2 = 2 J0: ω² = (k/4J0)(5 ∓ √17), 0.4682 and 1.5102 times √(k/J0)
    found = frequencies([Body("j2", 2.0), Body("j1", 1.0), WALL], [bond(0, 1, 1.0), bond(1, 2, 1.0)])
    assert found == pytest.approx(np.sqrt((5 + np.array([-1, 1]) * math.sqrt(17)) / 4), rel=1e-9)
    assert found == pytest.approx([0.4682, 1.5102], abs=5e-5)


def test_three_equal_discs_on_four_equal_shafts() -> None:
    # Rao ch. 7: 0.7654, 1.4142, 1.8478 times √(GJ/(l J0)); the walls are both ends
    bodies = [WALL, Body("a", 1.0), Body("b", 1.0), Body("c", 1.0), WALL]
    found = frequencies(bodies, [bond(i, i + 1, 1.0) for i in range(4)])
    assert found == pytest.approx([0.7654, 1.4142, 1.8478], abs=5e-5)


def test_three_discs_of_the_holzer_table() -> None:
    # Thomson ex. 12.4-1: J = 5, 11, 22 kg·m², K = 0.10e6 and 0.20e6 N·m/rad; 123.666 and 202.658 rad/s
    bodies = [Body("a", 5.0), Body("b", 11.0), Body("c", 22.0)]
    found = frequencies(bodies, [bond(0, 1, 0.10e6), bond(1, 2, 0.20e6)])
    assert found == pytest.approx([123.666, 202.658], abs=5e-4)


@pytest.mark.parametrize(
    ("trial", "angles", "torques"),
    [
        (20.0, [1.0, 0.980, 0.9484], [2.000e3, 6.312e3, 14.66e3]),
        (40.0, [1.0, 0.920, 0.799], [8.0e3, 24.19e3, 52.32e3]),
    ],
)
def test_forced_response_repeats_the_holzer_table(
    trial: float, angles: list[float], torques: list[float]
) -> None:
    # Thomson Table 12.4-1: amplitudes and accumulated inertia torques at trial frequencies
    system = link_chain(
        [Body("a", 5.0), Body("b", 11.0), Body("c", 22.0)], [bond(0, 1, 0.10e6), bond(1, 2, 0.20e6)]
    )
    theta, torque = [1.0], []
    for index, body in enumerate(system.bodies):
        torque.append((torque[-1] if torque else 0.0) + body[0] * trial**2 * theta[-1])
        if index < 2:
            theta.append(theta[-1] - torque[-1] / system.springs[index, 0])
    assert theta == pytest.approx(angles, abs=6e-4)
    assert torque == pytest.approx(torques, rel=1.2e-3)


def shaft_and_brake() -> System:
    """Rao ch. 2, pulley on a shaft with Coulomb friction: l = 1 m, d = 50 mm, G = 80 GPa, J = 25, T = 400."""
    stiffness = 8.0e10 * math.pi * 0.05**4 / 32.0
    assert stiffness == pytest.approx(49087.4, abs=0.1)
    return link_chain([Body("pulley", 25.0, drag=400.0), WALL], [bond(0, 1, stiffness)])


def test_pulley_with_coulomb_damping_comes_to_rest_where_rao_says() -> None:
    # θ0 = 6° = 0.10472 rad: six half-cycles, rest at 0.0069352 rad = 0.39736° (recomputed)
    system = shaft_and_brake()
    pace = find_pace(system, 2.0, fineness=8.0, may_settle=False)
    x = np.array([math.radians(6.0), 0.0, 0.0, 0.0, 0.0, 1.0])
    outcome, room = make_outcome(2, 1, 0, 4000, 6), make_room(2, 1, 6)
    brakes = np.zeros(2, dtype=np.int64)
    strike(system, make_memory(6), pace, 0, np.ones(1, dtype=np.int64), brakes, x, outcome, room)
    assert x[0] == pytest.approx(0.0069352, abs=2e-6)
    assert brakes[0] == 0 and x[2] == 0.0
    period = 2.0 * math.pi * math.sqrt(25.0 / system.springs[0, 0])
    rows = outcome.motion[: int(outcome.facts[4])]
    times = rows[rows[:, 3] == 0.0, 0]
    # period unchanged: every half swing takes half of it
    assert np.diff(times)[:4] == pytest.approx(np.full(4, 0.5 * period), rel=1e-5)
    amplitude = np.abs(outcome.motion[: int(outcome.facts[4]), 1])
    # drop of 2 T/k per half swing
    drop = 2.0 * 400.0 / system.springs[0, 0]
    middle = np.abs(outcome.motion[: amplitude.size, 0] / period - 0.5) < 0.1
    assert math.radians(6.0) - amplitude[middle].max() == pytest.approx(drop, rel=1e-3)
