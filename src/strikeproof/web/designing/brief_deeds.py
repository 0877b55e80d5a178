"""What is changed and pressed in a brief, made into its tables as they are wanted."""

from __future__ import annotations

import copy
import json
from collections.abc import Callable, Mapping, Sequence
from typing import Any, Final

from strikeproof.desk.designing.brief_form import PROCESS_WORDS, Shelf
from strikeproof.desk.setting_up.edits import Place, Tables, set_value, value_at
from strikeproof.desk.setting_up.fields import read_typed
from strikeproof.errors import BadInput
from strikeproof.web.designing.brief_facts import brief_form
from strikeproof.web.planning.boxes import BoxMaker, chosen_unit
from strikeproof.web.units import Units

__all__ = ["change_tables", "read_tables", "stays_drawn", "with_typed"]

_FIRST_STEP: Final = {"to_depth_mm": 30, "diameter_mm": 90}
_DEEPER: Final = 20  # mm, of a step that is added below others
_LISTS: Final[Mapping[str, Place]] = {"step": ("envelope", "pocket"), "stock": ("stock",)}
_LEAST: Final = {"processes": 1}
"""How many of them stay ticked."""

Words = Mapping[str, str]
Deed = Callable[[Tables, Shelf, Units, Words], tuple[Tables, str]]


def stays_drawn(words: Words) -> bool:
    """Whether a change leaves the fields as they are."""
    return words.get("do") in ("set", "tick") and words.get("at") != "brief.objective"


def change_tables(tables: Tables, shelf: Shelf, units: Units, words: Words) -> tuple[Tables, str]:
    """The tables as they are wanted after a press, and the place of the field to go to then.

    Parameters
    ----------
    tables, shelf
        The brief as it is, and what there is to choose from.
    words
        What came with the press: `do`, `at`, `text`, `tables`, and what is chosen beside the button.

    Raises
    ------
    BadInput
        If it is no press of a brief's page.
    """
    deed = _DEEDS.get(words.get("do", ""))
    if deed is None:
        raise BadInput("there is no such press", where="do", allowed=", ".join(_DEEDS), fix="reload the page")
    return deed(tables, shelf, units, words)


def with_typed(tables: Tables, shelf: Shelf, units: Units, typed: Mapping[str, str]) -> Tables:
    """The tables as they would be with what is in some of the fields."""
    made = _fields(tables, shelf, units)
    for at, text in typed.items():
        if at in made:
            place, field = made[at]
            tables = set_value(place, read_typed(field, text, chosen_unit(field, units)))(tables)
    return tables


def _fields(tables: Tables, shelf: Shelf, units: Units) -> Mapping[str, Any]:
    maker = BoxMaker(tables, units, lambda _place: None)
    brief_form(maker, shelf)
    return maker.made


def read_tables(text: str) -> Tables:
    """Tables of a brief that a form holds.

    Raises
    ------
    BadInput
        If they are none.
    """
    try:
        found = json.loads(text)
    except ValueError:
        found = None
    if not isinstance(found, dict):
        raise BadInput("it is no brief", where="form", allowed="tables of a brief", fix="reload the page")
    return found


def _set(tables: Tables, shelf: Shelf, units: Units, words: Words) -> tuple[Tables, str]:
    at = words.get("at", "")
    if at not in _fields(tables, shelf, units):
        raise _no_place(words)
    return with_typed(tables, shelf, units, {at: words.get("text", "")}), ""


def _tick(tables: Tables, shelf: Shelf, _units: Units, words: Words) -> tuple[Tables, str]:
    """What the box shows holds, also where a second window was quicker."""
    _table, _dot, rest = words.get("at", "").partition(".")
    key, _dot, name = rest.partition(".")
    known: Mapping[str, Sequence[str]] = {
        "tools": shelf.tools,
        "processes": tuple(PROCESS_WORDS),
        "start_from": shelf.bases,
    }
    if name not in known.get(key, ()):
        raise _no_place(words)
    now = value_at(tables, ("brief", key))
    ticked = set(now if isinstance(now, list) else known[key] if key == "processes" else ())
    ticked = ticked | {name} if words.get("text") else ticked - {name}
    kept = [each for each in known[key] if each in ticked]
    if len(kept) < _LEAST.get(key, 0):
        raise BadInput(
            f"{name} is the last one",
            where="the workshop can do",
            allowed="one or more",
            fix="tick another first",
        )
    return set_value(("brief", key), kept)(tables), ""


def _add(tables: Tables, shelf: Shelf, _units: Units, words: Words) -> tuple[Tables, str]:
    kind, new = words.get("at", ""), dict[str, Any]()
    if kind not in _LISTS:
        raise _no_place(words)
    listed = value_at(tables, _LISTS[kind])
    listed = listed if isinstance(listed, list) else []
    if kind == "stock":
        item = words.get("stock", "")
        new, first = {"item": item if item in shelf.stock else shelf.stock[0]}, "length_mm"
    else:
        new, first = {**_FIRST_STEP}, "to_depth_mm"
        if listed:
            depth = listed[-1].get("to_depth_mm")
            deeper = depth + _DEEPER if isinstance(depth, int | float) else depth
            new = {**listed[-1], "to_depth_mm": deeper}
    place = ".".join((*_LISTS[kind], str(len(listed)), first))  # type: ignore[arg-type]  # all are words
    return set_value(_LISTS[kind], [*listed, new])(tables), place


def _remove(tables: Tables, _shelf: Shelf, _units: Units, words: Words) -> tuple[Tables, str]:
    kind, _dot, number = words.get("at", "").partition(".")
    rows = copy.deepcopy(value_at(tables, _LISTS[kind])) if kind in _LISTS else None
    if not isinstance(rows, list) or not number.isdecimal() or int(number) >= len(rows):
        raise _no_place(words)
    rows.pop(int(number))
    return set_value(_LISTS[kind], rows)(tables), ""


def _take(_tables: Tables, _shelf: Shelf, _units: Units, words: Words) -> tuple[Tables, str]:
    """Take the tables that come with the press: the nearest brief, or the one before the last change."""
    return read_tables(words.get("tables", "")), ""


def _no_place(words: Words) -> BadInput:
    return BadInput(
        f"there is no field {words.get('at', '')!r}",
        where="at",
        allowed="a field of the brief",
        fix="reload the page",
    )


_DEEDS: Final[Mapping[str, Deed]] = {
    "set": _set,
    "tick": _tick,
    "add": _add,
    "remove": _remove,
    "nearest": _take,
    "undo": _take,
}
