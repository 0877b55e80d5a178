"""Plain HTML elements, the only ones the pages are built of; their look is in assets/look.css."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Sequence
from typing import Any

from nicegui import ui
from nicegui.element import Element

from strikeproof.errors import BadFile, BadInput, StrikeproofError

__all__ = [
    "Cell",
    "button",
    "empty_state",
    "facts",
    "field",
    "html",
    "link",
    "notes",
    "section",
    "select",
    "show_error",
    "table",
    "tag",
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
        element._text = text  # as the framework's own text elements do
    return element


def html(markup: str, name: str = "div", classes: str = "") -> ui.html:
    """Markup that the desk made and escaped, such as a drawing."""
    element = ui.html(markup, sanitize=False, tag=name)
    return element.classes(classes) if classes else element


def link(text: str, target: str, classes: str = "", **attributes: Any) -> Element:
    """A link to another page."""
    return tag("a", text, classes, href=target, **attributes)


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
                tag("dt", label)
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


Cell = str | tuple[str, str]
"""What a table's cell says, or what it says and where it leads."""


def table(
    head: Sequence[str], rows: Iterable[Sequence[Cell]], *, caption: str, numbers: Sequence[int] = ()
) -> Element:
    """A table of text that scrolls sideways by itself; the first cell of a row is its heading.

    Parameters
    ----------
    numbers
        Columns to set to the right.
    """
    box = tag("div", classes="scroll", role="region", aria_label=caption, tabindex=0)
    with box, tag("table"):
        tag("caption", caption)
        with tag("thead"), tag("tr"):
            for place, text in enumerate(head):
                tag("th", text, "n" if place in numbers else "", scope="col")
        with tag("tbody"):
            for row in rows:
                with tag("tr"):
                    for place, cell in enumerate(row):
                        _cell(cell, place, "n" if place in numbers else "")
    return box


def _cell(cell: Cell, place: int, classes: str) -> None:
    kind, scope = ("td", None) if place else ("th", "row")
    if isinstance(cell, str):
        tag(kind, cell, classes, scope=scope)
        return
    with tag(kind, None, classes, scope=scope):
        link(*cell)


def field(label: str, value: str = "", *, hint: str = "", kind: str = "text", **attributes: Any) -> Element:
    """A labelled field; its value comes back by `.on("input", ..., args=["target.value"])`-like handlers.

    Returns the `<input>`; `strikeproof.web.forms.value_of` tells what stands in it.
    """
    with tag("label", classes="field"):
        tag("span", label)
        element = tag("input", type=kind, value=value, **attributes)
        if hint:
            tag("small", hint)
    return element


def select(label: str, options: Sequence[tuple[str, str]], chosen: str, **attributes: Any) -> Element:
    """A labelled choice of (value, text); returns the `<select>`."""
    with tag("label", classes="field"):
        tag("span", label)
        element = tag("select", **attributes)
        with element:
            for value, text in options:
                tag("option", text, value=value, selected=value == chosen)
    return element


def show_error(error: StrikeproofError) -> Element:
    """An error a person can mend, always in this shape: what is wrong, where, and the mend."""
    box = tag("div", classes="error", role="alert")
    with box:
        if isinstance(error, BadFile):
            tag(
                "strong",
                f"{len(error.problems)} things to mend" if len(error.problems) > 1 else "To be mended",
            )
            with tag("ul"):
                for each in error.problems:
                    with tag("li"):
                        place = each.file if each.line is None else f"{each.file}, line {each.line}"
                        _told(each.problem, place, each.mend)
        elif isinstance(error, BadInput):
            _told(f"{error.what} (allowed: {error.allowed})", error.where, error.mend)
        else:
            _told(error.problem, "", error.mend)
    return box


def _told(what: str, where: str, mend: str) -> None:
    tag("p", _sentence(what), "what")
    if where:
        tag("p", f"Where: {where}", "where")
    if mend:
        tag("p", f"Mend: {mend}", "mend")


def _sentence(text: str) -> str:
    return text[:1].upper() + text[1:]


def empty_state(title: str, text: str) -> Element:
    """What stands where there is nothing yet: it says what to do; fill it with the way to do it."""
    box = tag("div", classes="empty")
    with box:
        tag("h2", title)
        tag("p", text)
    return box
