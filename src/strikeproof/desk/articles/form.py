"""The fields of an article's parts, cuts, bonds and measurements, as a form shows them.

Which fields a part has follows from its shape; what each may be is what the reader of the file allows.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from typing import Any, Final, get_args

from strikeproof.desk.setting_up.fields import Field, unit_of
from strikeproof.errors import StrikeproofError
from strikeproof.parts import find_stock, material_names, stock_names
from strikeproof.parts.article import CutKind, Shape
from strikeproof.parts.bonds import BondKind
from strikeproof.parts.fields import Range
from strikeproof.parts.materials import MaterialBook
from strikeproof.parts.reading import MEASURED_RANGES, SWING_RANGES
from strikeproof.parts.reading_cut import CUT_KEYS, CUT_RANGES
from strikeproof.parts.reading_part import BOND_KEYS, BOND_RANGES, PART_RANGES

__all__ = [
    "BOND_KINDS",
    "CUT_KINDS",
    "SHAPE_WORDS",
    "bond_fields",
    "cut_fields",
    "material_choices",
    "measured_fields",
    "part_fields",
    "stock_choices",
    "swing_fields",
]

SHAPE_WORDS: Final[Mapping[str, str]] = {
    "bar": "bar, round",
    "tube": "tube",
    "sleeve": "sleeve",
    "cone": "cone",
    "disc": "disc or flat ring",
    "ring": "ring of round stock",
    "fill": "fill, loose or cast",
    "hexagonal prism": "hexagonal bar",
    "square prism": "square bar",
}
CUT_KINDS: Final[tuple[str, ...]] = get_args(CutKind)
BOND_KINDS: Final[tuple[str, ...]] = get_args(BondKind)
assert set(SHAPE_WORDS) == set(get_args(Shape))

_ROUND: Final = ("outer_diameter_mm", "length_mm", "bore_mm")
_BY_SHAPE: Final[Mapping[str, tuple[str, ...]]] = {
    "bar": _ROUND,
    "tube": ("outer_diameter_mm", "wall_mm", "bore_mm", "length_mm"),
    "sleeve": ("outer_diameter_mm", "wall_mm", "bore_mm", "length_mm"),
    "cone": ("outer_diameter_mm", "outer_diameter_end_mm", "length_mm", "bore_mm"),
    "disc": _ROUND,
    "ring": ("outer_diameter_mm", "ring_stock_mm"),
    "fill": ("outer_diameter_mm", "length_mm", "bore_mm", "packing"),
    "hexagonal prism": ("across_flats_mm", "length_mm", "bore_mm"),
    "square prism": ("across_flats_mm", "length_mm", "bore_mm"),
}
_OPTIONAL: Final = ("bore_mm", "wall_mm", "packing")
_LOOSE_NEEDS: Final = ("slip_torque_n_m",)
_NEEDED: Final = {
    "weld": ("throat_mm",),
    "press fit": ("interference_mm",),
    "cross hole": ("size_mm", "at_mm"),
    "chamfer": ("size_mm",),
    "bore": ("size_mm",),
}


def part_fields(part: Mapping[str, Any], *, first: bool = False) -> tuple[Field, ...]:
    """The numbers of a part by its shape or stock; a rider has a start, what follows another an overlap."""
    keys, needed = _dimensions(part)
    after = ("at_mm",) if part.get("carrier") else () if first else ("overlap_mm",)
    keys = (
        *keys,
        *after,
        "eccentric_mm",
        *(("eccentric_towards_deg",) if part.get("eccentric_mm") else ()),
        "price",
    )
    return _fields(keys, PART_RANGES, needed)


def _dimensions(part: Mapping[str, Any]) -> tuple[tuple[str, ...], tuple[str, ...]]:
    if part.get("stock"):
        try:
            item = find_stock(str(part["stock"]))
        except StrikeproofError:  # what is wrong with it is shown at its own field
            return ("length_mm", "bore_mm"), ()
        return ("length_mm", "bore_mm"), () if item.length else ("length_mm",)
    keys = _BY_SHAPE.get(str(part.get("shape")), ("length_mm",))
    fills = part.get("shape") == "fill" and part.get("carrier")
    return keys, tuple(k for k in keys if k not in _OPTIONAL and not (fills and k == "outer_diameter_mm"))


def cut_fields(kind: str) -> tuple[Field, ...]:
    """The numbers of a cut."""
    keys = [key for key in CUT_KEYS.get(kind, ()) if key in CUT_RANGES]  # type: ignore[call-overload]  # any word
    first = [key for key in ("size_mm", "depth_mm", "at_mm") if key in keys]
    return _fields([*first, *(key for key in keys if key not in first)], CUT_RANGES, _NEEDED.get(kind, ()))


def bond_fields(kind: str, *, rider: bool) -> tuple[Field, ...]:
    """The numbers of a bond; a loose rider must say at which torque it slips."""
    keys = [key for key in BOND_KEYS.get(kind, ()) if key in BOND_RANGES]  # type: ignore[call-overload]  # any word
    needed = _LOOSE_NEEDS if kind == "loose" and rider else _NEEDED.get(kind, ())
    own = [key for key in keys if key not in BOND_KEYS["rigid"]]  # what only this kind has comes first
    order = dict.fromkeys((*needed, *own, *keys))
    return _fields(order, BOND_RANGES, needed)


def measured_fields() -> tuple[Field, ...]:
    """What was weighed, swung or twisted, each with its standard uncertainty."""
    return _fields(MEASURED_RANGES, MEASURED_RANGES, ())


def swing_fields() -> tuple[Field, ...]:
    """A swing on two or three wires."""
    return _fields(SWING_RANGES, SWING_RANGES, ("wires", "period_s", "wire_length_mm", "spacing_mm"))


def material_choices(own: MaterialBook | None = None) -> tuple[str, ...]:
    """Materials to choose from, the person's own first; more hardnesses may be typed."""
    tempers = ("4140 at 40 HRC", "4140 at 50 HRC", "42CrMo4 at 48 HRC")
    return tuple(dict.fromkeys((*material_names(own), *tempers)))


def stock_choices() -> tuple[str, ...]:
    """Stock to choose from; bars of any diameter may be typed."""
    return tuple(
        dict.fromkeys((*(f"bar {size} mm" for size in (16, 20, 25, 30, 36, 40, 50, 60)), *stock_names()))
    )


def _fields(keys: Iterable[str], ranges: Mapping[str, Range], needed: Iterable[str]) -> tuple[Field, ...]:
    wanted = tuple(needed)
    return tuple(_field(key, ranges, needed=key in wanted) for key in keys)


def _field(key: str, ranges: Mapping[str, Range], *, needed: bool) -> Field:
    unit, quantity = unit_of(key)
    limits, of = ranges[key], ranges[key.replace("_uncertainty", "")]
    label, meaning = of.label, of.meaning
    if limits is not of:
        label, meaning = f"± {label[0].lower()}{label[1:]}", "standard uncertainty"
    allowed = f"{limits} {unit}".strip()
    return Field(key, label, meaning, "number", unit, quantity, (), allowed, "", needed, "")
