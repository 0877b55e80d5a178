"""The step of the articles: a line each, which is the reference, and shapes to start from."""

from __future__ import annotations

from typing import Any

from strikeproof.desk.articles.draft import draft_article
from strikeproof.desk.articles.starting_shapes import SHAPES, start_article
from strikeproof.desk.safety.head_fit import find_head, say_head_fit
from strikeproof.desk.setting_up.edits import add_entry, copy_entry, move_entry, remove_entry, set_value
from strikeproof.errors import BadInput, StrikeproofError, end_sentence
from strikeproof.quantity import write_number
from strikeproof.web.elements import (
    button,
    empty_state,
    field,
    link,
    on_value,
    section,
    select,
    show_error,
    tag,
)
from strikeproof.web.planning.asking import ask
from strikeproof.web.planning.editor import Editor

__all__ = ["show_articles"]

_USUAL_HEAD_MM = 24.0
_DRIVES = (
    ("6.3", "6.3 mm (1/4 in)"),
    ("10", "10 mm (3/8 in)"),
    ("12.5", "12.5 mm (1/2 in)"),
    ("20", "20 mm (3/4 in)"),
    ("25", "25 mm (1 in)"),
    ("40", "40 mm (1 1/2 in)"),
)


def show_articles(editor: Editor) -> None:
    """Every article, and how to add one."""
    articles = editor.set_up.tables.get("article", [])
    if not articles:
        empty_state(
            "No article yet",
            "An article is what sits between tool and bolt: a socket, or a stack of adapter, extension and "
            "socket. Add the one that all others are compared with first, then at least one more.",
        )
    else:
        _reference(editor, articles)
        with tag("ul", classes="entries", aria_label="Articles"):
            for number, article in enumerate(articles):
                _line(editor, number, article, len(articles))
    with section("Add an article"):
        _adding(editor)


def _reference(editor: Editor, articles: list[dict[str, Any]]) -> None:
    names = [str(each.get("name", "")) for each in articles]
    chosen = str(editor.set_up.tables.get("campaign", {}).get("reference", ""))
    options = [
        *([] if chosen in names else [(chosen, chosen or "not given")]),
        *((name, name) for name in names),
    ]
    with tag("div", classes="fields"):
        element = select("Reference: all others are compared with it", options, chosen)
    on_value(
        element, lambda text: editor.change(set_value(("campaign", "reference"), text or None), anew=True)
    )


def _line(editor: Editor, number: int, article: dict[str, Any], count: int) -> None:
    name = str(article.get("name", f"Article {number + 1}"))
    reference = name == editor.set_up.tables.get("campaign", {}).get("reference")
    with tag("li", classes="entry"):
        with tag("div", classes="entry-head"):
            link(name, editor.view.to("/articles", set_up=editor.word, article=number + 1), "big-link")
            if reference:
                tag("span", "reference", "mark")
        faults = editor.set_up.faults_in("article", number)
        if faults:
            tag("p", f"{len(faults)} to fix: {faults[0].beside or faults[0].problem}", "fault")
        else:
            tag("p", _figures(editor, article), "quiet")
            for each in say_head_fit(editor.set_up.tables.get("bolt", {}), [article]):
                tag("p", end_sentence(each[:1].upper() + each[1:]))
        with tag("div", classes="bar tail"):
            link("Edit", editor.view.to("/articles", set_up=editor.word, article=number + 1), "button small")
            button("Copy", lambda: editor.change(copy_entry("article", number), anew=True), "button small")
            if number:
                button(
                    "Up", lambda: editor.change(move_entry("article", number, -1), anew=True), "button small"
                )
            if number + 1 < count:
                button(
                    "Down", lambda: editor.change(move_entry("article", number, 1), anew=True), "button small"
                )
            button("Delete", lambda: _remove(editor, number, name), "button small")


def _figures(editor: Editor, article: dict[str, Any]) -> str:
    draft = draft_article(article, folder=editor.set_up.folder)
    price = article.get("price")
    told = []
    if draft.facts is not None:
        found, units = draft.facts.properties, editor.view.units
        told = [
            units.write(found.mass, "mass", 3),
            f"{write_number(found.polar_inertia * 1e6, 3)} kg·mm²",
            f"{write_number(found.stiffness / 1e3, 3)} kN·m/rad",
        ]
    if isinstance(price, int | float):
        told.append(f"{price:.2f} {editor.set_up.currency}")
    return " · ".join(told) or "only its name is known: describe it to have it explained and designed with"


async def _remove(editor: Editor, number: int, name: str) -> None:
    if await ask(f"Delete {name}?", ["Undo brings it back."], "Delete it", "Keep it"):
        await editor.change(remove_entry("article", number), anew=True)


def _nearest_drive(editor: Editor) -> str:
    """The square on offer that comes nearest to the first tool's."""
    told = [each.get("drive_mm") for each in editor.set_up.tables.get("tool", [])]
    drive = next((each for each in told if isinstance(each, float | int)), 12.7)
    return min((value for value, _words in _DRIVES), key=lambda value: abs(float(value) - drive))


def _adding(editor: Editor) -> None:
    """A name, a shape to start from, and the two sizes that it needs."""
    nearest = _nearest_drive(editor)
    given = {"name": "", "shape": SHAPES[0].word, "head": "24", "drive": nearest}
    units = editor.view.units

    def keep(key: str) -> Any:
        def told(text: str) -> None:
            given[key] = text

        return told

    with tag("div", classes="fields", role="group", aria_label="Add an article"):
        on_value(
            field("Name", hint="as the run sheet calls it", data_new="name"),
            keep("name"),
            "input",
        )
        shapes = [(each.word, f"{each.label}: {each.says}") for each in SHAPES]
        on_value(
            select(
                "Start from",
                [*shapes, ("", "only a name; I weighed or know nothing yet")],
                SHAPES[0].word,
                data_new="shape",
            ),
            keep("shape"),
        )
        bolts = find_head(editor.set_up.tables.get("bolt", {}))
        flats = _USUAL_HEAD_MM if bolts is None else bolts.flats_mm
        usual = f"{units.from_si(1e-3 * flats, 'length'):.4g}"
        head = field(
            f"Bolt's head, across flats ({units.label('length')})",
            usual,
            data_new="head",
            inputmode="decimal",
        )
        given["head"] = usual
        on_value(head, keep("head"), "input")
        on_value(select("Square drive", _DRIVES, nearest, data_new="drive"), keep("drive"))
    trouble = tag("div")

    async def add() -> None:
        trouble.clear()
        try:
            entry = _new(editor, given)
        except StrikeproofError as error:
            with trouble:
                show_error(error)
            return
        await editor.change(add_entry("article", entry), anew=True)

    button("Add the article", add, "button primary", data_add="article")


def _new(editor: Editor, given: dict[str, str]) -> dict[str, Any]:
    name = given["name"].strip()
    if not name:
        raise BadInput("the name is empty", where="name", allowed="a name of its own", fix="give it a name")
    if not given["shape"]:
        return {"name": name}
    units = editor.view.units
    return start_article(
        given["shape"], name, 1e3 * units.read(given["head"], "length"), float(given["drive"])
    )
