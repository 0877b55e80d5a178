"""How much clamp load a test bolt may carry, and which torque reaches it."""

from __future__ import annotations

from strikeproof.errors import BadInput
from strikeproof.joint.bearing import Bearing
from strikeproof.joint.classes import PropertyClass
from strikeproof.joint.threads import Thread
from strikeproof.joint.tightening import Friction, assembly_preload, torque_tension

__all__ = [
    "REUSED_SHARE",
    "SNUG_SHARE",
    "allowed_clamp_load",
    "allowed_torque",
    "proof_load",
    "snug_load",
    "tensile_load",
    "yield_load",
]

# A test bolt is tightened again and again. Shigley (9th ed., eq. 8-31) preloads fasteners that are to be
# reused to 0.75 of the proof load and permanent ones to 0.90. The rest is needed for the twist of
# tightening, for friction below the assumed one and for a last blow that goes beyond the wanted load.
REUSED_SHARE = 0.75
"""Share of the proof load allowed to a bolt that is used again."""

SNUG_SHARE = 0.10
"""Clamp load of a snug bolt, of its proof load.

Rotational-capacity and turn-of-nut tests of structural bolts begin at 10 % of the smallest installed tension,
which is 0.7 of the tensile strength, about the proof load (ASTM F3125 annex A2, RCSC; from memory). Snug
bolts of a shop reach more: 26 kip of a proof load of 39 kip on 7/8 in A325 (Kulak, Fisher & Struik, *Guide to
Design Criteria for Bolted and Riveted Joints*, fig. 4.18, read second-hand).
"""
_UNKNOWN_PROOF_STRESS = 600e6  # of a bolt whose strength is not given: class 8.8, ISO 898-1 [Pa]


def proof_load(thread: Thread, property_class: PropertyClass) -> float:
    """Load the bolt withstands without lasting stretch: carrying area × proof stress. [N]

    Raises
    ------
    BadInput
        If the class does not cover the thread.

    References
    ----------
    ISO 898-1:2013, Tables 5 and 7, which print it to three digits.
    """
    return thread.carrying_area * property_class.strength(thread).proof_stress


def snug_load(thread: Thread, property_class: PropertyClass | None) -> float:
    """Clamp load of the snug bolt, `SNUG_SHARE` of its proof load. [N]

    Parameters
    ----------
    thread
        The bolt's.
    property_class
        None takes the proof stress of class 8.8, whatever the thread.

    Raises
    ------
    BadInput
        If the class does not cover the thread.
    """
    if property_class is None:
        return SNUG_SHARE * thread.carrying_area * _UNKNOWN_PROOF_STRESS
    return SNUG_SHARE * proof_load(thread, property_class)


def yield_load(thread: Thread, property_class: PropertyClass) -> float:
    """Load at which pure tension reaches the yield strength: carrying area × Rp0.2. [N]

    Raises
    ------
    BadInput
        If the class does not cover the thread.
    """
    return thread.carrying_area * property_class.strength(thread).yield_strength


def tensile_load(thread: Thread, property_class: PropertyClass) -> float:
    """Smallest load at which the bolt may break: carrying area × tensile strength. [N]

    Raises
    ------
    BadInput
        If the class does not cover the thread.

    References
    ----------
    ISO 898-1:2013, Tables 4 and 6, which print it to three digits.
    """
    return thread.carrying_area * property_class.strength(thread).tensile_strength


def allowed_clamp_load(
    thread: Thread,
    property_class: PropertyClass,
    share: float = REUSED_SHARE,
    friction: Friction | None = None,
) -> float:
    """Clamp load allowed to a test bolt: a share of the proof load, or what its twist leaves of it. [N]

    While it is tightened, thread friction twists the bolt too: tension and torsion together may use 90 % of
    its yield strength (`assembly_preload`), which is less than the share where friction is high.

    Parameters
    ----------
    thread, property_class
        The bolt.
    share
        Part of the proof load, more than 0 and at most 1; see `REUSED_SHARE`.
    friction
        None where it is not known: then twist is left out.

    Raises
    ------
    BadInput
        If the share is out of range or the class does not cover the thread.

    References
    ----------
    VDI 2230-1:2015, step R8.
    """
    if not 0 < share <= 1:
        raise BadInput(
            f"{share:g} is not a share of the proof load",
            where="share of proof load",
            allowed="more than 0, at most 1",
            fix=f"{REUSED_SHARE:g} is usual for a bolt that is used again",
        )
    most = share * proof_load(thread, property_class)
    return most if friction is None else min(most, assembly_preload(thread, property_class, friction))


def allowed_torque(
    thread: Thread,
    property_class: PropertyClass,
    friction: Friction,
    share: float = REUSED_SHARE,
    bearing: Bearing | None = None,
) -> float:
    """Tightening torque that reaches the allowed clamp load. [N·m]

    Parameters
    ----------
    thread, property_class
        The bolt.
    friction
        Assumed in the thread and under the head; the lower, the safer the torque.
    share
        Part of the proof load, more than 0 and at most 1; see `REUSED_SHARE`.
    bearing
        The ring the head turns on; by default that of the usual hexagon head.

    Raises
    ------
    BadInput
        If the share is out of range or the class does not cover the thread.
    """
    load = allowed_clamp_load(thread, property_class, share, friction)
    return torque_tension(thread, friction, bearing).torque(load)
