"""The torque path as a chain: inertia along it, and the twist between.

Torque enters over the length that the drive presses on, passes from part to part over their overlap, and
leaves over the length that the bolt's head presses on; in between it rises or falls evenly. The twist of a
stretch is that of equal strain energy, ∫f² dz/(GJ) with f the share of the torque it carries.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from itertools import pairwise
from typing import Final

from strikeproof.errors import BadInput, at_place
from strikeproof.parts.article import Cut, End
from strikeproof.parts.bonds import Bond, make_bond
from strikeproof.parts.layout import Placed, fit_between
from strikeproof.parts.sections import Twist, twist
from strikeproof.parts.shapes import free_play
from strikeproof.parts.solids import Slice

__all__ = ["LUMP_LENGTH", "Chain", "Stretch", "coupling", "end_cut", "lay_chain"]

LUMP_LENGTH: Final = 0.1
"""Longest lump. Waves of twist run at 3200 m/s, so it is 31 µs of a pulse of 500 µs and more. [m]"""

_COUPLING_STIFFNESS: Final = 60e3 / 12.7e-3**3
"""Contact of a loose drive square over its width cubed, 60e3 N·m/rad at 12.7 mm: an estimate, no source; by
dimensions, a contact of given shape is as stiff in twist as Young's modulus times size cubed."""


@dataclass(frozen=True, slots=True)
class Stretch:
    """A piece of the path with one section.

    Parameters
    ----------
    placed
        The part it belongs to.
    index, piece
        Count of joints and of loose joints before it.
    start, end
        From the drive end of the article. [m]
    torque
        Largest share of the torque in it.
    before, give
        Compliance from the drive to it, and its own. [rad/(N·m)]
    inertia
        [kg·m²]
    section
        How it takes twist.
    body
        Its slice.
    """

    placed: Placed
    index: int
    piece: int
    start: float
    end: float
    torque: float
    before: float
    give: float
    inertia: float
    section: Twist
    body: Slice

    @property
    def middle(self) -> float:
        """Compliance from the drive to its middle. [rad/(N·m)]"""
        return self.before + self.give / 2


@dataclass(frozen=True, slots=True)
class Chain:
    """The path laid out: stretches from the drive, the bond before each part, and the whole compliance."""

    stretches: tuple[Stretch, ...]
    bonds: tuple[Bond, ...]
    compliance: float


def end_cut(placed: Placed, end: End) -> Cut | None:
    """The broached hole that opens at an end of a part, if any."""
    broached = ("square drive", "hexagon", "twelve-point")
    cuts = (cut for cut in placed.part.cuts if cut.kind in broached and cut.end == end)
    return next(cuts, None)


def coupling(before: Placed, after: Placed) -> tuple[float, float] | None:
    """Free play and contact stiffness of a male prism in a broached hole; None without such a pair.

    Returns
    -------
    Free play [rad] and stiffness [N·m/rad], 60e3 N·m/rad at 12.7 mm and by the cube of the width: an
    estimate.
    """
    for male, cut in ((before, end_cut(after, "drive")), (after, end_cut(before, "bolt"))):
        if cut is not None and male.part.outer.kind == cut.outline.kind:
            flats = male.part.outer.size
            return free_play(cut.outline.kind, flats, cut.size), _COUPLING_STIFFNESS * flats**3
    return None


def _joint(before: Placed, after: Placed) -> Bond:
    """The bond between two neighbours on the path."""
    plan, where = after.part.bond, f"part {after.part.name!r}"
    with at_place("bond"):
        bond = make_bond(plan, fit_between(after, before), where=where)
    if plan.kind != "loose":
        return bond
    pair = coupling(before, after)
    if pair is None and (plan.gap is None or plan.stiffness is None):
        raise BadInput(
            "a loose bond that carries the torque needs a square or hexagon to turn it",
            where=where,
            allowed="a square or hexagonal prism in a hole of its kind, or gap_deg and stiffness_n_m_per_rad",
            fix="add the square, or weld or press the parts together",
        )
    gap, stiffness = pair if pair is not None else (0.0, math.inf)
    return Bond(
        "loose",
        stiffness if plan.stiffness is None else plan.stiffness,
        bond.damping_ratio,
        bond.slip_torque,
        gap if plan.gap is None else plan.gap,
    )


def _engaged(placed: Placed, end: End) -> float:
    cut = end_cut(placed, end)
    return min(cut.engaged, placed.part.length) if cut is not None else 0.0


def _ramps(path: Sequence[Placed], index: int) -> tuple[float, float]:
    """Lengths over which a part takes up the torque and hands it on. [m]

    Where the two would cover the whole part they are shortened to nine tenths of it, so that some stretch
    carries all of the torque.
    """
    placed = path[index]
    up = placed.part.overlap if index else _engaged(placed, "drive")
    down = path[index + 1].part.overlap if index + 1 < len(path) else _engaged(placed, "bolt")
    squeeze = min(1.0, 0.9 * placed.part.length / max(up + down, 1e-12))
    return up * squeeze, down * squeeze


def _marks(body: Slice, marks: tuple[float, ...], longest: float) -> list[float]:
    inside = (mark for mark in marks if body.start + 1e-9 < mark < body.end - 1e-9)
    edges = [body.start, *sorted(set(inside)), body.end]
    fine: list[float] = []
    for start, end in pairwise(edges):
        count = max(1, math.ceil((end - start) / longest))
        fine.extend(start + (end - start) * k / count for k in range(count))
    return [*fine, body.end]


def _sub(body: Slice, start: float, end: float) -> Slice:
    if body.start == start and body.end == end:
        return body
    taper = (body.outer_end - body.outer.size) / body.length
    outer = type(body.outer)(body.outer.kind, body.outer.size + taper * (start - body.start))
    return Slice(start, end, outer, body.outer.size + taper * (end - body.start), body.hole)


def _taper_factor(body: Slice) -> float:
    """Mean of 1/D⁴ over an even taper against 1/D⁴ at its middle: (a² + ab + b²)/(3a³b³) · ((a + b)/2)⁴."""
    a, b = body.outer.size, body.outer_end
    if a == b:
        return 1.0
    return (a * a + a * b + b * b) / (3 * a**3 * b**3) * ((a + b) / 2) ** 4


def _corner_radius(placed: Placed, body: Slice) -> float | None:
    return next(
        (cut.corner_radius for cut in placed.part.cuts if body.hole is not None and cut.outline == body.hole),
        None,
    )


def _share(at: float, length: float, ramps: tuple[float, float]) -> float:
    """Share of the torque that a part carries at a distance from its drive end."""
    up, down = ramps
    rise = min(at / up, 1.0) if up > 0 else 1.0
    fall = min((length - at) / down, 1.0) if down > 0 else 1.0
    return rise + fall - 1


def _part_stretches(
    placed: Placed, ramps: tuple[float, float], count: tuple[int, int], before: float, longest: float
) -> Iterator[Stretch]:
    length = placed.part.length
    # Cross holes and eccentricity are spread along the part.
    density = placed.inertia / sum(each.second_moment for each in placed.solid.slices)
    for coarse in placed.solid.slices:
        marks = _marks(coarse, (ramps[0], length - ramps[1]), longest)
        for start, end in pairwise(marks):
            body = _sub(coarse, start, end)
            f, g = _share(start, length, ramps), _share(end, length, ramps)
            section = twist(body.middle, body.hole, corner_radius=_corner_radius(placed, body))
            stiff = placed.material.shear_modulus * section.constant / _taper_factor(body)
            give = (end - start) * (f * f + f * g + g * g) / 3 / stiff
            yield Stretch(
                placed, *count, placed.start + start, placed.start + end, max(abs(f), abs(g)),
                before, give, body.second_moment * density, section, body,
            )  # fmt: skip
            before += give


def lay_chain(path: Sequence[Placed]) -> Chain:
    """The path from the drive to the bolt.

    Parameters
    ----------
    path
        At least one part, in order from the drive.

    Raises
    ------
    BadInput
        If a section is too thin for the table of torsion constants, or a loose joint cannot carry torque.
    """
    stretches: list[Stretch] = []
    bonds: list[Bond] = []
    at, piece = 0.0, 0
    longest = LUMP_LENGTH / 5 if path[-1].end - path[0].start > LUMP_LENGTH else math.inf
    for index, placed in enumerate(path):
        with at_place("part", placed.number):
            if index:
                bonds.append(_joint(path[index - 1], placed))
                at += 1 / bonds[-1].stiffness
                piece += bonds[-1].kind == "loose"
            stretches.extend(_part_stretches(placed, _ramps(path, index), (index, piece), at, longest))
        at = stretches[-1].before + stretches[-1].give
    return Chain(tuple(stretches), tuple(bonds), at)
