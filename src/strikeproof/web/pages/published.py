"""The page that others can check: shown, saved, and packed with its data."""

from __future__ import annotations

from typing import Final

from starlette.requests import Request
from starlette.responses import FileResponse, HTMLResponse, Response

from strikeproof.desk.publishing.bundle.choices import licence_choices
from strikeproof.desk.publishing.made_files import bundle_file
from strikeproof.desk.runs.run_list import answers_state
from strikeproof.desk.workspace.opening import campaign_names
from strikeproof.errors import NotFound, StrikeproofError
from strikeproof.web.answering import outcome, refusal
from strikeproof.web.fragments import render
from strikeproof.web.inside import inside
from strikeproof.web.language import comma_of, language_of
from strikeproof.web.pages import handouts
from strikeproof.web.pages.filmed import film_choices, register_films
from strikeproof.web.plain import plain_page, stream_work, typed_in, view_of_runs
from strikeproof.web.routes import app
from strikeproof.web.site import Site
from strikeproof.web.tasks import BUNDLE, PAGE, RECOMPUTE
from strikeproof.web.work import WORK

__all__ = ["register"]

_POLICY = "sandbox allow-scripts allow-downloads; frame-ancestors 'self'"
"""The page brings a policy of its own; the sandbox gives it no origin, so that it can reach nothing here."""

_PERSONAL: Final = (
    ("ask", "show it to me first"),
    ("strip", "take it out"),
    ("keep", "publish it as it is"),
)


def register(site: Site) -> None:
    """Make the page, what it shows and gives, and what is pressed on it."""
    plain_page(
        site, "/page", "Page", ("Nothing to publish yet", "A page comes out of runs that were compared.")
    )

    handouts.register(site)
    register_films(site)

    @app.get("/data/filled/page")
    async def written(request: Request, campaign: str = "") -> Response:
        try:
            view = view_of_runs(site, request, campaign)
            state = answers_state(site.workspace, view.campaign)
            spoken = view.language, comma_of(request.cookies)
        except StrikeproofError as error:
            return refusal(error)
        licences = [("", "choose one"), *((spdx, f"{spdx}: {says}") for spdx, says in licence_choices())]

        def show(text: str) -> str:
            return render(
                "published",
                view=view,
                size=len(text),
                licences=licences,
                personal=_PERSONAL,
                papers=handouts.PAPER_NAMES,
                filming=film_choices(site, view),
            )

        return stream_work(
            request,
            "Writing the page",
            lambda: WORK.start(PAGE, site.workspace, view.campaign, *spoken, state=state),
            show,
        )

    @app.post("/published/bundle")
    async def bundle_made(request: Request, campaign: str = "") -> Response:
        typed = await typed_in(request)
        try:
            view = view_of_runs(site, request, campaign)
        except StrikeproofError as error:
            return refusal(error)
        personal = typed.get("personal", "")
        chosen = (
            typed.get("licence", ""),
            typed.get("author", ""),
            personal if personal in dict(_PERSONAL) else "ask",
        )
        return stream_work(
            request,
            "Computing the bundle",
            lambda: WORK.start(BUNDLE, site.workspace, view.campaign, *chosen).pressed(),
            lambda made: render("bundle", made=made, view=view),
        )

    @app.post("/published/agreement")
    async def computed_again(request: Request, campaign: str = "") -> Response:
        try:
            view = view_of_runs(site, request, campaign)
        except StrikeproofError as error:
            return refusal(error)
        return stream_work(
            request,
            "Computing it again",
            lambda: WORK.start(RECOMPUTE, site.workspace, view.campaign).pressed(),
            lambda found: render("agreement", found=found),
        )

    @app.get("/published/page.html")
    async def whole(request: Request, campaign: str | None = None, save: bool = False) -> Response:
        try:
            state = answers_state(site.workspace, campaign)
            spoken = language_of(request.cookies, request.headers, site.language)
            text = await outcome(
                request,
                WORK.start(PAGE, site.workspace, campaign, spoken, comma_of(request.cookies), state=state),
            )
        except StrikeproofError as error:
            return refusal(error)
        kept = {"content-disposition": 'attachment; filename="page.html"'} if save else {}
        return HTMLResponse(text, headers={"content-security-policy": _POLICY, **kept})

    @app.get("/published/bundle.zip")
    async def bundle(campaign: str | None = None) -> Response:
        try:
            name = campaign or next(iter(campaign_names(site.workspace)), "")
            path = bundle_file(site.workspace, name)
            path = inside(path.parent, path.name)
            if not path.is_file():
                raise NotFound("bundle of campaign", name, ())
        except StrikeproofError as error:
            return refusal(error)
        return FileResponse(path, filename=path.name, media_type="application/zip")
