"""The page that others can check: shown, saved, and packed with its data."""

from __future__ import annotations

from nicegui import app
from starlette.requests import Request
from starlette.responses import FileResponse, HTMLResponse, Response

from strikeproof.desk.runs.run_list import answers_state
from strikeproof.errors import StrikeproofError
from strikeproof.web.answering import outcome, refusal
from strikeproof.web.elements import link, tag
from strikeproof.web.frame import View, nothing_yet, page
from strikeproof.web.site import Site
from strikeproof.web.tasks import PACKAGE, PAGE
from strikeproof.web.work import WORK
from strikeproof.web.working import fill

__all__ = ["register"]

_POLICY = "sandbox allow-scripts allow-downloads; frame-ancestors 'self'"
"""The page brings a policy of its own; the sandbox gives it no origin, so that it can reach nothing here."""


def register(site: Site) -> None:
    """Make the page, and what it shows and gives."""

    @page(site, "/page", "Page")
    async def published(view: View) -> None:
        if view.campaign is None:
            nothing_yet(view, "Nothing to publish yet", "A page comes out of runs that were compared.")
            return
        tag(
            "p",
            "One file that holds the whole comparison, for anybody to check. It needs no network.",
            "lead",
        )
        await fill(
            "Writing the page",
            lambda text: _show(view, text),
            PAGE,
            site.workspace,
            view.campaign,
            state=answers_state(site.workspace, view.campaign),
        )

    @app.get("/published/page.html")
    async def whole(request: Request, campaign: str | None = None, save: bool = False) -> Response:
        try:
            state = answers_state(site.workspace, campaign)
            text = await outcome(request, WORK.start(PAGE, site.workspace, campaign, state=state))
        except StrikeproofError as error:
            return refusal(error)
        kept = {"content-disposition": 'attachment; filename="page.html"'} if save else {}
        return HTMLResponse(text, headers={"content-security-policy": _POLICY, **kept})

    @app.get("/published/package.zip")
    async def package(request: Request, campaign: str | None = None) -> Response:
        try:
            path = await outcome(request, WORK.start(PACKAGE, site.workspace, campaign))
        except StrikeproofError as error:
            return refusal(error)
        return FileResponse(path, filename=path.name, media_type="application/zip")


def _show(view: View, text: str) -> None:
    with tag("div", classes="bar"):
        link("Save the page", view.to("/published/page.html", save=1), "button primary", download="page.html")
        link("Save the package", view.to("/published/package.zip"), "button", download=True)
        link("Open it alone", view.to("/published/page.html"), "button", target="_blank", rel="noopener")
    tag(
        "p",
        f"{len(text) / 1e6:.1f} MB. The package holds charts, scores and the untouched logs too.",
        "quiet",
    )
    tag("iframe", src=view.to("/published/page.html"), title="The published page", classes="published")
