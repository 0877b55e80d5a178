"""From one cut's table to a cut: nominal sizes become true ones, and its mate is known."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any, Final, get_args

from strikeproof.errors import BadInput
from strikeproof.parts.article import Cut, CutKind, End
from strikeproof.parts.fields import Fields, named
from strikeproof.parts.shapes import Kind, Outline, free_play
from strikeproof.parts.stock import drive_square

__all__ = ["CUT_KEYS", "CUT_RANGES", "Mates", "read_cut"]

CUT_RANGES: Final = {
    "size_mm": named("Size, nominal", "of the drive, the head or the drill", 0.2, 500),
    "across_flats_mm": named("Across flats", "as measured", 0.2, 500),
    "clearance_mm": named("Clearance", "hole less head", 0, 20),
    "male_mm": named("What goes in, across flats", "as measured", 0.2, 500),
    "depth_mm": named("Depth", "right through when left out", 0.1, 3000),
    "at_mm": named("Starts at", "from the drive end of its carrier; in the middle when left out", 0, 3000),
    "walls": named("Walls", "how many a cross hole goes through, 1 or 2", 1, 2),
    "corner_radius_mm": named("Corner radius", "of the broach", 0, 20),
    "engaged_mm": named("Engaged length", "that its mate presses on", 0.1, 500),
}
_AXIAL: Final = ("kind", "end", "depth_mm", "size_mm")
_WIDTH: Final = (*_AXIAL, "across_flats_mm", "male_mm", "corner_radius_mm", "engaged_mm")
CUT_KEYS: Final[dict[CutKind, tuple[str, ...]]] = {
    "bore": _AXIAL,
    "square drive": _WIDTH,
    "hexagon": (*_WIDTH, "clearance_mm"),
    "twelve-point": (*_WIDTH, "clearance_mm"),
    "cross hole": ("kind", "size_mm", "at_mm", "walls"),
    "chamfer": ("kind", "size_mm", "end"),
}


@dataclass(frozen=True, slots=True)
class Mates:
    """Measured width across flats of the tool's square and of the bolt's head, None where unknown. [m]"""

    drive: float | None = None
    head: float | None = None


def read_cut(table: Mapping[str, Any], part: str, length: float, outer: Outline, mates: Mates) -> Cut:
    """The cut of one table.

    Parameters
    ----------
    table
        As read from the file.
    part
        For messages.
    length, outer
        Of the part it is cut into. [m]
    mates
        What goes into the broached holes at the two ends.

    Raises
    ------
    BadInput
        If a value is missing, wrong or out of range, or the cut does not fit the part.
    """
    fields = Fields(table, f"{part}, cut", CUT_RANGES, ("kind", "end"))
    kind: CutKind = fields.choice("kind", get_args(CutKind))  # type: ignore[assignment]
    fields.only(kind, CUT_KEYS[kind])
    if kind == "cross hole":
        return _cross_hole(fields, length, outer)
    if kind == "chamfer":
        return _chamfer(fields, length, outer)
    usual = "drive" if kind == "square drive" else "bolt"
    end: End = fields.choice("end", get_args(End), usual)  # type: ignore[assignment]
    depth = fields.number("depth_mm", length)
    if depth > length + 1e-9:
        raise fields.wrong("depth_mm", f"0.1 to {length * 1e3:g}", "a cut is no deeper than its part is long")
    if kind == "bore":
        return Cut(kind, fields.number("size_mm"), depth, end)
    return _broached(fields, kind, (depth, end), mates)


def _cross_hole(fields: Fields, length: float, outer: Outline) -> Cut:
    size = fields.number("size_mm")
    if size >= outer.size:
        raise fields.wrong("size_mm", f"above 0 and below {outer.size * 1e3:g}", "take a smaller drill")
    at = fields.number("at_mm")
    if not size / 2 <= at <= length - size / 2:
        allowed = f"{size * 500:g} to {(length - size / 2) * 1e3:g}"
        raise fields.wrong("at_mm", allowed, "keep the whole hole within the part")
    walls = fields.number("walls", 2.0)
    if walls not in (1.0, 2.0):
        raise fields.wrong("walls", "1 or 2")
    return Cut("cross hole", size, outer.size, "drive", at, int(walls))


def _chamfer(fields: Fields, length: float, outer: Outline) -> Cut:
    size = fields.number("size_mm")
    most = min(length, outer.size / 2) * 0.98
    if outer.kind != "round":
        raise fields.wrong("kind", "a chamfer only on a round part", "leave the chamfer of a prism out")
    if size > most:
        raise fields.wrong("size_mm", f"above 0, up to {most * 1e3:.4g}", "take a smaller chamfer")
    end: End = fields.choice("end", get_args(End))  # type: ignore[assignment]
    return Cut("chamfer", size, size, end)


def _widths(fields: Fields, kind: CutKind, mate: float | None) -> tuple[float, float]:
    """True width across flats of the hole, and of what goes into it. [m]"""
    true, nominal = fields.maybe("across_flats_mm"), fields.maybe("size_mm")
    if true is None and nominal is None:
        raise BadInput(
            "size_mm is missing",
            where=fields.where,
            allowed="size_mm (nominal) or across_flats_mm (measured)",
            key="size_mm",
        )
    male = fields.maybe("male_mm") or mate
    if kind == "square drive":
        standard = drive_square(nominal or true or 0.0) if true is None or male is None else None
        female = true if true is not None else standard.female if standard else 0.0
        return female, male or (standard.male if standard else female)
    size = nominal if nominal is not None else true or 0.0
    # A wrench opening is wider and a head narrower than nominal; together about this much (common practice).
    clearance = fields.number("clearance_mm", 0.1e-3 + 0.01 * size)
    if true is None:
        return size + clearance / 2, male or size - clearance / 2
    return true, male or true - clearance


def _broached(fields: Fields, kind: CutKind, reach: tuple[float, End], mates: Mates) -> Cut:
    depth, end = reach
    female, male = _widths(fields, kind, mates.drive if kind == "square drive" else mates.head)
    shape: Kind = "square" if kind == "square drive" else "hexagon"
    if male > female:
        raise BadInput(
            f"what goes in is {male * 1e3:.4g} mm wide and the {kind} {female * 1e3:.4g} mm",
            where=fields.where,
            allowed="a hole at least as wide as its mate",
            fix="check size_mm, across_flats_mm and male_mm",
        )
    if male <= 0 or free_play(shape, male, female) > {"square": 1.57, "hexagon": 1.04}[shape]:
        raise BadInput(
            f"what goes in is {male * 1e3:.4g} mm wide and turns round in {female * 1e3:.4g} mm",
            where=fields.where,
            allowed=f"a {kind} narrower than across the corners of its mate",
            fix="check size_mm, across_flats_mm and male_mm",
        )
    usual = min(depth, (1.2 if kind == "square drive" else 0.42) * male)
    engaged = fields.number("engaged_mm", usual)
    if engaged > depth + 1e-9:
        raise fields.wrong("engaged_mm", f"0.1 to {depth * 1e3:g}", "no more than the depth")
    return Cut(
        kind, female, depth, end, male=male, corner_radius=fields.maybe("corner_radius_mm"), engaged=engaged
    )
