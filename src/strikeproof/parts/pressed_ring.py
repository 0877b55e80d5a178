"""A thin ring pressed outward at equal distances: its bending, and the force at which it flows."""

from __future__ import annotations

import math

__all__ = ["bending_of_ring", "ring_flow", "ring_tension"]


def bending_of_ring(count: int) -> tuple[float, float]:
    """Bending moment under each force and midway between two, over force times mean radius.

    Parameters
    ----------
    count
        Forces, evenly around, at least 2.

    References
    ----------
    Roark, *Formulas for Stress and Strain*, table 9.2, case 7: (1/θ − cot θ)/2 and (1/sin θ − 1/θ)/2, θ half
    the angle between two forces (from memory).
    """
    half = math.pi / count
    return (1 / half - 1 / math.tan(half)) / 2, (1 / math.sin(half) - 1 / half) / 2


def ring_flow(count: int, bore: float, outside: float) -> float:
    """Each force over length and yield stress at which a ring flows: hinges under the forces and between. [m]

    A lower bound: in every section the greatest hoop force and the mean of the two moments, and no restraint
    along the axis.

    Parameters
    ----------
    count
        Forces, evenly around, at least 2.
    bore, outside
        Diameters, outside > bore. [m]

    References
    ----------
    M = Y t²/4 (1 − (N/(Y t))²), a rectangle bent and pulled: Neal, *The Plastic Methods of Structural
    Analysis*, 3rd ed., ch. 6 (from memory).
    """
    thick, radius = (outside - bore) / 2, (outside + bore) / 4
    moment, full = sum(bending_of_ring(count)) / 2 * radius, thick**2 / 4
    pulled = full / (2 * math.sin(math.pi / count) * thick) ** 2
    return (math.sqrt(moment**2 + 4 * pulled * full) - moment) / (2 * pulled)


def ring_tension(count: int, bore: float, outside: float) -> float:
    """Tension in the bore under each force, over force per length, without a notch. [1/m]

    Parameters
    ----------
    count
        Forces, evenly around, at least 2.
    bore, outside
        Diameters, outside > bore. [m]

    References
    ----------
    Hoop force cot θ/2 and bending of `bending_of_ring`; Roark, table 9.2 (from memory).
    """
    thick, radius = (outside - bore) / 2, (outside + bore) / 4
    hoop = 1 / (2 * math.tan(math.pi / count) * thick)
    return hoop + 6 * bending_of_ring(count)[0] * radius / thick**2
