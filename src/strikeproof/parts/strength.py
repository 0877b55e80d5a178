"""What a torque does to each place of an article, and the torque in its own joint that each place withstands.

Every stress here is proportional to the torque, so a place is described once by its static limit. Its
own joint is the bond of a rider, and for the body of one that carries others any of their bonds too; the
square drive or the hexagon where a wall is pressed open; else the greater of the two joints between which its
lump lies.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from dataclasses import replace
from typing import Final

from strikeproof.parts.article import Cut, End, Part
from strikeproof.parts.bonds import Bond
from strikeproof.parts.life import DETAIL, LifeCurve, Stresses, metal_curve, notch_sensitivity, weld_curve
from strikeproof.parts.lumps import Hanging, soft_bodies
from strikeproof.parts.materials import Material
from strikeproof.parts.path import Chain, Stretch
from strikeproof.parts.properties import Check, Joints, Mode, Section
from strikeproof.parts.sections import twist
from strikeproof.parts.shapes import Outline
from strikeproof.parts.walls import Hole, Wall, find_wall

__all__ = [
    "endurance_factors",
    "equivalent_stress",
    "list_checks",
    "list_sections",
]

_KIRSCH: Final = 2.0
"""A small cross hole in pure shear: 4τ at its edge, the shear stress of which is 2τ. Kirsch; Timoshenko &
Goodier, *Theory of Elasticity*, 3rd ed., art. 35 (from memory)."""


def equivalent_stress(normal: float, shear: float) -> float:
    """Tension that yields as one normal and one shear stress do together. [Pa]

    Parameters
    ----------
    normal, shear
        [Pa]

    References
    ----------
    von Mises; Shigley, 9th ed., eq. (5-15) (from memory).
    """
    return math.sqrt(normal**2 + 3 * shear**2)


def endurance_factors(tensile: float, diameter: float) -> float:
    """Surface factor of a machined part times the size factor in torsion.

    Parameters
    ----------
    tensile
        Tensile strength Rm. [Pa]
    diameter
        Taken as 2.79 mm at least. [m]

    References
    ----------
    Budynas & Nisbett, *Shigley's Mechanical Engineering Design*, 9th ed., eq. (6-19) with Table 6-2
    (machined: 4.51 Rm^−0.265, Rm in MPa) and eq. (6-20) (1.24 d^−0.107 up to 51 mm, 1.51 d^−0.157 above, d
    in mm); from memory.
    """
    surface = min(1.0, 4.51 * math.pow(tensile / 1e6, -0.265))
    d = max(diameter * 1e3, 2.79)
    return surface * (1.24 * math.pow(d, -0.107) if d <= 51 else 1.51 * math.pow(d, -0.157))


def _pulsating(
    material: Material, diameter: float, notched: float, plain: float, *, shear: bool
) -> tuple[float, LifeCurve | None]:
    """Largest torque pulsating from zero for unlimited life, after Goodman, and the curve of shorter lives.

    Stresses per newton metre, torque in N·m.

    References
    ----------
    Shigley, 9th ed., eq. (6-46); torsion: load factor 0.59 (eq. 6-26), S_su = 0.67 Rm (eq. 6-54); from
    memory.
    """
    load, share = (0.59, 0.67) if shear else (1.0, 1.0)
    ultimate = share * material.tensile_strength
    endures = load * endurance_factors(material.tensile_strength, diameter) * material.endurance
    used = notched / 2 / endures + plain / 2 / ultimate if endures > 0 else math.inf
    yields = material.yield_strength * (1 / math.sqrt(3) if shear else 1.0)
    return 1 / used, metal_curve(material, Stresses(notched, plain, endures, ultimate, yields))


def _net(stretch: Stretch) -> tuple[float, float]:
    """Factors on the plain and the notched shear where a cross hole goes through.

    The net section loses the strip d wide: its polar moment is that of the section less d(D³ − d_i³)/12 a
    pair of walls, as in Shigley, Table A-16 (torsion; J_net, from memory). The edge is 2 by Kirsch, and no
    less than the net section.
    """
    local = stretch.start - stretch.placed.start, stretch.end - stretch.placed.start
    holes = (cut for cut in stretch.placed.part.cuts if cut.kind == "cross hole")
    here = [cut for cut in holes if local[0] <= cut.at <= local[1]]
    if not here:
        return 1.0, 1.0
    outside = stretch.body.middle.size
    inside = stretch.body.hole.size if stretch.body.hole else 0.0
    strip = sum(cut.size * (outside**3 - inside**3) / 12 * cut.walls / 2 for cut in here)
    left = max(1 - strip / stretch.section.constant, 0.05)
    return 1 / left, max(_KIRSCH, 1 / left)


def _holes(part: Part, end: End) -> list[Hole]:
    """The cross holes of a part, from the mouth at one of its ends."""
    crossing = (cut for cut in part.cuts if cut.kind == "cross hole")
    return [Hole(cut.at if end == "drive" else part.length - cut.at, cut.size) for cut in crossing]


def _pressed(stretch: Stretch) -> tuple[Cut, Wall] | None:
    """The broached hole whose engaged length reaches over the middle of a stretch, and what its wall
    withstands."""
    part = stretch.placed.part
    at = (stretch.start + stretch.end) / 2 - stretch.placed.start
    for cut in part.cuts:
        away = at if cut.end == "drive" else part.length - at
        if cut.engaged > 0 and away <= cut.engaged and stretch.body.hole == cut.outline:
            wall = find_wall(cut, stretch.body.middle.size, holes=_holes(stretch.placed.part, cut.end))
            return None if wall is None else (cut, wall)
    return None


def list_sections(chain: Chain) -> tuple[Section, ...]:
    """Every stretch of the path with its stresses per newton metre in its joint."""
    return tuple(_section(stretch) for stretch in chain.stretches)


def _section(stretch: Stretch) -> Section:
    plain, notched = _net(stretch)
    pressed = _pressed(stretch)
    return Section(
        stretch.placed.part.name,
        stretch.start,
        stretch.end,
        stretch.section.constant,
        stretch.section.shear * stretch.torque * plain,
        max(stretch.section.notch_shear, stretch.section.shear * notched) * stretch.torque,
        pressed[1].hoop if pressed else 0.0,
        max(pressed[1].corner, pressed[1].pin) if pressed else 0.0,
        pressed[1].pressure if pressed else 0.0,
    )


def _ends(chain: Chain, lump_of: Sequence[int], index: int, end: End) -> Joints:
    """The joint at the end of the part to which a stretch belongs; both of its lump where it has none."""
    placed = chain.stretches[index].placed
    own = [i for i, each in enumerate(chain.stretches) if each.placed is placed]
    edge, beside = (own[0], own[0] - 1) if end == "drive" else (own[-1], own[-1] + 1)
    lump = lump_of[edge]
    if 0 <= beside < len(lump_of) and lump_of[beside] == lump:
        return (lump, lump + 1)
    return (lump,) if end == "drive" else (lump + 1,)


def _stretch_checks(chain: Chain, lump_of: Sequence[int], index: int, section: Section) -> Iterator[Check]:
    stretch = chain.stretches[index]
    material, diameter = stretch.placed.material, stretch.body.middle.size
    if section.shear > 0:
        net = stretch.section.flow / _net(stretch)[0] / stretch.torque
        yielding = material.yield_strength / math.sqrt(3) * net
        endures, life = _pulsating(material, diameter, section.notch_shear, section.shear, shear=True)
        sides = (lump_of[index], lump_of[index] + 1)
        yield Check(section.part, "shear", sides, yielding, endures, lives=_known(life))
    if (pressed := _pressed(stretch)) is not None:
        cut, wall = pressed
        endures, life = _wall_fatigue(material, diameter, wall, section.shear)
        end = _ends(chain, lump_of, index, cut.end)
        flows = wall.flow * material.yield_strength
        yield Check(section.part, "wall", end, flows, endures, lives=_known(life))


def _wall_fatigue(
    material: Material, diameter: float, wall: Wall, shear: float
) -> tuple[float, LifeCurve | None]:
    """Endurance of a wall at its broach corner, or at a cross hole where that is worse: K_f = 1 + q (K_t − 1)
    on hoop and torsion together. The edge of a hole feels 4τ besides (Kirsch)."""
    plain = equivalent_stress(wall.hoop, shear)
    notches = [(wall.corner, wall.fillet)]
    if wall.pin:
        notches.append((wall.pin + 2 * _KIRSCH * shear, wall.pin_radius))
    felt = [
        1 + notch_sensitivity(material.tensile_strength, radius) * (max(stress / plain, 1.0) - 1)
        for stress, radius in notches
    ]
    return _pulsating(material, diameter, max(felt) * plain, plain, shear=False)


def _bond_check(part: str, bond: Bond, joints: Joints, share: float = 1.0) -> Iterator[Check]:
    if math.isfinite(bond.strength) and bond.kind in ("weld", "press fit"):
        mode: Mode = "weld" if bond.kind == "weld" else "press fit"
        welded = bond.kind == "weld"
        lives = (weld_curve(bond.endurance / DETAIL),) if welded else ()
        yield Check(part, mode, joints, bond.strength, bond.endurance if welded else None, share, lives)


def _known(life: LifeCurve | None) -> tuple[LifeCurve, ...]:
    return () if life is None else (life,)


def _worst(checks: Iterator[Check]) -> Iterator[Check]:
    """One check a part, mode and joint: its lowest torques, and every life, since lines of life cross."""
    lowest: dict[tuple[str, Mode, Joints], Check] = {}
    for check in checks:
        key = (check.part, check.mode, check.joints)
        if key in lowest:
            other = lowest[key]
            lasting = [each.endures_to for each in (check, other) if each.endures_to is not None]
            least, lives = min(check.holds_to, other.holds_to), dict.fromkeys((*other.lives, *check.lives))
            lowest[key] = Check(*key, least, min(lasting, default=None), check.share, tuple(lives))
        else:
            lowest[key] = check
    yield from lowest.values()


def _carried(hung: Sequence[Hanging]) -> dict[str, float]:
    """Inertia that hangs on the bond of each rider: its own and that of what rides on it. [kg·m²]"""
    carried = {each.placed.part.name: each.placed.inertia for each in hung}
    for each in reversed(hung):  # carriers come first
        below = [name for name in each.placed.part.carriers if name in carried]
        for name in below:
            carried[name] += carried[each.placed.part.name] / len(each.placed.part.carriers)
    return carried


def _loaded_as_body(bond: Bond, body: Sequence[Hanging]) -> Bond:
    """What the whole body's bond may carry until this one of its bonds gives: torque is shared as stiffness
    is."""
    share = bond.stiffness / sum(each.bond.stiffness for each in body)
    return replace(bond, strength=bond.strength / share, endurance=bond.endurance / share)


def _rider_checks(hung: Sequence[Hanging], joints: Joints, hanging: Hanging, share: float) -> Iterator[Check]:
    """The thinnest section of a rider that carries others, at its own bond and at each of theirs.

    A tube on one weld leads the torque along to what it carries; any of its slices may lie between, so the
    weakest counts, as a round tube with a bore across the corners: on the safe side.
    """
    rider = hanging.placed
    riding = [each for each in hung if rider.part.name in each.placed.part.carriers]
    if not riding:
        return
    material = rider.material
    for piece in rider.solid.slices:
        outside = min(piece.outer.size, piece.outer_end)
        hole = Outline("round", piece.hole.corners) if piece.hole else None
        if hole is not None and hole.size >= outside:
            continue
        section = twist(Outline("round", outside), hole)
        yielding = material.yield_strength / math.sqrt(3) * section.flow
        endures, life = _pulsating(material, outside, section.notch_shear, section.shear, shear=True)
        for each in (joints, *(each.body for each in riding if math.isfinite(each.bond.stiffness))):
            yield Check(rider.part.name, "shear", each, yielding, endures, share, _known(life))


def list_checks(
    chain: Chain,
    sections: Sequence[Section],
    hung: Sequence[Hanging],
    lump_of: Sequence[int],
    inertia: float,
) -> tuple[Check, ...]:
    """Every place that can give, weakest first.

    A section or a wall holds until all of it flows (limit load of a ductile part; the first yield is that
    of its `shear` or of `wall_notch`), a fit until it slips.

    How the torques are found: `_stretch_checks`, `_bond_check` and the references there.

    Parameters
    ----------
    chain
        The torque path, laid out.
    sections
        One a stretch of it, as `list_sections` gives them.
    hung
        All riders.
    lump_of
        The lump of each stretch.
    inertia
        Of the whole article. [kg·m²]

    Raises
    ------
    BadInput
        If a section is too thin for the table of torsion constants.
    """

    def each() -> Iterator[Check]:
        for index, section in enumerate(sections):
            yield from _stretch_checks(chain, lump_of, index, section)
        firsts = {stretch.placed.part.name: i for i, stretch in reversed(list(enumerate(chain.stretches)))}
        names = list(dict.fromkeys(stretch.placed.part.name for stretch in chain.stretches))
        for name, bond in zip(names[1:], chain.bonds, strict=True):
            yield from _bond_check(name, bond, _ends(chain, lump_of, firsts[name], "drive"))
        carried, bodies = _carried(hung), soft_bodies(hung)
        for hanging in hung:
            name = hanging.placed.part.name
            lump = lump_of[hanging.root]
            soft = math.isfinite(hanging.bond.stiffness)
            joints: Joints = hanging.body if soft else (lump, lump + 1)
            bond = _loaded_as_body(hanging.bond, bodies[hanging.body]) if soft else hanging.bond
            yield from _bond_check(name, bond, joints, carried[name] / inertia)
            yield from _rider_checks(hung, joints, hanging, carried[name] / inertia)

    return tuple(sorted(_worst(each()), key=lambda check: check.holds_to))
