"""How stiff a bolt is and how stiff what it clamps.

Clamped parts are taken as cones of pressure of one half-angle, spreading from either face to the middle
of the grip; parts narrower than the cone are not covered.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass

from strikeproof.errors import BadInput
from strikeproof.joint.threads import Thread

__all__ = [
    "CONE_ANGLE",
    "USUAL_GRIP",
    "Layer",
    "bolt_stiffness",
    "bolt_twist_stiffness",
    "frustum_stiffness",
    "joint_constant",
    "load_per_radian",
    "stack_stiffness",
    "usual_grip",
    "wileman_stiffness",
]

CONE_ANGLE = math.radians(30.0)
"""Half-angle of the cone of pressure (Shigley, 9th ed., section 8-5). [rad]"""

USUAL_GRIP = 3.0
"""Grip over diameter where none is given: a plate and a ring cell under the head.

Common practice, no source. A grip of three to five diameters is a usual rule against loss of preload by
embedding (from memory); the least of it is taken, since a short bolt is tightened the furthest.
"""

STEEL_SHEAR = 79.3e9
"""Modulus of rigidity of carbon steel (Shigley, 9th ed., Table A-5). [Pa]"""

# A and B of km / (E d) = A exp(B d / l); Wileman, Choudhury & Green (1991) in Shigley, 9th ed., Table 8-8.
_WILEMAN = {
    "steel": (0.78715, 0.62873),
    "aluminium": (0.79670, 0.63816),
    "copper": (0.79568, 0.63553),
    "grey iron": (0.77871, 0.61616),
    "general": (0.78952, 0.62914),
}


@dataclass(frozen=True, slots=True)
class Layer:
    """One clamped part: its thickness, > 0 [m], and its Young's modulus, > 0 [Pa].

    Raises
    ------
    BadInput
        If one of them is not positive.
    """

    thickness: float
    modulus: float

    def __post_init__(self) -> None:
        _require_positive("layer thickness", self.thickness)
        _require_positive("Young's modulus", self.modulus)


def frustum_stiffness(layer: Layer, hole: float, face: float, cone_angle: float = CONE_ANGLE) -> float:
    """Stiffness along its axis of a hollow cone that widens through one layer. [N/m]

    k = π E d tan α / ln {[(2 t tan α + D - d)(D + d)] / [(2 t tan α + D + d)(D - d)]}

    Parameters
    ----------
    layer
        Thickness t and modulus E.
    hole
        Diameter d of the hole, > 0. [m]
    face
        Diameter D of the cone's small end, > `hole`. [m]
    cone_angle
        Half-angle α. [rad]

    Raises
    ------
    BadInput
        If `face` is not larger than `hole`, or `hole` not positive.

    References
    ----------
    Shigley, *Mechanical Engineering Design*, 9th ed., eq. (8-19), (8-20).
    """
    _require_positive("hole", hole)
    _require_positive("width of the face around the hole", face - hole)
    wide = face + 2 * layer.thickness * math.tan(cone_angle)
    # The bracket less one, so that the thinnest slice of a layer loses no digits.
    more = 2 * hole * 2 * layer.thickness * math.tan(cone_angle) / ((wide + hole) * (face - hole))
    return math.pi * layer.modulus * hole * math.tan(cone_angle) / math.log1p(more)


def stack_stiffness(
    layers: Sequence[Layer], hole: float, face: float, cone_angle: float = CONE_ANGLE
) -> float:
    """Stiffness of all that is clamped, layer on layer from head to nut, washers included. [N/m]

    Parameters
    ----------
    layers
        From the head down.
    hole
        Diameter of the hole, taken as the bolt's diameter. [m]
    face
        Diameter of the bearing face under head and nut; 1.5 times the bolt's is usual. [m]
    cone_angle
        Half-angle of the cones. [rad]

    Raises
    ------
    BadInput
        If there is no layer or the face is not larger than the hole.

    References
    ----------
    Shigley, 9th ed., eq. (8-18) to (8-22); layers as in example 8-2.
    """
    if not layers:
        raise BadInput("nothing is clamped", where="layers", allowed="one or more", fix="add a layer")
    compliance = 0.0
    for order in (layers, layers[::-1]):
        for depth, slice_ in _upper_half(order):
            start = face + 2 * depth * math.tan(cone_angle)
            compliance += 1 / frustum_stiffness(slice_, hole, start, cone_angle)
    return 1 / compliance


def wileman_stiffness(grip: float, diameter: float, modulus: float, material: str = "general") -> float:
    """Stiffness of clamped parts that are all of one material, from a fit to finite elements. [N/m]

    km = E d A exp(B d / l), for washer faces of 1.5 d.

    Parameters
    ----------
    grip
        Thickness l of all parts. [m]
    diameter
        Of the bolt, d. [m]
    modulus
        Young's modulus E. [Pa]
    material
        "steel", "aluminium", "copper", "grey iron" or "general".

    Raises
    ------
    BadInput
        If the material is not one of these, or a length or modulus is not positive.

    References
    ----------
    Wileman, Choudhury & Green, *J. Mech. Design* 113:432, 1991; Shigley, 9th ed., eq. (8-23), p. 430.
    """
    for what, value in (("grip", grip), ("diameter", diameter), ("Young's modulus", modulus)):
        _require_positive(what, value)
    if material not in _WILEMAN:
        raise BadInput(
            f"no fit for {material!r}", where="material", allowed=", ".join(_WILEMAN), fix="use 'general'"
        )
    a, b = _WILEMAN[material]
    return modulus * diameter * a * math.exp(b * diameter / grip)


def bolt_stiffness(thread: Thread, shank: float, threaded: float, modulus: float) -> float:
    """Stiffness of a bolt along its axis between head and nut. [N/m]

    kb = Ad At E / (Ad lt + At ld)

    Parameters
    ----------
    thread
        Gives the full area Ad and the stress area At.
    shank, threaded
        Lengths ld without and lt with thread inside the grip, not both 0. [m]
    modulus
        Young's modulus E. [Pa]

    Raises
    ------
    BadInput
        If a length is negative, both are 0, or the modulus is not positive.

    References
    ----------
    Shigley, 9th ed., eq. (8-17).
    """
    _require_positive("Young's modulus", modulus)
    if min(shank, threaded) < 0:
        raise BadInput("a length is negative", where="bolt", allowed="0 or more", fix="check the lengths")
    _require_positive("bolt length", shank + threaded)
    full = math.pi / 4 * thread.diameter**2
    return full * thread.stress_area * modulus / (full * threaded + thread.stress_area * shank)


def bolt_twist_stiffness(thread: Thread, grip: float, shear_modulus: float = STEEL_SHEAR) -> float:
    """Stiffness of a bolt in torsion between its head and the engaged thread. [N·m/rad]

    Round bars in series, 1/k = Σ l/(G π d⁴/32): half a diameter of the head, the grip at the thread's stress
    diameter or a thinner shank, half a diameter of engaged thread at its root. A plain part is stiffer.

    Parameters
    ----------
    thread
        Gives the diameters.
    grip
        Length clamped between head and nut, > 0. [m]
    shear_modulus
        G, of steel when not given. [Pa]

    Raises
    ------
    BadInput
        If grip or modulus is not positive.

    References
    ----------
    VDI 2230-1, resilience of the bolt by substitute lengths 0.5 d for head and engaged thread (from memory;
    given there for tension, used for torsion here). Twist of a round bar: Roark, table 10.1.
    """
    _require_positive("grip length", grip)
    _require_positive("shear modulus", shear_modulus)
    end = 0.5 * thread.diameter
    pieces = ((end, thread.diameter), (grip, thread.carrying_diameter), (end, thread.minor_diameter))
    return shear_modulus * math.pi / 32.0 / sum(length / diameter**4 for length, diameter in pieces)


def usual_grip(thread: Thread) -> float:
    """Length clamped between head and nut where none is given, `USUAL_GRIP` diameters. [m]

    Parameters
    ----------
    thread
        Gives the diameter.
    """
    return USUAL_GRIP * thread.diameter


def joint_constant(bolt: float, clamped: float) -> float:
    """Share of an outside load that the bolt takes, C = kb / (kb + km) (Shigley, 9th ed., section 8-7).

    Parameters
    ----------
    bolt, clamped
        Stiffnesses kb and km along the axis, > 0. [N/m]
    """
    return bolt / (bolt + clamped)


def load_per_radian(thread: Thread, bolt: float, clamped: float) -> float:
    """Clamp load gained per angle the thread turns with both ends seated, k P / 2π. [N/rad]

    k is bolt and clamped parts [N/m] in series (VDI 2230-1, angle-controlled tightening).

    Parameters
    ----------
    thread
        Gives the pitch P.
    bolt, clamped
        Stiffnesses along the axis, > 0. [N/m]
    """
    return bolt * clamped / (bolt + clamped) * thread.pitch / (2 * math.pi)


def _upper_half(layers: Sequence[Layer]) -> Iterator[tuple[float, Layer]]:
    """Depth and slice of every layer down to the middle of the grip."""
    left = sum(layer.thickness for layer in layers) / 2
    depth = 0.0
    for layer in layers:
        thickness = min(layer.thickness, left - depth)
        if thickness <= 0:
            return
        yield depth, Layer(thickness, layer.modulus)
        depth += thickness


def _require_positive(what: str, value: float) -> None:
    if not value > 0:
        raise BadInput(f"{value:g} is not positive", where=what, allowed="more than 0", fix="check the unit")
