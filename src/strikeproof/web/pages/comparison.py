"""What was found: the rig first, then verdicts in plain words, the tables and the charts."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

from starlette.requests import Request
from starlette.responses import Response

from strikeproof.desk.publishing.views import AnswerPanel, ComparisonView
from strikeproof.desk.runs.run_list import campaign_state
from strikeproof.errors import StrikeproofError
from strikeproof.web.answering import refusal
from strikeproof.web.fragments import render
from strikeproof.web.frame import View
from strikeproof.web.plain import plain_page, stream_work, view_of_runs
from strikeproof.web.routes import app
from strikeproof.web.site import Site
from strikeproof.web.tasks import ASK, CHANGE, COMPARE, ELSEWHERE, ENOUGH, TOOL_SHEET
from strikeproof.web.work import WORK, Job

__all__ = ["register"]

_RESULTS = "found"  # the section of the charts that stand with the results


def register(site: Site) -> None:
    """Make the page's routes."""
    nothing = ("Nothing to compare yet", "Load a campaign folder, or record runs at the rig.")
    plain_page(site, "/comparison", "Comparison", nothing)

    @app.get("/data/filled/comparison")
    async def compared(request: Request, campaign: str = "") -> Response:
        try:
            view = view_of_runs(site, request, campaign)
            state = campaign_state(site.workspace, view.campaign)
        except StrikeproofError as error:
            return refusal(error)

        def start() -> Job:
            return WORK.start(COMPARE, site.workspace, view.campaign, view.units.mapping, state=state)

        return stream_work(request, "Comparing", start, lambda found: _shown(view, found))

    @app.get("/data/filled/answer")
    async def answered(request: Request, campaign: str = "", difference: str = "") -> Response:
        def start(view: View) -> Job:
            return WORK.start(ASK, site.workspace, difference, view.campaign)

        return _asked(site, request, campaign, start)

    @app.get("/data/filled/change")
    async def changed(request: Request, campaign: str = "", before: str = "", after: str = "") -> Response:
        def start(view: View) -> Job:
            return WORK.start(CHANGE, site.workspace, before, after, view.campaign)

        return _asked(site, request, campaign, start)

    @app.get("/data/filled/tool")
    async def sheet(request: Request, campaign: str = "", tool: str = "") -> Response:
        def start(view: View) -> Job:
            return WORK.start(TOOL_SHEET, site.workspace, tool, view.campaign)

        return _asked(site, request, campaign, start)

    @app.get("/data/filled/enough")
    async def enough(request: Request, campaign: str = "") -> Response:
        typed = {key: request.query_params.get(key, "") for key in ("difference", "power", "hour", "bolt")}

        def start(view: View) -> Job:
            return WORK.start(ENOUGH, site.workspace, typed, view.campaign)

        return _asked(site, request, campaign, start)

    @app.get("/data/filled/elsewhere")
    async def elsewhere(
        request: Request, campaign: str = "", tool: str = "", calibrated: str = ""
    ) -> Response:
        def start(_view: View) -> Job:
            return WORK.start(ELSEWHERE, site.workspace, tool, calibrated=bool(calibrated))

        return _asked(site, request, campaign, start)


def _asked(site: Site, request: Request, campaign: str, start: Callable[[View], Job]) -> Response:
    """A question worked out, its answer in the place that asks."""
    try:
        view = view_of_runs(site, request, campaign)
    except StrikeproofError as error:
        return refusal(error)

    def show(panel: AnswerPanel) -> str:
        return render("answer", panel=panel, charts=None, view=view)

    return stream_work(request, "Working it out", lambda: start(view), show)


def _shown(view: View, found: ComparisonView) -> str:
    elsewhere = {_RESULTS, *(panel.key for panel in found.answers)}
    aside = [[each[key] for key in ("article", "tool", "without", "with")] for each in found.set_aside]
    rows: list[tuple[None, list[tuple[Any]]]] = [(None, [(cell,) for cell in row]) for row in aside]
    return render(
        "compared",
        view=view,
        found=found,
        set_aside=rows,
        rest={key: each for key, each in found.charts.items() if key not in elsewhere},
    )
