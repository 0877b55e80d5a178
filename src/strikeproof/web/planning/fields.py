"""A field on the page: its label with the unit chosen, what it means, and what is wrong with it."""

from __future__ import annotations

import json
from collections.abc import Sequence
from dataclasses import dataclass

from nicegui import Client
from nicegui.element import Element

from strikeproof.desk.setting_up.editor import Fault
from strikeproof.desk.setting_up.edits import Place
from strikeproof.desk.setting_up.fields import Field, tell_fault
from strikeproof.quantity import unit_label
from strikeproof.web.elements import tag, text_input
from strikeproof.web.planning.boxes import chosen_unit
from strikeproof.web.units import Units

__all__ = ["Box", "chosen_unit", "draw_box", "put_cursor"]


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
