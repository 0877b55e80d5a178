"""How a test bolt tightens and loosens once its friction is known."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any, NamedTuple

from strikeproof.joint import (
    Bearing,
    Friction,
    PropertyClass,
    Thread,
    TorqueTension,
    assembly_preload,
    torque_tension,
    total_friction,
)

__all__ = ["FRICTION_SPREAD", "BoltLine", "TighteningFacts", "describe_tightening"]

# Friction recomputed from two published samples of M12x1.25 bolts tightened to 90 N·m scatters by 17 % (dry,
# 20 bolts) and 9 % (oiled, 10 bolts), one standard deviation: Shigley, 9th ed., Tables 8-13 and 8-14.
FRICTION_SPREAD = 0.20
"""Relative change of both coefficients for which the clamp load's spread is given."""


class BoltLine(NamedTuple):
    """A fact of a bolt with its unit; `is_published` where a published page gives it, too."""

    label: str
    value: float | str
    unit: str = ""
    is_published: bool = False


@dataclass(frozen=True, slots=True)
class TighteningFacts:
    """What follows once friction is known.

    Parameters
    ----------
    friction
        In the thread and under the head.
    total_friction
        The one coefficient that gives the same torque.
    tension
        Levers between torque and clamp load.
    allowed_torque, loosening_torque
        At the allowed clamp load. [N·m]
    lowest_load, highest_load
        Clamp load at `allowed_torque` when friction is `FRICTION_SPREAD` higher and lower. [N]
    assembly_preload, assembly_torque
        Where tension and twist together reach 0.9 of the yield strength. [N, N·m]
    """

    friction: Friction
    total_friction: float
    tension: TorqueTension
    allowed_torque: float
    loosening_torque: float
    lowest_load: float
    highest_load: float
    assembly_preload: float
    assembly_torque: float

    def as_json(self) -> dict[str, Any]:
        """All facts under keys that carry their unit."""
        tension, friction = self.tension, self.friction
        return {
            "friction": {"thread": friction.thread, "head": friction.head, "total": self.total_friction},
            "nut_factor": tension.nut_factor,
            "torque_per_clamp_load_mm": tension.torque_per_force * 1e3,
            "tightening_torque_at_allowed_nm": self.allowed_torque,
            "loosening_torque_at_allowed_nm": self.loosening_torque,
            "clamp_load_spread_at_allowed_torque": {
                "friction_change_percent": 100 * FRICTION_SPREAD,
                "low_n": self.lowest_load,
                "high_n": self.highest_load,
            },
            "assembly_preload_n": self.assembly_preload,
            "assembly_torque_nm": self.assembly_torque,
            "shares": {
                "pitch": tension.pitch_share,
                "thread": tension.thread_share,
                "bearing": tension.bearing_share,
            },
        }

    def rows(self) -> list[BoltLine]:
        """Every fact."""
        tension, percent = self.tension, f"{100 * FRICTION_SPREAD:.0f} %"
        return [
            BoltLine("friction, thread", self.friction.thread, ""),
            BoltLine("friction, head", self.friction.head, ""),
            BoltLine("friction, total", self.total_friction, "", is_published=True),
            BoltLine("nut factor K", tension.nut_factor, "", is_published=True),
            BoltLine("torque per clamp load", tension.torque_per_force * 1e3, "N·m/kN", is_published=True),
            BoltLine("tightening torque at allowed load", self.allowed_torque, "N·m", is_published=True),
            BoltLine("loosening torque at allowed load", self.loosening_torque, "N·m"),
            BoltLine(
                f"clamp load then, friction {percent} higher", self.lowest_load / 1e3, "kN", is_published=True
            ),
            BoltLine(
                f"clamp load then, friction {percent} lower", self.highest_load / 1e3, "kN", is_published=True
            ),
            BoltLine("clamp load at 90 % of yield, tightened", self.assembly_preload / 1e3, "kN"),
            BoltLine("torque for it", self.assembly_torque, "N·m"),
            BoltLine("share of torque, pitch", 100 * tension.pitch_share, "%"),
            BoltLine("share of torque, thread friction", 100 * tension.thread_share, "%"),
            BoltLine("share of torque, head friction", 100 * tension.bearing_share, "%"),
        ]


def describe_tightening(
    thread: Thread, property_class: PropertyClass, bearing: Bearing, friction: Friction, allowed: float
) -> TighteningFacts:
    """All that follows from friction for a bolt allowed a clamp load. [N]

    Raises
    ------
    BadInput
        If the class does not cover the thread.
    """
    tension = torque_tension(thread, friction, bearing)
    torque = tension.torque(allowed)
    preload = assembly_preload(thread, property_class, friction)
    return TighteningFacts(
        friction=friction,
        total_friction=total_friction(thread, friction, bearing),
        tension=tension,
        allowed_torque=torque,
        loosening_torque=tension.loosening_torque(allowed),
        lowest_load=tension.with_friction_changed(1 + FRICTION_SPREAD).clamp_load(torque),
        highest_load=tension.with_friction_changed(1 - FRICTION_SPREAD).clamp_load(torque),
        assembly_preload=preload,
        assembly_torque=tension.torque(preload),
    )
