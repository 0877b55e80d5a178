"""Charts that the desk drew, with what can be saved of them."""

from __future__ import annotations

from nicegui import app
from nicegui.element import Element
from starlette.requests import Request
from starlette.responses import Response

from strikeproof.desk.publishing.views import ENDINGS, Drawing
from strikeproof.desk.runs.run_list import campaign_state
from strikeproof.errors import StrikeproofError
from strikeproof.web.answering import outcome, refusal
from strikeproof.web.elements import html, link, tag
from strikeproof.web.frame import View
from strikeproof.web.site import Site
from strikeproof.web.tasks import CHART
from strikeproof.web.units import units_of
from strikeproof.web.work import WORK

__all__ = ["register_chart_files", "show_drawing", "sign_markup"]


def register_chart_files(site: Site) -> None:
    """Make the route that gives a chart as a file."""

    @app.get("/data/chart/{name}.{ending}")
    async def chart(request: Request, name: str, ending: str, campaign: str | None = None) -> Response:
        units = units_of(request.cookies)
        try:
            state = campaign_state(site.workspace, campaign)
            job = WORK.start(CHART, site.workspace, campaign, name, ending, units.mapping, state=state)
            content = await outcome(request, job)
        except StrikeproofError as error:
            return refusal(error)
        return Response(content, media_type=ENDINGS[ending])


def show_drawing(view: View, drawing: Drawing, files: str = "/data/chart") -> Element:
    """One chart, wide or narrow by the room it has; its files come from below the address `files`."""
    figure = tag("figure", classes="chart drawn")
    with figure:
        tag("figcaption", drawing.title)
        for markup, room in ((drawing.wide, "wideonly"), (drawing.narrow, "narrow")):
            part = html(markup, classes=room)
            part.props["role"], part.props["aria-label"] = "img", drawing.says
        with tag("div", classes="save"):
            for ending in ("svg", "png", "csv"):
                target = view.to(f"{files}/{drawing.name}.{ending}")
                link(ending.upper(), target, "button small", download=f"{drawing.name}.{ending}")
    return figure


def sign_markup(role: str, path: str, *, hollow: bool) -> str:
    """A verdict's shape, which says without colour what its word says."""
    ink = 'fill="none" stroke="currentColor" stroke-width="2"' if hollow else 'fill="currentColor"'
    return (
        f'<svg class="shape v-{role}" viewBox="-6 -6 12 12" aria-hidden="true"><path d="{path}" {ink}/></svg>'
    )
