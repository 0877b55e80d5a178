"""The first page: what the workspace holds and what to do next."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any

from nicegui.element import Element

from strikeproof.desk.browse import CampaignGlance, glance_at_campaigns, loadable
from strikeproof.web.elements import facts, link, section, select, simulated_mark, tag
from strikeproof.web.frame import View, page
from strikeproof.web.navigation import present
from strikeproof.web.site import Site
from strikeproof.web.tasks import LOAD, LOAD_UPLOAD
from strikeproof.web.upload import Upload, register_uploads
from strikeproof.web.working import working

__all__ = ["register"]


def register(site: Site) -> None:
    """Make the page's route, and the one that takes files."""
    register_uploads(site)

    @page(site, "/", "Start")
    def start(view: View) -> None:
        found = glance_at_campaigns(site.workspace)
        if not found:
            with tag("div", classes="empty"):
                tag("h2", "Nothing here yet")
                tag(
                    "p",
                    "Strikeproof carries a claim about what reaches the bolt from the plan of a test to a "
                    "page that others can check. It begins with a campaign: what is compared, on which rig, "
                    "and how.",
                )
                if "plan" in _pages():
                    link("Set up a campaign", view.to("/plan"), "button primary")
        else:
            with tag("div", classes="cards"):
                for each in found:
                    _card(view, each)
        with section("Load a campaign folder" if not found else "Add a campaign"):
            _loading(view)


def _pages() -> set[str]:
    return {each.module for each in present()}


def _card(view: View, glance: CampaignGlance) -> None:
    with tag("article", classes="card"):
        with tag("h2"):
            link(glance.name, view.to("/runs", campaign=glance.name))
        if glance.simulated:
            simulated_mark()
        aside = f", {glance.set_aside} set aside" if glance.set_aside else ""
        facts(
            [
                ("Runs", f"{glance.runs}{aside}"),
                ("Articles", str(glance.articles)),
                ("Tools", str(glance.tools)),
                ("Reference", glance.reference),
            ]
        )
        (text, path, why), *others = _next(glance)
        tag("p", why)
        with tag("div", classes="bar"):
            link(text, view.to(path, campaign=glance.name), "button primary")
            for text, path, _why in others:
                link(text, view.to(path, campaign=glance.name), "button")


def _next(glance: CampaignGlance) -> Iterator[tuple[str, str, str]]:
    """What to do next with a campaign, the most useful first: name, page, why."""
    there = _pages()
    if not glance.runs:
        if "record" in there:
            yield "Record runs", "/record", "It is set up and has no runs yet."
        if not glance.calibrated:
            yield "Calibrate", "/calibration", "Without a calibration, readings are only ratios."
        yield "Runs", "/runs", "It has no runs yet."
        return
    if not glance.calibrated:
        yield "Calibrate", "/calibration", "Without a calibration, readings are only ratios."
    yield "Compare", "/comparison", "See which differences are real, and how large."
    yield "Runs", "/runs", "Look at each run and its flags."
    yield "Explain", "/explanation", "Find the property that makes the difference."


def _loading(view: View) -> None:
    tag(
        "p",
        "A campaign folder holds campaign.toml, the run sheet, the logs and perhaps calibration readings. "
        "Pack it as a ZIP file and send it; all that is wrong is told at once, and the other runs go in.",
    )
    place = tag("div")

    async def unpacked(name: str) -> None:
        await working(place, "Loading", show, LOAD_UPLOAD, view.site.workspace, name)

    def show(outcome: Any) -> None:
        _loaded(view, outcome)

    with tag("div", classes="bar"):
        Upload("ZIP file of a campaign folder", accept=".zip,application/zip", told=unpacked)
    inside = loadable(view.site.workspace)
    if inside:
        _load_inside(view, inside, place)
    place.move(target_index=-1)


def _load_inside(view: View, inside: tuple[str, ...], place: Element) -> None:
    def show(outcome: Any) -> None:
        _loaded(view, outcome)

    async def load(event: Any) -> None:
        await working(place, "Loading", show, LOAD, view.site.workspace, str(event.args))

    with tag("div", classes="bar"):
        select("Folder in this workspace", [(each, each) for each in inside], inside[0], id="load-inside")
        tag("button", "Load it", "button", type="button").on(
            "click", load, js_handler="() => emit(document.getElementById('load-inside').value)"
        )


def _loaded(view: View, outcome: Any) -> None:
    with tag("div", classes="notice", role="status"):
        tag(
            "strong",
            f"{outcome.campaign or 'Nothing'}: {outcome.runs_loaded} runs loaded, "
            f"{outcome.runs_amended} amended, {outcome.runs_unchanged} unchanged",
        )
        tag("p", f"From {outcome.folder}", "quiet")
        if outcome.campaign:
            link("Look at its runs", view.to("/runs", campaign=outcome.campaign), "button primary")
    if outcome.problems:
        with tag("div", classes="error", role="alert"):
            tag("p", f"{len(outcome.problems)} things to mend", "what")
            with tag("ul"):
                for each in outcome.problems:
                    where = each.file.rsplit("/", 1)[-1] + (f", line {each.line}" if each.line else "")
                    tag("li", f"{where}: {each.problem}; {each.mend}")
