"""What may be written of an article, as a JSON Schema (draft 2020-12), by the ranges that its reader has."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any, get_args

from strikeproof.parts.article import CutKind, End, Seat, Shape
from strikeproof.parts.bonds import BondKind
from strikeproof.parts.fields import Range, number_schema
from strikeproof.parts.reading import ARTICLE_RANGES, MEASURED_RANGES, SWING_RANGES
from strikeproof.parts.reading_cut import CUT_RANGES
from strikeproof.parts.reading_part import BOND_RANGES, PART_RANGES

__all__ = ["article_schema", "measured_schema", "part_schema"]

_TEXT = {"type": "string"}


def part_schema() -> dict[str, Any]:
    """One `[[article.part]]` table, with its cuts and its bond."""
    cut = _table(CUT_RANGES, {"kind": _word(CutKind), "end": _word(End)})
    bond = _table(BOND_RANGES, {"kind": _word(BondKind)})
    words = {
        **dict.fromkeys(("name", "material", "stock", "carrier", "second_carrier"), _TEXT),
        **{"shape": _word(Shape), "seat": _word(Seat)},
        "bond": {"anyOf": [_word(BondKind), bond]},
        "cut": {"type": "array", "items": cut},
    }
    return _table(PART_RANGES, words)


def measured_schema() -> dict[str, Any]:
    """The `[article.measured]` table, with a swing."""
    return _table(MEASURED_RANGES, {"swing": _table(SWING_RANGES, {})})


def article_schema() -> dict[str, Any]:
    """A file with an `[article]` table, or several; its materials are open in it."""
    unsure = {key: each for key, each in MEASURED_RANGES.items() if "uncertainty" in key}
    parts = {"part": {"type": "array", "items": part_schema()}, "measured": measured_schema()}
    article = _table(ARTICLE_RANGES | unsure, {"name": _TEXT, "note": _TEXT, **parts})
    one_or_more = {"anyOf": [article, {"type": "array", "items": article}]}
    head = {"$schema": "https://json-schema.org/draft/2020-12/schema", "title": "article", "type": "object"}
    return head | {"properties": {"article": one_or_more, "material": {"type": "object"}}}


def _word(kind: Any) -> dict[str, Any]:
    return _TEXT | {"enum": list(get_args(kind))}


def _table(ranges: Mapping[str, Range], words: Mapping[str, Any]) -> dict[str, Any]:
    numbers = {key: number_schema(key, each) for key, each in ranges.items()}
    return {"type": "object", "additionalProperties": False, "properties": {**words, **numbers}}
