"""The step of the tools: one card each, the usual fields first."""

from __future__ import annotations

from strikeproof.desk.setting_up.edits import add_entry, copy_entry, remove_entry
from strikeproof.desk.setting_up.fields import fields_of
from strikeproof.web.elements import button, empty_state, tag
from strikeproof.web.planning.asking import ask
from strikeproof.web.planning.editor import Editor
from strikeproof.web.planning.fields import edit_fields

__all__ = ["show_tools"]

_FIRST = ("name", "mechanism", "drive_mm", "supply")
_WORDS = {"mechanism": (("air", "air"), ("spring-and-cam", "spring and cam"), ("oil-pulse", "oil pulse"))}


def show_tools(editor: Editor) -> None:
    """Every tool with its fields, and the way to another."""
    tools = editor.set_up.tables.get("tool", [])
    if not tools:
        empty_state(
            "No tool yet", "A tool is an impact wrench that the articles are run with. Add one or more."
        )
    for number, tool in enumerate(tools):
        _card(editor, number, str(tool.get("name", "")))
    button("Add a tool", lambda: _add(editor), "button primary", data_add="tool")


async def _add(editor: Editor) -> None:
    taken = {each.get("name") for each in editor.set_up.tables.get("tool", [])}
    name = next(word for n in range(1, 1000) if (word := f"tool-{n}") not in taken)
    await editor.change(add_entry("tool", {"name": name, "mechanism": "air", "drive_mm": 12.7}), anew=True)


def _card(editor: Editor, number: int, name: str) -> None:
    with tag("fieldset", classes="entry"):
        tag("legend", name or f"Tool {number + 1}")
        edit_fields(
            editor,
            ("tool", number),
            fields_of("tool"),
            _FIRST,
            more="What more is known of it: inertia, speed and rate of its blows",
            choices=_WORDS,
        )
        with tag("div", classes="bar tail"):
            button("Copy", lambda: editor.change(copy_entry("tool", number), anew=True), "button small")
            button("Take away", lambda: _remove(editor, number, name), "button small")


async def _remove(editor: Editor, number: int, name: str) -> None:
    says = ["Undo brings it back."]
    if await ask(f"Take {name or 'this tool'} away?", says, "Take it away", "Keep it"):
        await editor.change(remove_entry("tool", number), anew=True)
