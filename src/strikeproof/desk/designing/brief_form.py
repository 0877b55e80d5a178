"""The fields of a brief as a form shows them, and what there is to choose from.

What each may be is what the reader of the file allows.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any, Final

from strikeproof.design.limits import LIMITS
from strikeproof.desk.articles.form import material_choices, stock_choices
from strikeproof.desk.setting_up.fields import Field, unit_of

__all__ = [
    "BRIEF_FIELDS",
    "BRIEF_LIMITS",
    "ENVELOPE_FIELDS",
    "OBJECTIVE_WORDS",
    "PROCESS_WORDS",
    "STEP_FIELDS",
    "STOCK_FIELDS",
    "Shelf",
    "make_shelf",
]

OBJECTIVE_WORDS: Final[Mapping[str, str]] = {
    "highest score": "highest gain, with the strongest tool",
    "best over tools": "best over all tools, judged by the one that gains least",
    "best per money": "most gain for the money",
    "lightest": "lightest that reaches a gain",
}
PROCESS_WORDS: Final = ("turning", "welding", "press fit")


@dataclass(frozen=True, slots=True)
class Shelf:
    """What a form offers: tools of the campaign, articles that a ring may go on, stock, materials, money."""

    tools: tuple[str, ...]
    bases: tuple[str, ...]
    stock: tuple[str, ...]
    materials: tuple[str, ...]
    currency: str


def make_shelf(
    tools: tuple[str, ...], articles: Mapping[str, Mapping[str, Any]], materials: Any, currency: str
) -> Shelf:
    """From what a campaign has; only an article with parts can be started from."""
    bases = tuple(name for name, table in articles.items() if table.get("part"))
    return Shelf(tools, bases, stock_choices(), material_choices(materials), currency)


def _number(
    key: str, label: str, meaning: str, *, needed: bool = False, default: str = "", whole: bool = False
) -> Field:
    unit, quantity = unit_of(key)
    kind = "whole" if whole else "number"
    return Field(key, label, meaning, kind, unit, quantity, (), "", "", needed, default)  # type: ignore[arg-type]  # one of two words


def _words(key: str, label: str, meaning: str, *, needed: bool = False, example: str = "") -> Field:
    return Field(key, label, meaning, "text", "", "", (), "", example, needed, "")


def _by_key(*fields: Field) -> dict[str, Field]:
    return {each.key: each for each in fields}


BRIEF_FIELDS: Final[Mapping[str, Field]] = _by_key(
    _words("name", "Name of the brief", "", example="liner pocket"),
    _words("objective", "What counts most", ""),
    _number("proposals", "Proposals wanted", "", default="5", whole=True),
    _number("hexagon_mm", "Bolt head, across flats", "", needed=True),
    _number("drive_mm", "Square of the tool", "nominal, such as 12.5 or 1/2 in as 12.7", needed=True),
    _number("head_height_mm", "Depth of the hexagon", "", default="0.625 of its width"),
    *(_number(key, kind.label, kind.meaning, default=kind.left_out) for key, kind in LIMITS.items()),
    _number("seed", "Seed of the search", "the same seed finds the same", default="0", whole=True),
)
BRIEF_LIMITS: Final = tuple(LIMITS.values())
ENVELOPE_FIELDS: Final[Mapping[str, Field]] = _by_key(
    _number("free_length_mm", "Free length", "from the head's seat to the anvil", default="no limit"),
    _number("nearest_wall_mm", "Nearest wall", "from the bolt's axis, above the mouth", default="no limit"),
    _number("clearance_mm", "Clearance", "left free all round", default="1 mm"),
)
STEP_FIELDS: Final[Mapping[str, Field]] = _by_key(
    _number("to_depth_mm", "Down to", "", needed=True),
    _number("diameter_mm", "Diameter", "", needed=True),
)
STOCK_FIELDS: Final[Mapping[str, Field]] = _by_key(
    _words("item", "Item", "", needed=True, example="bar 50 mm"),
    _words("material", "Material", ""),
    _number("length_mm", "Length of the piece", ""),
)
