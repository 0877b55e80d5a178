"""The hammer mechanisms: what drives the hammer between blows, as plain numbers in SI units."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import TypeAlias

from strikeproof.drivetrain.bounds import Range, check_fields, require

__all__ = ["AirHammer", "Mechanism", "OilPulse", "SpringCam"]

SPEED = Range(1.0, 5000.0, "rad/s")
SHARE = Range(0.0, 1.0, "")
BACK = Range(0.01, 4 * math.pi, "rad")


def _require_end(where: str, value: float, allowed: Range) -> None:
    """Refuse an end of the way back that is out of range; `inf` is none."""
    if value != math.inf:
        require(value, allowed, where=where)


@dataclass(frozen=True, slots=True)
class AirHammer:
    """Pin or twin hammer on an air motor: J dω/dt = T_stall (1 − ω/ω_free) over one free travel.

    Parameters
    ----------
    stall_torque
        Torque of the motor at rest, as it reaches the hammer. [N·m]
    free_speed
        Speed at which it pushes no more. [rad/s]
    travel
        Angle from one jaw to the next: a turn or half a turn. [rad]
    dwell
        Time between the end of the travel and the next travel's start that is not motion. [s]
    rebound_share
        Share of the rebound's kinetic energy with which the hammer flies back, 0 to 1; the rest is lost.
    back_travel
        Angle back from the jaw at which the hammer meets the rear contact, `inf` for none. [rad]
    """

    stall_torque: float
    free_speed: float
    travel: float = 2.0 * math.pi
    dwell: float = 0.0
    rebound_share: float = 1.0
    back_travel: float = math.inf

    def __post_init__(self) -> None:
        check_fields(
            "mechanism",
            self,
            stall_torque=Range(0.01, 1e4, "N·m"),
            free_speed=SPEED,
            travel=Range(0.1, 4 * math.pi, "rad"),
            dwell=Range(0.0, 1.0, "s"),
            rebound_share=SHARE,
        )
        _require_end("mechanism.back_travel", self.back_travel, BACK)


@dataclass(frozen=True, slots=True)
class SpringCam:
    """Spring and cam: the spring's energy plus a share of what the rebound brings back, at the motor's beat.

    Parameters
    ----------
    spring_energy
        Energy that the cam winds into the spring for every blow. [J]
    rebound_share
        Share of the rebound's kinetic energy that the spring gives back, 0 to 1.
    interval
        Time from blow to blow. [s]
    most_energy
        That the spring holds where the hammer meets the rear end of the cam, `inf` for no end; a spring wound
        further for every blow holds that. [J]
    """

    spring_energy: float
    rebound_share: float = 0.5
    interval: float = 1.0 / 42.0
    most_energy: float = math.inf

    def __post_init__(self) -> None:
        check_fields(
            "mechanism",
            self,
            spring_energy=Range(0.01, 1e4, "J"),
            rebound_share=SHARE,
            interval=Range(1e-3, 1.0, "s"),
        )
        _require_end("mechanism.most_energy", self.most_energy, Range(0.01, 1e5, "J"))


@dataclass(frozen=True, slots=True)
class OilPulse:
    """Oil pulse: driven like an air hammer, but the jaw is a cushion of oil that leaks.

    Parameters
    ----------
    leak_time
        Relaxation time of the Maxwell element in place of the jaw, 1-5 ms. [s]
    rebound_share, back_travel
        As of `AirHammer`.
    """

    stall_torque: float
    free_speed: float
    leak_time: float
    travel: float = 2.0 * math.pi
    dwell: float = 0.0
    rebound_share: float = 1.0
    back_travel: float = math.inf

    def __post_init__(self) -> None:
        check_fields(
            "mechanism",
            self,
            stall_torque=Range(0.01, 1e4, "N·m"),
            free_speed=SPEED,
            leak_time=Range(1e-4, 1.0, "s"),
            travel=Range(0.1, 4 * math.pi, "rad"),
            dwell=Range(0.0, 1.0, "s"),
            rebound_share=SHARE,
        )
        _require_end("mechanism.back_travel", self.back_travel, BACK)


Mechanism: TypeAlias = AirHammer | SpringCam | OilPulse
