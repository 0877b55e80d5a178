"""Why: candidate explanations set against each other, gains split by property, one blow in slow motion."""

from __future__ import annotations

from collections.abc import Mapping
from html import escape
from typing import Any

from nicegui import app
from nicegui.element import Element
from starlette.requests import Request
from starlette.responses import HTMLResponse, Response

from strikeproof.desk.publishing.views import ExplanationView
from strikeproof.desk.runs.run_list import answers_state
from strikeproof.errors import StrikeproofError
from strikeproof.web.answering import outcome, refusal
from strikeproof.web.drawings import show_drawing
from strikeproof.web.elements import Drawn, button, empty_state, link, notes, section, table, tag
from strikeproof.web.frame import View, nothing_yet, page
from strikeproof.web.site import Site
from strikeproof.web.tasks import EXPLAIN, FILM, KEPT_EXPLANATION
from strikeproof.web.work import WORK
from strikeproof.web.working import fill, working

__all__ = ["register"]


def register(site: Site) -> None:
    """Make the page and the film it shows."""

    @page(site, "/explanation", "Explanation")
    async def explanation(view: View) -> None:
        if view.campaign is None:
            nothing_yet(view, "Nothing to explain yet", "First come runs of several articles.")
            return
        await fill(
            "Looking for what is known",
            lambda found: _show_or_ask(view, found),
            KEPT_EXPLANATION,
            site.workspace,
            view.campaign,
            state=answers_state(site.workspace, view.campaign),
        )

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


_FILM_POLICY = (
    "default-src 'none'; script-src 'unsafe-inline'; style-src 'unsafe-inline'; img-src data:; "
    "sandbox allow-scripts; frame-ancestors 'self'"
)
"""A film runs its own script; the sandbox gives it no origin, so that it can reach nothing of this server."""


def _show_or_ask(view: View, found: ExplanationView | None) -> None:
    place = tag("div")
    with place:
        if found is not None:
            _show(view, place, found)
            return
        with empty_state(
            "Not worked out yet",
            "Candidate explanations (mass, inertia, stiffness, fit and others) are fitted to the "
            "runs, and each must predict articles that it has not seen. A quick answer takes a minute "
            "or two, a thorough one longer; both can be stopped, and what is found is saved.",
        ):
            _buttons(view, place)


def _buttons(view: View, place: Element) -> None:
    async def begin(quick: bool) -> None:
        await working(
            place,
            "Fitting the explanations",
            lambda found: _show(view, place, found),
            EXPLAIN,
            view.site.workspace,
            view.campaign,
            quick=quick,
        )

    with tag("div", classes="bar"):
        button("Explain thoroughly", lambda: begin(False), "button primary")
        button("Quick answer", lambda: begin(True))


def _show(view: View, place: Element, found: ExplanationView) -> None:
    section_rows = found.section
    for number, text in enumerate(section_rows["sentences"]):
        tag("p", text, "" if number else "lead")
    notes(section_rows["caveats"], "Note")
    if found.quick:
        with tag("div", classes="notice"):
            tag("p", "This is a quick answer. A thorough one is surer of itself.")
            _buttons(view, place)
    with section("The explanations"):
        _rivals(found)
    named = {each.name: each for each in found.drawings}
    titles = {
        "Weight of each explanation": ("why-weights",),
        "Articles left out and predicted": ("why-left-out",),
        "What each property adds": ("why-split", "why-inertia"),
        "One blow": ("why-energy", "why-blow"),
    }
    for title, names in titles.items():
        drawn = [named[name] for name in names if name in named]
        if drawn:
            with section(title):
                for each in drawn:
                    show_drawing(view, each)
                if "why-blow" in names:
                    _films(view, found)
    _tests(found)
    _unknowns(found)
    for text in section_rows["trust"]:
        tag("p", text, "quiet")


def _films(view: View, found: ExplanationView) -> None:
    tag("h3", "Watch it in slow motion")
    tag("p", "The same simulated blow, of the reference and of the article that gains most.", "quiet")
    bar = tag("div", classes="bar")
    frame = tag("iframe", name="film", title="A blow in slow motion", classes="film")
    frame.set_visibility(False)
    with bar:
        for whose in ("reference", "winner"):
            target = view.to(f"/published/film/{whose}", quick="1" if found.quick else "")
            shown = link(f"Blow of the {whose}", target, "button", target="film")
            shown.on("click", lambda: frame.set_visibility(True), args=[])


def _rivals(found: ExplanationView) -> None:
    table(
        ("Explanation", "Misses by", "Weight", "Probability"),
        [
            (
                Drawn(f"{_name(each)}<small>{escape(each['says'])}</small>"),
                each["error"],
                each["weight"],
                each["probability"],
            )
            for each in found.section["rivals"]
        ],
        caption="The explanations, and how they predicted articles that they had not seen",
        numbers=(1, 2, 3),
    )


def _name(rival: Mapping[str, Any]) -> str:
    return escape(rival["name"]) + (" (named)" if rival["named"] else "")


def _tests(found: ExplanationView) -> None:
    tests = found.section["tests"]
    if not tests:
        return
    with section("What would teach most next"):
        with tag("ol", classes="steps"):
            for each in tests:
                with tag("li"):
                    tag("span", each["setup"])
                    tag(
                        "small",
                        f"{each['bits']} bits: {each['rivals']} about the explanations, "
                        f"{each['unknowns']} about tool, bolt and fits",
                    )
        tag(
            "p",
            "Each test is four runs of it and four of the reference; one bit halves what is open.",
            "quiet",
        )


def _unknowns(found: ExplanationView) -> None:
    rows = found.section["parameters"]
    if not rows:
        return
    with tag("details", classes="more"):
        tag("summary", "What the runs taught of tool, bolt and fits")
        table(
            ("Unknown", "Now", "90 % interval", "Before", "Learned"),
            [
                (
                    f"{each['name']} [{each['unit']}]" if each["unit"] else each["name"],
                    each["now"],
                    each["range"],
                    each["before"],
                    each["learned"],
                )
                for each in rows
            ],
            caption="Median and 90 % interval, and what was believed before",
            numbers=(1, 2, 3, 4),
        )
