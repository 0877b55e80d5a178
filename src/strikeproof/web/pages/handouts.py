"""What leaves the workspace besides the page and the bundle: paper, a shelf of bundles, a replication."""

from __future__ import annotations

from typing import Final

from starlette.requests import Request
from starlette.responses import FileResponse, Response

from strikeproof.desk.publishing.made_files import SHELF, paper_file
from strikeproof.desk.workspace.opening import campaign_names
from strikeproof.errors import NotFound, StrikeproofError
from strikeproof.web.answering import refusal
from strikeproof.web.fragments import render
from strikeproof.web.inside import inside
from strikeproof.web.language import language_of
from strikeproof.web.plain import stream_work, typed_in, view_of_runs
from strikeproof.web.routes import app
from strikeproof.web.site import Site
from strikeproof.web.tasks import PAPER, REPLICATE, REPLICATION
from strikeproof.web.tasks import SHELF as SHELF_TASK
from strikeproof.web.work import WORK

__all__ = ["PAPER_NAMES", "register"]

PAPER_NAMES: Final = (
    ("certificate", "Results certificate, two pages"),
    ("page", "The whole page"),
    ("run-sheet", "Run sheet to write on"),
)


def register(site: Site) -> None:
    """Make the routes that make and give them."""

    @app.post("/published/paper")
    async def paper_made(request: Request, campaign: str = "") -> Response:
        typed = await typed_in(request)
        try:
            view = view_of_runs(site, request, campaign)
        except StrikeproofError as error:
            return refusal(error)
        what = typed.get("what", "")
        spoken = language_of(request.cookies, request.headers, site.language)
        return stream_work(
            request,
            "Writing the PDF",
            lambda: WORK.start(PAPER, site.workspace, view.campaign, what, spoken).pressed(),
            lambda made: render("paper", made=made, view=view),
        )

    @app.get("/published/{what}.pdf")
    async def paper(what: str, campaign: str | None = None) -> Response:
        name = campaign or next(iter(campaign_names(site.workspace)), "")
        try:
            path = paper_file(site.workspace, name, what)
            path = inside(path.parent, path.name)
            if not path.is_file():
                raise NotFound("PDF of campaign", name, ())
        except StrikeproofError as error:
            return refusal(error)
        return FileResponse(path, filename=path.name, media_type="application/pdf")

    @app.post("/published/shelf")
    async def shelf_made(request: Request, campaign: str = "") -> Response:
        typed = await typed_in(request)
        try:
            view = view_of_runs(site, request, campaign)
        except StrikeproofError as error:
            return refusal(error)
        return stream_work(
            request,
            "Reading the bundles",
            lambda: WORK.start(SHELF_TASK, site.workspace, typed.get("title", "")).pressed(),
            lambda made: render("shelf_made", made=made, view=view),
        )

    @app.get("/published/shelf.zip")
    async def shelf() -> Response:
        path = site.workspace / SHELF
        if not path.is_file():
            return refusal(NotFound("shelf", "shelf.zip", ()))
        return FileResponse(path, filename=path.name, media_type="application/zip")

    @app.post("/published/replicated")
    async def replicated(request: Request, campaign: str = "") -> Response:
        came = (await typed_in(request)).get("upload", "")
        try:
            view = view_of_runs(site, request, campaign)
        except StrikeproofError as error:
            return refusal(error)
        return stream_work(
            request,
            "Computing their runs again",
            lambda: WORK.start(REPLICATE, site.workspace, came).pressed(),
            lambda made: render("replication_plan", made=made, view=view),
        )

    @app.post("/published/compared-with")
    async def compared(request: Request, campaign: str = "") -> Response:
        came = (await typed_in(request)).get("upload", "")
        try:
            view = view_of_runs(site, request, campaign)
        except StrikeproofError as error:
            return refusal(error)
        return stream_work(
            request,
            "Computing their runs again",
            lambda: WORK.start(REPLICATION, site.workspace, came, view.campaign).pressed(),
            lambda made: render("replication", made=made, view=view),
        )
