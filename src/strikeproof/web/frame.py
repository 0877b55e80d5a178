"""What a page is shown for, and the frame around it."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any
from urllib.parse import urlencode

from starlette.requests import Request

from strikeproof.desk.workspace.opening import campaign_names
from strikeproof.desk.workspace.places import planned_names
from strikeproof.language import LANGUAGES
from strikeproof.web.fragments import render
from strikeproof.web.language import COOKIE as LANGUAGE_COOKIE
from strikeproof.web.language import comma_of, language_of
from strikeproof.web.look import LOOKS, look_of
from strikeproof.web.navigation import present
from strikeproof.web.site import Site
from strikeproof.web.units import CHOICES, Units, units_of
from strikeproof.web.work import WORK

__all__ = ["View", "about_of", "rail_markup", "view_of", "warm_work"]

_WARM = (
    "strikeproof.desk.runs.one_run",
    "strikeproof.desk.runs.run_list",
    "strikeproof.desk.publishing.parts",
)
"""What the work after the first look at a campaign will need, and takes seconds to import."""

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


def warm_work(view: View) -> None:
    """Let a work process import beforehand what the first look at a campaign will need."""
    if view.campaign:
        WORK.warm(*_WARM)


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
