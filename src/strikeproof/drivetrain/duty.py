"""The mechanism that does what is declared of a tool: its speed, its rate, what it returns of the rebound."""

from __future__ import annotations

import math
from dataclasses import dataclass, replace

from strikeproof.drivetrain.mechanism import USUAL_REBOUND, find_stall_torque, pack_mechanism, recover
from strikeproof.drivetrain.records import AirHammer, Mechanism, OilPulse, SpringCam, ToolModel

__all__ = ["Duty", "find_mechanism"]

LEAK_TIME = 2.2e-3  # s, geometric middle of 1-5 ms
FREE_SPEED = 900.0  # rad/s, about 8 600 1/min
BACK_OF_TRAVEL = 0.75  # way back to the rear contact: both jaws fill a quarter of the way from jaw to jaw
MOST_OF_ENERGY = 1.25  # that the spring holds at the cam's rear end, of a blow's
TRAVELS = (2.0 * math.pi, math.pi)  # one blow a turn, or two


@dataclass(frozen=True, slots=True)
class Duty:
    """What a mechanism has to do in late blows on a tight bolt.

    Attributes
    ----------
    inertia, speed
        Of the hammer. [kg·m², rad/s]
    rate
        Blows a second. [Hz]
    share
        Of the rebound's energy, that returns to the next blow.
    """

    inertia: float
    speed: float
    rate: float
    share: float


def find_mechanism(mechanism: str, duty: Duty) -> tuple[Mechanism, float]:
    """The mechanism that reaches this speed after the usual rebound, at this rate, and the most rate [Hz].

    One blow a turn where the rate leaves time for it, else two.

    Parameters
    ----------
    mechanism
        One of `MECHANISMS`.
    duty
        What it has to do.

    References
    ----------
    Derived here (docs/drivetrain.md, Equations: between blows); the rear contact is an estimate, no source.
    """
    if mechanism == "spring-and-cam":
        energy = 0.5 * duty.inertia * duty.speed**2
        wound = energy * (1.0 - duty.share * USUAL_REBOUND**2)
        drive = SpringCam(wound, duty.share, 1.0 / duty.rate, MOST_OF_ENERGY * energy)
        return drive, duty.speed / math.pi  # half a turn from jaw to jaw at full speed all the way
    free = max(FREE_SPEED, 1.5 * duty.speed)
    for travel in TRAVELS:
        back = BACK_OF_TRAVEL * travel
        stall = find_stall_torque(duty.inertia, duty.speed, free, travel, duty.share, back)
        motor = AirHammer(stall, free, travel, 0.0, duty.share, back)
        packed = pack_mechanism(ToolModel("", motor, duty.inertia, 1.0, 1e-5, 1e4))
        _speed, time = recover(packed, USUAL_REBOUND * duty.speed)
        if time * duty.rate <= 1.0:
            break
    dwell = max(0.0, 1.0 / duty.rate - time)
    if mechanism == "air":
        return replace(motor, dwell=dwell), 1.0 / time
    return OilPulse(stall, free, LEAK_TIME, travel, dwell, duty.share, back), 1.0 / time
