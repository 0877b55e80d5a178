"""From one `[[article.part]]` table to a part."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from typing import Any, Final, get_args

from strikeproof.errors import BadInput, NotFound, at_place
from strikeproof.parts.article import Cut, Part, Seat, Shape
from strikeproof.parts.bonds import BondKind, BondPlan
from strikeproof.parts.fields import Fields, named
from strikeproof.parts.reading_cut import Mates, read_cut
from strikeproof.parts.shapes import Outline, round_outline
from strikeproof.parts.stock import StockItem, find_stock
from strikeproof.plain_text import TextKind, accept_text

__all__ = ["BOND_KEYS", "BOND_RANGES", "PART_RANGES", "Mates", "read_part"]

PART_RANGES: Final = {
    "length_mm": named("Length", "along the axis", 0.1, 3000),
    "outer_diameter_mm": named("Outer diameter", "at the drive end of a cone; overall of a ring", 1, 1000),
    "outer_diameter_end_mm": named("Outer diameter, bolt end", "of a cone", 1, 1000),
    "across_flats_mm": named("Across flats", "as measured", 1, 1000),
    "bore_mm": named("Bore right through", "a rider's fits its carrier when left out", 0.5, 1000),
    "wall_mm": named("Wall", "in place of the bore", 0.2, 200),
    "ring_stock_mm": named("Diameter of the stock", "of a ring of round bar", 0.5, 300),
    "overlap_mm": named("Reaches into the part before", "or over it", 0, 1000),
    "at_mm": named(
        "Starts at", "from the drive end of its carrier; in the middle when left out", -3000, 3000
    ),
    "eccentric_mm": named("Off the axis", "how far its centre is", 0, 200),
    "eccentric_towards_deg": named("Towards", "direction of what is off the axis", -360, 360),
    "packing": named("Packing", "share of the volume that is filled, such as 0.6 for shot", 0.05, 1),
    "price": named("Price", "used in place of the price table", 0, 1e9),
}
_WORDS: Final = ("name", "shape", "material", "stock", "carrier", "second_carrier", "seat", "bond", "cut")
BOND_RANGES: Final = {
    "throat_mm": named("Throat of the weld", "its height", 0.5, 50),
    "runs": named("Weld runs", "how many", 1, 20),
    "coverage": named("Coverage", "share of the circle that is welded", 0.01, 1),
    "interference_mm": named("Interference", "on the diameter", 0.001, 1),
    "friction": named("Friction", "of the press fit", 0.01, 0.8),
    "stiffness_n_m_per_rad": named("Stiffness", "in place of what is worked out", 1, 1e8),
    "damping_ratio": named("Damping ratio", "in place of what is usual", 0, 0.99),
    "slip_torque_n_m": named("Slip torque", "at which it turns", 0, 1e6),
    "gap_deg": named("Play", "free turn", 0, 30),
}
_KNOWN: Final = ("kind", "stiffness_n_m_per_rad", "damping_ratio", "slip_torque_n_m", "gap_deg")
BOND_KEYS: Final[dict[BondKind, tuple[str, ...]]] = {
    "rigid": _KNOWN,
    "weld": (*_KNOWN, "throat_mm", "runs", "coverage"),
    "press fit": (*_KNOWN, "interference_mm", "friction"),
    "loose": _KNOWN,
}
_PRISMS: Final = {"hexagonal prism": "hexagon", "square prism": "square"}


@dataclass(frozen=True, slots=True)
class _Body:
    """Outside, its size at the bolt end, and bore of a part. [m]"""

    outer: Outline
    outer_end: float
    bore: Outline | None


def read_part(
    table: Mapping[str, Any], article: str, number: int, above: Sequence[Part], mates: Mates
) -> Part:
    """The part of one table.

    Parameters
    ----------
    table
        As read from the file.
    article
        For messages.
    number
        Of the table, from 1, for a part without a name.
    above
        The parts read before it.
    mates
        Measured drive and bolt head.

    Raises
    ------
    BadInput, NotFound
        If anything in it cannot be used.
    """
    name = str(table.get("name", f"part {number}")) if isinstance(table, Mapping) else f"part {number}"
    accept_text(name, TextKind.NAME, f"{article}, part {number}", key="name")
    fields = Fields(table, f"{article}, part {name!r}", PART_RANGES, _WORDS)
    stock = find_stock(fields.text("stock")) if "stock" in fields else None
    shape: Shape = fields.choice("shape", get_args(Shape), stock.shape if stock else None)  # type: ignore[assignment]
    carrier = _carrier(fields, above)
    second = _second_carrier(fields, above)
    length = _length(fields, shape, stock)
    body = _body(fields, shape, stock, carrier)
    cuts = tuple(_cuts(fields, length, body.outer, mates))
    before = next((part for part in reversed(above) if part.on_path), None)
    plan = _bond(fields, carrier, before, (shape, cuts))
    return Part(
        name,
        shape,
        fields.text("material", stock.material if stock else None),
        length,
        body.outer,
        body.outer_end,
        body.bore,
        cuts,
        plan,
        _overlap(fields, plan, before, cuts, length) if carrier is None else 0.0,
        carrier.name if carrier else None,
        fields.number("at_mm", _middle(carrier, second) - length / 2) if carrier else 0.0,
        _seat(fields, shape, carrier),
        fields.number("eccentric_mm", 0.0),
        fields.number("eccentric_towards_deg", 0.0),
        fields.number("packing", 1.0),
        stock.name if stock else None,
        stock.family if stock else None,
        fields.maybe("price"),
        second.name if second else None,
    )


def _cuts(fields: Fields, length: float, outer: Outline, mates: Mates) -> Iterator[Cut]:
    for number, each in enumerate(fields.tables("cut")):
        with at_place("cut", number):
            cut = read_cut(each, fields.where, length, outer, mates)
        yield cut


def _carrier(fields: Fields, above: Sequence[Part]) -> Part | None:
    if "carrier" not in fields:
        for key in ("second_carrier", "at_mm", "seat"):
            if key in fields:
                raise fields.wrong(key, "only beside a carrier", "name the carrier, or remove it")
        return None
    if "overlap_mm" in fields:
        raise fields.wrong("overlap_mm", "only on the torque path", "use at_mm")
    return _find_above(fields, above, "carrier")


def _find_above(fields: Fields, above: Sequence[Part], key: str) -> Part:
    name = fields.text(key)
    found = next((part for part in above if part.name == name), None)
    if found is None:
        what = f"{key} ({fields.where}) among the parts above it:"
        raise NotFound(what, name, [part.name for part in above], key=key)
    return found


def _second_carrier(fields: Fields, above: Sequence[Part]) -> Part | None:
    if "second_carrier" not in fields:
        return None
    if fields.text("second_carrier") == fields.text("carrier"):
        raise fields.wrong("second_carrier", "another part than carrier", "name the other cap, or remove it")
    return _find_above(fields, above, "second_carrier")


def _middle(carrier: Part, second: Part | None) -> float:
    """Middle between the far ends of what holds a part, from the drive end of the first. [m]"""
    if second is None or second.carrier != carrier.carrier:
        return carrier.length / 2
    low, high = min(0.0, second.at - carrier.at), second.at - carrier.at + second.length
    return (low + max(carrier.length, high)) / 2


def _length(fields: Fields, shape: str, stock: StockItem | None) -> float:
    if shape == "ring":
        return fields.number("ring_stock_mm")
    if stock is not None and stock.length is not None and "length_mm" not in fields:
        return stock.length
    return fields.number("length_mm")


def _body(fields: Fields, shape: str, stock: StockItem | None, carrier: Part | None) -> _Body:
    if stock is not None:
        for key in ("outer_diameter_mm", "across_flats_mm", "wall_mm"):
            if key in fields:
                raise fields.wrong(key, f"left out: {stock.name} has it", "remove it, or remove the stock")
    outer = stock.outer if stock is not None else _outer(fields, shape, carrier)
    end = fields.number("outer_diameter_end_mm") if shape == "cone" else outer.size
    bore = _bore(fields, shape, stock, outer)
    outside = _seat(fields, shape, carrier) == "outside" and shape != "ring"
    if bore is None and carrier is not None and outside:
        bore = _snug(carrier)
    if bore is not None and bore.size >= min(outer.size, end):
        key = "bore_mm" if "bore_mm" in fields else "wall_mm" if "wall_mm" in fields else "bore"
        raise BadInput(
            f"{key} = {bore.size * 1e3:g} in an outside of {min(outer.size, end) * 1e3:g} mm",
            where=fields.where,
            allowed=f"a bore above 0 and below {min(outer.size, end) * 1e3:g}",
            fix="take a smaller bore or a wider bar",
            key=key,
        )
    return _Body(outer, end, bore)


def _seat(fields: Fields, shape: str, carrier: Part | None) -> Seat:
    """Outside its carrier, but a fill inside it unless its bore goes over it."""
    over = (fields.maybe("bore_mm") or 0.0) >= (carrier.outer.size if carrier else 0.0) * (1 - 1e-9)
    usual = "inside" if shape == "fill" and not over else "outside"
    return fields.choice("seat", get_args(Seat), usual)  # type: ignore[return-value]  # choices are seats


def _snug(carrier: Part) -> Outline:
    """A bore that just goes over what it sits on."""
    return round_outline(carrier.outer.corners)


def _outer(fields: Fields, shape: str, carrier: Part | None) -> Outline:
    if shape in _PRISMS:
        return Outline(
            "hexagon" if shape == "hexagonal prism" else "square", fields.number("across_flats_mm")
        )
    if "across_flats_mm" in fields:
        raise fields.wrong("across_flats_mm", "only for a prism", "use outer_diameter_mm")
    if shape == "fill" and "outer_diameter_mm" not in fields and carrier is not None:
        hole = carrier.bore
        if hole is not None:
            return hole
    return round_outline(fields.number("outer_diameter_mm"))


def _bore(fields: Fields, shape: str, stock: StockItem | None, outer: Outline) -> Outline | None:
    for key, wanted in (("outer_diameter_end_mm", "cone"), ("ring_stock_mm", "ring"), ("packing", "fill")):
        if key in fields and shape != wanted:
            raise fields.wrong(key, f"only for a {wanted}", "remove it")
    if shape == "ring":
        _check_ring(fields, outer)
        return None
    if "bore_mm" in fields:
        bore = fields.number("bore_mm")
        if stock is not None and stock.bore is not None and bore < stock.bore.size:
            allowed = f"{stock.bore.size * 1e3:.4g} or more, the bore of {stock.name}"
            raise fields.wrong("bore_mm", allowed, "a bore can be opened, not closed")
        return round_outline(bore)
    if stock is not None:
        return stock.bore
    if "wall_mm" in fields:
        wall = fields.number("wall_mm")
        if 2 * wall >= outer.size:
            raise fields.wrong("wall_mm", f"above 0 and below {outer.size * 500:g}", "take a thinner wall")
        return round_outline(outer.size - 2 * wall)
    if shape == "tube":
        raise BadInput(
            "bore_mm is missing",
            where=fields.where,
            allowed="bore_mm or wall_mm",
            fix="add one",
            key="bore_mm",
        )
    return None


def _check_ring(fields: Fields, outer: Outline) -> None:
    for key in ("bore_mm", "wall_mm"):
        if key in fields:
            raise fields.wrong(key, "left out: a ring is given by outer_diameter_mm and ring_stock_mm")
    if 2 * fields.number("ring_stock_mm") >= outer.size:
        raise fields.wrong("ring_stock_mm", f"above 0 and below {outer.size * 500:g}", "take thinner stock")


def _bond(
    fields: Fields, carrier: Part | None, before: Part | None, own: tuple[str, tuple[Cut, ...]]
) -> BondPlan:
    raw = fields.table.get("bond", {})
    table = {"kind": raw} if isinstance(raw, str) else raw
    usual: BondKind = "loose" if carrier is None and before is not None and _mates(before, own) else "rigid"
    with at_place("bond"):
        plan = _bond_plan(Fields(table, f"{fields.where}, bond", BOND_RANGES, ("kind",)), usual, carrier)
    if carrier is None and before is None and raw:
        raise fields.wrong("bond", "only from the second part on", "remove it")
    return plan


def _bond_plan(bond: Fields, usual: BondKind, carrier: Part | None) -> BondPlan:
    kind: BondKind = bond.choice("kind", get_args(BondKind), usual)  # type: ignore[assignment]
    bond.only(kind, BOND_KEYS[kind])
    if kind == "loose" and carrier is not None:
        bond.number("slip_torque_n_m")  # what drags a loose rider is a matter of knowledge, not of geometry
    runs = bond.number("runs", 1.0)
    if runs != int(runs):
        raise bond.wrong("runs", "a whole number, 1 to 20")
    return BondPlan(
        kind,
        bond.number("throat_mm", None if kind == "weld" else 0.0),
        int(runs),
        bond.number("coverage", 1.0),
        bond.number("interference_mm", None if kind == "press fit" else 0.0),
        bond.number("friction", 0.15),
        bond.maybe("stiffness_n_m_per_rad"),
        bond.maybe("damping_ratio"),
        bond.maybe("slip_torque_n_m"),
        bond.maybe("gap_deg"),
    )


def _mates(before: Part, own: tuple[str, tuple[Cut, ...]]) -> bool:
    """Whether a prism and a broached hole of its kind meet here: the usual loose joint of a stack."""
    shape, cuts = own
    female = [cut.outline.kind for cut in cuts if cut.end == "drive" and cut.kind not in ("bore", "chamfer")]
    male = [
        cut.outline.kind for cut in before.cuts if cut.end == "bolt" and cut.kind not in ("bore", "chamfer")
    ]
    goes_in = before.shape in _PRISMS and _PRISMS[before.shape] in female
    return goes_in or (shape in _PRISMS and _PRISMS[shape] in male)


def _overlap(
    fields: Fields, plan: BondPlan, before: Part | None, cuts: tuple[Cut, ...], length: float
) -> float:
    """How far a part reaches into the one before it; a loose joint reaches as deep as its hole allows."""
    if before is None:
        return 0.0
    female = [cut.depth for cut in cuts if cut.end == "drive" and cut.kind == "square drive"]
    deep = min([before.length, length, *female]) if plan.kind == "loose" and female else 0.0
    reach = fields.number("overlap_mm", deep)
    if reach > min(before.length, length) + 1e-9:
        most = min(before.length, length) * 1e3
        raise fields.wrong("overlap_mm", f"0 to {most:g}", "a part reaches no further than its own length")
    if plan.kind == "press fit" and reach == 0:
        raise BadInput(
            "overlap_mm is missing",
            where=fields.where,
            allowed="above 0 for a press fit",
            fix="say how deep it sits",
            key="overlap_mm",
        )
    return reach
