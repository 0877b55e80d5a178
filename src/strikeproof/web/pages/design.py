"""Design: the brief, what a search found within it, and any article drawn in its place."""

from __future__ import annotations

from collections.abc import Mapping
from functools import cache
from pathlib import Path
from typing import Any

from nicegui import app, ui
from nicegui.element import Element
from starlette.requests import Request
from starlette.responses import FileResponse, HTMLResponse, Response

import strikeproof.web
from strikeproof.desk.designing.brief_draft import (
    BriefDraft,
    design_folder,
    keep_brief,
    open_brief,
    start_brief,
)
from strikeproof.desk.designing.views import FILES, DesignView, FitView, Refusal
from strikeproof.desk.publishing.views import ENDINGS
from strikeproof.errors import NotFound, StrikeproofError
from strikeproof.web.answering import outcome, refusal
from strikeproof.web.designing.brief_bench import BriefBench
from strikeproof.web.designing.brief_form import draw_brief_form
from strikeproof.web.designing.lowering import agree_to_lower
from strikeproof.web.designing.proposals import show_design
from strikeproof.web.elements import (
    button,
    empty_state,
    html,
    link,
    notes,
    on_value,
    section,
    select,
    show_error,
    table,
    tag,
)
from strikeproof.web.frame import View, nothing_yet, page
from strikeproof.web.inside import inside
from strikeproof.web.pages.plan import use_planning_look
from strikeproof.web.site import Site
from strikeproof.web.tasks import DESIGN, DESIGN_CHART, FIT, FIT_NAMES, KEPT_DESIGN
from strikeproof.web.units import units_of
from strikeproof.web.work import WORK
from strikeproof.web.working import fill, working

__all__ = ["register"]

_STEPS = {"brief": "The brief", "proposals": "Proposals", "fit": "Does it fit?"}
_SHEET_POLICY = (
    "default-src 'none'; style-src 'unsafe-inline'; img-src data:; frame-ancestors 'none'; base-uri 'none'"
)


def register(site: Site) -> None:
    """Make the page, and the files of what was found."""

    @page(site, "/design", "Design")
    async def design(view: View, step: str = "brief", article: str = "") -> None:
        if view.campaign is None:
            nothing_yet(
                view,
                "Nothing to design from yet",
                "A design learns from the runs of a campaign: what they taught of tools, bolt and rig.",
            )
            return
        use_planning_look()
        ui.add_head_html(f'<link rel="stylesheet" href="/assets/designing.css?{_version()}">')
        step = step if step in _STEPS else "brief"
        _steps(view, step)
        if step == "fit":
            await _show_fit(view, article)
            return
        show = _show_brief if step == "brief" else _show_proposals
        await fill(
            "Opening the brief", lambda draft: show(view, draft), open_brief, site.workspace, view.campaign
        )

    _register_files(site)


def _register_files(site: Site) -> None:
    @app.get("/data/design/design-front.{ending}")
    async def chart(request: Request, ending: str, campaign: str | None = None) -> Response:
        units = units_of(request.cookies).mapping
        try:
            job = WORK.start_brief(DESIGN_CHART, site.workspace, campaign, ending, units)
            content = await outcome(request, job)
        except StrikeproofError as error:
            return refusal(error)
        return Response(content, media_type=ENDINGS[ending])

    @app.get("/design/file/{proposal}/{file}")
    async def file(proposal: str, file: str, campaign: str | None = None) -> Response:
        try:
            if file not in FILES:
                raise NotFound("file of a proposal", file, FILES)
            return FileResponse(_kept(site, campaign, proposal, file), media_type=FILES[file][1])
        except StrikeproofError as error:
            return refusal(error)

    @app.get("/design/sheet/{proposal}")
    async def sheet(proposal: str, campaign: str | None = None) -> Response:
        try:
            text = _kept(site, campaign, proposal, "sheet.html").read_text(encoding="utf-8")
        except StrikeproofError as error:
            return refusal(error)
        return HTMLResponse(text, headers={"content-security-policy": _SHEET_POLICY})


def _kept(site: Site, campaign: str | None, proposal: str, file: str) -> Path:
    """A file of the design that is stored."""
    folder = design_folder(site.workspace, campaign)
    path = inside(inside(folder, proposal), file)
    if not path.is_file():
        raise NotFound("proposal", proposal, (each.name for each in folder.glob("*-*")))
    return path


@cache
def _version() -> int:
    return int((Path(strikeproof.web.__file__).parent / "assets" / "designing.css").stat().st_mtime)


def _steps(view: View, open_step: str) -> None:
    with tag("nav", classes="plan-steps three", aria_label="Steps"), tag("ol"):
        for word, label in _STEPS.items():
            here = "step" if word == open_step else None
            with tag("li"), link("", view.to("/design", step=word), aria_current=here):
                tag("span", label)


def _show_brief(view: View, draft: BriefDraft) -> None:
    place = tag("div")
    with place:
        if draft.tables is not None:
            _bench(view, draft)
            return
        with empty_state(
            "No brief yet",
            "A brief says what the next article is for, the room that there is around the bolt, what it may "
            "weigh and cost, and which stock is at hand. It begins with what this campaign says already, "
            "and is saved as brief.toml beside it.",
        ):

            async def start() -> None:
                found = await WORK.run(start_brief, view.site.workspace, view.campaign)
                place.clear()
                with place:
                    _bench(view, found)

            button("Begin a brief", start, "button primary", data_do="begin")


def _bench(view: View, draft: BriefDraft) -> None:
    bench = BriefBench(view, draft)
    with tag("div", classes="bar plan-bar"):
        tag("p", "Every change is saved at once, in brief.toml beside the campaign.", "quiet state")
        button("Undo", bench.step_back, "button small", data_do="undo")
    with tag("div", classes="bench"):
        bench.form = tag("div", classes="bench-form")
        with tag("div", classes="bench-live", role="region", aria_label="State of the brief"):
            bench.draw_panel()
    bench.draw_form = lambda: draw_brief_form(bench)
    bench.redraw()
    bench.judge()
    with tag("nav", classes="bar onward", aria_label="Next"):
        link("Next: search for proposals", view.to("/design", step="proposals"), "button primary")


async def _show_proposals(view: View, draft: BriefDraft) -> None:
    if draft.tables is None:
        with empty_state(
            "No brief yet", "A search needs a brief: the room, the limits and the stock at hand."
        ):
            link("Write the brief", view.to("/design", step="brief"), "button primary")
        return
    place: Element
    if draft.ready:
        with tag("div", classes="bar"):
            button("Search", lambda: _search(view, place, quick=False), "button primary", data_do="search")
            button("Quick search", lambda: _search(view, place, quick=True), "button", data_do="quick")
    else:
        count = len(draft.faults) or len(draft.clashes)
        with tag("div", classes="notice", role="note"):
            tag("p", f"Before a search: {count} to fix in the brief.")
            link("Fix the brief", view.to("/design", step="brief"), "button")
    place = tag("div", classes="place")
    for quick in (True, False):
        if WORK.under_way(DESIGN, view.site.workspace, view.campaign, view.units.mapping, quick=quick):
            await _search(view, place, quick=quick)
            return
    with place:
        await fill(
            "Looking for what was found",
            lambda found: _show_kept(view, found),
            KEPT_DESIGN,
            view.site.workspace,
            view.campaign,
            view.units.mapping,
        )


async def _search(view: View, place: Element, *, quick: bool) -> None:
    """The search as long work; pressed or found under way, it is the same one."""
    await working(
        place,
        "Searching",
        lambda found: _show_found(view, place, found),
        DESIGN,
        view.site.workspace,
        view.campaign,
        view.units.mapping,
        quick=quick,
    )


def _show_found(view: View, place: Element, found: DesignView | Refusal) -> None:
    if isinstance(found, DesignView):
        show_design(view, found)
        return
    show_error(found.why)
    nearest, mark = found.nearest, found.mark
    if nearest is None:
        link("Change the brief", view.to("/design", step="brief"), "button")
        return

    async def use() -> None:
        if not await agree_to_lower(found.lowered):
            return
        place.clear()
        with place:
            try:
                await WORK.run(keep_brief, view.site.workspace, view.campaign, nearest, mark=mark)
            except StrikeproofError as error:
                show_error(error)
                return
            tag(
                "p",
                "The brief is now the one that was searched and can be met: search again.",
                "good-line",
                role="status",
            )

    button("Use the nearest brief", use, "button primary", data_do="nearest")


def _show_kept(view: View, found: DesignView | None) -> None:
    if found is not None:
        show_design(view, found)
        return
    empty_state(
        "Not searched yet",
        "Every candidate goes through the same physics that explained the runs, and must keep every limit of "
        "the brief. A quick search takes a minute or so, a thorough one longer, and longer still where the "
        "runs are not explained yet. Either can be stopped: what it has found is saved.",
    )


_LIMITS = {
    "pocket": "the pocket",
    "wall": "the nearest wall",
    "free length": "the free length",
    "seat": "the seat",
}


async def _show_fit(view: View, article: str) -> None:
    """A choice of the articles, and the one chosen in its place."""
    await fill(
        "Looking for articles",
        lambda names: _choose(view, names, article),
        FIT_NAMES,
        view.site.workspace,
        view.campaign,
    )


async def _choose(view: View, names: tuple[tuple[str, ...], tuple[str, ...]], article: str) -> None:
    built, proposed = names
    if not built and not proposed:
        with empty_state(
            "Nothing to place yet",
            "Only an article with dimensions can be drawn in its place. Describe one of the campaign's by "
            "its parts, or search for proposals.",
        ):
            link("Search for proposals", view.to("/design", step="proposals"), "button primary")
        return
    options = [*((each, each) for each in built), *((each, f"{each} (proposal)") for each in proposed)]
    chosen = article if article in (*built, *proposed) else options[0][0]
    with tag("div", classes="fields"):
        box = select("Article", options, chosen, data_key="fit-article")
    on_value(box, lambda text: ui.navigate.to(view.to("/design", step="fit", article=text)))
    await fill(
        "Placing it",
        lambda found: _show(view, found),
        FIT,
        view.site.workspace,
        view.campaign,
        chosen,
        view.units.mapping,
    )


def _show(view: View, found: FitView) -> None:
    told, units = found.facts, view.units
    long, swept = (units.write(told[key], "length", 3) for key in ("length_m", "swept_diameter_m"))
    size = f"{long} long, sweeps {swept}"
    fits = told["fits"]
    word = "It fits" if fits else "■ It touches"
    tag(
        "p",
        f"{word}: {told['article']}, {size}.",
        "verdict-line good" if fits else "verdict-line stop",
        role="status",
    )
    with tag("div", classes="two"):
        drawn = html(found.section, classes="drawing room large")
        drawn.props["aria-label"] = found.says
        with tag("div"):
            if told["touches"]:
                _touches(view, told)
            if told["fixes"]:
                with section("What would fix it", level=3), tag("ul", classes="fixes"):
                    for each in told["fixes"]:
                        tag("li", each["words"])
    notes(told["cautions"], "What is not looked at, and what belongs before use")


def _touches(view: View, told: Mapping[str, Any]) -> None:
    write = view.units.write
    table(
        ("Part", "Touches", "Too much by", "Above the seat", "Would do"),
        [
            (
                each["part"],
                _LIMITS[each["limit"]],
                write(each["excess_m"], "length", 3),
                f"{write(each['from_m'], 'length', 3)} to {write(each['to_m'], 'length', 3)}",
                write(each["allowed_m"], "length", 4) if each["allowed_m"] else "nothing",
            )
            for each in told["touches"]
        ],
        caption="Where it touches, worst first: on the radius, or in length",
        numbers=(2, 3, 4),
    )
