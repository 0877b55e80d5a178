"""How a cut across the axis resists twist: St Venant torsion constants and the shear a torque makes.

A round outside with a round hole has closed forms. A broached hole, or a prism, is solved once
(`torsion_table`) and interpolated in a variable that hardly varies, so that the interpolation error is
far below that of the solution. A prism with a broached hole takes the round bore that weakens a round
bar by as much: an estimate.
"""

from __future__ import annotations

import math
from bisect import bisect_right
from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise
from typing import Final

from strikeproof.errors import BadInput
from strikeproof.parts.shapes import Outline
from strikeproof.parts.torsion_table import BORED_PRISM, FILLET, HOLED_ROUND

__all__ = ["Twist", "torsion_bounds", "twist"]

_RING: Final = math.pi / 32
_NOTCH_EXPONENT: Final = {"square": 1 / 3, "hexagon": 1 / 4, "twelve-point": 1 / 4}


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


@dataclass(frozen=True, slots=True)
class _Curve:
    """A smooth curve through nodes, level before the first: cubic between them, without overshoot."""

    xs: tuple[float, ...]
    ys: tuple[float, ...]
    slopes: tuple[float, ...]

    def __call__(self, x: float) -> float:
        if x <= self.xs[0]:
            return self.ys[0]
        i = min(bisect_right(self.xs, x), len(self.xs) - 1)
        step = self.xs[i] - self.xs[i - 1]
        t = (x - self.xs[i - 1]) / step
        y, z, m, n = self.ys[i - 1], self.ys[i], self.slopes[i - 1] * step, self.slopes[i] * step
        return y + t * (m + t * (3 * (z - y) - 2 * m - n + t * (m + n - 2 * (z - y))))


def _curve(xs: Sequence[float], ys: Sequence[float]) -> _Curve:
    """Slopes for the cubic: flat at the first node, the harmonic mean of the neighbours' within.

    References
    ----------
    Fritsch, F. N. & Butland, J., SIAM J. Sci. Stat. Comput. 5 (1984) 300, eq. (5), for uneven steps.
    """
    steps = [b - a for a, b in pairwise(xs)]
    rises = [(b - a) / h for (a, b), h in zip(pairwise(ys), steps, strict=True)]
    slopes = [0.0]
    for (g, h), (p, q) in zip(pairwise(steps), pairwise(rises), strict=True):
        slopes.append(3 * (g + h) / ((2 * h + g) / p + (h + 2 * g) / q) if p * q > 0 else 0.0)
    last = ((2 * steps[-1] + steps[-2]) * rises[-1] - steps[-1] * rises[-2]) / (steps[-1] + steps[-2])
    return _Curve(tuple(xs), tuple(ys), (*slopes, last))


@dataclass(frozen=True, slots=True)
class _Hole:
    """A broached round over flats/diameter: equivalent bore, surface and corner shear, and its limit."""

    bore: _Curve
    surface: _Curve
    notch: _Curve
    widest: float


@dataclass(frozen=True, slots=True)
class _Prism:
    """A prism: its solid constant over flats⁴; over bore/flats the share of a round core taken, and shear."""

    solid: float
    taken: _Curve
    shear: _Curve
    widest: float


def _hole(rows: Sequence[tuple[float, float, float, float]]) -> _Hole:
    ratios, bores, surfaces, notches = zip(*rows, strict=True)
    return _Hole(_curve(ratios, bores), _curve(ratios, surfaces), _curve(ratios, notches), ratios[-1])


def _prism(rows: Sequence[tuple[float, float, float]]) -> _Prism:
    ratios, constants, shears = zip(*rows, strict=True)
    solid = constants[0]
    core = (
        (solid - constant) / (_RING * bore**4)
        for bore, constant in zip(ratios, constants, strict=True)
        if bore
    )
    return _Prism(solid, _curve(ratios, (1.0, *core)), _curve(ratios, shears), ratios[-1])


_HOLES: Final = {kind: _hole(rows) for kind, rows in HOLED_ROUND.items()}
_PRISMS: Final = {kind: _prism(rows) for kind, rows in BORED_PRISM.items()}


def _too_thin(outer: Outline, hole: Outline, widest: float) -> BadInput:
    return BadInput(
        f"a {hole.kind} hole of {hole.size * 1e3:.4g} mm in a {outer.kind} of {outer.size * 1e3:.4g} mm",
        where="section",
        allowed=f"a hole of {widest * 1e3:.4g} mm at most",
        fix="take a wider bar or a smaller hole",
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
    table = _HOLES[hole.kind]
    ratio = hole.size / outer.size
    if ratio > table.widest:
        raise _too_thin(outer, hole, table.widest * outer.size)
    constant = _RING * (outer.size**4 - (table.bore(ratio) * hole.size) ** 4)
    shear = table.surface(ratio) * outer.size / 2 / constant
    notch = table.notch(ratio) * hole.corners / 2 / constant
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
    table = _PRISMS[outer.kind]
    ratio = bore / outer.size
    if ratio > table.widest:
        raise _too_thin(outer, Outline("round", bore), table.widest * outer.size)
    constant = table.solid * outer.size**4 - table.taken(ratio) * _RING * bore**4
    shear = table.shear(ratio) * outer.size / 2 / constant
    return Twist(constant, shear, shear, _flow(outer, bore))


def _facing(outer: Outline, hole: Outline) -> float:
    """How much more shear a corner of the hole has where it faces a flat of a prism: on the safe side.

    Solved with sectionproperties 3.10.2 and the functions of the table's maker, the hole turned to where its
    shear is largest: 1.04 to 1.38 (hexagon in hexagon), 1.15 to 1.52 (square in square), 1.38 to 1.66
    (hexagon in square), 1 at the most (square in hexagon); across the corners 0.6 to 0.965 of the outside.
    """
    if (outer.kind, hole.kind) == ("hexagon", "square"):
        return 1.0
    return 1 + 0.75 * max(hole.corners / outer.size - 0.5, 0.0) / 0.44


def _broached_prism(outer: Outline, hole: Outline, corner_radius: float | None) -> Twist:
    """A prism with a broached hole, by the equivalent round bore: an estimate.

    Good to 2 % with thick walls; with thin ones, finite elements found it up to 9 % too soft where corner
    faces corner, and up to 18 % too stiff where corner faces flat. The corner's shear is on the safe side.
    """
    table = _HOLES[hole.kind]
    if hole.corners >= 0.97 * outer.size:
        raise _too_thin(outer, hole, 0.97 * outer.size * hole.size / hole.corners)
    ratio = hole.size / outer.size
    plain = _bored_prism(outer, table.bore(ratio) * hole.size)
    notch = table.notch(ratio) * hole.corners / 2 / plain.constant * _facing(outer, hole)
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

    Parameters
    ----------
    outer
        A round.
    hole
        A broached one within it.

    Returns
    -------
    Smallest and largest torsion constant. [m⁴]
    """
    most = _RING * (outer.size**4 - hole.size**4)
    return _RING * (outer.size**4 - hole.corners**4), most
