"""Between blows: how each mechanism brings the hammer back to speed."""

from __future__ import annotations

import math
from dataclasses import replace

import numpy as np

from strikeproof.drivetrain.bounds import Range, require
from strikeproof.drivetrain.records import AirHammer, OilPulse, SpringCam, ToolModel
from strikeproof.kernels import kernel
from strikeproof.quantity import FloatArray

__all__ = ["at_supply", "find_stall_torque", "pack_mechanism", "recover"]

# entries of a packed mechanism
BY_SPRING, HAMMER_INERTIA, PUSH, FREE, TRAVEL, PAUSE, SHARE, REAR = range(8)

# Rebound over speed of late blows on a tight bolt, at which declared speeds and rates are understood: 0.49 to
# 0.83, middle 0.75, on the tools of all classes, bolts M12 to M30 with their shank (computed here).
USUAL_REBOUND = 0.75
# Speed that a hammer keeps at the rear contact, as at its jaws (estimate, no source).
REAR_RESTITUTION = 0.6


def pack_mechanism(tool: ToolModel) -> FloatArray:
    """The mechanism in numbers for the kernels.

    Kind, inertia, then stall torque, free speed, travel and dwell of a motor, or energy, nothing twice and
    interval of a spring; share of the rebound's energy that returns; where the way back ends: an angle of a
    motor's hammer, an energy of a spring.

    Returns
    -------
    (8,) [-, kg·m²; N·m, rad/s, rad, s, -, rad of a motor; J, -, -, s, -, J of a spring]
    """
    drive = tool.mechanism
    if isinstance(drive, SpringCam):
        spring = drive.spring_energy, 0.0, 0.0, drive.interval, drive.rebound_share, drive.most_energy
        return np.array([1.0, tool.hammer_inertia, *spring])
    motor = drive.stall_torque, drive.free_speed, drive.travel, drive.dwell
    return np.array([0.0, tool.hammer_inertia, *motor, drive.rebound_share, drive.back_travel])


@kernel(nogil=True, error_model="numpy")
def _run_up(start: float, free: float, constant: float, travel: float) -> tuple[float, float]:
    """Speed after and time of a travel that begins at `start` rad/s, ω = ω_f − (ω_f − ω_0) e^(−t/τ)."""
    total = free - start
    time = (travel + total * constant) / free  # later than the root: no overshoot below it
    for _ in range(60):
        decay = np.exp(-time / constant)
        angle = free * time - total * constant * (1.0 - decay)
        change = (angle - travel) / (free - total * decay)
        time -= change
        if abs(change) < 1e-12 * time:
            break
    return free - total * np.exp(-time / constant), time


@kernel(nogil=True, error_model="numpy")
def _fly_back(back: float, free: float, constant: float, rear: float) -> tuple[float, float]:
    """Speed with which a hammer meets the rear contact at angle `rear`, and when.

    No speed and the time 0 where the motor turns it before.
    """
    total = free + back
    turn = constant * np.log(total / free)
    if back * constant - free * turn <= rear:
        return 0.0, 0.0
    time = 0.0
    for _ in range(60):  # the angle is convex in time and falls: Newton's method from 0 comes from one side
        decay = np.exp(-time / constant)
        angle = free * time - total * constant * (1.0 - decay)
        change = (angle + rear) / (free - total * decay)
        time -= change
        if abs(change) < 1e-12 * time:
            break
    return total * np.exp(-time / constant) - free, time


@kernel(nogil=True, error_model="numpy")
def recover(drive: FloatArray, rebound: float) -> tuple[float, float]:
    """Speed of the next blow [rad/s] and the time until it [s], after a rebound at `rebound` rad/s.

    Of the rebound's energy a share returns, so the hammer flies back at √share of the speed, ω_r. Motor:
    ω = ω_f − (ω_f + ω_r) e^(−t/τ) with τ = J ω_f/T_stall, integrated to the angle of travel and solved for t
    by Newton's method; a hammer that meets the rear contact before the motor turns it comes off it with
    `REAR_RESTITUTION` of its speed. Spring: ½ J ω² = E + ½ J ω_r², no more than the spring holds. A hammer
    that still goes forward starts from rest, for the jaw holds it until the clutch releases.

    Parameters
    ----------
    drive : (8,)
        As `pack_mechanism` gives it.
    rebound
        Backward speed after the blow. [rad/s]

    References
    ----------
    Derived here (docs/drivetrain.md, Equations: between blows).
    """
    back = np.sqrt(drive[SHARE]) * max(rebound, 0.0)
    if drive[BY_SPRING] > 0.5:
        energy = drive[PUSH] + 0.5 * drive[HAMMER_INERTIA] * back * back
        energy = min(energy, max(drive[REAR], drive[PUSH]))
        return np.sqrt(2.0 * energy / drive[HAMMER_INERTIA]), drive[PAUSE]
    free, travel = drive[FREE], drive[TRAVEL]
    constant = drive[HAMMER_INERTIA] * free / drive[PUSH]
    met, spent = _fly_back(back, free, constant, drive[REAR])
    start = -back
    if met > 0.0:
        start, travel = min(REAR_RESTITUTION * met, free), travel + drive[REAR]
    speed, time = _run_up(start, free, constant, travel)
    return speed, spent + time + drive[PAUSE]


def find_stall_torque(
    inertia: float, speed: float, free_speed: float, travel: float, share: float, back_travel: float
) -> float:
    """Stall torque of the motor that brings the hammer to `speed` after the usual rebound. [N·m]

    Bisection on its logarithm, since the speed rises with the torque.

    Parameters
    ----------
    inertia
        Of the hammer. [kg·m²]
    speed
        At the blow, below `free_speed`. [rad/s]
    free_speed
        At which the motor pushes no more. [rad/s]
    travel
        From one jaw to the next. [rad]
    share
        Of the rebound's energy that returns.
    back_travel
        From the jaw back to the rear contact. [rad]
    """
    low, high = math.log(1e-3), math.log(1e5)
    for _ in range(80):
        middle = 0.5 * (low + high)
        drive = np.array([0.0, inertia, math.exp(middle), free_speed, travel, 0.0, share, back_travel])
        reached, _time = recover(drive, USUAL_REBOUND * speed)
        low, high = (middle, high) if reached < speed else (low, middle)
    return math.exp(0.5 * (low + high))


def at_supply(tool: ToolModel, ratio: float) -> ToolModel:
    """The tool at another supply: `ratio` is pressure or voltage over that of its declared values.

    A motor's stall torque goes with the supply and its free speed with the square root (air, M); a spring's
    beat goes with the voltage and a third of its energy with the square, for the spring itself is wound
    by geometry (M).

    Parameters
    ----------
    tool
        At its rated supply.
    ratio
        0.2 to 2.

    Raises
    ------
    BadInput
        If the ratio is out of range.

    References
    ----------
    Engineering estimates, no source (docs/drivetrain.md, Equations).
    """
    require(
        ratio,
        Range(0.2, 2.0, ""),
        where="tool.supply",
        fix="stay between a fifth and twice the rated supply",
    )
    drive = tool.mechanism
    if isinstance(drive, SpringCam):
        energy = drive.spring_energy * (2.0 + ratio**2) / 3.0
        changed: AirHammer | SpringCam | OilPulse = replace(
            drive, spring_energy=energy, interval=drive.interval / ratio
        )
    else:
        changed = replace(
            drive, stall_torque=drive.stall_torque * ratio, free_speed=drive.free_speed * math.sqrt(ratio)
        )
    moved = replace(tool, mechanism=changed)
    speed, _time = recover(pack_mechanism(moved), 0.0)
    before, _time = recover(pack_mechanism(tool), 0.0)
    return replace(moved, first_speed=tool.first_speed * speed / before)
