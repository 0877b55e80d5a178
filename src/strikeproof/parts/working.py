"""From an article to everything that follows from it."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import replace
from itertools import pairwise
from typing import Final

from strikeproof.errors import BadInput
from strikeproof.parts.article import Article, Part
from strikeproof.parts.bonds import Bond, weld_length
from strikeproof.parts.layout import Placed, fit_between, place
from strikeproof.parts.lumps import Hanging, hang_riders, list_riders, lump_chain
from strikeproof.parts.materials import MaterialBook
from strikeproof.parts.measured import Difference, Measured, compare, inertia_from_swing
from strikeproof.parts.path import Chain, end_cut, lay_chain
from strikeproof.parts.prices import PriceTable
from strikeproof.parts.properties import ArticleProperties, CutLine, Lump, PartProperties, WeldLine
from strikeproof.parts.shapes import free_play
from strikeproof.parts.strength import list_checks, list_sections

__all__ = ["TYPICAL_GAP", "TYPICAL_STIFFNESS", "work_out"]

TYPICAL_STIFFNESS: Final = 4.0e4
"""[N·m/rad] of a socket with its hexagon, where nothing else says it: an estimate, no source."""
TYPICAL_GAP: Final = math.radians(2.0)
"""[rad] at a square or hexagon, where nothing says it: an estimate, no source; 1 to 4 degrees are common."""

_DENSITY_SPREAD: Final = (
    0.005  # relative standard uncertainty of a density and of a modulus: estimates, no source
)
_MODULUS_SPREAD: Final = 0.02


def work_out(
    article: Article, *, materials: MaterialBook | None = None, prices: PriceTable | None = None
) -> ArticleProperties:
    """Mass, inertia, stiffness, gaps, strength, price and lists of an article.

    Parameters
    ----------
    article
        Its geometry, its known values, or both.
    materials
        The person's own, which win over the built-in ones.
    prices
        None leaves out what the price table would add.

    Raises
    ------
    BadInput
        If the geometry is impossible, or there is neither geometry nor an inertia.
    NotFound
        If a material is not known.
    """
    computed = _from_parts(article, materials, prices) if article.parts else _from_values(article)
    return _with_values(article, computed)


def _from_parts(
    article: Article, materials: MaterialBook | None, prices: PriceTable | None
) -> ArticleProperties:
    placed = place(article, materials)
    path = tuple(each for each in placed if each.part.on_path)
    if not path:
        raise BadInput(
            "no part carries the torque",
            where=f"article {article.name!r}",
            allowed="at least one part without a carrier",
            fix="list a part on the torque path first",
        )
    chain = lay_chain(path)
    hung = hang_riders(placed, chain)
    lumped = lump_chain(chain, hung)
    sections = list_sections(chain)
    inertia = sum(each.inertia for each in placed)
    bonds = _bonds(path, chain, hung)
    gaps = _end_gap(path[0], "drive"), _end_gap(path[-1], "bolt")
    parts = tuple(_part(each, bonds.get(each.part.name), prices) for each in placed)
    welds = _list_welds(path, placed, bonds)
    return ArticleProperties(
        name=article.name,
        mass=sum(each.mass for each in placed),
        polar_inertia=inertia,
        stiffness=1 / chain.compliance,
        drive_stiffness=lumped.drive_stiffness,
        hexagon_stiffness=lumped.hexagon_stiffness,
        drive_gap=TYPICAL_GAP if gaps[0] is None else gaps[0],
        hexagon_gap=TYPICAL_GAP if gaps[1] is None else gaps[1],
        outer_diameter=max(_outside(each) for each in placed),
        length=max(each.end for each in placed) - min(each.start for each in placed),
        price=_whole_price(parts, welds, bonds, prices),
        lumps=lumped.lumps,
        links=lumped.links,
        riders=list_riders(hung, lumped),
        parts=parts,
        sections=sections,
        checks=list_checks(chain, sections, hung, lumped.lump_of, inertia),
        welds=welds,
        cuts=tuple(_cut_line(each.part) for each in placed),
        off_balance=_off_balance(placed),
        differences=(),
        hardenable=any(each.material.hardenable for each in placed),
        notes=_notes(article, gaps),
    )


def _bonds(path: Sequence[Placed], chain: Chain, hung: Sequence[Hanging]) -> dict[str, Bond]:
    own = {each.part.name: bond for each, bond in zip(path[1:], chain.bonds, strict=True)}
    return own | {each.placed.part.name: each.bond for each in hung}


def _end_gap(placed: Placed, end: str) -> float | None:
    cut = end_cut(placed, "drive" if end == "drive" else "bolt")
    return free_play(cut.outline.kind, cut.male, cut.size) if cut is not None else None


def _outside(placed: Placed) -> float:
    """Diameter of the circle the part sweeps. [m]"""
    part = placed.part
    widest = max(part.outer.corners, part.outer.corners * part.outer_end / part.outer.size)
    return widest + 2 * part.eccentric


def _off_balance(placed: Sequence[Placed]) -> float:
    """Length of the sum of mass times distance from the axis. [kg·m]"""
    along = across = 0.0
    for each in placed:
        moment = each.shifted_mass * each.part.eccentric + each.solid.lopsided * each.material.density
        along += moment * math.cos(each.part.towards)
        across += moment * math.sin(each.part.towards)
    return math.hypot(along, across)


def _part(placed: Placed, bond: Bond | None, prices: PriceTable | None) -> PartProperties:
    part = placed.part
    return PartProperties(
        part.name,
        part.carrier,
        placed.material.name,
        placed.mass,
        placed.inertia,
        placed.start,
        placed.end,
        _outside(placed),
        part.bond.kind if bond is None else bond.kind,
        math.inf if bond is None else bond.stiffness,
        _part_price(placed, prices),
    )


def _notes(article: Article, gaps: tuple[float | None, float | None]) -> tuple[str, ...]:
    notes = []
    for gap, given, where in (
        (gaps[0], article.given.drive_gap, "drive"),
        (gaps[1], article.given.hexagon_gap, "hexagon"),
    ):
        if gap is None and given is None:
            notes.append(f"no gap at the {where} given: {math.degrees(TYPICAL_GAP):g} degrees taken")
    return tuple(notes)


def _known_inertia(article: Article) -> Measured | None:
    """The inertia given, else that of a swing."""
    given = article.given
    if given.polar_inertia is None and given.swing is not None:
        return inertia_from_swing(given.swing)
    return given.polar_inertia


def _known_mass(article: Article) -> Measured | None:
    given = article.given
    return given.swing.mass if given.mass is None and given.swing is not None else given.mass


def _from_values(article: Article) -> ArticleProperties:
    """An article of which only values are known: one lump in the middle of its stiffness."""
    inertia, mass = _known_inertia(article), _known_mass(article)
    if inertia is None:
        raise BadInput(
            "neither polar_inertia_kg_m2 nor a part is given",
            where=f"article {article.name!r}",
            allowed="an inertia, a swing, or [[article.part]] tables",
            fix="give one of them",
        )
    stiffness = article.given.stiffness
    notes: tuple[str, ...] = ()
    if stiffness is None:
        notes += (f"no stiffness given: {TYPICAL_STIFFNESS:g} N·m/rad taken",)
    if mass is None:
        notes += ("no mass given: 0 kg shown",)
    whole = stiffness.value if stiffness else TYPICAL_STIFFNESS
    return ArticleProperties(
        name=article.name,
        mass=mass.value if mass else 0.0,
        polar_inertia=inertia.value,
        stiffness=whole,
        drive_stiffness=2 * whole,
        hexagon_stiffness=2 * whole,
        drive_gap=TYPICAL_GAP,
        hexagon_gap=TYPICAL_GAP,
        outer_diameter=None,
        length=None,
        price=None,
        lumps=(Lump(inertia.value, (article.name,)),),
        links=(),
        riders=(),
        parts=(),
        sections=(),
        checks=(),
        welds=(),
        cuts=(),
        off_balance=0.0,
        differences=(),
        hardenable=False,
        notes=notes + _notes(article, (None, None)),
    )


def _spread(article: Article, computed: ArticleProperties) -> tuple[float, float, float]:
    """Relative standard uncertainties of the computed mass, inertia and stiffness.

    A dimension enters mass by about its square, inertia and stiffness by its fourth power.
    """
    relative = article.dimension_uncertainty / (computed.outer_diameter or math.inf)
    return (
        math.hypot(2 * relative, _DENSITY_SPREAD),
        math.hypot(4 * relative, _DENSITY_SPREAD),
        math.hypot(4 * relative, _MODULUS_SPREAD),
    )


def _differences(article: Article, computed: ArticleProperties) -> tuple[Difference, ...]:
    known = (_known_mass(article), _known_inertia(article), article.given.stiffness)
    values = (computed.mass, computed.polar_inertia, computed.stiffness)
    rows = zip(("mass", "polar inertia", "stiffness"), values, _spread(article, computed), known, strict=True)
    return tuple(
        compare(name, Measured(value, value * spread), measured)
        for name, value, spread, measured in rows
        if measured is not None
    )


def _with_values(article: Article, computed: ArticleProperties) -> ArticleProperties:
    """Given and measured values in place of the computed ones, everything that hangs on them scaled along."""
    given = article.given
    known = {
        "mass": _known_mass(article),
        "polar_inertia": _known_inertia(article),
        "stiffness": given.stiffness,
    }
    values: dict[str, float] = {name: each.value for name, each in known.items() if each is not None}
    heavier = values.get("polar_inertia", computed.polar_inertia) / computed.polar_inertia
    stiffer = values.get("stiffness", computed.stiffness) / computed.stiffness
    fixed = {
        "drive_gap": given.drive_gap,
        "hexagon_gap": given.hexagon_gap,
        "price": given.price,
    }
    values |= {name: each for name, each in fixed.items() if each is not None}
    return replace(
        _scaled(computed, heavier, stiffer),
        **values,  # type: ignore[arg-type]  # names and types are those of the record
        differences=_differences(article, computed) if article.parts else (),
    )


def _scaled(computed: ArticleProperties, heavier: float, stiffer: float) -> ArticleProperties:
    if heavier == stiffer == 1.0:
        return computed
    damping = math.sqrt(heavier * stiffer)
    return replace(
        computed,
        drive_stiffness=computed.drive_stiffness * stiffer,
        hexagon_stiffness=computed.hexagon_stiffness * stiffer,
        lumps=tuple(Lump(lump.inertia * heavier, lump.parts) for lump in computed.lumps),
        links=tuple(
            replace(link, stiffness=link.stiffness * stiffer, damping=link.damping * damping)
            for link in computed.links
        ),
        riders=tuple(
            replace(
                rider,
                inertia=rider.inertia * heavier,
                damping=rider.damping * math.sqrt(heavier),
                frequency=rider.frequency / math.sqrt(heavier),
            )
            for rider in computed.riders
        ),
    )


def _raw_volume(part: Part) -> float:
    """What must be bought for a part: its outside over its length, hollow only if bought hollow. [m³]"""
    widest = part.outer.area * max(1.0, part.outer_end / part.outer.size) ** 2
    hollow = part.bore is not None and (part.stock is not None or part.shape in ("tube", "sleeve", "fill"))
    return part.length * (widest - (part.bore.area if hollow and part.bore else 0.0))


def _part_price(placed: Placed, prices: PriceTable | None) -> float | None:
    """Price of one part, cut to length; None when nothing says it.

    Parameters
    ----------
    placed
        Its price is taken where the person gave one.
    prices
        None where nothing is looked up.

    Returns
    -------
    In the currency of the table.
    """
    part = placed.part
    if part.price is not None or prices is None:
        return part.price
    bought = placed.solid.volume if part.shape in ("ring", "fill") else _raw_volume(part)
    names = tuple(name for name in (part.stock, part.family, placed.material.name) if name)
    cost = prices.cost(names, mass=bought * placed.material.density, length=part.length)
    sawn = part.shape not in ("ring", "fill") and part.family not in ("nut", "old nut", "long nut", "washer")
    return cost if cost is None or not sawn else cost + (prices.cost(("cut",)) or 0.0)


def _whole_price(
    parts: Sequence[PartProperties],
    welds: Sequence[WeldLine],
    bonds: dict[str, Bond],
    prices: PriceTable | None,
) -> float | None:
    """Sum over parts and joints; None when a part has no price.

    Parameters
    ----------
    parts
        Each with its own price or None.
    welds
        Priced by the metre of bead.
    bonds
        By part; every press fit is priced as a piece.
    prices
        None leaves the joints out.

    Returns
    -------
    In the currency of the table.
    """
    known = [part.price for part in parts if part.price is not None]
    if len(known) < len(parts):
        return None
    if prices is None:
        return sum(known)
    beads = sum(prices.cost(("weld",), length=weld.length) or 0.0 for weld in welds)
    fits = sum(bond.kind == "press fit" for bond in bonds.values()) * (prices.cost(("press fit",)) or 0.0)
    return sum(known) + beads + fits


def _list_welds(
    path: Sequence[Placed], placed: Sequence[Placed], bonds: dict[str, Bond]
) -> tuple[WeldLine, ...]:
    """Every weld with its bead.

    Parameters
    ----------
    path
        Parts that carry the torque, in order from the drive.
    placed
        All parts.
    bonds
        By the name of the part that each holds.
    """
    before = {after.part.name: first.part.name for first, after in pairwise(path)}
    by_name = {each.part.name: each for each in placed}
    lines = []
    for name, bond in bonds.items():
        if bond.kind == "weld":
            each = by_name[name]
            plan = each.part.bond
            for other in (by_name[to] for to in each.part.carriers or (before[name],)):
                bead = weld_length(plan, fit_between(each, other).diameter)
                preheat = each.material.hardenable or other.material.hardenable
                lines.append(WeldLine(name, other.part.name, plan.throat, bead, preheat))
    return tuple(lines)


def _cut_line(part: Part) -> CutLine:
    """What to take for a part, and how long to cut it."""
    return CutLine(
        part.name, part.stock or f"{part.shape} {part.outer.size * 1e3:.4g} mm", part.material, part.length
    )
