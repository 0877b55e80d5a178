"""The first page: what the workspace holds and what to do next."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any

from nicegui.element import Element

from strikeproof.desk.setting_up.shelf import CampaignGlance, list_campaigns
from strikeproof.desk.workspace.opening import loadable
from strikeproof.web.elements import empty_state, facts, link, section, select, simulated_mark, tag
from strikeproof.web.frame import View, page
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
        found = list_campaigns(site.workspace)
        if not found:
            with empty_state(
                "Nothing here yet",
                "Strikeproof carries a claim about what reaches the bolt from the plan of a test to a page "
                "that others can check. It begins with a campaign: what is compared, on which rig, and how.",
            ):
                link("Set up a campaign", view.to("/plan"), "button primary")
        else:
            with tag("div", classes="cards"):
                for each in found:
                    _card(view, each)
            link("Set up another campaign", view.to("/plan", shelf=1), "button")
        with section("Load a campaign folder"):
            _loading(view)


def _card(view: View, glance: CampaignGlance) -> None:
    (text, address, why), *others = _next(view, glance)
    with tag("article", classes="card"):
        with tag("h2"):
            link(glance.name, view.to("/runs", campaign=glance.name) if _held_runs(glance) else address)
        if glance.simulated:
            simulated_mark()
        if glance.trouble:
            tag("p", glance.trouble, "fault")
        else:
            facts(
                [
                    ("Runs", _runs(glance)),
                    ("Articles", str(glance.articles)),
                    ("Tools", str(glance.tools)),
                    ("Reference", glance.reference or "not chosen"),
                ]
            )
        tag("p", why)
        with tag("div", classes="bar"):
            link(text, address, "button primary")
            for text, address, _why in others:
                link(text, address, "button")


def _held_runs(glance: CampaignGlance) -> bool:
    return glance.stage in ("recording", "recorded")


def _runs(glance: CampaignGlance) -> str:
    """How many there are of those that are planned."""
    if not glance.planned:
        return "none yet" if glance.stage == "planned" else "not planned yet"
    aside = f", {glance.excluded} excluded" if glance.excluded else ""
    done = glance.stage == "recorded"
    return f"{glance.runs}{aside}" if done else f"{glance.runs} of {glance.planned} recorded{aside}"


def _next(view: View, glance: CampaignGlance) -> Iterator[tuple[str, str, str]]:
    """What to do next with a campaign, the most useful first: name, address, why."""

    def to(path: str) -> str:
        return view.to(path, campaign=glance.name)

    def plan(step: str = "") -> str:
        return view.to("/plan", set_up=glance.folder, step=step)

    match glance.stage:
        case "unreadable":
            yield "See what is wrong", plan(), "Its folder cannot be opened."
            return
        case "incomplete":
            yield (
                "Go on planning",
                plan(),
                f"{_things(glance.problems)} to fill in or fix before its runs are planned.",
            )
            return
        case "no sheet":
            yield "Plan its runs", plan("sheet"), "It is complete; its run sheet is still to be made."
            return
        case "not loaded" if glance.runs:
            yield "Load it", "#load-inside", "It has runs that this workspace does not hold yet."
            return
        case "not loaded":
            yield (
                "Open its run sheet",
                plan("sheet"),
                "Its runs are planned; none is recorded yet.",
            )
            return
        case "planned" if not glance.planned:
            yield "Record runs", to("/record"), "None of its runs is loaded yet."
        case "planned":
            yield "Record runs", to("/record"), "Its runs are planned; none is recorded yet."
        case "recording":
            yield "Go on recording", to("/record"), f"{_left(glance)} still to be recorded."
    if not glance.calibrated:
        lacks = (
            "Without a calibration, readings count as the rig gives them."
            if glance.in_load
            else "Without a calibration, readings are only ratios."
        )
        yield "Calibrate", to("/calibration"), lacks
    if glance.runs:
        yield "Compare", to("/comparison"), "See which differences are real, and how large."
        yield "Runs", to("/runs"), "Look at each run and its flags."
        yield "Explain", to("/explanation"), "Find the property that makes the difference."
    elif glance.folder:
        yield "Plan", plan(), "Look at what is planned."


def _things(count: int) -> str:
    return "One thing" if count == 1 else f"{count} things"


def _left(glance: CampaignGlance) -> str:
    left = glance.planned - glance.runs
    return "One run is" if left == 1 else f"{left} runs are"


def _loading(view: View) -> None:
    tag(
        "p",
        "A campaign folder holds campaign.toml, the run sheet, the logs and perhaps calibration readings. "
        "Pack it as a ZIP file and send it; all problems are listed at once, and the runs without one "
        "are loaded.",
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
        if outcome.not_made:
            tag("p", f"{outcome.left_to_make}.")
        if outcome.campaign:
            link("Look at its runs", view.to("/runs", campaign=outcome.campaign), "button primary")
        if outcome.changes:
            tag("p", "Runs that were saved already and are changed now:")
            with tag("ul"):
                for each in outcome.changes:
                    tag("li", f"{str(each)[:1].upper()}{str(each)[1:]}.")
    if outcome.warnings:
        with tag("div", classes="error", role="alert"), tag("ul"):
            for each in outcome.warnings:
                tag("li", f"{each[:1].upper()}{each[1:]}.")
    if outcome.problems:
        with tag("div", classes="error", role="alert"):
            tag("p", f"{len(outcome.problems)} problems to fix", "what")
            with tag("ul"):
                for each in outcome.problems:
                    where = each.file.rsplit("/", 1)[-1] + (f", line {each.line}" if each.line else "")
                    tag("li", f"{where}: {each.problem}; {each.fix}")
