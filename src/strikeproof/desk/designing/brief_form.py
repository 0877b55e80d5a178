"""The fields of a brief as a form shows them, and what there is to choose from.

What each may be is what the reader of the file allows.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any, Final

from strikeproof.design.brief_keys import BRIEF_KEYS, BriefKey
from strikeproof.design.limits import LIMITS
from strikeproof.design.records import PROCESSES
from strikeproof.desk.articles.form import material_choices, stock_choices
from strikeproof.desk.setting_up.fields import Field, FieldKind, unit_of

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
PROCESS_WORDS: Final = PROCESSES


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


def _fields(table: str) -> dict[str, Field]:
    return {key: _field(key, each) for key, each in BRIEF_KEYS[table].items() if not each.several}


def _field(key: str, said: BriefKey) -> Field:
    unit, quantity = unit_of(key)
    kind: FieldKind = "text" if said.range is None else "whole" if said.whole else "number"
    default = "" if said.needed else said.left_out
    return Field(
        key, said.label, said.meaning, kind, unit, quantity, (), "", said.example, said.needed, default
    )


BRIEF_FIELDS: Final[Mapping[str, Field]] = _fields("brief")
BRIEF_LIMITS: Final = tuple(LIMITS.values())
ENVELOPE_FIELDS: Final[Mapping[str, Field]] = _fields("envelope")
STEP_FIELDS: Final[Mapping[str, Field]] = _fields("pocket")
STOCK_FIELDS: Final[Mapping[str, Field]] = _fields("stock")
