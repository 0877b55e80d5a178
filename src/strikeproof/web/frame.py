"""The frame around every page, and how a page is made."""

from __future__ import annotations

import inspect
from collections.abc import Awaitable, Callable, Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from functools import wraps
from typing import Any
from urllib.parse import urlencode

from nicegui import Client, context, ui
from starlette.requests import Request
from starlette.responses import Response

from strikeproof.desk.workspace.opening import campaign_names, is_simulated
from strikeproof.desk.workspace.places import planned_names
from strikeproof.errors import NotFound, StrikeproofError
from strikeproof.language import LANGUAGES
from strikeproof.web.elements import empty_state, html, link, show_error, simulated_mark, tag
from strikeproof.web.fragments import render
from strikeproof.web.language import COOKIE as LANGUAGE_COOKIE
from strikeproof.web.language import comma_of, language_of
from strikeproof.web.look import LOOKS, head_markup, look_of
from strikeproof.web.looking import looks_only
from strikeproof.web.navigation import present
from strikeproof.web.site import Site
from strikeproof.web.units import CHOICES, Units, units_of
from strikeproof.web.work import WORK

__all__ = ["View", "about_of", "nothing_yet", "page", "rail_markup", "view_of", "warm_work"]

_WARM = (
    "strikeproof.desk.runs.one_run",
    "strikeproof.desk.runs.run_list",
    "strikeproof.desk.publishing.parts",
)
"""What the work after the first look at a campaign will need, and takes seconds to import."""

_MOST_PAGES = 250
"""Held at once before unseen ones go early: each takes some 350 kB, and is held for a minute otherwise."""
_UNSEEN_S = 5.0

_LISTS = ("/plan", "/articles")
"""Pages that list all campaigns where the address names none; each in a list is marked by itself."""


@dataclass(frozen=True, slots=True)
class View:
    """What a page is shown for: the site, one campaign of it, and the units of the person who looks.

    Attributes
    ----------
    campaigns
        All there are: those that the workspace holds, then those that are only planned so far.
    chosen
        One of these, or None where there is none.
    campaign
        The same when the workspace holds it; None while it is only planned.
    """

    site: Site
    request: Request
    units: Units
    campaigns: tuple[str, ...]
    chosen: str | None
    campaign: str | None

    @property
    def language(self) -> str:
        """The code of the language that this person is answered in, where there is a choice of it."""
        return language_of(self.request.cookies, self.request.headers, self.site.language)

    def to(self, path: str, **query: Any) -> str:
        """The address of another page for the same campaign."""
        named = query if "set_up" in query else {"campaign": self.chosen, **query}
        words = urlencode({key: value for key, value in named.items() if value not in (None, "")})
        return f"{path}?{words}" if words else path


def page(site: Site, path: str, title: str) -> Callable[[Callable[..., Any]], Callable[..., Any]]:
    """Make a function the page at `path`; it gets a View, and its other parameters from the query.

    It is in the frame when it is called, and may be `async`. An error that a person can fix is shown
    in its place. A response that it gives, such as the way to another page, takes the page's place.
    """

    def made(build: Callable[..., Awaitable[Response | None] | Response | None]) -> Callable[..., Any]:
        @wraps(build)
        async def shown(request: Request, campaign: str = "", **given: Any) -> Response | None:
            forget_unseen_pages()
            view = view_of(site, request, campaign, given)
            if path != "/record":  # at the rig nothing but the recording counts
                warm_work(view)
            about = about_of(view, path, {**given, "campaign": campaign})
            with _frame(view, path, title, about):
                try:
                    if campaign and view.chosen is None:
                        raise NotFound("campaign", campaign, view.campaigns)
                    answer = build(view, **given)
                    return await answer if inspect.isawaitable(answer) else answer
                except StrikeproofError as error:
                    show_error(error)
                    return None

        own = list(inspect.signature(build, eval_str=True).parameters.values())[1:]
        keyword = inspect.Parameter.KEYWORD_ONLY
        shown.__signature__ = inspect.Signature(  # type: ignore[attr-defined]  # what the router reads
            [
                inspect.Parameter("request", inspect.Parameter.POSITIONAL_OR_KEYWORD, annotation=Request),
                inspect.Parameter("campaign", keyword, default="", annotation=str),
                *(each.replace(kind=keyword) for each in own),
            ]
        )
        del shown.__wrapped__  # the router must not look through to the page's own signature
        ui.page(path, title=f"{title} - Strikeproof", response_timeout=20.0)(shown)
        return build

    return made


def warm_work(view: View) -> None:
    """Let a work process import beforehand what the first look at a campaign will need."""
    if view.campaign:
        WORK.warm(*_WARM)


def forget_unseen_pages() -> None:
    """With many pages open, drop those whose browser never came back for its line to the server."""
    if len(Client.instances) > _MOST_PAGES:
        Client.prune_instances(client_age_threshold=_UNSEEN_S)


def view_of(site: Site, request: Request, campaign: str, given: dict[str, Any]) -> View:
    """The view of a page; a campaign that is being set up is the one chosen."""
    held = campaign_names(site.workspace)
    planned = planned_names(site.workspace)
    known = (*held, *sorted(planned.keys() - set(held)))
    named = next((name for name, word in planned.items() if word == given.get("set_up")), campaign)
    chosen = named if named in known else known[0] if known and not named else None
    return View(site, request, units_of(request.cookies), known, chosen, chosen if chosen in held else None)


def about_of(view: View, path: str, given: dict[str, Any]) -> str | None:
    """The campaign that all of a page is about; None for a list of them."""
    named = (given.get("set_up") or given["campaign"]) and not given.get("shelf")
    return view.chosen if path != "/" and (named or path not in _LISTS) else None


def nothing_yet(view: View, title: str, text: str) -> None:
    """What a page says that needs a campaign in the workspace, where there is none: what to do first."""
    planned = view.chosen is not None
    with empty_state(title, f"{view.chosen} is only planned so far. {text}" if planned else text):
        if planned:
            link("Go on planning", view.to("/plan"), "button primary")
        else:
            link("Load a campaign", view.to("/"), "button primary")


@contextmanager
def _frame(view: View, path: str, title: str, about: str | None) -> Iterator[None]:
    ui.add_head_html(head_markup(look_of(view.request.cookies)))
    client = context.client
    with client.layout:
        skip = link("Skip to the page", f"#c{client.content.id}", "skip")
        rail = html(rail_markup(view, path), "header", "rail")
    rail.move(target_index=0)
    skip.move(target_index=0)
    client.content.classes(add="page", remove="nicegui-content").props("tabindex=-1")
    with client.content:
        tag("h1", title)
        if looks_only(view.request.scope):
            tag(
                "p",
                "You are looking only: what you press or type here changes nothing.",
                "notice",
                role="note",
            )
        if about is not None and is_simulated(view.site.workspace, about):
            simulated_mark()
        yield


def rail_markup(view: View, path: str) -> str:
    """What is beside every page: the way to the others, units and light."""
    return render(
        "rail",
        view=view,
        path=path,
        pages=present(),
        choices=CHOICES,
        labels=[view.units.label(kind) for kind in CHOICES],
        looks=LOOKS,
        look=look_of(view.request.cookies),
        languages=LANGUAGES,
        language=view.request.cookies.get(LANGUAGE_COOKIE, ""),
        comma=comma_of(view.request.cookies),
    )
