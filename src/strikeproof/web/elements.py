"""Plain HTML elements, the only ones the pages are built of; their look is in assets/look.css."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Sequence
from typing import Any

from nicegui import ui
from nicegui.element import Element

from strikeproof.errors import StrikeproofError
from strikeproof.plain_text import join_halves, xml_text
from strikeproof.web.fragments import render, tied
from strikeproof.web.glossary import linked

__all__ = [
    "button",
    "empty_state",
    "facts",
    "field",
    "html",
    "link",
    "notes",
    "on_value",
    "section",
    "select",
    "show_error",
    "simulated_mark",
    "table",
    "tag",
    "text_input",
    "tied",
]


def tag(name: str, /, text: str | None = None, classes: str = "", **attributes: Any) -> Element:
    """An element with text, classes and attributes; `for_` and `aria_label` become `for` and `aria-label`."""
    element = ui.element(name)
    if classes:
        element.classes(classes)
    for key, value in attributes.items():
        if value is not None and value is not False:
            element.props[key.rstrip("_").replace("_", "-")] = "" if value is True else value
    if text is not None:
        element._text = tied(text)  # as the framework's own text elements do
    return element


def html(markup: str, name: str = "div", classes: str = "") -> ui.html:
    """Markup that the desk made and escaped, such as a drawing."""
    element = ui.html(str(markup), sanitize=False, tag=name)
    return element.classes(classes) if classes else element


def link(text: str, address: str, /, classes: str = "", **attributes: Any) -> Element:
    """A link to another page."""
    return tag("a", text, classes, href=address, **attributes)


def button(
    text: str, on_click: Callable[..., Any] | None = None, classes: str = "button", **attributes: Any
) -> Element:
    """A button that asks the server."""
    element = tag("button", text, classes, type="button", **attributes)
    return element if on_click is None else element.on("click", on_click, args=[])


def section(title: str, classes: str = "", level: int = 2) -> Element:
    """A part of a page under a heading; fill it with `with`."""
    part = tag("section", classes=classes)
    with part:
        tag(f"h{level}", title)
    return part


def facts(pairs: Iterable[tuple[str, str]], classes: str = "plate") -> Element:
    """Labels with their values."""
    listed = tag("dl", classes=classes)
    with listed:
        for label, value in pairs:
            with tag("div"):
                html(linked(label), "dt")
                tag("dd", value)
    return listed


def notes(texts: Sequence[str], title: str | None = None, classes: str = "notice") -> None:
    """Sentences that belong beside a result; nothing where there are none."""
    if not texts:
        return
    with tag("div", classes=classes, role="note"):
        if title:
            tag("strong", title)
        for text in texts:
            tag("p", text)


_SHORT = 16
_MANY = 8  # columns; more are set smaller on a tablet

Cell = str | tuple[str, str]
"""What a table's cell says, or what it says and where it leads."""


def table(
    head: Sequence[str],
    rows: Iterable[Sequence[Cell]],
    *,
    caption: str,
    numbers: Sequence[int] = (),
    stacked: bool = True,
) -> ui.html:
    """A table of text; the first cell of a row is its heading.

    Parameters
    ----------
    numbers
        Columns to set to the right.
    stacked
        On a phone each row becomes a block of labelled values, else the table scrolls sideways.
    """
    labels = [each if isinstance(each, str) else "" for each in head]
    tops = "".join(
        f'<th scope="col"{_number(place, numbers)}>{_head(each)}</th>' for place, each in enumerate(head)
    )
    body = "".join(f"<tr>{_row(row, labels, numbers)}</tr>" for row in rows)
    words = [word for word, wanted in (("stacked", stacked), ("many", len(head) > _MANY)) if wanted]
    kind = f' class="{" ".join(words)}"' if words else ""
    named = f"<caption>{xml_text(caption)}</caption>"
    markup = f"<table{kind}>{named}<thead><tr>{tops}</tr></thead><tbody>{body}</tbody></table>"
    box = html(markup, classes="scroll")
    box.props["role"], box.props["tabindex"], box.props["aria-label"] = "region", 0, caption
    return box


def _row(row: Sequence[Cell], labels: Sequence[str], numbers: Sequence[int]) -> str:
    first = f'<th scope="row">{_cell(row[0])}</th>'
    return first + "".join(
        f'<td{_number(place, numbers)} data-label="{xml_text(labels[place])}">{_cell(each)}</td>'
        for place, each in enumerate(row[1:], start=1)
    )


def _cell(cell: Cell) -> str:
    if isinstance(cell, str):
        return _whole(xml_text(tied(cell)))
    return f'<a href="{xml_text(cell[1])}">{xml_text(cell[0])}</a>'


def _head(cell: Cell) -> str:
    return linked(tied(cell)) if isinstance(cell, str) else _cell(cell)


def _whole(text: str) -> str:
    """A short name is not broken at its hyphens."""
    short = "-" in text and " " not in text and len(text) <= _SHORT
    return f'<span class="whole">{text}</span>' if short else text


def _number(place: int, numbers: Sequence[int]) -> str:
    return ' class="n"' if place in numbers else ""


def field(label: str, value: str = "", *, hint: str = "", kind: str = "text", **attributes: Any) -> Element:
    """A labelled field; returns its `<input>`, whose changes `on_value` gets."""
    with tag("label", classes="field"):
        tag("span", label)
        element = text_input(value, type=kind, **{"autocomplete": "off", **attributes})
        if hint:
            tag("small", hint)
    return element


def text_input(text: str = "", /, **attributes: Any) -> Element:
    """A bare `<input>` with a text in it.

    The text is set as an attribute, which a browser takes once: as a property it would be set again with
    every answer of the server, over what is being typed.
    """
    return tag("input", **{"^value": text}, **attributes)


def select(label: str, options: Sequence[tuple[str, str]], chosen: str, **attributes: Any) -> Element:
    """A labelled choice of (value, text); returns the `<select>`."""
    with tag("label", classes="field"):
        tag("span", label)
        element = tag("select", **attributes)
        with element:
            for value, text in options:
                tag("option", text, value=value, selected=value == chosen)
    return element


_EMIT_VALUE = "(e) => emit(e.target.type === 'checkbox' ? (e.target.checked ? 'on' : '') : e.target.value)"


def on_value(
    element: Element, told: Callable[[str], Any], event: str = "change", wait_s: float = 0.0
) -> Element:
    """Call `told` with what is in a field or choice: on `change` when done, on `input` as it is typed.

    `wait_s` calls it at most that often while a person types, and once more as the field is left: a button
    pressed at once finds what was typed last. (A field typed back to what it was has no `change`.)
    """
    for name, wait in ((event, wait_s), ("blur", 0.0)) if wait_s else ((event, 0.0),):
        element.on(
            name,
            lambda given: told(join_halves(str(given.args))),
            js_handler=_EMIT_VALUE,
            throttle=wait,
            leading_events=not wait,
        )
    return element


def simulated_mark() -> Element:
    """What is beside everything that was not measured on a real rig."""
    return tag("p", "Simulated runs", "simulated")


def show_error(error: StrikeproofError) -> Element:
    """An error a person can fix, always in this shape: what is wrong, where, and how to fix it."""
    box = html(render("error", error=error), classes="error")
    box.props["role"] = "alert"
    return box


def empty_state(title: str, text: str) -> Element:
    """What is shown where there is nothing yet: it says what to do; fill it with the way to do it."""
    box = tag("div", classes="empty")
    with box:
        tag("h2", title)
        tag("p", text)
    return box
