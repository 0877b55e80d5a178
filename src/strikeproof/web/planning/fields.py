"""A field on the page: its label with the unit chosen, what it means, and what is wrong with it."""

from __future__ import annotations

import json
from collections.abc import Awaitable, Callable, Iterable, Mapping, Sequence
from dataclasses import dataclass
from typing import Any

from nicegui import Client
from nicegui.element import Element

from strikeproof.desk.setting_up.editor import Fault
from strikeproof.desk.setting_up.edits import Place, set_value, value_at
from strikeproof.desk.setting_up.fields import Field, read_typed, show_value, tell_fault
from strikeproof.quantity import unit_label
from strikeproof.web.elements import on_value, tag, text_input
from strikeproof.web.planning.editor import Editor
from strikeproof.web.units import CHOICES, Units

__all__ = ["Box", "chosen_unit", "draw_box", "edit_field", "edit_fields", "put_cursor"]


@dataclass(eq=False)
class Box:
    """A field that is drawn: what is typed into, and where its fault is."""

    field: Field
    input: Element
    says: Element

    def tell(self, fault: Fault | None) -> None:
        """Show what is wrong, or nothing; the row keeps its height for one line of it."""
        text = "" if fault is None else tell_fault(self.field, fault)
        if self.says._text == text:
            return
        self.says._text = text
        self.says.update()
        self.input.props["aria-invalid"] = "true" if text else "false"
        self.input.update()

    def show(self, text: str) -> None:
        """Put a text into the field."""
        if not self.input.is_deleted:
            seek = f"const field = document.getElementById('c{self.input.id}')"
            self.input.client.run_javascript(f"{seek}; if (field) field.value = {json.dumps(text)}")


def chosen_unit(field: Field, units: Units) -> str | None:
    """The unit that a person has chosen for a field, None where there is no choice."""
    return units.of(field.quantity) if field.quantity in CHOICES else None


def put_cursor(client: Client, place: Place, *, back: bool) -> None:
    """Put the cursor into a field that is drawn again.

    `back` is to where it was: only if the person has gone nowhere else meanwhile, and the page does not move.
    """
    at, still = ".".join(map(str, place)), json.dumps(back)
    seek = f"document.querySelector('[data-at=\"{at}\"]')?.focus({{preventScroll: {still}}})"
    free = "document.activeElement === document.body" if back else "true"
    # The form is in the page only once the browser has drawn it.
    client.run_javascript(f"setTimeout(() => {{ if ({free}) {seek} }}, 60)")


def draw_box(
    field: Field,
    text: str,
    units: Units,
    *,
    choices: Sequence[tuple[str, str]] | None = None,
    suggestions: str | None = None,
    label: str | None = None,
) -> Box:
    """The field with its label, meaning and room for a fault.

    Parameters
    ----------
    text
        What is in it.
    choices
        Values and words to choose from, in place of the field's own.
    suggestions
        Id of a list of words that are offered while a person types.
    """
    unit = chosen_unit(field, units)
    printed = unit_label(unit) if unit else field.unit
    named = label or field.label
    options = choices or [(word, word) for word in field.choices]
    if field.kind == "yes":
        options = [("yes", "yes"), ("no", "no")]
    with tag("div", classes="field box"):
        row = tag("label")
        with row:
            with tag("span", classes="name"):
                tag("span", f"{named} ({printed})" if printed else named)
                if field.needed:
                    tag("span", "needed", "needed")
            element = _choice(options, text, field) if options else _line(field, text, suggestions)
        hint = f"c{row.id}-says"
        meaning = _meaning(field)
        with tag("div", classes="beside", id=hint):
            if meaning:
                tag("small", meaning)
            says = tag("p", "", "fault", role="alert")
    element.props["aria-describedby"] = hint
    return Box(field, element, says)


def _meaning(field: Field) -> str:
    said = [field.meaning] if field.meaning else []
    if field.default:
        said.append(f"{field.default} when left out")
    return "; ".join(said)


def _line(field: Field, text: str, suggestions: str | None) -> Element:
    numeric = field.kind in ("number", "whole")
    return text_input(
        text,
        type="text",
        inputmode="decimal" if numeric else None,
        placeholder=f"such as {field.example}" if field.example else None,
        list=suggestions,
        autocomplete="off",
        spellcheck="false",
        data_key=field.key,
        data_guard="left",
    )


def _choice(options: Sequence[tuple[str, str]], text: str, field: Field) -> Element:
    values = [value for value, _words in options]
    element = tag("select", data_key=field.key)
    with element:
        if not field.needed or text not in values:
            tag("option", "not given", value="", selected=text == "")
        if text and text not in values:  # what was typed elsewhere is shown, and named as wrong
            tag("option", text, value=text, selected=True)
        for value, words in options:
            tag("option", words, value=value, selected=value == text)
    return element


def edit_field(
    editor: Editor,
    place: Place,
    field: Field,
    *,
    choices: Sequence[tuple[str, str]] | None = None,
    after: Callable[[], Awaitable[None] | None] | None = None,
    anew: bool = False,
) -> Box:
    """A field of the campaign: what is typed goes to the desk when it is done, and its fault comes back."""
    table: Mapping[str, Any] = value_at(editor.set_up.tables, place[:-1]) or {}
    units = editor.view.units
    unit = chosen_unit(field, units)
    box = draw_box(field, show_value(field, table, unit), units, choices=choices)

    def judge() -> None:
        box.tell(editor.set_up.fault_at(place))

    async def changed(text: str) -> None:
        value = read_typed(field, text, unit)
        made = await editor.change(set_value(place, value), anew=anew)
        if not made:
            box.show(show_value(field, value_at(editor.set_up.tables, place[:-1]) or {}, unit))
        if after is not None:
            waiting = after()
            if waiting is not None:
                await waiting

    on_value(box.input, changed)
    editor.watchers.append(judge)
    judge()
    return box


def edit_fields(
    editor: Editor,
    place: Place,
    fields: Iterable[Field],
    first: Sequence[str],
    *,
    more: str,
    choices: Mapping[str, Sequence[tuple[str, str]]] | None = None,
    after: Callable[[], Awaitable[None] | None] | None = None,
) -> None:
    """The fields named in `first`, and the others folded away under the words `more`."""
    known = {each.key: each for each in fields}
    lists = choices or {}
    with tag("div", classes="fields"):
        for key in first:
            edit_field(editor, (*place, key), known[key], choices=lists.get(key), after=after)
    others = [each for key, each in known.items() if key not in first]
    if not others:
        return
    table = value_at(editor.set_up.tables, place) or {}
    used = any(each.key in table for each in others)
    wrong = any(editor.set_up.fault_at((*place, each.key)) for each in others)
    with tag("details", classes="more", open=used or wrong):
        tag("summary", more)
        with tag("div", classes="fields"):
            for each in others:
                edit_field(editor, (*place, each.key), each, choices=lists.get(each.key), after=after)
