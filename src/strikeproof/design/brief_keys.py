"""Every key of a brief's own tables: what it is called, what it means and what it may be.

The reader, the form and the published schema follow from it. The limits among the keys are `limits.LIMITS`.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any, Final

from strikeproof.design.limits import LIMITS
from strikeproof.design.records import OBJECTIVES, PROCESSES
from strikeproof.parts.fields import Range, number_schema

__all__ = ["BRIEF_KEYS", "BriefKey", "brief_schema", "ranges_of", "words_of"]


@dataclass(frozen=True, slots=True)
class BriefKey:
    """One key.

    Parameters
    ----------
    label, meaning, example
        In a form.
    range
        What its number may be, in the unit of the key; None for words.
    left_out
        What holds where it is not given, in words; "must be there" of one that is needed.
    whole, several
        Whether only whole numbers are taken; whether it is a list.
    choices
        Words to choose from, where there are no others.
    """

    label: str
    meaning: str = ""
    range: Range | None = None
    left_out: str = ""
    whole: bool = False
    several: bool = False
    choices: tuple[str, ...] = ()
    example: str = ""

    @property
    def needed(self) -> bool:
        """Whether the file must have it."""
        return self.left_out == _NEEDED


_NEEDED: Final = "must be there"
BRIEF_KEYS: Final[Mapping[str, Mapping[str, BriefKey]]] = {
    "brief": {
        "name": BriefKey("Name of the brief", example="liner pocket"),
        "note": BriefKey("Note"),
        "objective": BriefKey("What counts most", choices=OBJECTIVES),
        "tools": BriefKey("Tools", "of the campaign; all when left out", several=True),
        "processes": BriefKey("Processes", "all when left out", several=True, choices=PROCESSES),
        "start_from": BriefKey("Start from", "articles that a ring may go on", several=True),
        "proposals": BriefKey("Proposals wanted", "", Range(1, 50), "5", whole=True),
        "hexagon_mm": BriefKey("Bolt head, across flats", "", Range(3, 200), _NEEDED),
        "drive_mm": BriefKey(
            "Square of the tool", "nominal, such as 12.5 or 1/2 in as 12.7", Range(4, 100), _NEEDED
        ),
        "head_height_mm": BriefKey("Depth of the hexagon", "", Range(1, 200), "0.625 of its width"),
        **{
            key: BriefKey(kind.label, kind.meaning, kind.range, kind.left_out) for key, kind in LIMITS.items()
        },
        "seed": BriefKey(
            "Seed of the search", "the same seed finds the same", Range(0, 2**32 - 1), "0", whole=True
        ),
    },
    "envelope": {
        "free_length_mm": BriefKey(
            "Free length", "from the head's seat to the anvil", Range(1, 3000), "no limit"
        ),
        "nearest_wall_mm": BriefKey(
            "Nearest wall", "from the bolt's axis, above the mouth", Range(1, 3000), "no limit"
        ),
        "clearance_mm": BriefKey("Clearance", "left free all round", Range(0, 100), "1 mm"),
    },
    "pocket": {
        "to_depth_mm": BriefKey("Down to", "", Range(0.1, 3000), _NEEDED),
        "diameter_mm": BriefKey("Diameter", "", Range(1, 3000), _NEEDED),
    },
    "stock": {
        "item": BriefKey("Item", left_out=_NEEDED, example="bar 50 mm"),
        "material": BriefKey("Material"),
        "length_mm": BriefKey("Length of the piece", "", Range(1, 20_000)),
    },
}
"""By the table that they are in; `pocket` are the steps of the list of that name in the envelope."""


def ranges_of(table: str) -> dict[str, Range]:
    """The keys of a table that take a number, with what it may be."""
    return {key: each.range for key, each in BRIEF_KEYS[table].items() if each.range is not None}


def words_of(table: str) -> tuple[str, ...]:
    """All its other keys."""
    return tuple(key for key, each in BRIEF_KEYS[table].items() if each.range is None)


def brief_schema() -> dict[str, Any]:
    """A brief's file as a JSON Schema (draft 2020-12); articles, materials and bench are open in it."""
    tables = {name: _table(keys) for name, keys in BRIEF_KEYS.items()}
    tables["envelope"]["properties"]["pocket"] = {"type": "array", "items": tables.pop("pocket")}
    free: dict[str, Any] = {"type": "object"}
    lists = {"stock": tables.pop("stock"), "base": free}
    arrays = {name: {"type": "array", "items": each} for name, each in lists.items()}
    whole = {**tables, **arrays, "material": free, "bench": free}
    head = {"$schema": "https://json-schema.org/draft/2020-12/schema", "title": "brief"}
    return head | {
        "type": "object",
        "additionalProperties": False,
        "properties": whole,
        "required": ["brief"],
    }


def _table(keys: Mapping[str, BriefKey]) -> dict[str, Any]:
    needed = [key for key, each in keys.items() if each.needed]
    properties = {key: _key(key, each) for key, each in keys.items()}
    return {"type": "object", "additionalProperties": False, "properties": properties, "required": needed}


def _key(key: str, said: BriefKey) -> dict[str, Any]:
    told = {"title": said.label} | ({"description": said.meaning} if said.meaning else {})
    if said.range is None:
        word = {"type": "string"} | ({"enum": list(said.choices)} if said.choices else {})
        return told | ({"type": "array", "items": word} if said.several else word)
    return told | number_schema(key, said.range, "integer" if said.whole else "number")
