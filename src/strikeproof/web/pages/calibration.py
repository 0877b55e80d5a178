"""What a reading of the rig is worth: applied and reading, with residuals and budget as they are typed."""

from __future__ import annotations

import asyncio
from dataclasses import dataclass, field, replace
from typing import Any

from nicegui import background_tasks
from nicegui.element import Element

from strikeproof.desk.calibrating.entering import (
    APPLIED_UNITS,
    CalibrationView,
    Draft,
    Fault,
    Point,
    find_faults,
    keep_calibration,
    read_points,
    start_draft,
    try_calibration,
)
from strikeproof.errors import BadInput, StrikeproofError, end_sentence
from strikeproof.quantity import unit_label, write_number
from strikeproof.web import elements
from strikeproof.web.elements import (
    button,
    on_value,
    run_script,
    section,
    select,
    show_error,
    table,
    tag,
    text_input,
)
from strikeproof.web.frame import View, nothing_yet, page
from strikeproof.web.site import Site
from strikeproof.web.trace_chart import TraceChart, curve, points
from strikeproof.web.work import WORK
from strikeproof.web.working import fill

__all__ = ["register"]

_DIRECTIONS = (("", "–"), ("up", "up"), ("down", "down"))
_TYPING_S = 0.3
_AT_ONCE_S = 0.35


def register(site: Site) -> None:
    """Make the page's route."""

    @page(site, "/calibration", "Calibration")
    async def calibration(view: View) -> None:
        if view.campaign is None:
            nothing_yet(view, "No campaign yet", "Readings are saved with a campaign.")
            return
        await fill(
            "Reading what is saved",
            lambda draft: _Entry(view, draft).show(),
            start_draft,
            site.workspace,
            view.campaign,
        )


Place = tuple[str | int, ...]


@dataclass
class _Entry:
    """The readings on one page, and what they say so far.

    `cells` are the fields for numbers, each with the place for what is wrong with it; a missing number
    is named there once a person wanted to keep the readings (`refused`).
    """

    view: View
    draft: Draft
    asked: int = 0
    refused: bool = False
    residuals: list[Element] = field(default_factory=list)
    cells: dict[Place, tuple[Element, Element]] = field(default_factory=dict)
    rows: Element | None = None
    found: Element | None = None
    said: Element | None = None
    chart: TraceChart | None = None

    async def show(self) -> None:
        tag(
            "p",
            "Apply known torques or loads and write down what the rig reads, up and down, three times if you "
            "can. Include zero. Nothing is saved until you press Save.",
            "lead",
        )
        with tag("div", classes="two result-first"):
            with section("Readings") as part:
                part.props["data-guard"] = ""
                self._reference()
                self.rows = tag("div", classes="entry", role="group", aria_label="Readings")
                self._draw_rows()
                with tag("div", classes="bar"):
                    button("Add a reading", self._add)
                    button("Save", self._keep, "button primary", data_saves=True)
                self.said = tag("div", role="status")
                self._paste()
            with section("What the readings give"):
                self.found = tag("div", classes="place", aria_live="polite")
        with self.found:
            tag("p", "Fitting the readings.", "quiet working")
        trying = background_tasks.create(self._try(), name="fit the readings")
        await asyncio.wait({trying}, timeout=_AT_ONCE_S)  # then it is there as the page is first drawn

    def _reference(self) -> None:
        with tag("div", classes="bar"):
            units = [(unit, unit_label(unit)) for unit in APPLIED_UNITS]
            if self.draft.applied_unit not in APPLIED_UNITS:
                units.append((self.draft.applied_unit, unit_label(self.draft.applied_unit)))
            on_value(
                select("Applied in", units, self.draft.applied_unit),
                lambda text: self._change(applied_unit=text),
            )
            given = elements.field(
                "Reference, expanded uncertainty [%]",
                self.draft.reference_uncertainty_percent,
                inputmode="decimal",
            )
            on_value(given, lambda text: self._change(reference_uncertainty_percent=text))
            degrees = [("", "chosen by the readings"), ("1", "1"), ("2", "2"), ("3", "3")]
            on_value(
                select("Degree of the curve", degrees, str(self.draft.degree or "")),
                lambda text: self._change(degree=int(text) if text else None),
            )
        self.cells[("reference_uncertainty_percent",)] = (given, _fault_line(given, "reference"))

    async def _change(self, **how: Any) -> None:
        self.draft = replace(self.draft, **how)
        await self._try()

    def _draw_rows(self) -> None:
        if self.rows is None:
            return
        self.rows.clear()
        self.residuals = []
        self.cells = {place: cell for place, cell in self.cells.items() if len(place) == 1}
        if not self.draft.points:
            self.draft = replace(self.draft, points=(Point(), Point(), Point()))
        with self.rows:
            with tag("div", classes="entry-head", aria_hidden="true"):
                for text in ("Applied", "Reading", "Direction", "Repeat", "Residual", ""):
                    tag("span", text)
            for place, point in enumerate(self.draft.points):
                self._row(place, point)

    def _row(self, place: int, point: Point) -> None:
        number = place + 1
        with tag("div", classes="entry-row", role="group", aria_label=f"Reading {number}"):
            typed = {}
            for name, label in (("applied", "Applied"), ("reading", "Reading")):
                typed[name] = text_input(
                    getattr(point, name),
                    inputmode="decimal",
                    aria_label=f"{label}, reading {number}",
                )
                on_value(typed[name], self._setter(place, name), "input", _TYPING_S)
            with tag("select", aria_label=f"Direction, reading {number}") as direction:
                for value, text in _DIRECTIONS:
                    tag("option", text, value=value, selected=value == point.direction)
            on_value(direction, lambda text: self._set(place, direction=text))
            repeat = text_input(point.repeat, aria_label=f"Repeat, reading {number}")
            on_value(repeat, lambda text: self._set(place, repeat=text.strip()))
            self.residuals.append(tag("output", "–"))
            button(
                "×",
                lambda: self._remove(place),
                "button small",
                data_changes=True,
                aria_label=f"Remove reading {number}",
            )
            for name, cell in typed.items():
                self.cells[place, name] = (cell, _fault_line(cell, f"{name}-{number}"))

    def _setter(self, place: int, name: str) -> Any:
        return lambda text: self._set(place, **{name: text})

    async def _set(self, place: int, **how: Any) -> None:
        before = self.draft.points
        after = replace(before[place], **how)
        if after == before[place]:
            return
        self.draft = replace(self.draft, points=(*before[:place], after, *before[place + 1 :]))
        await self._try()

    def _add(self) -> None:
        last = self.draft.points[-1] if self.draft.points else Point()
        fresh = Point(direction=last.direction, repeat=last.repeat)
        self.draft = replace(self.draft, points=(*self.draft.points, fresh))
        if self.rows is not None:
            with self.rows:
                self._row(len(self.draft.points) - 1, fresh)
            self._tell_faults()

    async def _remove(self, place: int) -> None:
        before = self.draft.points
        self.draft = replace(self.draft, points=(*before[:place], *before[place + 1 :]))
        self._draw_rows()
        await self._try()

    def _paste(self) -> None:
        with tag("details", classes="more"):
            tag("summary", "Paste many at once")
            with tag("label", classes="field"):
                tag("span", "One reading a line: applied, reading, and if known direction and repeat")
                area = tag("textarea", rows=6, data_paste=True)
            typed = {"text": ""}
            on_value(area, lambda text: typed.update(text=text))

            async def take() -> None:
                try:
                    found = read_points(typed["text"])
                except BadInput as error:
                    self._say_error(error)
                    return
                typed["text"] = ""
                run_script("document.querySelector('[data-paste]').value = ''")
                kept = tuple(each for each in self.draft.points if not each.blank)
                self.draft = replace(self.draft, points=(*kept, *found))
                self._draw_rows()
                await self._try()

            button("Add these", take, data_changes=True)

    async def _keep(self) -> None:
        try:
            text = await WORK.run(keep_calibration, self.view.site.workspace, self.view.campaign, self.draft)
        except StrikeproofError as error:
            self.refused = True
            self._tell_faults()
            self._say_error(error)
            return
        self.refused = False
        run_script("strikeproofSaved()")
        if self.said is not None:
            self.said.clear()
            with self.said:
                tag("p", f"{text}. Scores and comparison now use them.", "good")

    def _say_error(self, error: StrikeproofError) -> None:
        if self.said is not None:
            self.said.clear()
            with self.said:
                show_error(error)

    async def _try(self) -> None:
        """Fit the readings so far, unless newer ones were typed meanwhile."""
        self._tell_faults()
        self.asked += 1
        mine = self.asked
        try:
            found: CalibrationView | StrikeproofError = await WORK.run(
                try_calibration, self.view.site.workspace, self.view.campaign, self.draft
            )
        except StrikeproofError as error:
            found = error
        if mine == self.asked and self.found is not None and not self.found.is_deleted:
            self._tell(found)

    def _tell_faults(self) -> None:
        """Say at each field what is wrong with it."""
        faults = {each.place: each for each in find_faults(self.draft)}
        for place, (cell, line) in self.cells.items():
            fault = faults.get(place)
            text = "" if fault is None else self._fault_words(fault)
            if line._text != text:
                line._text = text
                line.update()
                cell.props["aria-invalid"] = "true" if text else "false"
                cell.update()

    def _fault_words(self, fault: Fault) -> str:
        """Empty for a number that a person may still be about to type."""
        place, *name = fault.place
        if name and isinstance(place, int) and not self.refused:
            point = self.draft.points[place]
            if not {"applied": point.applied, "reading": point.reading}[str(name[0])].strip():
                return ""
        which = f"{str(name[0]).capitalize()}: " if name else ""
        return end_sentence(f"{which}{fault.problem}; {fault.fix}")

    def _tell(self, found: CalibrationView | StrikeproofError) -> None:
        residuals = {} if isinstance(found, StrikeproofError) else dict(found.residuals)
        suspects = () if isinstance(found, StrikeproofError) else found.suspects
        for place, cell in enumerate(self.residuals):
            text = write_number(residuals.get(place), 3) + (" !" if place in suspects else "")
            if cell._text != text:
                cell._text = text
                cell.classes(add="odd") if place in suspects else cell.classes(remove="odd")
                cell.update()
        if self.found is None:
            return
        if isinstance(found, StrikeproofError):
            self.found.clear()
            self.chart = None
            with self.found:
                tag("p", "No curve yet:")
                show_error(found)
            return
        self._tell_curve(found)

    def _tell_curve(self, found: CalibrationView) -> None:
        if self.found is None:
            return
        self.found.clear()
        applied, unit = unit_label(self.draft.applied_unit), self.draft.reading_unit
        shown = "arb. unit" if unit == "reading" else unit_label(unit)
        units = self.draft.units
        whole = [pair for each in self.draft.points if (pair := each.numbers(units)) is not None]
        waiting = sum(not each.blank and each.numbers(units) is None for each in self.draft.points)
        with self.found:
            if waiting:
                tag("p", f"{waiting} not in this curve: a number in it is missing or wrong.", "quiet")
            tag(
                "p",
                f"One read-out at {write_number(found.at)} {applied} is sure to within "
                f"± {write_number(found.expanded, 2)} {applied} (95 %).",
                "lead",
            )
            TraceChart(
                "Calibration",
                about="Readings as dots, the fitted curve as a line.",
                name="calibration",
                x=f"Applied [{applied}]",
                y=f"Reading [{shown}]",
                data=[list(found.curve_applied), list(found.curve_reading)],
                curves=[curve("curve", "accent", width=2)],
                overlays=[points([x for x, _y in whole], [y for _x, y in whole], hollow=True)],
                zoomable=False,
                height="18rem",
            )
            elements.facts(found.facts, "rows")
            table(
                ("What adds to the uncertainty", f"Standard uncertainty [{applied}]", "Share", "From"),
                [
                    (name, write_number(value, 2), f"{share:.0f} %", source)
                    for name, value, share, source in found.budget
                ],
                caption=f"Budget of one read-out at {write_number(found.at)} {applied}",
                numbers=(1, 2),
            )


def _fault_line(cell: Element, word: str) -> Element:
    """Where it is said what is wrong with a field."""
    line = tag("p", "", "fault", role="alert", id=f"wrong-{word}")
    cell.props["aria-describedby"] = f"wrong-{word}"
    return line
