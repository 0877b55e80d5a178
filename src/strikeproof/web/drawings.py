"""Charts that the desk drew, with what can be saved of them."""

from __future__ import annotations

from starlette.requests import Request
from starlette.responses import Response

from strikeproof.desk.publishing.views import ENDINGS
from strikeproof.desk.runs.run_list import campaign_state
from strikeproof.errors import NotFound, StrikeproofError
from strikeproof.web.answering import outcome, refusal
from strikeproof.web.language import comma_of
from strikeproof.web.routes import app
from strikeproof.web.site import Site
from strikeproof.web.tasks import CHART
from strikeproof.web.units import units_of
from strikeproof.web.work import WORK

__all__ = ["register_chart_files"]


def register_chart_files(site: Site) -> None:
    """Make the route that gives a chart as a file."""

    @app.get("/data/chart/{name}.{ending}")
    async def chart(request: Request, name: str, ending: str, campaign: str | None = None) -> Response:
        units, comma = units_of(request.cookies), comma_of(request.cookies)
        try:
            if ending not in ENDINGS:
                raise NotFound("kind of file", ending, ENDINGS)
            state = campaign_state(site.workspace, campaign)
            job = WORK.start(CHART, site.workspace, campaign, name, ending, units.mapping, comma, state=state)
            content = await outcome(request, job)
        except StrikeproofError as error:
            return refusal(error)
        return Response(content, media_type=ENDINGS[ending])
