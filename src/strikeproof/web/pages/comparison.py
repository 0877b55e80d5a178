"""What was found: the rig first, then verdicts in plain words, the tables and the charts."""

from __future__ import annotations

from typing import Any

from nicegui import app
from starlette.requests import Request
from starlette.responses import Response

from strikeproof.desk.publishing.views import AnswerPanel, ComparisonView
from strikeproof.desk.runs.run_list import campaign_state
from strikeproof.web.fragments import render
from strikeproof.web.frame import View, view_of
from strikeproof.web.plain import plain_page, stream_work
from strikeproof.web.site import Site
from strikeproof.web.tasks import ASK, COMPARE
from strikeproof.web.work import WORK

__all__ = ["register"]

_RESULTS = "found"  # the section of the charts that stand with the results


def register(site: Site) -> None:
    """Make the page's routes."""
    nothing = ("Nothing to compare yet", "Load a campaign folder, or record runs at the rig.")
    plain_page(site, "/comparison", "Comparison", nothing)

    @app.get("/data/filled/comparison")
    async def compared(request: Request, campaign: str = "") -> Response:
        view = view_of(site, request, campaign, {})
        return stream_work(
            request,
            "Comparing",
            lambda: WORK.start(
                COMPARE,
                site.workspace,
                view.campaign,
                view.units.mapping,
                state=campaign_state(site.workspace, view.campaign),
            ),
            lambda found: _shown(view, found),
        )

    @app.get("/data/filled/answer")
    async def answered(request: Request, campaign: str = "", difference: str = "") -> Response:
        view = view_of(site, request, campaign, {})

        def show(panel: AnswerPanel) -> str:
            return render("answer", panel=panel, charts=None, view=view)

        return stream_work(
            request,
            "Working it out",
            lambda: WORK.start(ASK, site.workspace, difference, view.campaign),
            show,
        )


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
