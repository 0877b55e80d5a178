"""One brief under the hands of one page: what is typed goes to the desk, and what is wrong comes back."""

from __future__ import annotations

import asyncio
import copy
from collections.abc import Callable, Sequence

from nicegui import Client, context
from nicegui.element import Element

from strikeproof.desk.designing.brief_draft import (
    BriefDraft,
    keep_brief,
    lowered_margins,
    open_brief,
    small_margins,
)
from strikeproof.desk.designing.brief_form import BRIEF_FIELDS
from strikeproof.desk.designing.pocket_drawing import draw_room, read_room
from strikeproof.desk.setting_up.editor import Fault
from strikeproof.desk.setting_up.edits import Place, Tables, clean, set_value, value_at
from strikeproof.desk.setting_up.fields import Field, read_typed, show_value
from strikeproof.errors import StrikeproofError, end_sentence
from strikeproof.quantity import write_number
from strikeproof.web.designing.lowering import agree_to_lower
from strikeproof.web.elements import button, html, on_value, show_error, tag
from strikeproof.web.frame import View
from strikeproof.web.planning.fields import Box, chosen_unit, draw_box, put_cursor
from strikeproof.web.units import Units
from strikeproof.web.work import WORK

__all__ = ["BriefBench", "write_length"]

_TYPING_S = 0.12
_IN_CLASH = Fault((), "part of a conflict, shown beside the form", "")


def write_length(units: Units) -> Callable[[float], str]:
    """Writes a length for a small drawing: as short as it can be."""

    def write(value: float) -> str:
        text = write_number(units.from_si(value, "length"), 4)
        short = text.rstrip("0").rstrip(".") if "." in text else text
        return f"{short} {units.label('length')}"

    return write


class BriefBench:
    """The brief's tables as they are typed; they are stored whenever a field is left."""

    def __init__(self, view: View, draft: BriefDraft) -> None:
        self.view = view
        self.draft = draft
        self.tables: Tables = copy.deepcopy(draft.tables or {})
        self.earlier: list[Tables] = []
        self.boxes: dict[Place, Box] = {}
        self.form: Element | None = None
        self.draw_form: Callable[[], None] = lambda: None
        self.client: Client = context.client
        self._turn = asyncio.Lock()

    def draw_panel(self) -> None:
        """The live side: the state of the brief, the room drawn, and what conflicts."""
        self.state = tag("p", "", "verdict-line", role="status")
        self.drawing = html("", classes="drawing room")
        self.clashes = tag("div", role="group", aria_label="Conflicts")
        self.trouble = tag("div")

    def field(
        self,
        place: Place,
        field: Field,
        *,
        choices: Sequence[tuple[str, str]] | None = None,
        suggestions: str | None = None,
        label: str | None = None,
        anew: bool = False,
    ) -> Box:
        """A field of the brief; with `anew` the form is drawn again after it, for what hangs on it."""
        units = self.view.units
        unit = chosen_unit(field, units)
        around = value_at(self.tables, place[:-1]) or {}
        text = show_value(field, around, unit)
        box = draw_box(field, text, units, choices=choices, suggestions=suggestions, label=label)
        box.input.props["data-at"] = ".".join(map(str, place))
        self.boxes[place] = box

        def typed(words: str) -> None:
            self.tables = set_value(place, read_typed(field, words, unit))(self.tables)
            self.draw_room()

        async def left(words: str) -> None:
            before = self.tables
            typed(words)
            with self.client.content:  # a form drawn again meanwhile takes its own slots along
                agreed = await agree_to_lower(lowered_margins(before, self.tables))
            if not agreed:
                self.tables = set_value(place, value_at(before, place))(self.tables)
                self.redraw(place)
                self.judge()
                return
            await self.keep(before=before, anew=anew, focus=place, back=True)

        if choices is None and place[0] == "envelope":
            on_value(box.input, typed, "input", _TYPING_S)
        on_value(box.input, left)
        return box

    async def edit(self, tables: Tables, focus: Place | None = None) -> None:
        """Take other tables, for a change to what there is, and draw the form again."""
        before, self.tables = self.tables, tables
        await self.keep(before=before, anew=True, focus=focus)

    async def step_back(self) -> None:
        """Undo the last change made on this page."""
        if self.earlier:
            self.tables = self.earlier.pop()
            await self.keep(anew=True)

    async def keep(
        self,
        *,
        before: Tables | None = None,
        anew: bool = False,
        focus: Place | None = None,
        back: bool = False,
    ) -> None:
        """Give the brief to the desk, and show what it says."""
        async with self._turn:  # two fields left at once are two changes, one after the other
            wanted = clean(self.tables)
            self.trouble.clear()
            try:
                if wanted != clean(self.draft.tables or {}):
                    if before is not None:
                        self.earlier.append(copy.deepcopy(self.draft.tables or {}))
                    self.draft = await WORK.run(
                        keep_brief, self.view.site.workspace, self.view.campaign, wanted, mark=self.draft.mark
                    )
            except StrikeproofError as error:
                await self._take_anew(error)
                return
        if anew:
            self.redraw(focus, back=back)
        self.judge()

    async def _take_anew(self, error: StrikeproofError) -> None:
        """What is in the file now wins over what could not be saved."""
        self.draft = await WORK.run(open_brief, self.view.site.workspace, self.view.campaign)
        self.tables = copy.deepcopy(self.draft.tables or {})
        self.redraw()
        self.judge()
        with self.trouble:
            show_error(error)

    def redraw(self, focus: Place | None = None, *, back: bool = False) -> None:
        """Draw the form again, and put the cursor where it is wanted, or back to where it was."""
        assert self.form is not None  # it is drawn before anything in it can be pressed
        self.form.clear()
        self.boxes.clear()
        with self.form:
            self.draw_form()
        if focus is not None:
            put_cursor(self.client, focus, back=back)

    def judge(self) -> None:
        """Say at each field what is wrong with it, beside the form what conflicts, and draw the room."""
        faults = {fault.place: fault for fault in self.draft.faults}
        clashing = {place for clash in self.draft.clashes for place in clash.places}
        for place, box in self.boxes.items():
            fault = faults.pop(place, None)
            box.tell(fault or (_IN_CLASH if place in clashing else None))
        self._say(list(faults.values()))
        self._tell_clashes()
        self.draw_room()

    def _say(self, elsewhere: list[Fault]) -> None:
        count, clashes = len(self.draft.faults), len(self.draft.clashes)
        if count:
            more = " ".join(end_sentence(f"{each.problem}; {each.fix}") for each in elsewhere)
            text, kind = f"{count} to fix; everything typed is saved. {more}".strip(), "held"
        elif clashes:
            text, kind = f"{clashes} conflict{'s' if clashes > 1 else ''} between the limits.", "held"
        else:
            text, kind = "Complete: it can be searched, which promises no answer yet.", "good"
            for each in small_margins(self.tables):
                label = BRIEF_FIELDS[each.key].label
                text, kind = f"{text} {label}: {each.after:g} where {each.before:g} is usual.", "held"
        self.state._text = text
        self.state.classes(replace=f"verdict-line {kind}")
        self.state.update()

    def _tell_clashes(self) -> None:
        self.clashes.clear()
        if not self.draft.clashes:
            return
        with self.clashes, tag("div", classes="error", role="alert"):
            for each in self.draft.clashes:
                tag("p", end_sentence(each.problem), "what")
                tag("p", end_sentence(f"To fix it: {each.fix}"), "fix")
            nearest = self.draft.nearest
            if nearest is not None:
                tag("p", f"The nearest brief that can be met: {self.draft.nearest_words}.")
                button("Use it", self._use_nearest, "button primary", data_do="nearest")

    async def _use_nearest(self) -> None:
        nearest = self.draft.nearest
        if nearest is None:
            return
        with self.client.content:  # what was pressed may be gone when the question comes
            if await agree_to_lower(lowered_margins(self.tables, nearest)):
                await self.edit(copy.deepcopy(nearest))

    def draw_room(self) -> None:
        """The room as it is typed."""
        svg, says = draw_room(read_room(self.tables), write_length(self.view.units))
        self.drawing.set_content(svg)
        self.drawing.props["aria-label"] = says
