"""Design: the brief, what a search found within it, and any article drawn in its place."""

from __future__ import annotations

import asyncio
import json
from collections.abc import Mapping
from pathlib import Path
from typing import Any, Final

from starlette.requests import Request
from starlette.responses import FileResponse, HTMLResponse, JSONResponse, Response

from strikeproof.desk.designing.adopt import adopt_proposal
from strikeproof.desk.designing.brief_draft import (
    BriefDraft,
    design_folder,
    keep_brief,
    lowered_margins,
    open_brief,
    start_brief,
)
from strikeproof.desk.designing.views import FILES, DesignView, FitView, Refusal
from strikeproof.desk.planning.extra_block import ExtraBlock, keep_block, plan_block
from strikeproof.desk.publishing.views import ENDINGS
from strikeproof.errors import NotFound, StrikeproofError
from strikeproof.web.answering import outcome, refusal
from strikeproof.web.designing.brief_deeds import change_tables, read_tables, stays_drawn, with_typed
from strikeproof.web.designing.brief_facts import brief_facts, room_facts
from strikeproof.web.designing.lowering import lowering_asked
from strikeproof.web.designing.proposals import design_markup
from strikeproof.web.fragments import render
from strikeproof.web.frame import View
from strikeproof.web.inside import inside
from strikeproof.web.looking import looks_only
from strikeproof.web.plain import answer_press, error_markup, plain_page, stream_work, typed_in, view_of_runs
from strikeproof.web.planning.extra_block import block_words
from strikeproof.web.routes import app
from strikeproof.web.site import Site
from strikeproof.web.tasks import DESIGN, DESIGN_CHART, FIT, FIT_NAMES, KEPT_DESIGN
from strikeproof.web.units import units_of
from strikeproof.web.work import WORK, Job

__all__ = ["register"]

_NOTHING: Final = (
    "Nothing to design from yet",
    "A design learns from the runs of a campaign: what they taught of tools, bolt and rig.",
)
_STEPS: Final = {"brief": "The brief", "proposals": "Proposals", "fit": "Does it fit?"}
_FILLED: Final = {
    "proposals": ("searching", "Opening the brief"),
    "fit": ("fit-names", "Looking for articles"),
}
_SHEET_POLICY = (
    "default-src 'none'; style-src 'unsafe-inline'; img-src data:; frame-ancestors 'none'; base-uri 'none'"
)
_LIMITS = {
    "pocket": "the pocket",
    "wall": "the nearest wall",
    "free length": "the free length",
    "seat": "the seat",
}


def register(site: Site) -> None:
    """Make the pages, what fills them, and the files of what was found."""
    plain_page(site, "/design", "Design", _NOTHING, facts=_step)
    _register_brief(site)
    _register_search(site)
    _register_adopting(site)
    _register_fit(site)
    _register_files(site)


def _step(view: View) -> Mapping[str, Any] | Response:
    """The step that is open."""
    given = view.request.query_params
    step = given.get("step", "brief")
    if step not in _FILLED:
        draft = open_brief(view.site.workspace, view.campaign)
        bench = None if draft.tables is None else brief_facts(view, draft)
        return {"steps": _STEPS, "step": "brief", "bench": bench}
    filled, title = _FILLED[step]
    return {
        "steps": _STEPS,
        "step": step,
        "filled": filled,
        "doing": title,
        "article": given.get("article", ""),
    }


def _register_brief(site: Site) -> None:
    @app.post("/design/brief/begin")
    async def begun(request: Request, campaign: str = "") -> Response:
        def begin() -> dict[str, str]:
            view = view_of_runs(site, request, campaign)
            start_brief(site.workspace, view.campaign)
            return {"go": view.to("/design", step="brief")}

        return await answer_press("Beginning a brief", begin)

    @app.post("/design/brief/change")
    async def changed(request: Request, campaign: str = "") -> Response:
        words = await typed_in(request)

        def change() -> dict[str, Any]:
            try:
                view = view_of_runs(site, request, campaign)
                return _changed(view, words)
            except StrikeproofError as error:  # the campaign is gone, or its brief cannot be read
                return {"wrong": error_markup(error)}

        return JSONResponse(await asyncio.to_thread(change))

    @app.post("/design/brief/room")
    async def drawn(request: Request, campaign: str = "") -> Response:
        """The room with what is being typed; nothing is saved."""
        typed = read_tables((await typed_in(request)).get("typed", "{}"))

        def draw() -> dict[str, Any]:
            view = view_of_runs(site, request, campaign)
            draft = open_brief(site.workspace, view.campaign)
            texts = {str(at): str(each) for at, each in typed.items()}
            tables = with_typed(draft.tables or {}, draft.shelf, view.units, texts)
            return {"page": render("brief_drawn", bench=room_facts(tables, view.units))}

        try:
            return JSONResponse(await asyncio.to_thread(draw))
        except StrikeproofError as error:
            return JSONResponse({"wrong": error_markup(error)})


def _changed(view: View, words: Mapping[str, str]) -> dict[str, Any]:
    """What `assets/changes.js` is answered: the page as it is then, or a question first."""
    workspace, told, anew = view.site.workspace, dict[str, Any](), True
    draft = open_brief(workspace, view.campaign)
    before = draft.tables or {}
    try:
        wanted, focus = change_tables(before, draft.shelf, view.units, words)
        asks = lowering_asked(lowered_margins(before, wanted))
        if asks and words.get("agreed") != "1":
            told = {"ask": asks}
        else:
            mark = words.get("mark", "")
            draft = keep_brief(workspace, view.campaign, wanted, mark=mark)
            undone = words.get("do") == "undo"
            saved = {} if undone or draft.tables == before else {"before": json.dumps(before)}
            told, anew = {"focus": focus, "undone": undone, **saved}, not stays_drawn(words)
    except StrikeproofError as error:
        told, draft = {"wrong": error_markup(error)}, open_brief(workspace, view.campaign)
    page = render("brief_bench", view=view, bench=brief_facts(view, draft))
    return {**told, "page": page, "anew": anew}


def _register_search(site: Site) -> None:
    @app.get("/data/filled/searching")
    async def searching(request: Request, campaign: str = "") -> Response:
        try:
            view = view_of_runs(site, request, campaign)
        except StrikeproofError as error:
            return refusal(error)

        def start() -> Job:
            return WORK.start(open_brief, site.workspace, view.campaign)

        def show(draft: BriefDraft) -> str:
            return render("searching", view=view, draft=draft, joins=_under_way(view))

        return stream_work(request, "Opening the brief", start, show)

    @app.get("/data/filled/found")
    async def found(request: Request, campaign: str = "") -> Response:
        try:
            view = view_of_runs(site, request, campaign)
        except StrikeproofError as error:
            return refusal(error)

        def start() -> Job:
            return WORK.start(KEPT_DESIGN, site.workspace, view.campaign, view.units.mapping)

        def show(kept: DesignView | None) -> str:
            return render("not_searched") if kept is None else design_markup(view, kept)

        return stream_work(request, "Looking for what was found", start, show)

    @app.post("/data/filled/searched")
    async def searched(request: Request, campaign: str = "", quick: bool = False) -> Response:
        try:
            view = view_of_runs(site, request, campaign)
        except StrikeproofError as error:
            return refusal(error)

        def start() -> Job:
            return WORK.start(
                DESIGN, site.workspace, view.campaign, view.units.mapping, quick=quick
            ).pressed()

        return stream_work(request, "Searching", start, lambda made: _found(view, made))

    @app.post("/data/filled/nearest")
    async def nearest(request: Request, campaign: str = "") -> Response:
        typed = await typed_in(request)
        try:
            view = view_of_runs(site, request, campaign)
            tables = read_tables(typed.get("tables", ""))
        except StrikeproofError as error:
            return refusal(error)

        def start() -> Job:
            mark = typed.get("mark", "")
            return WORK.start_brief(keep_brief, site.workspace, view.campaign, tables, mark=mark)

        return stream_work(request, "Saving the brief", start, lambda _draft: render("brief_lowered"))


def _under_way(view: View) -> int | None:
    """Whether a search goes on that this page joins: 1 a quick one, 0 a thorough one, None for none."""
    if looks_only(view.request.scope):
        return None
    for quick in (True, False):
        if WORK.under_way(DESIGN, view.site.workspace, view.campaign, view.units.mapping, quick=quick):
            return int(quick)
    return None


def _found(view: View, made: DesignView | Refusal) -> str:
    if isinstance(made, DesignView):
        return design_markup(view, made)
    tables = json.dumps(made.nearest)
    return render("refused", view=view, found=made, tables=tables, asks=lowering_asked(made.lowered))


def _register_adopting(site: Site) -> None:
    @app.post("/data/filled/adopted")
    async def adopted(request: Request, campaign: str = "") -> Response:
        typed = await typed_in(request)
        try:
            view = view_of_runs(site, request, campaign)
        except StrikeproofError as error:
            return refusal(error)

        def start() -> Job:
            return WORK.start_brief(adopt_proposal, site.workspace, view.campaign, typed.get("folder", ""))

        def show(word: str) -> str:
            name, number = typed.get("name", ""), typed.get("number", "")
            return render("adopted", view=view, word=word, article=name, number=number, block=None)

        return stream_work(request, "Adding it", start, show)

    @app.post("/data/filled/block")
    async def block(request: Request, campaign: str = "", kept: bool = False) -> Response:
        typed = await typed_in(request)
        word, name, number = (typed.get(key, "") for key in ("word", "name", "number"))
        try:
            view = view_of_runs(site, request, campaign)
        except StrikeproofError as error:
            return refusal(error)

        def start() -> Job:
            return WORK.start_brief(keep_block if kept else plan_block, site.workspace, word)

        def show(made: ExtraBlock) -> str:
            if kept:
                return render("block_made", view=view, word=word, words=block_words(made))
            return render("block_offered", view=view, word=word, article=name, number=number, block=made)

        return stream_work(request, "Planning a block", start, show)


def _register_fit(site: Site) -> None:
    @app.get("/data/filled/fit-names")
    async def names(request: Request, campaign: str = "", article: str = "") -> Response:
        try:
            view = view_of_runs(site, request, campaign)
        except StrikeproofError as error:
            return refusal(error)

        def start() -> Job:
            return WORK.start(FIT_NAMES, site.workspace, view.campaign)

        return stream_work(
            request, "Looking for articles", start, lambda known: _choice(view, known, article)
        )

    @app.get("/data/filled/fit")
    async def fitted(request: Request, campaign: str = "", article: str = "") -> Response:
        try:
            view = view_of_runs(site, request, campaign)
        except StrikeproofError as error:
            return refusal(error)

        def start() -> Job:
            return WORK.start(FIT, site.workspace, view.campaign, article, view.units.mapping)

        return stream_work(request, "Placing it", start, lambda found: _fitted(view, found))


def _choice(view: View, known: tuple[tuple[str, ...], tuple[str, ...]], article: str) -> str:
    built, proposed = known
    options = [*((each, each) for each in built), *((each, f"{each} (proposal)") for each in proposed)]
    names = [name for name, _text in options]
    chosen = article if article in names else names[0] if names else ""
    return render("fit_choice", view=view, options=options, chosen=chosen)


def _fitted(view: View, found: FitView) -> str:
    told, write = found.facts, view.units.write
    long, swept = (write(told[key], "length", 3) for key in ("length_m", "swept_diameter_m"))
    touches = [
        (
            each["part"],
            _LIMITS[each["limit"]],
            write(each["excess_m"], "length", 3),
            f"{write(each['from_m'], 'length', 3)} to {write(each['to_m'], 'length', 3)}",
            write(each["allowed_m"], "length", 4) if each["allowed_m"] else "nothing",
        )
        for each in told["touches"]
    ]
    return render("fitted", found=found, told=told, size=f"{long} long, sweeps {swept}", touches=touches)


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
