"""The load at which the thread of a bolt or of its nut shears off."""

from __future__ import annotations

import math

from strikeproof.errors import BadInput
from strikeproof.joint.classes import PropertyClass
from strikeproof.joint.limits import tensile_load
from strikeproof.joint.threads import FLANK_ANGLE, Thread

__all__ = ["SHEAR_SHARE", "needed_engagement", "stripping_areas", "stripping_load"]

SHEAR_SHARE = 0.6
"""Shear strength of a steel over its tensile strength. VDI 2230-1:2015, Table A9: 0.60 to 0.65 (from
memory)."""

_USED = 0.8
"""Share of the height whose turns carry: chamfers and the first turn do not. VDI 2230-1: m − 0.8 P (from
memory)."""


def stripping_areas(thread: Thread, height: float) -> tuple[float, float]:
    """Sheared area of the bolt's thread, at the nut's minor diameter, and of the nut's, at the bolt's. [m²]

    A_bolt = π D1 m/P (P/2 + (d2 − D1) tan 30°), A_nut = π d m/P (P/2 + (d − D2) tan 30°), m the height less
    0.8 P.

    Parameters
    ----------
    thread
        Of both, at basic size.
    height
        Of the nut, or engaged length of a tapped hole. [m]

    Raises
    ------
    BadInput
        If the height is no more than one pitch.

    References
    ----------
    VDI 2230-1:2015, eq. (R10/4) and (R10/5); Alexander, E. M., SAE 770420 (from memory).
    """
    if not height > thread.pitch:
        raise BadInput(
            f"an engaged length of {height * 1e3:.4g} mm",
            where="thread",
            allowed=f"more than one pitch, {thread.pitch * 1e3:.4g} mm",
            fix="give the height of the nut or the depth that the thread engages",
        )
    turns = (height - _USED * thread.pitch) / thread.pitch
    flank, half = math.tan(FLANK_ANGLE), thread.pitch / 2
    inner, d2, d = thread.basic_minor_diameter, thread.pitch_diameter, thread.diameter
    bolt = math.pi * inner * turns * (half + (d2 - inner) * flank)
    nut = math.pi * d * turns * (half + (d - d2) * flank)
    return bolt, nut


def stripping_load(
    thread: Thread, property_class: PropertyClass, height: float, nut_strength: float
) -> float:
    """Clamp load at which the weaker thread shears off, widening of the nut left out. [N]

    Compare with `tensile_load`: a bolt that breaks in its shank before it strips is seen, a stripped one is
    not.

    Parameters
    ----------
    thread, property_class
        The bolt.
    height
        Of the nut, or engaged length of a tapped hole. [m]
    nut_strength
        Tensile strength of the nut or of the tapped part. [Pa]

    Raises
    ------
    BadInput
        If the height is no more than one pitch or the class does not cover the thread.

    References
    ----------
    VDI 2230-1:2015, step R10 (from memory).
    """
    bolt, nut = stripping_areas(thread, height)
    return SHEAR_SHARE * min(bolt * property_class.strength(thread).tensile_strength, nut * nut_strength)


def needed_engagement(thread: Thread, property_class: PropertyClass, nut_strength: float) -> float:
    """Height of a nut, or depth of a tapped hole, that lets the bolt break before a thread shears. [m]

    Parameters
    ----------
    thread, property_class
        The bolt.
    nut_strength
        Tensile strength of the nut or of the tapped part. [Pa]

    Raises
    ------
    BadInput
        If the class does not cover the thread.

    References
    ----------
    VDI 2230-1:2015, step R10, solved for the height (from memory).
    """
    idle = _USED * thread.pitch
    turn = stripping_load(thread, property_class, idle + thread.pitch, nut_strength)
    return idle + thread.pitch * tensile_load(thread, property_class) / turn
