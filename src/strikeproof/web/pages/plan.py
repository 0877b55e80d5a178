"""Planning: campaigns set up here, and each of them step by step to a run sheet."""

from __future__ import annotations

import asyncio
from collections.abc import Callable
from pathlib import Path
from typing import Any

from starlette.requests import Request
from starlette.responses import HTMLResponse, JSONResponse, Response

from strikeproof.desk.calibrating.readings import calibrate_set_up
from strikeproof.desk.planning.bolt_check import check_bolt_of
from strikeproof.desk.planning.extra_block import keep_agreed_block
from strikeproof.desk.planning.printed_sheet import print_sheet
from strikeproof.desk.planning.repeats import draw_power
from strikeproof.desk.planning.sheet import keep_sheet, open_for_recording, plan_sheet
from strikeproof.desk.setting_up.editor import open_saved_set_up, open_set_up, start_set_up
from strikeproof.desk.setting_up.shelf import (
    SetUpGlance,
    copy_set_up,
    list_set_ups,
    loaded_from_elsewhere,
    put_away_set_up,
)
from strikeproof.desk.workspace.opening import is_simulated
from strikeproof.desk.workspace.places import planned_names
from strikeproof.errors import StrikeproofError
from strikeproof.web.answering import outcome, refusal
from strikeproof.web.fragments import render
from strikeproof.web.frame import View, view_of
from strikeproof.web.language import language_of
from strikeproof.web.plain import answer_press, error_markup, field_of, plain_page, stream_work, typed_in
from strikeproof.web.planning.extra_block import block_words
from strikeproof.web.planning.plan_deeds import do_deed, focus_after, stays_drawn
from strikeproof.web.planning.plan_facts import STEPS, count_of, plan_facts
from strikeproof.web.planning.plan_fills import show_bolt, show_calibration, show_power, show_sheet
from strikeproof.web.planning.questions import said_of
from strikeproof.web.routes import app
from strikeproof.web.site import Site
from strikeproof.web.units import units_of
from strikeproof.web.work import WORK

__all__ = ["campaigns_elsewhere", "register", "set_up_of"]


def register(site: Site) -> None:
    """Make the page, what is changed and pressed on it, and what it works out."""

    def facts(view: View) -> dict[str, Any]:
        asked = view.request.query_params
        word = asked.get("set_up", "") or ("" if asked.get("shelf") else set_up_of(view))
        if not word:
            return {"shelf": _shelf(view)}
        step = asked.get("step", "")
        set_up = open_saved_set_up(site.workspace, word)
        return {"plan": plan_facts(view, set_up, step if step in STEPS else "tools")}

    plain_page(site, "/plan", "Plan", facts=facts)
    _register_changes(site)
    _register_shelf(site)
    _register_work(site)
    _register_sheet(site)


def set_up_of(view: View) -> str:
    """The folder of the campaign that the address names; empty where it was not set up here."""
    named = view.request.query_params.get("campaign", "")
    return planned_names(view.site.workspace).get(named, "")


def _view(site: Site, request: Request, set_up: str) -> View:
    return view_of(site, request, "", {"set_up": set_up})


def _register_changes(site: Site) -> None:
    @app.post("/plan/change")
    async def changed(request: Request, set_up: str = "", step: str = "") -> Response:
        words = await typed_in(request)
        view = _view(site, request, set_up)

        def change() -> dict[str, Any]:
            now, told = open_set_up(site.workspace, set_up), dict[str, Any]()
            try:
                made = do_deed(view, now, words)
            except StrikeproofError as error:
                told = {"wrong": error_markup(error), "at": field_of(error)}
                if words.get("do") == "add-article":  # what is typed beside the button stays
                    return told
                now, done = open_set_up(site.workspace, set_up), False
            else:
                now, done, told = made.set_up, made.done, said_of(made, words)
                told |= {"at": focus_after(now, words)} if done else {}
            plan = plan_facts(view, now, step if step in STEPS else "tools")
            return {
                **told,
                "page": render("plan_steps", view=view, plan=plan),
                "anew": not done or not stays_drawn(words),
            }

        try:
            return JSONResponse(await asyncio.to_thread(change))
        except StrikeproofError as error:  # the campaign is gone
            return JSONResponse({"wrong": error_markup(error)})


def _shelf(view: View) -> dict[str, Any]:
    """All campaigns that were set up here, and those from folders elsewhere."""
    workspace = view.site.workspace
    return {
        "listed": list_set_ups(workspace),
        "elsewhere": campaigns_elsewhere(workspace),
        "says": _glance_says,
    }


def campaigns_elsewhere(workspace: Path) -> dict[str, tuple[Path, bool]]:
    """Campaigns loaded from folders elsewhere: their folder, and whether their runs are simulated."""
    found = loaded_from_elsewhere(workspace)
    return {name: (folder, is_simulated(workspace, name)) for name, folder in found.items()}


def _glance_says(glance: SetUpGlance) -> str:
    state = "complete" if not glance.faults else f"{glance.faults} to fix"
    tools, articles = count_of(glance.tools, "tool"), count_of(glance.articles, "article")
    runs = f"{glance.made} of {glance.planned} runs made" if glance.planned else "no run sheet yet"
    return f"{tools}, {articles}; {runs}; {state}"


def _register_shelf(site: Site) -> None:
    @app.post("/plan/start")
    async def started(request: Request) -> Response:
        name = (await typed_in(request)).get("name", "")

        def start() -> dict[str, str]:
            made = start_set_up(site.workspace, name)
            return {"go": _view(site, request, "").to("/plan", set_up=made.folder.name, step="tools")}

        return await answer_press("Starting a campaign", start)

    @app.post("/plan/copy")
    async def copied(request: Request, set_up: str = "") -> Response:
        def copy() -> dict[str, str]:
            listed = list_set_ups(site.workspace)
            names = {each.name for each in listed}
            name = next((each.name for each in listed if each.word == set_up), set_up)
            new = next(word for n in range(2, 1000) if (word := f"{name} {n}") not in names)
            made = copy_set_up(site.workspace, set_up, new)
            return {"go": _view(site, request, "").to("/plan", set_up=made.folder.name, step="protocol")}

        return await answer_press("Copying a campaign", copy)

    @app.post("/plan/put-away")
    async def put_away(request: Request, set_up: str = "") -> Response:
        def away() -> dict[str, str]:
            put_away_set_up(site.workspace, set_up)
            return {"go": "/plan"}

        return await answer_press("Putting a campaign away", away)


def _register_work(site: Site) -> None:
    """What a step works out, for the state of the plan that the address names."""

    def made(path: str, title: str, task: Callable[..., Any], show: Callable[[View, Any], str]) -> None:
        @app.get(f"/data/filled/plan/{path}")
        async def worked_out(request: Request, set_up: str = "", mark: str = "") -> Response:
            view = _view(site, request, set_up)
            given = (site.workspace, set_up, mark)
            return stream_work(
                request, title, lambda: WORK.start(task, *given).pressed(), lambda found: show(view, found)
            )

    made("protocol", "Working out the power", draw_power, lambda _view, found: show_power(found))
    made("bolt", "Hammering on the bolt", check_bolt_of, lambda view, found: show_bolt(found, view.units))
    made("calibration", "Fitting the curve", calibrate_set_up, lambda _view, found: show_calibration(found))


def _register_sheet(site: Site) -> None:
    @app.get("/data/filled/plan/sheet")
    async def planned(request: Request, set_up: str = "") -> Response:
        view = _view(site, request, set_up)
        return stream_work(
            request,
            "Planning",
            lambda: WORK.start(plan_sheet, site.workspace, set_up).pressed(),
            lambda plan: show_sheet(view, set_up, plan),
        )

    @app.post("/plan/sheet/make")
    async def sheet_made(request: Request, set_up: str = "") -> Response:
        view = _view(site, request, set_up)
        return stream_work(
            request,
            "Making the sheet",
            lambda: WORK.start(keep_sheet, site.workspace, set_up).pressed(),
            lambda plan: show_sheet(view, set_up, plan, "The sheet is made."),
        )

    @app.post("/plan/sheet/block")
    async def block_made(request: Request, set_up: str = "") -> Response:
        view = _view(site, request, set_up)
        agreed = (await typed_in(request)).get("agreed") == "1"

        def show(found: tuple[Any, bool]) -> str:
            block, kept = found
            return render(
                "planned_block",
                kept=kept,
                block=block,
                said=block_words(block),
                sheet=view.to("/data/filled/plan/sheet", set_up=set_up),
                post=view.to("/plan/sheet/block", set_up=set_up),
                step=view.to("/plan", set_up=set_up, step="sheet"),
            )

        return stream_work(
            request,
            "Planning the block",
            lambda: WORK.start(keep_agreed_block, site.workspace, set_up, agreed=agreed).pressed(),
            show,
        )

    @app.post("/plan/sheet/rig")
    async def opened(request: Request, set_up: str = "") -> Response:
        """The sheet was made elsewhere: the campaign is taken into the workspace, then recorded."""

        async def go() -> dict[str, str]:
            name = open_set_up(site.workspace, set_up).name
            await WORK.run(open_for_recording, site.workspace, set_up)
            return {"go": _view(site, request, set_up).to("/record", campaign=name)}

        return await answer_press("Opening it for recording", go)

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
