"""The screw thread: basic profile, stress area and lead angle, in metres.

ISO metric and unified inch threads share one 60° profile and differ only in how deep the root of a bolt is
taken to be, so a thread here is a diameter, a pitch and the system it belongs to.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Literal

from strikeproof.joint.turning import Hand

__all__ = ["FLANK_ANGLE", "System", "Thread"]

System = Literal["metric", "inch"]

FLANK_ANGLE = math.radians(30.0)
"""Half the thread angle (ISO 68-1, ASME B1.1). [rad]"""

# Depth of a bolt's root below its major diameter, both sides together, as a share of the profile height H.
# Metric: d3 = d1 - H/6 = d - 17/12 H (ISO 898-1:2013, 9.1.6.1). Inch: dr = d - 1.299038 p = d - 3/2 H
# (ASME B1.1-1974 as given under Table 8-2 of Shigley, 9th ed.).
_ROOT_DEPTH: dict[System, float] = {"metric": 17.0 / 12.0, "inch": 3.0 / 2.0}


@dataclass(frozen=True, slots=True)
class Thread:
    """A single-start external thread.

    Parameters
    ----------
    designation
        As a standard writes it: "M24x2", "3/4-16 UNF".
    system
        "metric" (ISO 68-1) or "inch" (ASME B1.1).
    diameter
        Basic major diameter d. [m]
    pitch
        Distance from one crest to the next, P. [m]
    hand
        Which way it winds; a left-hand one is tightened anticlockwise.
    shank
        Thinnest part of the bolt's shank, where it is turned down; None where the thread is the weakest. [m]
    """

    designation: str
    system: System
    diameter: float
    pitch: float
    hand: Hand = "right"
    shank: float | None = None

    @property
    def profile_height(self) -> float:
        """Height H of the sharp triangle, √3/2 P (ISO 68-1). [m]"""
        return math.sqrt(0.75) * self.pitch

    @property
    def pitch_diameter(self) -> float:
        """Basic pitch diameter d2 = d - 3/4 H = d - 0.649519 P (ISO 724, ASME B1.1). [m]"""
        return self.diameter - 0.75 * self.profile_height

    @property
    def basic_minor_diameter(self) -> float:
        """Basic minor diameter d1 = d - 5/4 H = d - 1.082532 P (ISO 724). [m]"""
        return self.diameter - 1.25 * self.profile_height

    @property
    def minor_diameter(self) -> float:
        """Diameter at the root of the bolt: d3 of ISO 898-1 or dr of Shigley, Table 8-2. [m]"""
        return self.diameter - _ROOT_DEPTH[self.system] * self.profile_height

    @property
    def stress_diameter(self) -> float:
        """Diameter of the stress area, the mean of pitch and root diameter: d0 of VDI 2230-1. [m]"""
        return (self.pitch_diameter + self.minor_diameter) / 2

    @property
    def stress_area(self) -> float:
        """Area that carries tension: π/4 (d - 0.938194 P)² metric, π/4 (d - 0.974279 P)² inch.

        [m²] ISO 898-1:2013, 9.1.6.1; ASME B1.1.
        """
        return math.pi / 4 * self.stress_diameter**2

    @property
    def carrying_diameter(self) -> float:
        """Diameter of the weakest section: of the stress area, or of a shank that is thinner. [m]

        VDI 2230-1 (from memory): a bolt with a reduced shank is rated by d_T and A_T in place of d_0 and A_S.
        """
        return self.stress_diameter if self.shank is None else min(self.stress_diameter, self.shank)

    @property
    def carrying_area(self) -> float:
        """Area of the weakest section. [m²]"""
        return math.pi / 4 * self.carrying_diameter**2

    @property
    def lead_angle(self) -> float:
        """Slope of the helix at the pitch diameter, atan(P / π d2). [rad]"""
        return math.atan(self.pitch / (math.pi * self.pitch_diameter))

    def __str__(self) -> str:
        return self.designation
