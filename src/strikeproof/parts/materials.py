"""What parts are made of: density, elasticity and strength, each row with its source.

A strength may depend on temper, on hardness, or on the size of the piece; `find_material` resolves such
a name to plain numbers.
"""

from __future__ import annotations

import re
from bisect import bisect_left
from collections.abc import Mapping
from dataclasses import dataclass
from typing import Final

from strikeproof.errors import BadInput, NotFound
from strikeproof.parts.hardness import brinell_from_rockwell, strengths_at_brinell, strengths_at_temper
from strikeproof.parts.material_table import MATERIALS, SIZED
from strikeproof.plain_text import TextKind, accept_text
from strikeproof.quantity import ending_of, parse_quantity

__all__ = [
    "BY_HARDNESS",
    "BY_TEMPER",
    "MATERIAL_KEYS",
    "Material",
    "MaterialBook",
    "find_material",
    "material_names",
    "read_materials",
]

BY_HARDNESS: Final = re.compile(r"(?:4140|42CrMo4) at (\d+(?:\.\d+)?) (HRC|HB)", re.IGNORECASE)
"""A steel named by its hardness, and on which scale."""
BY_TEMPER: Final = re.compile(r"4140 tempered at (\d+(?:\.\d+)?)(?: ?°?C)?", re.IGNORECASE)
"""A steel named by the temperature at which it was tempered. [°C]"""
_STEEL_4140: Final = "density 7850, E 205 GPa, G 80 GPa: data sheets of AISI 4140"


@dataclass(frozen=True, slots=True)
class Material:
    """One material in one condition.

    Parameters
    ----------
    name
        As it is asked for.
    density
        [kg/m³]
    shear_modulus, elastic_modulus
        [Pa]
    yield_strength, tensile_strength
        Smallest warranted where a standard warrants it, else typical. [Pa]
    endurance
        Rotating-bending endurance of a polished specimen, an estimate. [Pa]
    source
        Where the numbers stand.
    hardenable
        Whether welding leaves a hard zone that needs preheat.
    """

    name: str
    density: float
    shear_modulus: float
    elastic_modulus: float
    yield_strength: float
    tensile_strength: float
    endurance: float
    source: str
    hardenable: bool = False

    @property
    def poisson(self) -> float:
        """Poisson's ratio from E = 2G(1 + ν), held within what an isotropic body can have."""
        return min(max(self.elastic_modulus / (2 * self.shear_modulus) - 1, 0.0), 0.49)


MaterialBook = Mapping[str, Material]
"""A person's own materials by name; they win over the built-in ones."""


def endurance_of_steel(tensile: float) -> float:
    """Half the tensile strength, 700 MPa at most. [Pa]

    References
    ----------
    Budynas & Nisbett, *Shigley's Mechanical Engineering Design*, 9th ed., eq. (6-8), p. 282 (from memory).
    """
    return min(0.5 * tensile, 700e6)


def _chromoly(name: str, yield_strength: float, tensile: float, source: str) -> Material:
    endurance = endurance_of_steel(tensile)
    return Material(name, 7850, 80e9, 205e9, yield_strength, tensile, endurance, source, hardenable=True)


def _by_hardness(name: str, value: float, scale: str) -> Material:
    low, high = (20.0, 54.0) if scale == "HRC" else (197.0, 543.0)
    if not low <= value <= high:
        raise BadInput(
            f"{name!r}: {value:g} {scale}",
            where="material",
            allowed=f"{low:g} to {high:g} {scale}",
            fix="give a hardness within the table of tempers",
            key="material",
        )
    brinell = brinell_from_rockwell(value) if scale == "HRC" else value
    yield_strength, tensile = strengths_at_brinell(brinell)
    return _chromoly(name, yield_strength, tensile, f"interpolated by hardness; {_STEEL_4140}")


def _by_temper(name: str, celsius: float) -> Material:
    if not 205 <= celsius <= 650:
        raise BadInput(
            f"{name!r}: {celsius:g} °C",
            where="material",
            allowed="205 to 650 °C",
            fix="give a tempering temperature within the table",
            key="material",
        )
    yield_strength, tensile = strengths_at_temper(celsius)
    source = f"ASM / Shigley Table A-21, oil-quenched and tempered; {_STEEL_4140}"
    return _chromoly(name, yield_strength, tensile, source)


def _by_size(name: str, size: float) -> Material:
    row = SIZED[name]
    limits = [limit for limit, _, _ in row.bands]
    if not 0 < size <= limits[-1]:
        raise BadInput(
            f"{name!r} in a {row.measure} of {size * 1e3:g} mm",
            where="material",
            allowed=f"up to {limits[-1] * 1e3:g} mm",
            fix="take another material or a smaller piece",
            key="material",
        )
    _, yield_strength, tensile = row.bands[bisect_left(limits, size - 1e-9)]
    endurance = endurance_of_steel(tensile)
    return Material(
        name,
        row.density,
        row.shear,
        row.elastic,
        yield_strength,
        tensile,
        endurance,
        row.source,
        row.hardenable,
    )


def material_names(own: MaterialBook | None = None) -> tuple[str, ...]:
    """Every plain name that `find_material` knows, the person's own first."""
    tempers = ("4140 at 45 HRC", "4140 tempered at 425 C")
    return (*(own or {}), *MATERIALS, *SIZED, *tempers)


def find_material(
    name: str, own: MaterialBook | None = None, *, diameter: float = 0.016, thickness: float = 0.016
) -> Material:
    """The material called `name`; "4140 at 45 HRC" and "4140 tempered at 425 C" are understood too.

    Parameters
    ----------
    name
        As it is written in the article.
    own
        The person's own, which win over the built-in ones.
    diameter, thickness
        Of the piece, for steels whose warranted strength falls with size. [m]

    Raises
    ------
    NotFound
        If there is no such material.
    BadInput
        If its hardness, temper or size is outside the table.
    """
    if own and name in own:
        return own[name]
    if name in MATERIALS:
        return Material(*MATERIALS[name])
    if name in SIZED:
        return _by_size(name, diameter if SIZED[name].measure == "diameter" else thickness)
    if hard := BY_HARDNESS.fullmatch(name.strip()):
        return _by_hardness(name, float(hard[1]), hard[2].upper())
    if temper := BY_TEMPER.fullmatch(name.strip()):
        return _by_temper(name, float(temper[1]))
    raise NotFound("material", name, material_names(own))


MATERIAL_KEYS: Final = {  # key in the file: (field, factor to SI, smallest, largest)
    "density_kg_m3": (1.0, 100.0, 25_000.0),
    "shear_modulus_gpa": (1e9, 0.001, 700.0),
    "elastic_modulus_gpa": (1e9, 0.001, 1200.0),
    "yield_mpa": (1e6, 0.1, 5000.0),
    "tensile_mpa": (1e6, 0.1, 5000.0),
    "endurance_mpa": (1e6, 0.0, 2000.0),
}


def _own_number(name: str, key: str, value: object) -> float:
    factor, low, high = MATERIAL_KEYS[key]
    ending = ending_of(key)
    if isinstance(value, str) and ending is not None:
        try:
            value = parse_quantity(value, ending.kind) / ending.factor
        except BadInput as wrong:
            allowed = f"{low:g} to {high:g}, or a text with its unit"
            raise BadInput(
                f"{key} = {value!r}", where=f"material {name!r}", allowed=allowed, fix=wrong.fix
            ) from wrong
    good = isinstance(value, int | float) and not isinstance(value, bool)
    if not good or not low <= float(value) <= high:  # type: ignore[arg-type]  # good says it is a number
        raise BadInput(f"{key} = {value!r}", where=f"material {name!r}", allowed=f"{low:g} to {high:g}")
    return float(value) * factor  # type: ignore[arg-type]  # as above


def _own_material(name: str, row: object) -> Material:
    accept_text(name, TextKind.NAME, "name of a material")
    if not isinstance(row, Mapping):
        raise BadInput(
            "is no table", where=f"material {name!r}", allowed="a table", fix=f'write [material."{name}"]'
        )
    known = (*MATERIAL_KEYS, "source", "hardenable")
    for key in row:
        if key not in known:
            raise NotFound(f"key of material {name!r}", key, known)
    for key in MATERIAL_KEYS:
        if key not in row:
            raise BadInput(f"{key} is missing", where=f"material {name!r}", allowed="a number", fix="add it")
    density, shear, elastic, yields, tensile, endures = (
        _own_number(name, key, row[key]) for key in MATERIAL_KEYS
    )
    source, hardenable = row.get("source", "the workspace's own material"), row.get("hardenable", False)
    if not isinstance(source, str):
        raise BadInput(f"source = {source!r}", where=f"material {name!r}", allowed="text")
    if not isinstance(hardenable, bool):
        raise BadInput(f"hardenable = {hardenable!r}", where=f"material {name!r}", allowed="true or false")
    return Material(name, density, shear, elastic, yields, tensile, endures, source, hardenable)


def read_materials(tables: object) -> dict[str, Material]:
    """A person's own materials from tables such as `[material."my bronze"]`.

    Raises
    ------
    NotFound
        If a key is not known.
    BadInput
        If they are no tables, or a value is missing, out of range or of another type.
    """
    if not isinstance(tables, Mapping):
        raise BadInput("is no table", where="material", allowed="a table", fix="write [material.NAME]")
    return {name: _own_material(name, row) for name, row in tables.items()}
