"""One article under the hands of one page: typed at the left, worked out at the right at once."""

from __future__ import annotations

import copy
from collections.abc import Sequence
from typing import Any

from nicegui.element import Element

from strikeproof.desk.articles.draft import draft_article
from strikeproof.desk.setting_up.editor import Fault
from strikeproof.desk.setting_up.edits import Place, Tables, clean, replace_entry, set_value, value_at
from strikeproof.desk.setting_up.fields import Field, read_typed, show_value
from strikeproof.errors import end_sentence
from strikeproof.web.elements import on_value, tag
from strikeproof.web.planning.editor import Editor
from strikeproof.web.planning.fields import Box, chosen_unit, draw_box, put_cursor
from strikeproof.web.planning.live_panel import LivePanel

__all__ = ["ArticleBench"]

_TYPING_S = 0.12


class ArticleBench:
    """The article's table as it is typed; it goes to the desk whenever a field is left."""

    def __init__(self, editor: Editor, number: int) -> None:
        self.editor = editor
        self.number = number
        self.table: Tables = copy.deepcopy(editor.set_up.tables["article"][number])
        self.boxes: dict[Place, Box] = {}
        self.places: dict[Place, Element] = {}
        self.panel: LivePanel | None = None
        self.form: Element | None = None
        self.draw_form: Any = None

    def field(
        self,
        place: Place,
        field: Field,
        *,
        choices: Sequence[tuple[str, str]] | None = None,
        suggestions: str | None = None,
        anew: bool = False,
        label: str | None = None,
    ) -> Box:
        """A field of the article; with `anew` the form is drawn again after it, for what hangs on it."""
        units = self.editor.view.units
        unit = chosen_unit(field, units)
        around = value_at(self.table, place[:-1]) or {}
        box = draw_box(
            field,
            show_value(field, around, unit),
            units,
            choices=choices,
            suggestions=suggestions,
            label=label,
        )
        box.input.props["data-at"] = ".".join(map(str, place))
        self.boxes[place] = box

        def typed(text: str) -> None:
            self.table = set_value(place, read_typed(field, text, unit))(self.table)
            self.judge()

        async def left(text: str) -> None:
            typed(text)
            await self.keep(anew=anew, focus=place, back=True)

        if not (choices or field.choices):
            on_value(box.input, typed, "input", _TYPING_S)
        on_value(box.input, left)
        return box

    def fault_place(self, place: Place) -> None:
        """Where faults stand that belong to no field, of the part or cut at `place`."""
        self.places[place] = tag("p", "", "fault", role="alert")

    async def edit(self, table: Tables, focus: Place | None = None) -> None:
        """Take another table, for a change to what there is, and draw the form again."""
        self.table = table
        await self.keep(anew=True, focus=focus)

    async def keep(self, *, anew: bool = False, focus: Place | None = None, back: bool = False) -> None:
        """Give the article to the desk."""
        wanted = clean(self.table)
        if wanted != self.editor.set_up.tables["article"][self.number]:
            await self.editor.change(replace_entry("article", self.number, wanted))
            self.table = copy.deepcopy(self.editor.set_up.tables["article"][self.number])
            if self.table != wanted:
                anew = True
        if anew:
            self.redraw(focus, back=back)
        self.judge()

    def redraw(self, focus: Place | None = None, *, back: bool = False) -> None:
        """Draw the form again, and put the cursor where it is wanted, or back to where it was."""
        assert self.form is not None  # it is drawn before anything in it can be pressed
        self.form.clear()
        self.boxes.clear()
        self.places.clear()
        with self.form:
            self.draw_form()
        if focus is not None:
            put_cursor(self.editor.client, focus, back=back)

    def judge(self) -> None:
        """Work the article out as it is typed, and say at each field what is wrong with it."""
        assert self.panel is not None  # it is drawn with the form
        draft = draft_article(clean(self.table), self.panel.peak, folder=self.editor.set_up.folder)
        of_file: dict[Place, Fault] = {
            fault.place[2:]: fault
            for fault in self.editor.set_up.faults_in("article", self.number)
            if len(fault.place) == 3 and fault.place[2] != "part"
        }
        faults: dict[Place, Fault] = {**of_file, **{fault.place: fault for fault in draft.faults}}
        for place, box in self.boxes.items():
            box.tell(faults.pop(place, None))
        self.panel.show(draft, self._elsewhere(faults))

    def _elsewhere(self, faults: dict[Place, Fault]) -> list[str]:
        """Faults without a field stand at the nearest thing around them; what has none is shown at the
        top."""
        texts: dict[Place, list[str]] = {place: [] for place in self.places}
        left: list[str] = []
        for place, fault in faults.items():
            said = end_sentence(f"{fault.beside or fault.problem}; {fault.fix}")
            near = max((each for each in texts if place[: len(each)] == each), key=len, default=None)
            (left if near is None else texts[near]).append(said)
        for place, element in self.places.items():
            text = " ".join(texts[place])
            if element._text != text:
                element._text = text
                element.update()
        return left
