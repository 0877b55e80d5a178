"""A campaign under the hands of one page: each change goes to the desk, and the page is given it."""

from __future__ import annotations

import asyncio
from collections.abc import Callable
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

from nicegui import Client, context
from nicegui.element import Element

from strikeproof.desk.setting_up.editor import Change, SetUp, change_set_up, open_set_up, redo, undo
from strikeproof.desk.setting_up.edits import Edit
from strikeproof.errors import StrikeproofError
from strikeproof.web.elements import show_error
from strikeproof.web.frame import View
from strikeproof.web.planning.asking import ask, say

__all__ = ["Editor"]


@dataclass(eq=False)
class Editor:
    """One campaign on one page.

    Attributes
    ----------
    watchers
        Called after each change, such as by fields that show what is wrong with them.
    rebuild
        Draws the step again, after a change to what there is.
    """

    view: View
    set_up: SetUp
    watchers: list[Callable[[], Any]] = field(default_factory=list)
    rebuild: Callable[[], Any] = lambda: None
    trouble: Element | None = None
    client: Client = field(default_factory=lambda: context.client)
    _turn: asyncio.Lock = field(default_factory=asyncio.Lock)

    @property
    def workspace(self) -> Path:
        """Where it lies."""
        return self.view.site.workspace

    @property
    def word(self) -> str:
        """Its folder's name, which every address of it holds."""
        return self.set_up.folder.name

    def to(self, step: str, **query: Any) -> str:
        """The address of a step."""
        return self.view.to("/plan", set_up=self.word, step=step, **query)

    async def change(self, edit: Edit, *, calibration: str | None = None, anew: bool = False) -> bool:
        """Make a change, asking first where runs would feel it; whether it was made.

        `anew` draws the step again afterwards, for a change to what there is on it.
        """

        def make(*, agreed: bool) -> Change:
            return change_set_up(
                self.workspace,
                self.word,
                edit,
                mark=self.set_up.mark,
                agreed=agreed,
                calibration=calibration,
            )

        return await self._do(make, anew=anew)

    async def step_back(self) -> None:
        """Undo the last change."""
        await self._do(lambda *, agreed: undo(self.workspace, self.word, agreed=agreed), anew=True)

    async def step_on(self) -> None:
        """Do again what was undone."""
        await self._do(lambda *, agreed: redo(self.workspace, self.word, agreed=agreed), anew=True)

    async def _do(self, make: Callable[..., Change], *, anew: bool) -> bool:
        async with self._turn:  # two fields left at once are two changes, one after the other
            return await self._in_turn(make, anew=anew)

    async def _in_turn(self, make: Callable[..., Change], *, anew: bool) -> bool:
        self._clear_trouble()
        try:
            made = await asyncio.to_thread(make, agreed=False)
            if not made.done:
                made = await self._agree(made, make)
        except StrikeproofError as error:
            self._tell(error)
            self.set_up = await asyncio.to_thread(open_set_up, self.workspace, self.word)
            self.rebuild()
            self._told()
            return False
        self.set_up = made.set_up
        if anew:
            self.rebuild()
        self._told()
        if made.notes:
            with self.client.content:
                await say("The run sheet was changed", made.notes)
        return made.done

    async def _agree(self, made: Change, make: Callable[..., Change]) -> Change:
        says = [each.says for each in made.effects]
        with self.client.content:  # what was pressed may be gone when the question comes
            if any(each.kind == "never" for each in made.effects):
                await say("This cannot be done", [each.says for each in made.effects if each.kind == "never"])
                return made
            if not await ask("Runs were made already", says):
                return made
        return await asyncio.to_thread(make, agreed=True)

    def _told(self) -> None:
        for watcher in list(self.watchers):
            watcher()

    def _tell(self, error: StrikeproofError) -> None:
        if self.trouble is not None:
            with self.trouble:
                show_error(error)

    def _clear_trouble(self) -> None:
        if self.trouble is not None:
            self.trouble.clear()
