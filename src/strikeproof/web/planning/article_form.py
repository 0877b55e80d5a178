"""The form of an article: its name, its parts with their cuts and bonds, and what was measured."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import Any, Final

from strikeproof.desk.articles.form import (
    BOND_KINDS,
    CUT_KINDS,
    SHAPE_WORDS,
    bond_fields,
    cut_fields,
    measured_fields,
    part_fields,
    swing_fields,
)
from strikeproof.desk.setting_up.edits import Place, Tables, value_at
from strikeproof.desk.setting_up.fields import Field, fields_of
from strikeproof.web.planning.boxes import Box, BoxGroup, BoxMaker, place_words

__all__ = ["ArticleForm", "CutForm", "PartForm", "article_form", "with_bonds"]

_GIVEN: Final = (
    "mass_kg",
    "polar_inertia_kg_m2",
    "stiffness_n_m_per_rad",
    "hexagon_gap_deg",
    "square_gap_deg",
)
_MATES: Final = ("bolt_across_flats_mm", "drive_across_flats_mm", "dimension_uncertainty_mm")
_RARE: Final = ("eccentric_mm", "eccentric_towards_deg", "price", "overlap_mm")
_USUAL_OF_CUT: Final = ("size_mm", "depth_mm", "at_mm")
_ENDS: Final = (("drive", "drive end"), ("bolt", "bolt end"))
_PLAIN: Final = Field("", "", "", "text", "", "", (), "", "", False, "")


@dataclass(frozen=True, slots=True)
class CutForm:
    """The fields of a cut, and its place as the page names it."""

    at: str
    boxes: tuple[Box, ...]


@dataclass(frozen=True, slots=True)
class PartForm:
    """One part: its fields, how it holds, and its cuts; None where it can have none."""

    at: str
    name: str
    boxes: BoxGroup
    bond: tuple[Box, ...]
    cuts: tuple[CutForm, ...] | None


@dataclass(frozen=True, slots=True)
class ArticleForm:
    """All fields of an article; `folded` are groups under a heading each."""

    own: tuple[Box, ...]
    parts: tuple[PartForm, ...]
    folded: tuple[BoxGroup, ...]


def with_bonds(article: Tables) -> Tables:
    """The same article with each bond as a table, so that its numbers have a place."""
    parts = article.get("part")
    if not isinstance(parts, list):
        return article
    bonds = [
        {**each, "bond": {"kind": each["bond"]}} if isinstance(each.get("bond"), str) else each
        for each in parts
    ]
    return {**article, "part": bonds}


def article_form(maker: BoxMaker) -> ArticleForm:
    """The form of the article that is in the maker's tables."""
    own = {each.key: each for each in fields_of("article")}

    def folded(title: str, place: Place, fields: Sequence[Field]) -> BoxGroup:
        table = value_at(maker.tables, place) or {}
        boxes = tuple(maker.box((*place, each.key), replace(each, needed=False)) for each in fields)
        return BoxGroup((), boxes, title, any(each.key in table for each in fields))

    return ArticleForm(
        tuple(maker.box((key,), own[key]) for key in ("name", "price", "note")),
        tuple(_part(maker, number) for number in range(len(maker.tables.get("part", [])))),
        (
            folded("Weighed, swung or twisted", ("measured",), measured_fields()),
            folded("Swing on two or three wires", ("measured", "swing"), swing_fields()),
            folded("Values without dimensions, and plays", (), [own[key] for key in _GIVEN]),
            folded(
                "Measured drive and bolt head, uncertainty of dimensions", (), [own[key] for key in _MATES]
            ),
        ),
    )


def _words(key: str, label: str, meaning: str = "", *, needed: bool = False) -> Field:
    return replace(_PLAIN, key=key, label=label, meaning=meaning, needed=needed)


def _same(words: Sequence[str]) -> list[tuple[str, str]]:
    return [(word, word) for word in words]


def _part(maker: BoxMaker, number: int) -> PartForm:
    place = ("part", number)
    part = maker.tables["part"][number]
    fields = part_fields(part, first=number == 0)
    rare = [each for each in fields if each.key in _RARE and each.key not in part]
    boxes = [maker.box((*place, "name"), _words("name", "Name of the part")), *_body(maker, place, part)]
    material = _words(
        "material", "Material", "4140 at 20 to 54 HRC may be typed", needed=not part.get("stock")
    )
    boxes.append(maker.box((*place, "material"), material, words="material-words"))
    if number:
        above = [
            str(each.get("name", f"part {n + 1}")) for n, each in enumerate(maker.tables["part"][:number])
        ]
        rides = _words("carrier", "Rides on", "nothing: it carries the torque itself")
        boxes.append(maker.box((*place, "carrier"), rides, _same(above)))
        if part.get("carrier") and len(above) > 1:
            held = _words("second_carrier", "Held by another too", "the other cap of a closed drum")
            boxes.append(maker.box((*place, "second_carrier"), held, _same(above)))
    boxes += [maker.box((*place, each.key), each) for each in fields if each not in rare]
    more = tuple(maker.box((*place, each.key), each) for each in rare)
    return PartForm(
        place_words(place),
        str(part.get("name", f"part {number + 1}")),
        BoxGroup(tuple(boxes), more, "Off the axis, price, overlap", False),
        _bond(maker, place, part) if number else (),
        None if part.get("shape") == "ring" else _cuts(maker, place, part),
    )


def _body(maker: BoxMaker, place: Place, part: dict[str, Any]) -> list[Box]:
    """Bought stock or a shape; stock brings its own."""
    stock = _words("stock", "Stock", "pipe, bar, nut; left out for a shape of your own")
    boxes = [maker.box((*place, "stock"), stock, words="stock-words")]
    if not part.get("stock"):
        shape = _words("shape", "Shape", needed=True)
        boxes.append(maker.box((*place, "shape"), shape, list(SHAPE_WORDS.items())))
    return boxes


def _bond(maker: BoxMaker, place: Place, part: dict[str, Any]) -> tuple[Box, ...]:
    """How it holds: a word, or a table where numbers belong to it."""
    bond = part.get("bond") or {}
    at, kind = (*place, "bond"), str(bond.get("kind", ""))
    words = _words("kind", "How it holds", "rigid when not given, loose where a square meets its hole")
    boxes = [maker.box((*at, "kind"), words, _same(BOND_KINDS))]
    for each in bond_fields(kind, rider=bool(part.get("carrier"))) if kind else ():
        if each.needed or kind in ("weld", "press fit") or each.key in bond:
            boxes.append(maker.box((*at, each.key), each))
    return tuple(boxes)


def _cuts(maker: BoxMaker, place: Place, part: dict[str, Any]) -> tuple[CutForm, ...]:
    made = []
    for number, cut in enumerate(part.get("cut", [])):
        at = (*place, "cut", number)
        kind = str(cut.get("kind", ""))
        boxes = [maker.box((*at, "kind"), _words("kind", f"Cut {number + 1}", needed=True), _same(CUT_KINDS))]
        if kind in ("bore", "chamfer"):
            boxes.append(maker.box((*at, "end"), _words("end", "From the", "bolt end when not given"), _ENDS))
        fields = [each for each in cut_fields(kind) if each.key in _USUAL_OF_CUT or each.key in cut]
        boxes += [maker.box((*at, each.key), each) for each in fields]
        made.append(CutForm(place_words(at), tuple(boxes)))
    return tuple(made)
