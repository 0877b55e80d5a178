"""Torsional waves in finely lumped rods against the theory of rods.

Sources, from memory: Timoshenko & Goodier, "Theory of Elasticity", longitudinal impact of bars; Graff,
"Wave Motion in Elastic Solids"; Kolsky, "Stress Waves in Solids". Torsion follows the same equation with
c = √(G/ρ) and the impedance Z = I_p √(G ρ).
"""

from __future__ import annotations

import math
from itertools import pairwise

import numpy as np
import pytest

from strikeproof.drivetrain import Joint
from strikeproof.drivetrain.chain import Body, Chain, find_pace, link_chain
from strikeproof.drivetrain.exact import make_outcome, make_room, strike
from strikeproof.drivetrain.propagate import make_memory
from strikeproof.quantity import FloatArray

SHEAR, DENSITY = 79.3e9, 7850.0
WAVE = math.sqrt(SHEAR / DENSITY)
PIECE = 2.0e-3  # m of rod in one lump


def polar(diameter: float) -> float:
    return math.pi * diameter**4 / 32.0


def rod(diameters: list[float], contact: int, stiff: float = 1.0) -> Chain:
    """Lumps of `PIECE`, one diameter each; the joint after lump `contact` is a contact that never pulls."""
    inertias = [DENSITY * polar(d) * PIECE for d in diameters]
    bodies = [Body(f"lump {i}", value) for i, value in enumerate(inertias)]
    joints = []
    for i, (one, two) in enumerate(pairwise(diameters)):
        halves = 0.5 * PIECE / (SHEAR * polar(one)) + 0.5 * PIECE / (SHEAR * polar(two))
        if i == contact:
            joints.append(Joint(i, i + 1, "jaw", stiff / halves))
        else:
            joints.append(Joint(i, i + 1, "bond", 1.0 / halves))
    system = link_chain(bodies, joints)
    names = tuple(b.name for b in bodies)
    window = 3.0 * len(diameters) * PIECE / WAVE
    pace = find_pace(system, window, fineness=1.0, may_settle=False)
    return Chain(system, names, names[:-1], 2 * len(bodies) + 2, pace, 0.0, 0.0, math.inf, 0.0)


def throw(chain: Chain, moving: int, speed: float) -> tuple[FloatArray, FloatArray, FloatArray]:
    """The first `moving` lumps fly at `speed` into the rest: time, speeds and joint torques."""
    n, m = len(chain.bodies), len(chain.joints)
    joints = np.where(chain.system.links[:, 2] == 0, 1, 0).astype(np.int64)
    brakes = np.ones(n, dtype=np.int64)
    x = np.zeros(chain.size)
    x[n : n + moving] = speed
    x[2 * n + 1] = 1.0
    rows = int(3 * chain.pace.window / chain.pace.step) + 500
    outcome, room = make_outcome(n, m, 0, rows, chain.size), make_room(n, m, chain.size)
    strike(chain.system, make_memory(chain.size), chain.pace, 0, joints, brakes, x, outcome, room)
    kept = outcome.motion[: int(outcome.facts[4])]
    return kept[:, 0], kept[:, 1 + n : 1 + 2 * n], kept[:, 1 + chain.size :]


def contact_time(time: FloatArray, torque: FloatArray) -> float:
    """From the first to the last time the contact carries torque."""
    closed = np.flatnonzero(torque > 0.0)
    return float(time[closed[-1]] - time[closed[0]])


def test_equal_rods_part_after_the_wave_went_there_and_back() -> None:
    # duration 2L/c, and the moving rod stops while the other takes all its speed
    lumps = 24
    chain = rod([0.02] * (2 * lumps), lumps - 1)
    time, speeds, torques = throw(chain, lumps, 50.0)
    assert contact_time(time, torques[:, lumps - 1]) == pytest.approx(2 * lumps * PIECE / WAVE, rel=0.06)
    assert speeds[-1, :lumps].mean() == pytest.approx(0.0, abs=1.5)
    assert speeds[-1, lumps:].mean() == pytest.approx(50.0, abs=1.5)


@pytest.mark.parametrize(("short", "long"), [(12, 24), (16, 24)])
def test_short_rod_stops_and_the_apparent_restitution_is_the_ratio_of_lengths(short: int, long: int) -> None:
    # St Venant: contact lasts 2 L1/c, e = L1/L2 for the same section
    chain = rod([0.02] * (short + long), short - 1)
    time, speeds, torques = throw(chain, short, 50.0)
    assert contact_time(time, torques[:, short - 1]) == pytest.approx(2 * short * PIECE / WAVE, rel=0.1)
    apparent = (speeds[-1, short:].mean() - speeds[-1, :short].mean()) / 50.0
    assert apparent == pytest.approx(short / long, abs=0.04)


def test_contact_torque_is_the_impedances_in_series_times_the_speed() -> None:
    # T = Z1 Z2/(Z1 + Z2) Δω while the waves are on their way; lumping rings around it
    lumps, one, two = 24, 0.020, 0.026
    chain = rod([one] * lumps + [two] * lumps, lumps - 1)
    time, _speeds, torques = throw(chain, lumps, 50.0)
    first, second = (polar(d) * math.sqrt(SHEAR * DENSITY) for d in (one, two))
    plateau = (time > 0.5 * lumps * PIECE / WAVE) & (time < 1.5 * lumps * PIECE / WAVE)
    mean = np.trapezoid(torques[plateau, lumps - 1], time[plateau]) / np.ptp(time[plateau])
    assert mean == pytest.approx(first * second / (first + second) * 50.0, rel=0.02)


def test_step_in_section_passes_on_the_torque_that_the_impedances_say() -> None:
    # torque ratio 2 Z2/(Z1 + Z2), energy 4 Z1 Z2/(Z1+Z2)², together with what is reflected
    striker, lumps, one, two = 10, 30, 0.020, 0.028
    chain = rod([one] * (striker + lumps) + [two] * lumps, striker - 1)
    time, _speeds, torques = throw(chain, striker, 50.0)
    first, second = (polar(d) * math.sqrt(SHEAR * DENSITY) for d in (one, two))
    incoming = pulse_torque(time, torques[:, striker + lumps // 4], striker)
    passed = pulse_torque(time, torques[:, striker + lumps + lumps // 3], striker)
    assert incoming == pytest.approx(0.5 * first * 50.0, rel=0.03)
    assert passed / incoming == pytest.approx(2.0 * second / (first + second), rel=0.03)


def pulse_torque(time: FloatArray, torque: FloatArray, striker: int) -> float:
    """Impulse of the first pulse over its length 2 L/c."""
    length = 2.0 * striker * PIECE / WAVE
    arrival = time[np.flatnonzero(torque > 0.5 * torque.max())[0]]
    window = (time > arrival - 0.45 * length) & (time < arrival + 1.35 * length)
    return float(np.trapezoid(torque[window], time[window])) / length


def test_torsional_wave_in_steel_runs_at_the_handbook_speed() -> None:
    # √(G/ρ) = 3178 m/s with G = 79.3 GPa
    lumps = 60
    chain = rod([0.02] * lumps, 3)
    time, speeds, _torques = throw(chain, 4, 50.0)
    arrivals = [time[np.argmax(speeds[:, at] > 12.5)] for at in (20, 50)]
    assert 30 * PIECE / (arrivals[1] - arrivals[0]) == pytest.approx(3178.0, rel=0.02)
