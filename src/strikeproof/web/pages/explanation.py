"""Why: candidate explanations set against each other, gains split by property, one blow in slow motion."""

from __future__ import annotations

from typing import Final

from starlette.requests import Request
from starlette.responses import HTMLResponse, Response

from strikeproof.desk.publishing.views import ExplanationView
from strikeproof.desk.runs.run_list import answers_state
from strikeproof.errors import StrikeproofError
from strikeproof.web.answering import outcome, refusal
from strikeproof.web.fragments import render
from strikeproof.web.frame import View
from strikeproof.web.looking import looks_only
from strikeproof.web.plain import plain_page, stream_work, view_of_runs
from strikeproof.web.routes import app
from strikeproof.web.site import Site
from strikeproof.web.tasks import EXPLAIN, FILM, KEPT_EXPLANATION
from strikeproof.web.work import WORK, Job

__all__ = ["register"]

_SECTIONS: Final = {
    "Weight of each explanation": ("why-weights",),
    "Articles left out and predicted": ("why-left-out",),
    "Property by property": ("why-split", "why-inertia"),
    "One blow": ("why-energy", "why-blow"),
}
_FILM_POLICY = (
    "default-src 'none'; script-src 'unsafe-inline'; style-src 'unsafe-inline'; img-src data:; "
    "sandbox allow-scripts; frame-ancestors 'self'"
)
"""A film runs its own script; the sandbox gives it no origin, so that it can reach nothing of this server."""


def register(site: Site) -> None:
    """Make the page, what fills it, and the film it shows."""
    plain_page(
        site,
        "/explanation",
        "Explanation",
        ("Nothing to explain yet", "First come runs of several articles."),
        facts=lambda view: {"joins": _under_way(view)},
    )

    @app.get("/data/filled/explanation")
    async def known(request: Request, campaign: str = "") -> Response:
        try:
            view = view_of_runs(site, request, campaign)
            state = answers_state(site.workspace, view.campaign)
        except StrikeproofError as error:
            return refusal(error)

        def start() -> Job:
            return WORK.start(KEPT_EXPLANATION, site.workspace, view.campaign, state=state)

        return stream_work(
            request,
            "Looking for what is known",
            start,
            lambda found: _shown(view, found, joins=_under_way(view)),
        )

    @app.post("/data/filled/explained")
    async def explained(request: Request, campaign: str = "", quick: bool = False) -> Response:
        try:
            view = view_of_runs(site, request, campaign)
        except StrikeproofError as error:
            return refusal(error)

        def start() -> Job:
            return WORK.start(EXPLAIN, site.workspace, view.campaign, quick=quick).pressed()

        return stream_work(request, "Fitting the explanations", start, lambda found: _shown(view, found))

    @app.get("/published/film/{whose}")
    async def film(
        request: Request, whose: str, campaign: str | None = None, quick: bool = False
    ) -> Response:
        try:
            state = answers_state(site.workspace, campaign)
            job = WORK.start(FILM, site.workspace, campaign, whose, quick=quick, state=state)
            text = await outcome(request, job)
        except StrikeproofError as error:
            return refusal(error)
        return HTMLResponse(text, headers={"content-security-policy": _FILM_POLICY})


def _shown(view: View, found: ExplanationView | None, joins: str = "") -> str:
    """What is known, which an explanation under way replaces; the answer of one joins nothing."""
    named = {} if found is None else {each.name: each for each in found.drawings}
    drawn = {title: [named[name] for name in names if name in named] for title, names in _SECTIONS.items()}
    return render(
        "explained",
        view=view,
        found=found,
        drawn={title: each for title, each in drawn.items() if each},
        joins=joins,
    )


def _under_way(view: View) -> str:
    """Which explanation is being worked out now, which a page that comes back joins; nothing when none is."""
    if looks_only(view.request.scope):
        return ""
    for word, quick in (("thorough", False), ("quick", True)):
        if WORK.under_way(EXPLAIN, view.site.workspace, view.campaign, quick=quick):
            return word
    return ""
