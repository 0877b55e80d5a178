"""The form of an article: its name, its parts with their cuts and bonds, and what was measured."""

from __future__ import annotations

import copy
from collections.abc import Callable, Coroutine
from dataclasses import replace
from typing import Any

from strikeproof.desk.articles.form import (
    BOND_KINDS,
    CUT_KINDS,
    SHAPE_WORDS,
    bond_fields,
    cut_fields,
    material_choices,
    measured_fields,
    part_fields,
    stock_choices,
    swing_fields,
)
from strikeproof.desk.setting_up.edits import Place, clean, set_value
from strikeproof.desk.setting_up.fields import Field, fields_of
from strikeproof.web.elements import button, section, tag
from strikeproof.web.planning.article_bench import ArticleBench

__all__ = ["draw_article_form"]

_GIVEN = ("mass_kg", "polar_inertia_kg_m2", "stiffness_n_m_per_rad", "hexagon_gap_deg", "square_gap_deg")
_MATES = ("bolt_across_flats_mm", "drive_across_flats_mm", "dimension_uncertainty_mm")
_RARE = ("eccentric_mm", "eccentric_towards_deg", "price", "overlap_mm")
_NEW_PART = {"shape": "bar", "outer_diameter_mm": 30, "length_mm": 20, "material": "4140 at 45 HRC"}
_NEW_CUT = {"kind": "bore", "size_mm": 10}
_PLAIN = Field("", "", "", "text", "", "", (), "", "", False, "")


def _words(key: str, label: str, meaning: str = "", *, needed: bool = False) -> Field:
    return replace(_PLAIN, key=key, label=label, meaning=meaning, needed=needed)


def draw_article_form(bench: ArticleBench) -> None:
    """All of it, from the table as it is typed."""
    own = {each.key: each for each in fields_of("article")}
    _lists()
    with section("What it is called"), tag("div", classes="fields"):
        for key in ("name", "price", "note"):
            bench.field((key,), own[key])
    with section("Parts, from the drive to the bolt"):
        parts = bench.table.get("part", [])
        if not parts:
            tag(
                "p", "No parts yet. Parts are turned bodies on one axis; add them from the drive on.", "quiet"
            )
        for number in range(len(parts)):
            _part(bench, number)
        button("Add a part", _adder(bench, ("part",), _NEW_PART), "button", data_add="part")
    _folded(bench, "Weighed, swung or twisted", ("measured",), measured_fields())
    _folded(bench, "Swing on two or three wires", ("measured", "swing"), swing_fields())
    _folded(bench, "Values without dimensions, and plays", (), [own[key] for key in _GIVEN])
    _folded(
        bench, "Measured drive and bolt head, uncertainty of dimensions", (), [own[key] for key in _MATES]
    )


def _lists() -> None:
    """Words that are offered while a person types."""
    for name, words in (("stock-words", stock_choices()), ("material-words", material_choices())):
        with tag("datalist", id=name):
            for word in words:
                tag("option", value=word)


def _folded(bench: ArticleBench, title: str, place: Place, fields: Any) -> None:
    table: Any = bench.table
    for step in place:
        table = table.get(step, {}) if isinstance(table, dict) else {}
    used = any(each.key in table for each in fields)
    with tag("details", classes="more", open=used):
        tag("summary", title)
        with tag("div", classes="fields"):
            for each in fields:
                bench.field((*place, each.key), replace(each, needed=False))


def _part(bench: ArticleBench, number: int) -> None:
    place = ("part", number)
    parts = bench.table["part"]
    part = parts[number]
    name = str(part.get("name", f"part {number + 1}"))
    with tag("fieldset", classes="entry"):
        tag("legend", f"{number + 1}. {name}")
        bench.fault_place(place)
        with tag("div", classes="fields"):
            bench.field((*place, "name"), _words("name", "Name of the part"))
            _body(bench, place, part)
            bench.field(
                (*place, "material"),
                _words(
                    "material", "Material", "4140 at 20 to 54 HRC may be typed", needed=not part.get("stock")
                ),
                suggestions="material-words",
            )
            _carrier(bench, place, number)
            fields = part_fields(part, first=number == 0)
            for each in fields:
                if each.key not in _RARE or each.key in part:
                    bench.field((*place, each.key), each)
        _rare(bench, place, [each for each in fields if each.key in _RARE and each.key not in part])
        if number:
            _bond(bench, place, part)
        _cuts(bench, place, part)
        _part_bar(bench, number, len(parts), name)


def _body(bench: ArticleBench, place: Place, part: dict[str, Any]) -> None:
    """Bought stock or a shape; stock brings its own."""
    bench.field(
        (*place, "stock"),
        _words("stock", "Stock", "pipe, bar, nut; left out for a shape of your own"),
        suggestions="stock-words",
        anew=True,
    )
    if not part.get("stock"):
        shapes = list(SHAPE_WORDS.items())
        bench.field((*place, "shape"), _words("shape", "Shape", needed=True), choices=shapes, anew=True)


def _carrier(bench: ArticleBench, place: Place, number: int) -> None:
    if not number:
        return
    above = [str(each.get("name", f"part {n + 1}")) for n, each in enumerate(bench.table["part"][:number])]
    words = _words("carrier", "Rides on", "nothing: it carries the torque itself")
    bench.field((*place, "carrier"), words, choices=[(name, name) for name in above], anew=True)


def _rare(bench: ArticleBench, place: Place, fields: list[Field]) -> None:
    if not fields:
        return
    with tag("details", classes="more"):
        tag("summary", "Off the axis, price, overlap")
        with tag("div", classes="fields"):
            for each in fields:
                bench.field((*place, each.key), each)


def _bond(bench: ArticleBench, place: Place, part: dict[str, Any]) -> None:
    """How it holds: a word, or a table where numbers belong to it."""
    bond = part.get("bond")
    if isinstance(bond, str):
        bond = {"kind": bond}
        bench.table = set_value((*place, "bond"), bond)(bench.table)
    at = (*place, "bond")
    kind = str((bond or {}).get("kind", ""))
    with tag("div", classes="fields"):
        words = _words("kind", "How it holds", "rigid when not given, loose where a square meets its hole")
        bench.field((*at, "kind"), words, choices=[(word, word) for word in BOND_KINDS], anew=True)
        for each in bond_fields(kind, rider=bool(part.get("carrier"))) if kind else ():
            if each.needed or kind in ("weld", "press fit") or each.key in (bond or {}):
                bench.field((*at, each.key), each)


def _cuts(bench: ArticleBench, place: Place, part: dict[str, Any]) -> None:
    if part.get("shape") == "ring":
        return
    for number, cut in enumerate(part.get("cut", [])):
        at = (*place, "cut", number)
        with tag("div", classes="cut", role="group", aria_label=f"Cut {number + 1}"):
            bench.fault_place(at)
            with tag("div", classes="fields"):
                kinds = [(word, word) for word in CUT_KINDS]
                bench.field(
                    (*at, "kind"), _words("kind", f"Cut {number + 1}", needed=True), choices=kinds, anew=True
                )
                if cut.get("kind") in ("bore", "chamfer"):
                    ends = [("drive", "drive end"), ("bolt", "bolt end")]
                    bench.field(
                        (*at, "end"), _words("end", "From the", "bolt end when not given"), choices=ends
                    )
                for each in cut_fields(str(cut.get("kind", ""))):
                    if each.key in ("size_mm", "depth_mm", "at_mm") or each.key in cut:
                        bench.field((*at, each.key), each)
            button("Delete the cut", _taker(bench, (*place, "cut"), number), "button small")
    with tag("div", classes="bar tail"):
        button("Add a cut", _adder(bench, (*place, "cut"), _NEW_CUT), "button small", data_add="cut")


Press = Callable[[], Coroutine[Any, Any, None]]


def _adder(bench: ArticleBench, place: Place, new: dict[str, Any]) -> Press:
    async def add() -> None:
        table = copy.deepcopy(bench.table)
        found: Any = table
        for step in place[:-1]:
            found = found[step]
        listed = found.setdefault(place[-1], [])
        entry = copy.deepcopy(new)
        if place == ("part",):
            taken = {each.get("name") for each in listed}
            entry = {"name": next(w for n in range(1, 999) if (w := f"part {n}") not in taken), **entry}
        listed.append(entry)
        first = "name" if place == ("part",) else "kind"
        await bench.edit(table, (*place, len(listed) - 1, first))

    return add


def _taker(bench: ArticleBench, place: Place, number: int) -> Press:
    async def take() -> None:
        table = copy.deepcopy(bench.table)
        found: Any = table
        for step in place:
            found = found[step]
        found.pop(number)
        await bench.edit(clean(table))

    return take


def _part_bar(bench: ArticleBench, number: int, count: int, name: str) -> None:
    async def move(by: int) -> None:
        table = copy.deepcopy(bench.table)
        table["part"].insert(number + by, table["part"].pop(number))
        await bench.edit(table, ("part", number + by, "name"))

    with tag("div", classes="bar tail"):
        if number:
            button("Up", lambda: move(-1), "button small", aria_label=f"Move {name} up")
        if number + 1 < count:
            button("Down", lambda: move(1), "button small", aria_label=f"Move {name} down")
        button("Delete the part", _taker(bench, ("part",), number), "button small")
