"""What is changed and pressed on the page of one article, made into one change of the desk."""

from __future__ import annotations

import copy
from collections.abc import Callable, Mapping
from typing import Any, Final

from strikeproof.desk.setting_up.editor import Change, SetUp, change_set_up, redo, undo
from strikeproof.desk.setting_up.edits import Place, Tables, clean, replace_entry, set_value
from strikeproof.desk.setting_up.fields import read_typed
from strikeproof.errors import BadInput
from strikeproof.web.frame import View
from strikeproof.web.planning.article_facts import fields_in
from strikeproof.web.planning.article_form import with_bonds
from strikeproof.web.planning.boxes import chosen_unit, place_words

__all__ = ["change_article", "stays_drawn"]

_NEW_PART: Final = {"shape": "bar", "outer_diameter_mm": 30, "length_mm": 20, "material": "4140 at 45 HRC"}
_NEW_CUT: Final = {"kind": "bore", "size_mm": 10}
_REDRAWN: Final = ("stock", "shape", "carrier", "kind")
"""Keys on which it hangs which fields there are."""

Words = Mapping[str, str]


def stays_drawn(words: Words) -> bool:
    """Whether a change leaves the fields as they are."""
    return words.get("do") == "set" and words.get("at", "").rpartition(".")[2] not in _REDRAWN


def change_article(view: View, set_up: SetUp, number: int, words: Words) -> tuple[Change, str]:
    """Do what was pressed, and give the place of the field to go to then; not done where nobody agreed.

    Parameters
    ----------
    number
        Of the article, from 0.
    words
        What came with the press: `do`, `at`, `text`, `mark`, `agreed`.

    Raises
    ------
    StrikeproofError
        If it cannot be done, or the campaign was changed in another window.
    """
    workspace, word, agreed = view.site.workspace, set_up.folder.name, words.get("agreed") == "1"
    do = words.get("do", "")
    if do in ("undo", "redo"):
        return (undo if do == "undo" else redo)(workspace, word, agreed=agreed), ""
    articles = set_up.tables.get("article", [])
    if number >= len(articles):
        raise BadInput("it was deleted", where="article", allowed="one that is there", fix="undo that")
    if do not in _DEEDS:
        raise BadInput("there is no such press", where="do", allowed=", ".join(_DEEDS), fix="reload the page")
    article, focus = _DEEDS[do](view, with_bonds(copy.deepcopy(articles[number])), words)
    edit = replace_entry("article", number, clean(article))
    return change_set_up(workspace, word, edit, mark=words.get("mark", ""), agreed=agreed), focus


def _set(view: View, article: Tables, words: Words) -> tuple[Tables, str]:
    place, field = fields_in(view, article).made.get(words.get("at", ""), (None, None))
    if place is None or field is None:
        raise _no_place(words)
    value = read_typed(field, words.get("text", ""), chosen_unit(field, view.units))
    return set_value(place, value)(article), ""


def _add(_view: View, article: Tables, words: Words) -> tuple[Tables, str]:
    at = words.get("at", "")
    if at == "part":
        listed = article.setdefault("part", [])
        taken = {each.get("name") for each in listed}
        name = next(word for n in range(1, 999) if (word := f"part {n}") not in taken)
        listed.append({"name": name, **_NEW_PART})
        return article, f"part.{len(listed) - 1}.name"
    place, part = _entry(article, words, ("part",))
    cuts = part.setdefault("cut", [])
    cuts.append(dict(_NEW_CUT))
    return article, place_words((*place, "cut", len(cuts) - 1, "kind"))


def _remove(_view: View, article: Tables, words: Words) -> tuple[Tables, str]:
    place, _found = _entry(article, words, ("part", "cut"))
    listed: Any = article
    for step in place[:-1]:
        listed = listed[step]
    listed.pop(place[-1])
    return article, ""


def _move(by: int) -> Callable[[View, Tables, Words], tuple[Tables, str]]:
    def moved(_view: View, article: Tables, words: Words) -> tuple[Tables, str]:
        (_kind, number), _found = _entry(article, words, ("part",))
        assert isinstance(number, int)  # as every entry's place ends
        parts = article["part"]
        to = min(max(number + by, 0), len(parts) - 1)
        parts.insert(to, parts.pop(number))
        return article, f"part.{to}.name"

    return moved


def _entry(article: Tables, words: Words, kinds: tuple[str, ...]) -> tuple[Place, Any]:
    """The part, or the cut of a part, that a press is about."""
    steps = words.get("at", "").split(".")
    place = tuple(int(each) if each.isdecimal() and len(each) < 6 else each for each in steps)
    found: Any = article
    for kind, number in zip(place[::2], place[1::2], strict=False):
        listed = found.get(kind) if kind in kinds else None
        if not isinstance(listed, list) or not isinstance(number, int) or number >= len(listed):
            raise _no_place(words)
        found = listed[number]
    if len(place) not in (2, 2 * len(kinds)) or place[0] != "part":
        raise _no_place(words)
    return place, found


def _no_place(words: Words) -> BadInput:
    return BadInput(
        f"there is no field {words.get('at', '')!r}",
        where="at",
        allowed="a field of the article",
        fix="reload the page",
    )


_DEEDS: Final[Mapping[str, Callable[[View, Tables, Words], tuple[Tables, str]]]] = {
    "set": _set,
    "add": _add,
    "remove": _remove,
    "up": _move(-1),
    "down": _move(1),
}
