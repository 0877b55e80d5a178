"""The first page: what the workspace holds and what to do next."""

from __future__ import annotations

from strikeproof.desk.browse import CampaignGlance, glance_at_campaigns
from strikeproof.web.elements import empty_state, facts, link, tag
from strikeproof.web.frame import View, page
from strikeproof.web.site import Site

__all__ = ["register"]


def register(site: Site) -> None:
    """Make the page's route."""

    @page(site, "/", "Start")
    def start(view: View) -> None:
        found = glance_at_campaigns(site.workspace)
        if not found:
            empty_state(
                "Nothing here yet",
                "A campaign is a set of runs under one protocol.",
            )
            return
        with tag("div", classes="cards"):
            for each in found:
                _card(view, each)


def _card(view: View, glance: CampaignGlance) -> None:
    with tag("article", classes="card"):
        tag("h2", glance.name)
        facts([("Runs", str(glance.runs)), ("Articles", str(glance.articles))])
        link("See its runs", view.to("/runs", campaign=glance.name), "button")
