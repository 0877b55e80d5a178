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
BY_SPRING, HAMMER_INERTIA, PUSH, LIMIT, TRAVEL, PAUSE = range(6)

# rebound over speed on a hard joint; declared speeds are understood at that rebound (M)
USUAL_REBOUND = 0.35


def pack_mechanism(tool: ToolModel) -> FloatArray:
    """The mechanism in numbers for the kernels.

    Kind, inertia, then stall torque, free speed, travel and dwell of a motor, or energy, returned share,
    nothing and interval of a spring.

    Returns
    -------
    (6,) [-, kg·m²; N·m, rad/s, rad, s of a motor; J, -, -, s of a spring]
    """
    drive = tool.mechanism
    if isinstance(drive, SpringCam):
        return np.array(
            [1.0, tool.hammer_inertia, drive.spring_energy, drive.return_share, 0.0, drive.interval]
        )
    return np.array(
        [0.0, tool.hammer_inertia, drive.stall_torque, drive.free_speed, drive.travel, drive.dwell]
    )


@kernel(nogil=True, error_model="numpy")
def recover(drive: FloatArray, rebound: float) -> tuple[float, float]:
    """Speed of the next blow [rad/s] and the time until it [s], after a rebound at `rebound` rad/s.

    Motor: ω = ω_f − (ω_f + ω_r) e^(−t/τ) with τ = J ω_f/T_stall, integrated to the angle of travel and solved
    for t by Newton's method. Spring: ½ J ω² = E + share ½ J ω_r². A hammer that still goes forward starts
    from rest, for the jaw holds it until the clutch releases.

    Parameters
    ----------
    drive : (6,)
        As `pack_mechanism` gives it.
    rebound
        Backward speed after the blow. [rad/s]

    References
    ----------
    Derived here (docs/drivetrain.md, Equations: between blows).
    """
    back = max(rebound, 0.0)
    if drive[BY_SPRING] > 0.5:
        energy = drive[PUSH] + drive[LIMIT] * 0.5 * drive[HAMMER_INERTIA] * back * back
        return np.sqrt(2.0 * energy / drive[HAMMER_INERTIA]), drive[PAUSE]
    constant = drive[HAMMER_INERTIA] * drive[LIMIT] / drive[PUSH]
    total = drive[LIMIT] + back
    time = (drive[TRAVEL] + total * constant) / drive[LIMIT]  # later than the root: no overshoot below it
    for _ in range(60):
        decay = np.exp(-time / constant)
        angle = drive[LIMIT] * time - total * constant * (1.0 - decay)
        speed = drive[LIMIT] - total * decay
        change = (angle - drive[TRAVEL]) / speed
        time -= change
        if abs(change) < 1e-12 * time:
            break
    return drive[LIMIT] - total * np.exp(-time / constant), time + drive[PAUSE]


def find_stall_torque(inertia: float, speed: float, free_speed: float, travel: float) -> float:
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
    """
    low, high = math.log(1e-3), math.log(1e5)
    for _ in range(80):
        middle = 0.5 * (low + high)
        drive = np.array([0.0, inertia, math.exp(middle), free_speed, travel, 0.0])
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
