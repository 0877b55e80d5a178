"""From the `[article]` table of a file to an article."""

from __future__ import annotations

import math
from collections.abc import Mapping
from typing import Any, Final

from strikeproof.errors import at_place
from strikeproof.parts.article import Article, Given, Part
from strikeproof.parts.fields import Fields, Range, named
from strikeproof.parts.layout import place
from strikeproof.parts.materials import MaterialBook
from strikeproof.parts.measured import STANDARD_GRAVITY, Measured, Swing
from strikeproof.parts.reading_part import Mates, read_part

__all__ = ["ARTICLE_RANGES", "MEASURED_RANGES", "SWING_RANGES", "read_article"]

_MASS: Final = named("Mass", "as weighed", 1e-3, 500)
_INERTIA: Final = named("Polar inertia", "as measured", 1e-8, 10)
_STIFFNESS: Final = named("Stiffness", "in place of what is worked out", 1.0, 1e8)
_GAP: Final = Range(0, 30)

ARTICLE_RANGES: Final = {
    "price": Range(0, 1e9),
    "mass_kg": _MASS,
    "polar_inertia_kg_m2": _INERTIA,
    "stiffness_n_m_per_rad": _STIFFNESS,
    "hexagon_gap_deg": _GAP,
    "square_gap_deg": _GAP,
    "bolt_across_flats_mm": Range(3, 200),
    "drive_across_flats_mm": Range(4, 100),
    "dimension_uncertainty_mm": Range(0, 5),
}
MEASURED_RANGES: Final = {
    "mass_kg": _MASS,
    "mass_uncertainty_kg": Range(0, 50),
    "polar_inertia_kg_m2": _INERTIA,
    "polar_inertia_uncertainty_kg_m2": Range(0, 1),
    "stiffness_n_m_per_rad": _STIFFNESS,
    "stiffness_uncertainty_n_m_per_rad": Range(0, 1e8),
}
SWING_RANGES: Final = {
    "wires": named("Wires", "that it hangs on, 2 or 3", 2, 3),
    "period_s": named("Period", "of one full swing", 0.02, 100),
    "period_uncertainty_s": Range(0, 10),
    "wire_length_mm": named("Length of the wires", "", 10, 20_000),
    "wire_length_uncertainty_mm": Range(0, 1000),
    "spacing_mm": named("Spacing of the wires", "between neighbours", 2, 5000),
    "spacing_uncertainty_mm": Range(0, 500),
    "mass_kg": _MASS,
    "mass_uncertainty_kg": Range(0, 50),
    "platform_mass_kg": named("Mass of the platform", "if it lies on one", 0, 500),
    "platform_mass_uncertainty_kg": Range(0, 50),
    "platform_inertia_kg_m2": named("Inertia of the platform", "if it lies on one", 0, 10),
    "platform_inertia_uncertainty_kg_m2": Range(0, 1),
    "gravity_m_s2": named("Gravity", "9.80665 m/s² when left out", 9.7, 9.9),
}


def _split(key: str) -> tuple[str, str]:
    """A key's quantity and its unit: "wire_length_mm" is "wire_length" and "mm"."""
    for unit in ("_n_m_per_rad", "_kg_m2", "_kg", "_mm", "_s"):
        if key.endswith(unit):
            return key.removesuffix(unit), unit
    return key, ""


def _measured(fields: Fields, key: str, default: float | None = None) -> Measured | None:
    value = fields.maybe(key)
    if value is None:
        return None if default is None else Measured(default, 0.0)
    name, unit = _split(key)
    return Measured(value, fields.maybe(f"{name}_uncertainty{unit}"))


def _needed(fields: Fields, key: str) -> Measured:
    fields.number(key)
    found = _measured(fields, key)
    assert found is not None  # the line above raised otherwise
    return found


def _read_swing(table: Mapping[str, Any], where: str, scales: Measured | None) -> Swing:
    """A swing; the spacing is that between neighbouring wires, r = s/2 for two and s/√3 for three."""
    fields = Fields(table, f"{where}, swing", SWING_RANGES)
    wires = fields.number("wires")
    if wires not in (2.0, 3.0):
        raise fields.wrong("wires", "2 or 3")
    spacing = _needed(fields, "spacing_mm")
    share = 0.5 if wires == 2 else 1 / math.sqrt(3)
    spread = None if spacing.uncertainty is None else spacing.uncertainty * share
    mass = _measured(fields, "mass_kg") or scales or _needed(fields, "mass_kg")
    none = Measured(0.0, 0.0)
    return Swing(
        int(wires),
        _needed(fields, "period_s"),
        _needed(fields, "wire_length_mm"),
        Measured(spacing.value * share, spread),
        mass,
        _measured(fields, "platform_mass_kg") or none,
        _measured(fields, "platform_inertia_kg_m2") or none,
        fields.number("gravity_m_s2", STANDARD_GRAVITY),
    )


def _given(fields: Fields) -> Given:
    """Values typed beside the parts, and measured ones, which win over them."""
    where = f"{fields.where}, measured"
    with at_place("measured"):
        own = Fields(fields.table.get("measured", {}), where, MEASURED_RANGES, ("swing",))
        scales, inertia = _measured(own, "mass_kg"), _measured(own, "polar_inertia_kg_m2")
        stiffness = _measured(own, "stiffness_n_m_per_rad")
    mass = scales or _measured(fields, "mass_kg")
    swing = None
    if "swing" in own:
        with at_place("measured", "swing"):
            swing = _read_swing(own.table["swing"], where, mass)
    if inertia is None and swing is None:
        inertia = _measured(fields, "polar_inertia_kg_m2")
    return Given(
        mass,
        inertia,
        stiffness or _measured(fields, "stiffness_n_m_per_rad"),
        fields.maybe("square_gap_deg"),
        fields.maybe("hexagon_gap_deg"),
        fields.maybe("price"),
        swing,
    )


def read_article(table: Mapping[str, Any], *, materials: MaterialBook | None = None) -> Article:
    """An article from its table, geometry checked.

    Parameters
    ----------
    table
        The keys of `[article]`, its parts under "part".
    materials
        The person's own.

    Raises
    ------
    BadInput
        If a key is unknown, a value is missing, wrong or out of range, or the geometry is impossible.
    NotFound
        If a material, an item of stock or a carrier is not there.
    """
    name = table.get("name", "article") if isinstance(table, Mapping) else "article"
    where = f"article {name!r}"
    # A measured uncertainty beside a plain value is read too, under the keys of [article.measured].
    ranges = ARTICLE_RANGES | {key: each for key, each in MEASURED_RANGES.items() if "uncertainty" in key}
    fields = Fields(table, where, ranges, ("name", "note", "part", "measured"))
    mates = Mates(fields.maybe("drive_across_flats_mm"), fields.maybe("bolt_across_flats_mm"))
    parts: list[Part] = []
    for number, each in enumerate(fields.tables("part")):
        with at_place("part", number):
            parts.append(read_part(each, where, number + 1, parts, mates))
    spread = fields.number("dimension_uncertainty_mm", 0.1e-3)
    article = Article(fields.text("name", "article"), tuple(parts), _given(fields), spread)
    place(article, materials)
    return article
