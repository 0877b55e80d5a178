"""The wall around a broached hole that its mate presses open: when it flows, and the tension in its corner.

Solved once in three dimensions (`wall_table`) and interpolated. The corners of the mate press on the flats
beside the corners of the hole; friction along the flat carries part of the torque and so relieves the wall.
"""

from __future__ import annotations

import math
from bisect import bisect_right
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final

from strikeproof.parts.article import Cut
from strikeproof.parts.pressed_ring import ring_flow, ring_tension
from strikeproof.parts.shapes import free_play
from strikeproof.parts.wall_table import ENDS, ENGAGED, FILLETS, FRICTIONS, LIMIT, RATIOS, TENSION

__all__ = ["FRICTION", "WALL_FILLET", "Hole", "Wall", "find_wall", "hoop_at_bore"]

_SIDES: Final = {"square": 4, "hexagon": 6, "twelve-point": 6}

FRICTION: Final = 0.12
"""Of steel on steel with traces of oil: middle of class B, 0.08 to 0.16. VDI 2230-1, Table A5 (from
memory)."""

WALL_FILLET: Final = 0.03
"""Corner radius of a broached hole over its width across flats, where none is given."""

_REACH: Final = {"hexagon": 0.272, "square": 0.41}
"""Where the corners of a mate press at the farthest, from the middle of the flat, over the width across
flats: they are rounded. As in the solved walls."""

_STRIP, _FLATTENED = 0.05, 0.12
"""Width of the strip that a corner of the mate presses on, over the width across flats: in use, and when
the wall is about to flow. As in the solved walls. At 500 N·m a head of 19 mm presses the first with about 2
GPa, three times the yield stress of class 8.8, which flattens it."""


_STAR: Final = 0.9
"""Limit of a twelve-point wall over that of a hexagon, at the most. Three were solved as the table was: 0.92,
0.93 and 0.95 (0.4 of the outside and engaged by 0.25 of the width, 0.55 and 0.25, 0.6 and 0.45)."""

_STAR_CORNER: Final = 1.8
"""Tension in the corner of a twelve-point hole over that of a smooth ring. Peterson, *Stress Concentration
Factors*: 1.5 for a notch in a bent bar, its fillet a quarter of the rest (from memory); a fifth more."""

_PIN: Final = 6.0
"""Tension at the edge of a cross hole over the mean hoop stress: 3 (Kirsch; Peterson, chart 4.1, from
memory), and the wall between two corners bends by as much as it is pulled (an estimate)."""

_REST: Final = 0.8
"""How far behind the engaged length a wall helps to carry, over the width across flats: as it was solved."""


@dataclass(frozen=True, slots=True)
class Hole:
    """A cross hole through a wall.

    Parameters
    ----------
    at
        Its middle from the mouth of the broached hole. [m]
    size
        Diameter. [m]
    """

    at: float
    size: float


@dataclass(frozen=True, slots=True)
class Wall:
    """What one newton metre does to a wall, and the torque at which it flows.

    Parameters
    ----------
    hoop
        Mean hoop stress at the bore, without the corners. [Pa per N·m]
    corner
        Largest tension in the corners. [Pa per N·m]
    flow
        Torque at which it flows over the yield stress. [m³]
    fillet
        Radius of the corners. [m]
    pressure
        Mean pressure on the strip that a corner of the mate flattens. [Pa per N·m]
    pin
        Tension at the edge of a cross hole, 0 without one. [Pa per N·m]
    pin_radius
        Of the smallest one. [m]
    """

    hoop: float
    corner: float
    flow: float
    fillet: float
    pressure: float
    pin: float = 0.0
    pin_radius: float = 0.0


def hoop_at_bore(pressure: float, bore: float, outside: float) -> float:
    """Largest hoop stress of a thick ring under a pressure in its bore. [Pa]

    Parameters
    ----------
    pressure
        In the bore. [Pa]
    bore, outside
        Diameters, outside > bore. [m]

    References
    ----------
    Lamé; Timoshenko, *Strength of Materials*, part II, 3rd ed., art. 41 (from memory).
    """
    return pressure * (outside**2 + bore**2) / (outside**2 - bore**2)


def _between(xs: Sequence[float], x: float) -> tuple[int, float]:
    """Index of the step that holds x, and how far in; held at the ends."""
    held = min(max(x, xs[0]), xs[-1])
    i = min(max(bisect_right(xs, held) - 1, 0), len(xs) - 2)
    return i, (held - xs[i]) / (xs[i + 1] - xs[i])


def _mix(ends: Sequence[float], t: float) -> float:
    """Between two positive values by their logarithms."""
    low, high = ends
    return float(low ** (1 - t) * high**t)


def _limit(kind: str, ratio: float, engaged: float, friction: float) -> float:
    i, t = _between(RATIOS[kind], ratio)
    j, u = _between(ENGAGED, engaged)
    _k, v = _between(ENDS, friction)
    rows = LIMIT[kind]
    at = [[_mix(rows[i + a][j + b], v) for b in (0, 1)] for a in (0, 1)]
    return _mix([_mix(each, u) for each in at], t)


def _tension(kind: str, ratio: float, engaged: float, fillet: float, friction: float) -> float:
    i, t = _between(RATIOS[kind], ratio)
    j, u = _between(ENGAGED, engaged)
    logs = [math.log(each) for each in FILLETS]
    k, v = _between(logs, math.log(max(fillet, 1e-6)))
    m, w = _between(FRICTIONS, friction)

    def along(row: tuple[tuple[float, ...], ...]) -> float:
        return _mix([_mix(each[m : m + 2], w) for each in row[k : k + 2]], v)

    rows = TENSION[kind]
    at = [[along(rows[i + a][j + b]) for b in (0, 1)] for a in (0, 1)]
    return _mix([_mix(each, u) for each in at], t)


def _thinner(kind: str, ratio: float) -> float:
    """Thickness of a wall over the thinnest that was solved, both at the corner; 1 where it was solved.

    Beyond the table a wall is taken to flow as its thickness and to be bent as the square of it, as a beam
    would be: on the safe side, since what pulls round it weighs less with every step.
    """
    widest = RATIOS[kind][-1]
    across = 1 / math.cos(math.pi / _SIDES[kind])
    return min(1.0, (1 / ratio - across) / (1 / widest - across))


def _star_share(ratio: float) -> float:
    """Limit of a twelve-point wall over that of a hexagon, on the safe side: that of a ring.

    The teeth between the corners are left out; six forces bend what remains.
    """
    bore, outside = 1 / math.cos(math.pi / 6), 1 / ratio
    ring = ring_flow(6, bore, outside) / math.cos(math.pi / 6)
    return min(_STAR, ring / _limit("hexagon", ratio, ENGAGED[-1], 0.0))


def _star_tension(ratio: float, hexagon: float, usual: float) -> float:
    """Tension in the corners of a twelve-point hole: that of a hexagon, or of a notched ring if it is larger.

    `usual` is the hexagon's with the usual fillet; sharper fillets raise both alike.
    """
    bore, outside = 1 / math.cos(math.pi / 6), 1 / ratio
    ring = _STAR_CORNER * ring_tension(6, bore, outside) * math.cos(math.pi / 6)
    return max(hexagon, ring * hexagon / usual)


def _left(cut: Cut, holes: Sequence[Hole]) -> tuple[float, float]:
    """Share of the engaged length that cross holes leave, and the radius of the smallest; 0 without one.

    A slice as wide as the hole is left out all round: no wall is stronger for what it lacks.
    """
    here = [each for each in holes if each.at - each.size / 2 < cut.engaged + _REST * cut.size]
    lost = sum(
        max(min(each.at + each.size / 2, cut.engaged) - max(each.at - each.size / 2, 0.0), 0.0)
        for each in here
    )
    return max(1 - lost / cut.engaged, 0.05), min((each.size / 2 for each in here), default=0.0)


def find_wall(
    cut: Cut, outside: float, friction: float = FRICTION, holes: Sequence[Hole] = ()
) -> Wall | None:
    """A broached hole's wall under the torque of its mate; None where the mate presses on nothing.

    The n corners of the mate press with N on flats, the middle of their strips at x from the middle of the
    flat: T = n N (x + μ F/2), F across flats. A twelve-point hole is a hexagon less what its further corners
    cost it, and cross holes take their slice of the length: both on the safe side.

    Parameters
    ----------
    cut
        The hole, with its male and engaged length.
    outside
        Diameter of the wall. [m]
    friction
        Between hole and mate.
    holes
        Cross holes through the wall.

    References
    ----------
    Statics, derived here; the wall by `scripts/make_wall_table.py`.
    """
    if cut.engaged <= 0 or cut.outline.corners >= outside:
        return None
    sides = _SIDES[cut.outline.kind]
    half = math.pi / sides
    play = free_play(cut.outline.kind, cut.male, cut.size) / 2
    corner = cut.male / 2 / math.cos(half) * math.sin(half - play)
    if corner <= 0:
        return None  # the mate slips round
    kind = "square" if sides == 4 else "hexagon"
    edge = min(corner, _REACH[kind] * cut.size)
    rubbing = friction * cut.size / 2
    levers = [max(edge - strip / 2 * cut.size, edge / 2) + rubbing for strip in (_STRIP, _FLATTENED)]
    force = 1 / (sides * levers[0])
    ratio, engaged = cut.size / outside, cut.engaged / cut.size
    # Sharper corners than were solved are taken as the sharpest: in stress and in what is felt of it.
    fillet = (
        max(WALL_FILLET if cut.corner_radius is None else cut.corner_radius / cut.size, FILLETS[0]) * cut.size
    )
    area, thin = cut.size * cut.engaged, _thinner(kind, ratio)
    bore = cut.outline.corners
    limit = _limit(kind, ratio, engaged, friction)
    tension = _tension(kind, ratio, engaged, fillet / cut.size, friction)
    left, pin_radius = _left(cut, holes)
    if pin_radius:  # a wall in two pieces: neither has the support of what lies behind it
        limit = min(limit, _limit(kind, ratio, ENGAGED[-1], friction))
    if cut.outline.kind == "twelve-point":
        limit *= _star_share(ratio)
        usual = _tension(kind, ratio, engaged, WALL_FILLET, friction)
        tension = _star_tension(ratio, tension, usual)
    hoop = hoop_at_bore(sides * force / (math.pi * bore * cut.engaged), bore, outside) / left
    return Wall(
        hoop=hoop,
        corner=tension / thin**2 * force / area / left,
        flow=limit * thin * area * sides * levers[1] * left,
        fillet=fillet,
        pressure=force / (_STRIP * area) / left,
        pin=_PIN * hoop if pin_radius else 0.0,
        pin_radius=pin_radius,
    )
