"""From torque to clamp load and back: ISO 16047 and VDI 2230-1.

A torque divides into three levers, each a length to be multiplied by the clamp load: the pitch, which
stretches the bolt, and friction in the thread and under the head. Loosening reverses friction but not the
pitch.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, replace
from typing import TypeVar

from strikeproof.errors import BadInput
from strikeproof.joint.bearing import Bearing, bearing_of
from strikeproof.joint.classes import PropertyClass
from strikeproof.joint.threads import FLANK_ANGLE, Thread
from strikeproof.quantity import FloatArray

__all__ = [
    "FRICTION_SPREAD",
    "Friction",
    "TorqueTension",
    "assembly_preload",
    "estimate_friction",
    "estimate_nut_factor",
    "estimate_total_friction",
    "torque_tension",
    "total_friction",
]

Values = TypeVar("Values", float, FloatArray)

# Friction recomputed from two published samples of M12x1.25 bolts tightened to 90 N·m scatters by 17 % (dry,
# 20 bolts) and 9 % (oiled, 10 bolts), one standard deviation: Shigley, 9th ed., Tables 8-13 and 8-14.
FRICTION_SPREAD = 0.20
"""Relative change of both coefficients by which a declared friction may be off, where nobody says better."""


@dataclass(frozen=True, slots=True)
class Friction:
    """Coefficients of friction in the thread and under the head, each from 0 to 1.

    Raises
    ------
    BadInput
        If one lies outside.
    """

    thread: float
    head: float

    def __post_init__(self) -> None:
        for place, value in (("thread", self.thread), ("head", self.head)):
            if not 0 <= value <= 1:
                raise BadInput(
                    f"{value:g} is not a coefficient of friction",
                    where=f"{place} friction",
                    allowed="0 to 1",
                    fix="steel on steel lies between about 0.08 (oiled) and 0.20 (dry)",
                )

    @classmethod
    def total(cls, coefficient: float) -> Friction:
        """The same coefficient in both places: μ_tot of ISO 16047."""
        return cls(coefficient, coefficient)


@dataclass(frozen=True, slots=True)
class TorqueTension:
    """How a bolt turns torque into clamp load.

    Parameters
    ----------
    diameter
        Nominal diameter d of the thread. [m]
    pitch_lever
        P / 2π. [m]
    thread_lever, bearing_lever
        Torque that friction in the thread and under the head takes, per clamp load. [m]
    """

    diameter: float
    pitch_lever: float
    thread_lever: float
    bearing_lever: float

    @property
    def torque_per_force(self) -> float:
        """Tightening torque per clamp load. [m]"""
        return self.pitch_lever + self.thread_lever + self.bearing_lever

    @property
    def loosening_torque_per_force(self) -> float:
        """Torque that turns the bolt back, per clamp load; not positive if it would turn by itself. [m]"""
        return self.thread_lever + self.bearing_lever - self.pitch_lever

    @property
    def nut_factor(self) -> float:
        """K = T / (F d) of ISO 16047."""
        return self.torque_per_force / self.diameter

    @property
    def pitch_share(self) -> float:
        """Share of the tightening torque that stretches the bolt."""
        return self.pitch_lever / self.torque_per_force

    @property
    def thread_share(self) -> float:
        """Share of the tightening torque that thread friction takes."""
        return self.thread_lever / self.torque_per_force

    @property
    def bearing_share(self) -> float:
        """Share of the tightening torque that friction under the head takes."""
        return self.bearing_lever / self.torque_per_force

    def torque(self, clamp_load: Values) -> Values:
        """Tightening torque for a clamp load [N]. [N·m]"""
        return clamp_load * self.torque_per_force

    def clamp_load(self, torque: Values) -> Values:
        """Clamp load at a tightening torque [N·m]. [N]"""
        return torque / self.torque_per_force

    def loosening_torque(self, clamp_load: Values) -> Values:
        """Torque that loosens a bolt under a clamp load [N], a positive number. [N·m]"""
        return clamp_load * self.loosening_torque_per_force

    def with_friction_changed(self, factor: float) -> TorqueTension:
        """The same bolt with both coefficients of friction `factor` times as large."""
        return replace(
            self, thread_lever=factor * self.thread_lever, bearing_lever=factor * self.bearing_lever
        )


def torque_tension(thread: Thread, friction: Friction, bearing: Bearing | None = None) -> TorqueTension:
    """The three levers of a bolt.

    T = F [P / 2π + d2 μ_th / (2 cos 30°) + Db μ_b / 2]; the product of lead angle and friction, 0.3 % of the
    torque at most in practice, is left out as in both standards.

    Parameters
    ----------
    thread
        The bolt's thread.
    friction
        In the thread and under the head.
    bearing
        The ring the head turns on; by default that of the usual hexagon head.

    References
    ----------
    ISO 16047:2005, clause 9. VDI 2230-1:2015, eq. R13/1.
    """
    ring = bearing or bearing_of(thread)
    return TorqueTension(
        diameter=thread.diameter,
        pitch_lever=thread.pitch / (2 * math.pi),
        thread_lever=friction.thread * _thread_arm(thread),
        bearing_lever=friction.head * ring.friction_diameter / 2,
    )


def total_friction(thread: Thread, friction: Friction, bearing: Bearing | None = None) -> float:
    """The one coefficient that gives the same torque in both places, μ_tot of ISO 16047:2005, clause 9.

    Parameters
    ----------
    thread
        The bolt's thread.
    friction
        In the thread and under the head.
    bearing
        The ring the head turns on; by default that of the usual hexagon head.
    """
    in_thread = _thread_arm(thread)
    under_head = (bearing or bearing_of(thread)).friction_diameter / 2
    return (friction.thread * in_thread + friction.head * under_head) / (in_thread + under_head)


def estimate_total_friction(
    thread: Thread, torque: float, clamp_load: float, bearing: Bearing | None = None
) -> float:
    """μ_tot from a measured torque and the clamp load it gave (ISO 16047:2005, clause 9).

    Parameters
    ----------
    thread
        The bolt's thread.
    torque
        Tightening torque, thread and head together. [N·m]
    clamp_load
        Measured at that torque, > 0. [N]
    bearing
        The ring the head turns on; by default that of the usual hexagon head.

    Raises
    ------
    BadInput
        If the clamp load is not positive, or larger than the torque gives without any friction.
    """
    ring = bearing or bearing_of(thread)
    arm = _thread_arm(thread) + ring.friction_diameter / 2
    return _friction_torque(thread, torque, clamp_load) / (arm * clamp_load)


def estimate_friction(
    thread: Thread,
    thread_torque: float,
    head_torque: float,
    clamp_load: float,
    bearing: Bearing | None = None,
) -> Friction:
    """Both coefficients from the two parts of a torque, measured apart, and the clamp load.

    ISO 16047:2005, clause 9.

    Parameters
    ----------
    thread
        The bolt's thread.
    thread_torque
        What the shank carries: friction in the thread and the pitch's part. [N·m]
    head_torque
        What friction under the head takes. [N·m]
    clamp_load
        Measured at that torque, > 0. [N]
    bearing
        The ring the head turns on; by default that of the usual hexagon head.

    Raises
    ------
    BadInput
        If the clamp load is not positive, or larger than the torque gives without any friction.
    """
    ring = bearing or bearing_of(thread)
    in_thread = _friction_torque(thread, thread_torque, clamp_load) / (_thread_arm(thread) * clamp_load)
    return Friction(thread=in_thread, head=2 * head_torque / (ring.friction_diameter * clamp_load))


def estimate_nut_factor(thread: Thread, torque: float, clamp_load: float) -> float:
    """K = T / (F d) from a measured torque and the clamp load it gave (ISO 16047:2005, clause 9).

    Parameters
    ----------
    thread
        Gives the nominal diameter d.
    torque
        Tightening torque, thread and head together. [N·m]
    clamp_load
        Measured at that torque, > 0. [N]

    Raises
    ------
    BadInput
        If the clamp load is not positive.
    """
    _require_load(clamp_load)
    return torque / (clamp_load * thread.diameter)


def assembly_preload(
    thread: Thread, property_class: PropertyClass, friction: Friction, yield_share: float = 0.9
) -> float:
    """Clamp load at which tension and twist together reach a share of the yield strength. [N]

    F = A v Rp0.2 / √(1 + 3 [3/2 d2/d0 (P / (π d2) + μ_th / cos 30°)]²)

    Parameters
    ----------
    thread, property_class
        The bolt.
    friction
        Only that in the thread twists the bolt.
    yield_share
        v, the part of the yield strength to be used; 0.9 in the standard's tables.

    Raises
    ------
    BadInput
        If the class does not cover the thread.

    References
    ----------
    VDI 2230-1:2015, step R8 and Tables A1, A2.
    """
    d2, d0 = thread.pitch_diameter, thread.carrying_diameter
    twist = 1.5 * d2 / d0 * (thread.pitch / (math.pi * d2) + friction.thread / math.cos(FLANK_ANGLE))
    strength = property_class.strength(thread).yield_strength
    return thread.carrying_area * yield_share * strength / math.sqrt(1 + 3 * twist**2)


def _thread_arm(thread: Thread) -> float:
    """Lever of thread friction at μ = 1, d2 / (2 cos 30°) = 0.577 d2. [m]"""
    return thread.pitch_diameter / (2 * math.cos(FLANK_ANGLE))


def _friction_torque(thread: Thread, torque: float, clamp_load: float) -> float:
    """What is left of a torque when the pitch's part is removed. [N·m]"""
    _require_load(clamp_load)
    left = torque - clamp_load * thread.pitch / (2 * math.pi)
    if left < 0:
        raise BadInput(
            f"{torque:g} N·m is less than {clamp_load:g} N needs without any friction",
            where="torque",
            allowed="more torque, or less clamp load",
            fix="check both readings and their units",
        )
    return left


def _require_load(clamp_load: float) -> None:
    if not clamp_load > 0:
        raise BadInput(
            f"a clamp load of {clamp_load:g} N says nothing about friction",
            where="clamp load",
            allowed="more than 0 N",
            fix="take a reading under load",
        )
