"""A question that must be answered before something is done: said in a dialog of the browser's own."""

from __future__ import annotations

import asyncio
from collections.abc import Sequence

from nicegui import context

from strikeproof.web.elements import button, tag

__all__ = ["ask", "say"]


async def ask(title: str, says: Sequence[str], yes: str = "Go on", no: str = "Leave it as it was") -> bool:
    """Whether the person said yes; Escape and a closed page mean no."""
    return await _dialog(title, says, yes, no)


async def say(title: str, says: Sequence[str]) -> None:
    """Tell why something is not done."""
    await _dialog(title, says, None, "Close")


async def _dialog(title: str, says: Sequence[str], yes: str | None, no: str) -> bool:
    answer: asyncio.Future[bool] = asyncio.get_running_loop().create_future()

    def give(value: bool) -> None:
        if not answer.done():
            answer.set_result(value)

    with context.client.content:
        dialog = tag("dialog", classes="ask", aria_label=title)
    with dialog:
        tag("h2", title)
        for text in says:
            tag("p", text)
        with tag("div", classes="bar"):
            button(no, lambda: give(False))
            if yes is not None:
                button(yes, lambda: give(True), "button primary")
    dialog.on("close", lambda: give(False), args=[])
    dialog.run_method("showModal")
    context.client.on_disconnect(lambda: give(False))
    try:
        return await answer
    finally:
        if not dialog.is_deleted:
            dialog.delete()
