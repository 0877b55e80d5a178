"""Planning: campaigns set up here, and each of them step by step to a run sheet."""

from __future__ import annotations

import inspect
from collections.abc import Callable
from functools import cache
from pathlib import Path
from typing import Any

from nicegui import app, background_tasks, ui
from starlette.requests import Request
from starlette.responses import HTMLResponse, Response

import strikeproof.web
from strikeproof.desk.planning.printed_sheet import print_sheet
from strikeproof.desk.setting_up.editor import open_saved_set_up, start_set_up
from strikeproof.desk.setting_up.shelf import (
    SetUpGlance,
    copy_set_up,
    list_set_ups,
    loaded_from_elsewhere,
    put_away_set_up,
)
from strikeproof.desk.workspace.places import planned_names
from strikeproof.errors import StrikeproofError
from strikeproof.web.answering import outcome, refusal
from strikeproof.web.elements import (
    button,
    empty_state,
    field,
    link,
    on_value,
    section,
    show_error,
    simulated_mark,
    tag,
)
from strikeproof.web.frame import View, page
from strikeproof.web.language import language_of
from strikeproof.web.planning.articles_step import show_articles
from strikeproof.web.planning.asking import ask
from strikeproof.web.planning.editor import Editor
from strikeproof.web.planning.elsewhere import show_elsewhere
from strikeproof.web.planning.sheet_step import show_sheet
from strikeproof.web.planning.steps import show_bolt, show_calibration, show_protocol, show_tools
from strikeproof.web.site import Site
from strikeproof.web.units import units_of
from strikeproof.web.work import WORK

__all__ = ["register", "set_up_of", "use_planning_look"]

STEPS: dict[str, tuple[str, Callable[[Editor], Any], tuple[str, ...]]] = {
    "tools": ("Tools", show_tools, ("tool",)),
    "articles": ("Articles", show_articles, ("article", "campaign.reference")),
    "bolt": ("Bolt and rig", show_bolt, ("bolt", "rig")),
    "calibration": ("Calibration", show_calibration, ("calibration",)),
    "protocol": ("Protocol and repeats", show_protocol, ("protocol", "campaign")),
    "sheet": ("Run sheet", show_sheet, ()),
}


def register(site: Site) -> None:
    """Make the page's routes."""

    @page(site, "/plan", "Plan")
    async def plan(view: View, set_up: str = "", step: str = "tools", shelf: str = "") -> None:
        use_planning_look()
        set_up = set_up or ("" if shelf else set_up_of(view))
        if not set_up:
            _shelf(view)
            return
        editor = Editor(view, open_saved_set_up(site.workspace, set_up))
        await _steps(editor, step if step in STEPS else "tools")

    @app.get("/plan/sheet")
    async def sheet(request: Request, set_up: str = "") -> Response:
        units = units_of(request.cookies)
        try:
            job = WORK.start_brief(
                print_sheet,
                site.workspace,
                set_up,
                force=units.force,
                torque=units.torque,
                language=language_of(request.cookies, request.headers, site.language),
            )
            text = await outcome(request, job)
        except StrikeproofError as error:
            return refusal(error)
        policy = "default-src 'none'; style-src 'unsafe-inline'; frame-ancestors 'none'; base-uri 'none'"
        return HTMLResponse(text, headers={"content-security-policy": policy})


def use_planning_look() -> None:
    """The style sheet of the pages that plan; its address changes with it, so that no old one is used."""
    ui.add_head_html(f'<link rel="stylesheet" href="/assets/planning.css?{_version()}">')


@cache
def _version() -> int:
    return int((Path(strikeproof.web.__file__).parent / "assets" / "planning.css").stat().st_mtime)


def set_up_of(view: View) -> str:
    """The folder of the campaign that the address names; empty where it was not set up here."""
    named = view.request.query_params.get("campaign", "")
    return planned_names(view.site.workspace).get(named, "")


def _shelf(view: View) -> None:
    """All campaigns that were set up here, and a way to start one."""
    listed = list_set_ups(view.site.workspace)
    elsewhere = loaded_from_elsewhere(view.site.workspace)
    if not listed and not elsewhere:
        empty_state(
            "No campaign is set up here yet",
            "A campaign compares articles under one protocol. Give it a name; tools, articles, bolt, "
            "calibration and run sheet follow step by step, and every step can wait.",
        )
    with tag("div", classes="cards"):
        for each in listed:
            _card(view, each)
        show_elsewhere(view, elsewhere)
    with section("Start a campaign"):
        given = {"name": ""}
        with tag("div", classes="bar", role="group", aria_label="Start a campaign"):
            name = field("What is compared", placeholder="such as track rollers, spring", data_key="new-name")
            on_value(name, lambda text: given.update(name=text), "input")
            trouble = tag("div")

            def start() -> None:
                trouble.clear()
                try:
                    made = start_set_up(view.site.workspace, given["name"])
                except StrikeproofError as error:
                    with trouble:
                        show_error(error)
                    return
                ui.navigate.to(view.to("/plan", set_up=made.folder.name, step="tools"))

            button("Start", start, "button primary")
            name.on("keydown.enter", start, args=[])


def _card(view: View, glance: SetUpGlance) -> None:
    with tag("article", classes="card"):
        tag("h2", glance.name)
        if glance.trouble:
            tag("p", glance.trouble, "fault")
            return
        if glance.simulated:
            simulated_mark()
        state = "complete" if not glance.faults else f"{glance.faults} to fix"
        tools, articles = _count(glance.tools, "tool"), _count(glance.articles, "article")
        runs = f"{glance.made} of {glance.planned} runs made" if glance.planned else "no run sheet yet"
        tag("p", f"{tools}, {articles}; {runs}; {state}")
        with tag("div", classes="bar tail"):
            link(
                "Open",
                view.to("/plan", set_up=glance.word),
                "button primary",
                aria_label=f"Open {glance.name}",
            )
            button("Copy", lambda: _copy(view, glance), "button small", aria_label=f"Copy {glance.name}")
            if not glance.made:
                button(
                    "Put away",
                    lambda: _put_away(view, glance),
                    "button small",
                    aria_label=f"Put away {glance.name}",
                )


def _count(number: int, word: str) -> str:
    return f"{number} {word}{'' if number == 1 else 's'}"


def _copy(view: View, glance: SetUpGlance) -> None:
    names = {each.name for each in list_set_ups(view.site.workspace)}
    name = next(word for n in range(2, 1000) if (word := f"{glance.name} {n}") not in names)
    made = copy_set_up(view.site.workspace, glance.word, name)
    ui.navigate.to(view.to("/plan", set_up=made.folder.name, step="protocol"))


async def _put_away(view: View, glance: SetUpGlance) -> None:
    says = ["It leaves this list; its folder stays in the workspace, under campaigns/.put-away."]
    if await ask(f"Put {glance.name} away?", says, "Put it away", "Keep it"):
        put_away_set_up(view.site.workspace, glance.word)
        ui.navigate.to("/plan")


async def _steps(editor: Editor, step: str) -> None:
    """The bar, the steps, and the one that is open."""
    _bar(editor)
    editor.trouble = tag("div")
    steps = tag("nav", classes="plan-steps", aria_label="Steps")
    body = tag("div", classes="step")

    def mark() -> None:
        steps.clear()
        with steps:
            _list(editor, step)

    async def draw() -> None:
        body.clear()
        editor.watchers[:] = [each for each in editor.watchers if getattr(each, "stays", False)]
        with body:
            waiting = STEPS[step][1](editor)
            if inspect.isawaitable(waiting):
                await waiting

    mark.stays = True  # type: ignore[attr-defined]  # the step's own watchers go with the step
    editor.watchers.append(mark)
    editor.rebuild = lambda: background_tasks.create(draw(), name="draw the step again")
    mark()
    await draw()
    _onward(editor, step)


def _bar(editor: Editor) -> None:
    with tag("div", classes="bar plan-bar"):
        title = tag("p", editor.set_up.name, "big")
        undo = button("Undo", editor.step_back, "button small", data_do="undo")
        redo = button("Redo", editor.step_on, "button small", data_do="redo")
        link("All campaigns", editor.view.to("/plan", shelf=1), "button small")
    state = tag("p", "", "quiet state", role="status")

    def tell() -> None:
        found = editor.set_up
        for element, count in ((undo, found.can_undo), (redo, found.can_redo)):
            element.props["disabled"] = not count
            element.update()
        count = len(found.faults)
        whole = (
            "Complete: every change is saved." if not count else f"{count} to fix; everything typed is saved."
        )
        made = f" {_count(len(found.made), 'run')} made." if found.made else ""
        for element, text in ((title, found.name), (state, whole + made)):
            if element._text != text:
                element._text = text
                element.update()

    tell.stays = True  # type: ignore[attr-defined]  # it outlives the steps
    editor.watchers.append(tell)
    tell()


def _list(editor: Editor, open_step: str) -> None:
    with tag("ol"):
        for word, (label, _show, places) in STEPS.items():
            count = sum(_is_of(fault.place, places, word) for fault in editor.set_up.faults)
            with tag("li"), link("", editor.to(word), aria_current="step" if word == open_step else None):
                tag("span", label)
                if count:
                    tag("small", f"{count} to fix", "mark")


def _is_of(place: tuple[str | int, ...], places: tuple[str, ...], step: str) -> bool:
    """Whether a fault belongs to a step; the reference is the articles', not the protocol's."""
    if place[:2] == ("campaign", "reference"):
        return step == "articles"
    return str(place[0]) in places


def _onward(editor: Editor, step: str) -> None:
    words = list(STEPS)
    at = words.index(step)
    with tag("nav", classes="bar onward", aria_label="Steps before and after"):
        if at:
            link(f"Back: {STEPS[words[at - 1]][0]}", editor.to(words[at - 1]), "button")
        if at + 1 < len(words):
            link(f"Next: {STEPS[words[at + 1]][0]}", editor.to(words[at + 1]), "button primary")
