"""Whether tension and torsion together make a bolt yield: von Mises at the weakest section."""

from __future__ import annotations

import math
from dataclasses import dataclass

from strikeproof.joint.classes import PropertyClass
from strikeproof.joint.threads import Thread

__all__ = ["BoltYield", "bolt_yield"]


@dataclass(frozen=True, slots=True)
class BoltYield:
    """Where a bolt yields: (F / tension)² + (M / torsion)² = 1.

    Parameters
    ----------
    tension
        Clamp load that does it alone. [N]
    torsion
        Torque in the shank that does it alone. [N·m]
    """

    tension: float
    torsion: float

    def load(self, lever: float) -> float:
        """Clamp load at which the bolt yields while the shank carries `lever` [m] times that load. [N]"""
        return self.tension / math.hypot(1.0, lever * self.tension / self.torsion)


def bolt_yield(thread: Thread, property_class: PropertyClass) -> BoltYield:
    """The yield of a bolt as weak as its class allows.

    σ = F/A and τ = M/W with W = π d0³/12, the section being plastic right through as it yields;
    √(σ² + 3 τ²) = Rp0.2.

    Parameters
    ----------
    thread, property_class
        The bolt.

    Raises
    ------
    BadInput
        If the class does not cover the thread.

    References
    ----------
    VDI 2230-1:2015, step R8 (from memory).
    """
    strength = property_class.strength(thread).yield_strength
    section = math.pi * thread.carrying_diameter**3 / 12.0
    return BoltYield(thread.carrying_area * strength, section * strength / math.sqrt(3.0))
