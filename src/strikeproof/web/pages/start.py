"""The first page: what the workspace holds and what to do next."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from typing import Any, Final

from starlette.requests import Request
from starlette.responses import Response

from strikeproof.desk.setting_up.shelf import CampaignGlance, list_campaigns
from strikeproof.desk.workspace.opening import loadable
from strikeproof.web.fragments import render
from strikeproof.web.frame import View, view_of
from strikeproof.web.plain import plain_page, stream_work, typed_in
from strikeproof.web.routes import app
from strikeproof.web.site import Site
from strikeproof.web.tasks import LOAD, LOAD_UPLOAD
from strikeproof.web.trial import register_trial
from strikeproof.web.upload import register_uploads
from strikeproof.web.work import WORK, Job

__all__ = ["register"]

_STAGES: Final = {
    "unreadable": "",
    "incomplete": "Being set up",
    "no sheet": "Set up",
    "not loaded": "Planned",
    "planned": "Planned",
    "recording": "Recording",
    "recorded": "Recorded",
}


def register(site: Site) -> None:
    """Make the page, the route that takes files, and the one that loads a folder."""
    register_uploads(site)
    trial = register_trial(site)
    plain_page(site, "/", "Start", facts=lambda view: {**_facts(view), "trial": trial})

    @app.post("/data/filled/loaded")
    async def loaded(request: Request) -> Response:
        typed = await typed_in(request)
        sent, folder = typed.get("upload", ""), typed.get("folder", "")

        def start() -> Job:
            if sent:
                return WORK.start(LOAD_UPLOAD, site.workspace, sent).pressed()
            return WORK.start(LOAD, site.workspace, folder).pressed()

        def show(outcome: Any) -> str:
            return render("loaded", outcome=outcome, view=view_of(site, request, "", {}))

        return stream_work(request, "Loading", start, show)


def _facts(view: View) -> Mapping[str, Any]:
    found = list_campaigns(view.site.workspace)
    return {
        "cards": [
            {
                "glance": each,
                "stage": _STAGES[each.stage],
                "steps": list(_next(view, each)),
                "plate": [
                    ("Runs", _runs(each)),
                    ("Articles", each.articles),
                    ("Tools", each.tools),
                    ("Reference", each.reference or "not chosen"),
                ],
                "has_runs": each.stage in ("recording", "recorded"),
            }
            for each in found
        ],
        "inside": loadable(view.site.workspace),
    }


def _runs(glance: CampaignGlance) -> str:
    """How many there are of those that are planned."""
    if not glance.planned:
        return "none yet" if glance.stage == "planned" else "not planned yet"
    aside = f", {glance.excluded} excluded" if glance.excluded else ""
    done = glance.stage == "recorded"
    return f"{glance.runs}{aside}" if done else f"{glance.runs} of {glance.planned} recorded{aside}"


def _next(view: View, glance: CampaignGlance) -> Iterator[tuple[str, str, str]]:
    """What to do next with a campaign, the most useful first: name, address, why."""

    def to(path: str) -> str:
        return view.to(path, campaign=glance.name)

    def plan(step: str = "") -> str:
        return view.to("/plan", set_up=glance.folder, step=step)

    match glance.stage:
        case "unreadable":
            yield "See what is wrong", plan(), "Its folder cannot be opened."
            return
        case "incomplete":
            yield (
                "Go on planning",
                plan(),
                f"{_things(glance.problems)} to fill in or fix before its runs are planned.",
            )
            return
        case "no sheet":
            yield "Plan its runs", plan("sheet"), "It is complete; its run sheet is still to be made."
            return
        case "not loaded" if glance.runs:
            yield "Load it", "#load-inside", "It has runs that this workspace does not hold yet."
            return
        case "not loaded":
            yield (
                "Open its run sheet",
                plan("sheet"),
                "Its runs are planned; none is recorded yet.",
            )
            return
        case "planned" if not glance.planned:
            yield "Record runs", to("/record"), "None of its runs is loaded yet."
        case "planned":
            yield "Record runs", to("/record"), "Its runs are planned; none is recorded yet."
        case "recording":
            yield "Go on recording", to("/record"), f"{_left(glance)} still to be recorded."
    if not glance.calibrated:
        lacks = (
            "Without a calibration, readings count as the rig gives them."
            if glance.in_load
            else "Without a calibration, readings are only ratios."
        )
        yield "Calibrate", to("/calibration"), lacks
    if glance.runs:
        yield "Compare", to("/comparison"), "See which differences are real, and how large."
        yield "Runs", to("/runs"), "Look at each run and its flags."
        yield "Explain", to("/explanation"), "Find the property that makes the difference."
    elif glance.folder:
        yield "Plan", plan(), "Look at what is planned."


def _things(count: int) -> str:
    return "One thing" if count == 1 else f"{count} things"


def _left(glance: CampaignGlance) -> str:
    left = glance.planned - glance.runs
    return "One run is" if left == 1 else f"{left} runs are"
