"""The page that others can check: shown, saved, and packed with its data."""

from __future__ import annotations

from typing import Final

from nicegui import app
from starlette.requests import Request
from starlette.responses import FileResponse, HTMLResponse, Response

from strikeproof.desk.publishing.bundle.choices import licence_choices
from strikeproof.desk.publishing.views import AgreementView, BundleView
from strikeproof.desk.runs.run_list import answers_state
from strikeproof.desk.workspace.opening import campaign_names
from strikeproof.desk.workspace.places import folder_word
from strikeproof.errors import NotFound, StrikeproofError
from strikeproof.web.answering import outcome, refusal
from strikeproof.web.elements import button, facts, field, link, notes, on_value, section, select, tag
from strikeproof.web.frame import View, nothing_yet, page
from strikeproof.web.inside import inside
from strikeproof.web.language import comma_of, language_of
from strikeproof.web.site import Site
from strikeproof.web.tasks import BUNDLE, PAGE, RECOMPUTE
from strikeproof.web.work import WORK
from strikeproof.web.working import fill, working

__all__ = ["register"]

_TYPING_S: Final = 0.3
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
            view.language,
            comma_of(view.request.cookies),
            state=answers_state(site.workspace, view.campaign),
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
            path = inside(site.workspace / "published", f"{folder_word(name)}.zip")
            if not path.is_file():
                raise NotFound("bundle of campaign", name, ())
        except StrikeproofError as error:
            return refusal(error)
        return FileResponse(path, filename=path.name, media_type="application/zip")


def _show(view: View, text: str) -> None:
    with tag("div", classes="bar"):
        link("Save the page", view.to("/published/page.html", save=1), "button primary", download="page.html")
        link("Open it alone", view.to("/published/page.html"), "button", target="_blank", rel="noopener")
    tag(
        "p",
        f"{len(text) / 1e6:.1f} MB. Its tables are in it, as CSV and JSON.",
        "quiet",
    )
    _Bundle(view).show()
    tag("iframe", src=view.to("/published/page.html"), title="The published page", classes="published")


_PERSONAL: Final = (
    ("ask", "show it to me first"),
    ("strip", "take it out"),
    ("keep", "publish it as it is"),
)


class _Bundle:
    """What a person chooses for the bundle, and the press that makes it."""

    def __init__(self, view: View) -> None:
        self._view = view
        self._licence, self._author, self._personal = "", "", "ask"

    def show(self) -> None:
        with section("A bundle that others can compute again"):
            tag(
                "p",
                "One file with this page, charts, results as tables, and the logs they come from. Who gets "
                "it can compute every number again.",
            )
            with tag("div", classes="bar"):
                choices = [
                    ("", "choose one"),
                    *((spdx, f"{spdx}: {says}") for spdx, says in licence_choices()),
                ]
                on_value(select("Licence: what others may do", choices, ""), self._choose_licence)
                on_value(field("Whom to cite"), self._choose_author, "input", _TYPING_S)
                on_value(select("What may be personal", _PERSONAL, "ask"), self._choose_personal)
            with tag("div", classes="bar"):
                button("Make the bundle", self._make, "button primary")
            self._place = tag("div", classes="place")

    def _choose_licence(self, value: str) -> None:
        self._licence = value

    def _choose_author(self, value: str) -> None:
        self._author = value

    def _choose_personal(self, value: str) -> None:
        self._personal = value if value in dict(_PERSONAL) else "ask"

    async def _make(self) -> None:
        given = (self._view.site.workspace, self._view.campaign)
        chosen = (self._licence, self._author, self._personal)
        await working(self._place, "Computing the bundle", self._made, BUNDLE, *given, *chosen)

    def _made(self, made: BundleView) -> None:
        if not made.file:
            tag("p", "Nothing is written yet. This may say something of a person:")
            with tag("ul"):
                for text in made.personal:
                    tag("li", text)
            tag("p", "Choose above to take it out or to publish it as it is, then make the bundle.")
            return
        notes(made.notes)
        facts(
            [
                ("File", f"{made.file}, {made.size:.1f} MB"),
                ("Files in it", str(made.files)),
                ("SHA-256", made.sha256),
                ("To compute it again", made.command),
            ]
        )
        with tag("div", classes="bar"):
            address = self._view.to("/published/bundle.zip")
            link("Save the bundle", address, "button primary", download=made.file)
            button("Compute it again", self._again)
        self._checked = tag("div", classes="place")

    async def _again(self) -> None:
        given = (self._view.site.workspace, self._view.campaign)
        await working(self._checked, "Computing it again", _show_agreement, RECOMPUTE, *given)


def _show_agreement(found: AgreementView) -> None:
    tag("strong", "All that was computed again agrees" if found.agrees else "Not everything agrees")
    with tag("div", classes="scroll", role="region", aria_label="What agrees", tabindex="0"):
        tag("pre", "\n".join(found.lines))
