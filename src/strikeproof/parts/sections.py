"""How a cut across the axis resists twist: St Venant torsion constants and the shear a torque makes.

A round outside with a round hole has closed forms. A broached hole, or a prism, is solved once
(`torsion_table`) and interpolated in a variable that hardly varies, so that the interpolation error is
far below that of the solution. A prism with a broached hole takes the round bore that weakens a round
bar by as much: an estimate.
"""

from __future__ import annotations

import math
from bisect import bisect_right
from dataclasses import dataclass
from typing import Final

from strikeproof.errors import BadInput
from strikeproof.parts.shapes import Outline
from strikeproof.parts.torsion_table import BORED_PRISM, FILLET, HOLED_ROUND

__all__ = ["Twist", "torsion_bounds", "twist"]

_RING: Final = math.pi / 32
_NOTCH_EXPONENT: Final = {"square": 1 / 3, "hexagon": 1 / 4, "twelve-point": 1 / 4}
_Columns = tuple[tuple[float, ...], ...]


@dataclass(frozen=True, slots=True)
class Twist:
    """What a section makes of a torque.

    Parameters
    ----------
    constant
        St Venant torsion constant J. [m⁴]
    shear
        Largest shear stress per torque away from notches. [1/m³]
    notch_shear
        The same with the corner of a broached hole; `shear` where there is none. [1/m³]
    flow
        Torque at which the whole section flows, over the yield stress in shear; with a broached hole that of
        a bore across its corners, which is on the safe side. [m³]
    """

    constant: float
    shear: float
    notch_shear: float
    flow: float


def _columns(rows: tuple[tuple[float, ...], ...]) -> _Columns:
    return tuple(zip(*rows, strict=True))


def _relieved(rows: tuple[tuple[float, float, float], ...]) -> _Columns:
    """The table of a prism with its constant as the share of a round core that its bore takes away."""
    solid = rows[0][1]
    taken = (1.0, *((solid - constant) / (_RING * bore**4) for bore, constant, _ in rows[1:]))
    bores, _, shears = _columns(rows)
    return bores, taken, shears


_HOLES: Final = {kind: _columns(rows) for kind, rows in HOLED_ROUND.items()}
_PRISMS: Final = {kind: _relieved(rows) for kind, rows in BORED_PRISM.items()}
_SOLID: Final = {kind: rows[0][1] for kind, rows in BORED_PRISM.items()}


def _between(xs: tuple[float, ...], ys: tuple[float, ...], x: float) -> float:
    """Linear interpolation; level before the first node."""
    if x <= xs[0]:
        return ys[0]
    i = min(bisect_right(xs, x), len(xs) - 1)
    return ys[i - 1] + (ys[i] - ys[i - 1]) * (x - xs[i - 1]) / (xs[i] - xs[i - 1])


def _too_thin(outer: Outline, hole: Outline, widest: float) -> BadInput:
    return BadInput(
        f"a {hole.kind} hole of {hole.size * 1e3:.4g} mm in a {outer.kind} of {outer.size * 1e3:.4g} mm",
        where="section",
        allowed=f"a hole of {widest * 1e3:.4g} mm at most",
        mend="take a wider bar or a smaller hole",
    )


def _round_in_round(diameter: float, bore: float) -> Twist:
    """J = π(D⁴ − d⁴)/32, τ = T D/(2J): any text on torsion, e.g. Roark, Table 10.1."""
    constant = _RING * (diameter**4 - bore**4)
    shear = diameter / 2 / constant
    return Twist(constant, shear, shear, _flow(Outline("round", diameter), bore))


def _flow(outer: Outline, bore: float) -> float:
    """Plastic torsion modulus: twice the volume of the sand heap on the section, less that on the bore.

    References
    ----------
    Nádai, A., *Theory of Flow and Fracture of Solids*, vol. 1, 2nd ed., ch. 35 (from memory): π(D³ − d³)/12
    for a round, a³/3 for a square; a heap on any polygon around a circle is a pyramid, A·F/6.
    """
    return outer.area * outer.size / 3 - math.pi * bore**3 / 12


def _broached_round(outer: Outline, hole: Outline, corner_radius: float | None) -> Twist:
    ratios, bores, surfaces, notches = _HOLES[hole.kind]
    ratio = hole.size / outer.size
    if ratio > ratios[-1]:
        raise _too_thin(outer, hole, ratios[-1] * outer.size)
    constant = _RING * (outer.size**4 - (_between(ratios, bores, ratio) * hole.size) ** 4)
    shear = _between(ratios, surfaces, ratio) * outer.size / 2 / constant
    notch = _between(ratios, notches, ratio) * hole.corners / 2 / constant
    flow = _flow(outer, hole.corners)
    return Twist(constant, shear, max(shear, notch * _sharpness(hole, corner_radius)), flow)


def _sharpness(hole: Outline, corner_radius: float | None) -> float:
    """Corner stress over that of the solved fillet: as r^(π/ω − 1) at a corner of material angle ω.

    References
    ----------
    Williams, M. L., "Stress singularities resulting from various boundary conditions in angular corners",
    J. Appl. Mech. 19 (1952) 526: for twist ω = 3π/2 gives −1/3 and ω = 4π/3 gives −1/4 (from memory).
    """
    if corner_radius is None:
        return 1.0
    solved = FILLET * hole.size
    return float((solved / max(corner_radius, solved / 100)) ** _NOTCH_EXPONENT[hole.kind])


def _bored_prism(outer: Outline, bore: float) -> Twist:
    bores, taken, shears = _PRISMS[outer.kind]
    ratio = bore / outer.size
    if ratio > bores[-1]:
        raise _too_thin(outer, Outline("round", bore), bores[-1] * outer.size)
    constant = _SOLID[outer.kind] * outer.size**4 - _between(bores, taken, ratio) * _RING * bore**4
    shear = _between(bores, shears, ratio) * outer.size / 2 / constant
    return Twist(constant, shear, shear, _flow(outer, bore))


def _broached_prism(outer: Outline, hole: Outline, corner_radius: float | None) -> Twist:
    """A prism with a broached hole, by the equivalent round bore: an estimate, good to 2 %."""
    ratios, bores, _, notches = _HOLES[hole.kind]
    if hole.corners >= 0.97 * outer.size:
        raise _too_thin(outer, hole, 0.97 * outer.size * hole.size / hole.corners)
    ratio = hole.size / outer.size
    plain = _bored_prism(outer, _between(ratios, bores, ratio) * hole.size)
    notch = _between(ratios, notches, ratio) * hole.corners / 2 / plain.constant
    flow = _flow(outer, hole.corners)
    return Twist(plain.constant, plain.shear, max(plain.shear, notch * _sharpness(hole, corner_radius)), flow)


def twist(outer: Outline, hole: Outline | None, *, corner_radius: float | None = None) -> Twist:
    """The torsion constant and the shear per torque of a section.

    Parameters
    ----------
    outer
        A round, square or hexagon.
    hole
        Any outline, or None.
    corner_radius
        In the corners of a broached hole; 3 % of its width across flats when None. [m]

    Raises
    ------
    BadInput
        If the hole leaves no wall, or the wall is thinner than the table covers.
    """
    bore = 0.0 if hole is None else hole.size
    if hole is not None and bore >= outer.size:
        raise _too_thin(outer, hole, outer.size)
    if hole is None or hole.kind == "round":
        return _round_in_round(outer.size, bore) if outer.kind == "round" else _bored_prism(outer, bore)
    if outer.kind == "round":
        return _broached_round(outer, hole, corner_radius)
    return _broached_prism(outer, hole, corner_radius)


def torsion_bounds(outer: Outline, hole: Outline) -> tuple[float, float]:
    """Between which round bores a broached round must lie: across corners and across flats. [m⁴]

    Taking material away never stiffens a bar, so J(bore across corners) < J < J(bore across flats).
    """
    most = _RING * (outer.size**4 - hole.size**4)
    return _RING * (outer.size**4 - hole.corners**4), most
