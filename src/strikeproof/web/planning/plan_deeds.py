"""What is changed and pressed in a plan, made into one change of the desk."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from functools import partial
from typing import Final

from strikeproof.desk.articles.starting_shapes import start_article
from strikeproof.desk.calibrating.readings import sheet_of_readings
from strikeproof.desk.setting_up.editor import Change, SetUp, change_set_up, redo, undo
from strikeproof.desk.setting_up.edits import (
    Edit,
    Place,
    add_entry,
    copy_entry,
    move_entry,
    remove_entry,
    set_value,
)
from strikeproof.desk.setting_up.fields import fields_of, read_typed
from strikeproof.errors import BadInput
from strikeproof.web.frame import View
from strikeproof.web.planning.boxes import chosen_unit
from strikeproof.web.planning.plan_facts import DRIVES
from strikeproof.web.units import read_field

__all__ = ["do_deed", "focus_after", "stays_drawn"]

_SHEET: Final = {"sheet": "calibration.csv", "applied_unit": "N m"}
_KINDS: Final = ("tool", "article")

Words = Mapping[str, str]


def stays_drawn(words: Words) -> bool:
    """Whether a change leaves the fields of the step as they are."""
    return words.get("do") in ("set", "readings")


def focus_after(set_up: SetUp, words: Words) -> list[str]:
    """Where the keyboard goes on after a press, as selectors of which the first that is there counts.

    To the name of what was added, with what was moved, to the neighbour of what was deleted.
    """
    do = words.get("do", "")
    if do == "add-article":
        return ['[data-new="name"]']
    if do == "add-tool":
        return [f'[data-at="tool.{len(set_up.tables["tool"]) - 1}.name"]']
    if do not in ("copy", "remove", "up", "down"):
        return []
    kind, number = str(_place(words)[0]), int(_place(words)[1])
    last = len(set_up.tables.get(kind, ())) - 1
    at = {"copy": last, "up": number - 1, "down": number + 1}.get(do, min(number, last))
    other = "down" if do == "up" else "up"
    presses = [f'[data-at="{kind}.{at}"][data-do="{each}"]' for each in (do, other)]
    return [
        f'[data-at="{kind}.{at}.name"]',
        *(presses if do in ("up", "down") else []),
        f'[data-at="{kind}.{at}"]',
        "[data-add]",
    ]


def do_deed(view: View, set_up: SetUp, words: Words) -> Change:
    """Do what was pressed; not done where runs would feel it and nobody agreed.

    Parameters
    ----------
    set_up
        As it is now.
    words
        What came with the press: `do`, `at`, `text`, `mark`, `agreed`, and what is typed beside the button.

    Raises
    ------
    StrikeproofError
        If it cannot be done, or the plan was changed in another window.
    """
    workspace, word, agreed = view.site.workspace, set_up.folder.name, words.get("agreed") == "1"
    if words.get("do") in ("undo", "redo"):
        return (undo if words["do"] == "undo" else redo)(workspace, word, agreed=agreed)
    edit = partial(change_set_up, workspace, word, mark=words.get("mark", ""), agreed=agreed)
    if words.get("do") == "readings":
        return edit(lambda tables: tables, calibration=sheet_of_readings(words.get("text", "")))
    made = _EDITS.get(words.get("do", ""))
    if made is None:
        raise BadInput("there is no such press", where="do", allowed=", ".join(_EDITS), fix="reload the page")
    return edit(made(view, set_up, words))


def _set(view: View, set_up: SetUp, words: Words) -> Edit:
    place = _place(words)
    field = next((each for each in fields_of(str(place[0])) if each.key == place[-1]), None)
    if field is None or (len(place) == 3) is not (place[0] in _KINDS):
        raise _no_place(words)
    return set_value(place, read_typed(field, words.get("text", ""), chosen_unit(field, view.units)))


def _place(words: Words) -> Place:
    parts = words.get("at", "").split(".")
    place = tuple(int(each) if each.isdecimal() and len(each) < 6 else each for each in parts)
    if not 2 <= len(place) <= 3 or place[0] not in (
        "bolt",
        "calibration",
        "campaign",
        "protocol",
        "rig",
        *_KINDS,
    ):
        raise _no_place(words)
    return place


def _no_place(words: Words) -> BadInput:
    return BadInput(
        f"there is no field {words.get('at', '')!r}",
        where="at",
        allowed="a field of the plan",
        fix="reload the page",
    )


def _entry(set_up: SetUp, words: Words) -> tuple[str, int]:
    """The tool or article that a press is about."""
    kind, number = _place(words)[:2]
    if kind not in _KINDS or not isinstance(number, int) or number >= len(set_up.tables.get(str(kind), [])):
        raise _no_place(words)
    return str(kind), number


def _reference(_view: View, _set_up: SetUp, words: Words) -> Edit:
    return set_value(("campaign", "reference"), words.get("text") or None)


def _add_tool(_view: View, set_up: SetUp, _words: Words) -> Edit:
    taken = {each.get("name") for each in set_up.tables.get("tool", [])}
    name = next(word for n in range(1, 1000) if (word := f"tool-{n}") not in taken)
    return add_entry("tool", {"name": name, "mechanism": "air", "drive_mm": 12.7})


def _add_article(view: View, set_up: SetUp, words: Words) -> Edit:
    name = words.get("name", "").strip()
    taken = [str(each.get("name", "")) for each in set_up.tables.get("article", [])]
    if not name or name in taken:
        what = f"another article is called {name!r}" if name else "the name is empty"
        allowed = "a name of its own"
        raise BadInput(what, where="the article's name", allowed=allowed, fix="give it one", key="name")
    if not words.get("shape"):
        return add_entry("article", {"name": name})
    drive = words.get("drive", "")
    if drive not in dict(DRIVES):
        raise BadInput(
            f"{drive!r}", where="square drive", allowed="one of the list", fix="choose one", key="drive"
        )
    head = 1e3 * read_field(view.units, words, "head", "length", "the bolt's head, across flats")
    return add_entry("article", start_article(words["shape"], name, head, float(drive)))


_EDITS: Final[Mapping[str, Callable[[View, SetUp, Words], Edit]]] = {
    "set": _set,
    "reference": _reference,
    "add-tool": _add_tool,
    "add-article": _add_article,
    "copy": lambda _view, set_up, words: copy_entry(*_entry(set_up, words)),
    "remove": lambda _view, set_up, words: remove_entry(*_entry(set_up, words)),
    "up": lambda _view, set_up, words: move_entry(*_entry(set_up, words), -1),
    "down": lambda _view, set_up, words: move_entry(*_entry(set_up, words), 1),
    "add-calibration": lambda _view, _set_up, _words: set_value(("calibration",), _SHEET),
    "drop-calibration": lambda _view, _set_up, _words: set_value(("calibration",), None),
}
