"""Where the inertia sits: the path as a few lumps with links between, and the riders on them."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace

from strikeproof.errors import BadInput, at_place
from strikeproof.parts.bonds import Bond, annulus_stiffness, make_bond, series, side_by_side
from strikeproof.parts.layout import Placed, fit_between
from strikeproof.parts.path import LUMP_LENGTH, Chain, Stretch
from strikeproof.parts.properties import Link, Lump, RiderProperties

__all__ = ["Hanging", "Lumped", "hang_riders", "list_riders", "lump_chain", "rider_bond", "soft_bodies"]

_METAL_DAMPING = 0.005  # share of critical in one piece of steel: engineering estimate, no source


@dataclass(frozen=True, slots=True)
class Hanging:
    """A rider on its carrier: the bond, the stretch or rider that carries it at last, and its body's name.

    Caps that hold one drum between them are one body: they turn together.
    """

    placed: Placed
    bond: Bond
    root: int
    on: str
    body: str


@dataclass(frozen=True, slots=True)
class Lumped:
    """The path in lumps: links between, stiffness at the two ends, and the lump of each stretch."""

    lumps: tuple[Lump, ...]
    links: tuple[Link, ...]
    drive_stiffness: float
    hexagon_stiffness: float
    lump_of: tuple[int, ...]


def rider_bond(rider: Placed, carrier: Placed) -> Bond:
    """The bond of a rider: its weld or fit, in series with its own body out to where its inertia sits.

    The body counts as a collar from the fit to the radius of gyration (`annulus_stiffness`): derived here.

    Raises
    ------
    BadInput
        If a press fit would yield or has no wall.
    """
    fit = fit_between(rider, carrier)
    gyration = math.sqrt(rider.solid.second_moment / rider.solid.volume)
    inside, outside = sorted((fit.diameter / 2, gyration))
    body = annulus_stiffness(rider.material.shear_modulus, fit.length, inside, outside)
    with at_place("part", rider.number, "bond"):
        return make_bond(rider.part.bond, fit, body=body, where=f"part {rider.part.name!r}")


def _stretch_under(rider: Placed, carrier: Placed, chain: Chain) -> int:
    """Index of the carrier's stretch below the middle of a rider."""
    middle = (rider.start + rider.end) / 2
    own = [i for i, each in enumerate(chain.stretches) if each.placed is carrier]
    return next((i for i in own if middle <= chain.stretches[i].end), own[-1])


def hang_riders(placed: Sequence[Placed], chain: Chain) -> tuple[Hanging, ...]:
    """Every rider with its bond, carriers before what they carry.

    Parameters
    ----------
    placed
        All parts in their places.
    chain
        The torque path, laid out.

    Raises
    ------
    BadInput
        If a press fit would yield or has no wall.
    """
    by_name = {each.part.name: each for each in placed}
    hung: dict[str, Hanging] = {}
    for each in placed:
        carriers = [by_name[name] for name in each.part.carriers]
        if not carriers:
            continue
        bonds = [rider_bond(each, carrier) for carrier in carriers]
        holders = [_holder(carrier, hung) for carrier in carriers]
        bond, on = (bonds[0], holders[0]) if len(carriers) == 1 else _two_holds(each, bonds, holders, hung)
        below = hung.get(carriers[0].part.name)
        root = below.root if below is not None else _stretch_under(each, carriers[0], chain)
        hung[each.part.name] = Hanging(each, bond, root, on, each.part.name)
    return tuple(hung.values())


def _holder(carrier: Placed, hung: Mapping[str, Hanging]) -> str:
    """Who carries what sits on a part: what holds rigidly to a rider moves with it and carries on its
    behalf."""
    below = hung.get(carrier.part.name)
    return carrier.part.name if below is None or math.isfinite(below.bond.stiffness) else below.on


def _two_holds(
    rider: Placed, bonds: Sequence[Bond], holders: Sequence[str], hung: dict[str, Hanging]
) -> tuple[Bond, str]:
    """The bond and the holder of a part on two others.

    Two that hang by bonds with give become one body: they turn together (exact for two alike on one lump,
    since only then nothing turns one against the other). Where one of them belongs to the path, the bond to
    the other is in series with that one's own: exact but for the inertia of the other.
    """
    hanging = [hung.get(name) for name in holders]
    first, second = hanging
    if first is not None and second is not None:
        if first.body != second.body:
            if first.on != second.on and (first.on in hung or second.on in hung):
                raise BadInput(
                    f"carried by {holders[0]!r} and {holders[1]!r}, which hang on different riders",
                    where=f"part {rider.part.name!r}",
                    allowed="two carriers that sit on the same part, or on the torque path",
                    fix="let both sit on the same part",
                    key="second_carrier",
                )
            body = f"{first.body} + {second.body}"
            for name, each in hung.items():
                if each.body in (first.body, second.body):
                    hung[name] = replace(each, body=body)
        return side_by_side(*bonds), holders[0]
    ways = [
        bond if own is None else replace(bond, stiffness=series(bond.stiffness, own.bond.stiffness))
        for bond, own in zip(bonds, hanging, strict=True)
    ]
    return side_by_side(*ways), next(n for n, own in zip(holders, hanging, strict=True) if own is None)


def _is_rigid(hanging: Hanging) -> bool:
    return math.isinf(hanging.bond.stiffness)


def _cells(stretches: Sequence[Stretch]) -> tuple[int, ...]:
    """The lump of each stretch: every piece cut into equal lengths of at most LUMP_LENGTH."""
    cells: list[int] = []
    base = 0
    for piece in range(stretches[-1].piece + 1):
        own = [each for each in stretches if each.piece == piece]
        first, last = min(each.start for each in own), max(each.end for each in own)
        count = max(1, math.ceil((last - first) / LUMP_LENGTH - 1e-9))
        cells += [
            base + min(int(((each.start + each.end) / 2 - first) / (last - first) * count), count - 1)
            for each in own
        ]
        base = max(cells) + 1
    return _in_order(cells)


def _in_order(cells: Sequence[int]) -> tuple[int, ...]:
    """Cells along the chain never go back, and none is empty: parts that overlap share the later one."""
    ordered: list[int] = []
    highest = count = -1
    for cell in cells:
        if cell > highest:
            highest, count = cell, count + 1
        ordered.append(count)
    return tuple(ordered)


def _link(chain: Chain, ends: tuple[int, int], give: float, inertias: tuple[float, float]) -> Link:
    """The link between the last stretch of one lump and the first of the next."""
    crossed = chain.bonds[chain.stretches[ends[0]].index : chain.stretches[ends[1]].index]
    ratio = max((bond.damping_ratio for bond in crossed), default=_METAL_DAMPING)
    stiffness = 1 / give if give > 0 else math.inf
    return Link(
        stiffness,
        _damping(ratio, stiffness, *inertias),
        sum(bond.gap for bond in crossed),
        min((bond.slip_torque for bond in crossed), default=math.inf),
        ratio,
    )


def _damping(ratio: float, stiffness: float, one: float, other: float) -> float:
    """c = 2ζ√(k J₁J₂/(J₁ + J₂)). [N·m·s/rad]"""
    return 2 * ratio * math.sqrt(stiffness * one * other / (one + other)) if math.isfinite(stiffness) else 0.0


def lump_chain(chain: Chain, hung: Sequence[Hanging]) -> Lumped:
    """The path in lumps, each at the compliance where its inertia balances.

    Parameters
    ----------
    chain
        The torque path, laid out.
    hung
        All riders; a rigid one adds its inertia to its lump.

    Returns
    -------
    Lumps of `LUMP_LENGTH` at most, the links between them, and the lump of each stretch.
    """
    cells = _cells(chain.stretches)
    own_names = {each.placed.part.name for each in chain.stretches}
    rigid = [each for each in hung if _is_rigid(each) and each.on in own_names]
    lumps: list[Lump] = []
    centres: list[float] = []
    for cell in range(cells[-1] + 1):
        own = [each for each, at in zip(chain.stretches, cells, strict=True) if at == cell]
        riders = [each for each in rigid if cells[each.root] == cell]
        weights = [(each.inertia, each.middle) for each in own]
        weights += [(each.placed.inertia, chain.stretches[each.root].middle) for each in riders]
        inertia = sum(weight for weight, _ in weights)
        names = dict.fromkeys(
            [each.placed.part.name for each in own] + [each.placed.part.name for each in riders]
        )
        lumps.append(Lump(inertia, tuple(names)))
        centres.append(sum(weight * at for weight, at in weights) / inertia)
    links = []
    for cell in range(len(lumps) - 1):
        after = cells.index(cell + 1)
        pair = (lumps[cell].inertia, lumps[cell + 1].inertia)
        links.append(_link(chain, (after - 1, after), centres[cell + 1] - centres[cell], pair))
    rest = chain.compliance - centres[-1]
    return Lumped(
        tuple(lumps),
        tuple(links),
        1 / centres[0] if centres[0] > 0 else math.inf,
        1 / rest if rest > 0 else math.inf,
        cells,
    )


def _moving(body: Sequence[Hanging], hung: Sequence[Hanging]) -> float:
    """Inertia of a body with everything that holds rigidly to it. [kg·m²]"""
    own = {each.placed.part.name for each in body}
    return sum(
        each.placed.inertia
        for each in hung
        if each.placed.part.name in own or (_is_rigid(each) and each.on in own)
    )


def list_riders(hung: Sequence[Hanging], lumped: Lumped) -> tuple[RiderProperties, ...]:
    """The riders that hang with give, in an order where carriers come first."""
    bodies = soft_bodies(hung)
    index: Mapping[str, int] = {
        each.placed.part.name: i for i, body in enumerate(bodies.values()) for each in body
    }
    moving = [_moving(body, hung) for body in bodies.values()]
    riders = []
    for (name, body), inertia in zip(bodies.items(), moving, strict=True):
        first, bond = body[0], side_by_side(*(each.bond for each in body))
        lump, under = lumped.lump_of[first.root], index.get(first.on)
        held = lumped.lumps[lump].inertia if under is None else moving[under]
        riders.append(
            RiderProperties(
                name,
                bond.kind,
                inertia,
                bond.stiffness,
                _damping(bond.damping_ratio, bond.stiffness, inertia, held),
                bond.slip_torque,
                bond.gap,
                lump if under is None else None,
                under,
                math.sqrt(bond.stiffness / inertia) / (2 * math.pi),
                bond.damping_ratio,
            )
        )
    return tuple(riders)


def soft_bodies(hung: Sequence[Hanging]) -> dict[str, list[Hanging]]:
    """The riders that hang with give, by the body that each belongs to."""
    bodies: dict[str, list[Hanging]] = {}
    for each in hung:
        if not _is_rigid(each):
            bodies.setdefault(each.body, []).append(each)
    return bodies
