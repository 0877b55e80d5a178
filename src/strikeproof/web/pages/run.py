"""One run: its numbers and flags, its trace down to single blows, its growth, its history."""

from __future__ import annotations

import asyncio
from collections.abc import Callable, Iterator
from typing import Any
from urllib.parse import urlencode

from starlette.requests import Request
from starlette.responses import Response, StreamingResponse

from strikeproof.desk.loading.upload import load_log_again
from strikeproof.desk.runs.flag_words import flag_fix, flag_words
from strikeproof.desk.runs.one_run import RunLook, look_at_run
from strikeproof.desk.runs.standing import put_run_back, set_run_aside
from strikeproof.desk.runs.trace_window import find_trace, trace_csv, trace_window
from strikeproof.errors import BadInput, StrikeproofError
from strikeproof.quantity import FloatArray, write_number, write_uncertain
from strikeproof.web.answering import refusal
from strikeproof.web.fragments import render
from strikeproof.web.frame import View
from strikeproof.web.plain import answer_press, plain_page, stream_work, typed_in, view_of_runs
from strikeproof.web.routes import app
from strikeproof.web.site import Site
from strikeproof.web.trace_chart import band, curve, line, pack, points, span, ticks, trace_chart
from strikeproof.web.work import WORK

__all__ = ["register"]

_MOST_POINTS = 20_000


def register(site: Site) -> None:
    """Make the page, what is pressed on it, and what its chart asks for."""
    nothing = ("No runs yet", "Load a campaign folder, or record runs at the rig.")
    plain_page(site, "/run", "Run", nothing, facts=_bones)

    @app.get("/data/filled/run")
    async def looked_at(request: Request, campaign: str = "", run: str = "") -> Response:
        try:
            view = view_of_runs(site, request, campaign)
        except StrikeproofError as error:
            return refusal(error)
        return stream_work(
            request,
            "Reading the run",
            lambda: WORK.start(look_at_run, site.workspace, view.campaign, run),
            lambda look: _shown(view, look),
        )

    _register_presses(site)
    _register_trace(site)


def _bones(view: View) -> dict[str, Any]:
    run = view.request.query_params.get("run", "")
    if not run:
        raise BadInput("no run is named", where="address", allowed="a run", fix="choose one in the list")
    return {"run": run}


def _register_presses(site: Site) -> None:
    """Whether the run counts, and another log in place of the saved one."""

    def standing(request: Request, campaign: str, run: str, change: Callable[..., str], *more: str) -> Any:
        view = view_of_runs(site, request, campaign)
        change(site.workspace, view.campaign, run, *more)
        return {"go": view.to("/run", run=run)}

    @app.post("/run/exclude")
    async def excluded(request: Request, campaign: str = "", run: str = "") -> Response:
        why = (await typed_in(request)).get("why", "")
        return await answer_press(
            "Excluding the run", lambda: standing(request, campaign, run, set_run_aside, why)
        )

    @app.post("/run/include")
    async def included(request: Request, campaign: str = "", run: str = "") -> Response:
        return await answer_press("Including the run", lambda: standing(request, campaign, run, put_run_back))

    @app.post("/run/log")
    async def log_replaced(request: Request, campaign: str = "", run: str = "") -> Response:
        typed = await typed_in(request)
        why, came = typed.get("why", ""), typed.get("upload", "")

        def again() -> dict[str, str]:
            view = view_of_runs(site, request, campaign)
            said = load_log_again(site.workspace, view.campaign, run, why, came=came)
            return {"markup": render("log_replaced", said=said, view=view, run=run)}

        return await answer_press("Replacing the log", again)


def _register_trace(site: Site) -> None:
    """Make the routes of the samples."""

    @app.get("/data/trace")
    async def window(
        run: str,
        campaign: str | None = None,
        channel: str | None = None,
        scale: float = 1.0,
        start: float | None = None,
        end: float | None = None,
        points: int = 1000,
    ) -> Response:
        def read() -> bytes:
            source = find_trace(site.workspace, campaign, run, channel)
            found = trace_window(source, start, end, min(points, _MOST_POINTS), scale)
            return pack(found.time, found.reading)

        try:
            return Response(await asyncio.to_thread(read), media_type="application/octet-stream")
        except StrikeproofError as error:
            return refusal(error)

    @app.get("/data/trace.csv")
    async def samples(
        run: str,
        campaign: str | None = None,
        channel: str | None = None,
        scale: float = 1.0,
        unit: str = "",
        start: float | None = None,
        end: float | None = None,
    ) -> Response:
        def read() -> Iterator[bytes]:
            source = find_trace(site.workspace, campaign, run, channel)
            return trace_csv(source, start, end, scale=scale, unit=unit)

        try:
            return StreamingResponse(await asyncio.to_thread(read), media_type="text/csv")
        except StrikeproofError as error:
            return refusal(error)


def _shown(view: View, look: RunLook) -> str:
    others = (
        f"Shaded: {look.band.runs} other runs of {look.row.article}; dashed: their median."
        if look.band
        else ""
    )
    return render(
        "one_run",
        view=view,
        look=look,
        row=look.row,
        numbers=_numbers(view, look),
        flags=[_flag(each.kind, each.detail, each.meaning) for each in look.flags],
        trace=_trace(view, look) if look.trace is not None else None,
        growth=_growth(view, look, others) if look.judged.growth_time.size > 1 else None,
        others=others,
        sound=_sound(look),
        history=[
            (at[:19].replace("T", " "), what, why.replace("_", " "), by) for at, what, why, by in look.history
        ],
    )


def _sound(look: RunLook) -> list[tuple[str, str]]:
    """What the run's recording says of its trace; nothing where there is none."""
    sound = look.sound
    if sound is None:
        return []
    blows = "–" if sound.blows is None else write_uncertain(sound.blows, sound.blows_uncertainty)
    return [
        ("Recording", sound.recording),
        ("Blows in the sound", blows),
        ("Blows a second", write_number(sound.blow_rate_hz, 4)),
    ]


def _numbers(view: View, look: RunLook) -> list[tuple[str, str]]:
    units = view.units
    rows = [("Score", units.write_in(look.judged.score, look.judged.unit, look.judged.standard_uncertainty))]
    if look.judged.clamp_load_n is not None:
        rows.append(("Clamp load", units.write(look.judged.clamp_load_n, "force")))
    if look.judged.torque_n_m is not None:
        rows.append(("Torque equivalent", units.write(look.judged.torque_n_m, "torque")))
    rows += [("Article", look.row.article), ("Tool", look.row.tool), ("Block", look.row.block)]
    rows += (
        [("Blows", str(look.judged.blows)), ("Blow rate", f"{write_number(look.judged.blow_rate_hz, 3)} Hz")]
        if look.judged.blows
        else []
    )
    rows += [
        (label, text)
        for label, text in (
            ("Rig", look.row.rig),
            ("Bolt", look.row.bolt),
            ("Started", look.row.started),
        )
        if text
    ]
    if look.trace is not None:
        rows.append(("Samples", f"{look.trace.samples} at {write_number(look.trace.sample_rate_hz)} Hz"))
    rows += look.conditions
    rows += [(label, text) for label, text in (("Log", look.row.log), ("Note", look.row.note)) if text]
    return [*rows, ("The score is", look.score_says)]


def _flag(kind: str, detail: str, meaning: str) -> tuple[str, str, str]:
    """A flag's name, what is seen, and what it means and how to fix it."""
    meant = [f"{meaning}." if meaning else "", flag_fix(kind)]
    words = " ".join(text[:1].upper() + text[1:] for text in meant if text)
    return f"{flag_words(kind).capitalize()}:", detail, words


def _trace(view: View, look: RunLook) -> str:
    scale, label = view.units.scale(look.reading_unit)
    asked = {"campaign": view.campaign or "", "run": look.row.run, "scale": scale}
    facts, samples = look.facts, look.trace.samples if look.trace else 0
    overlays = [ticks(facts.blow_times.tolist())] if facts is not None and facts.blow_times.size else []
    if facts is not None and facts.start_s is not None and look.window_end_s is not None:
        overlays.append(span(facts.start_s, look.window_end_s))
    return trace_chart(
        f"Reading of run {look.row.run}",
        about=f"{samples} samples. Shaded: the timed window; strokes at the foot: blows.",
        name=f"trace-{look.row.run}",
        x="Time [s]",
        y=f"Reading [{label}]",
        source=f"/data/trace?{urlencode(asked)}",
        csv=f"/data/trace.csv?{urlencode({**asked, 'unit': label})}",
        curves=[curve("reading", "higher")],
        overlays=overlays,
    )


def _growth(view: View, look: RunLook, others: str) -> str:
    scale, label = view.units.scale(look.level_unit)
    overlays = []
    if look.band is not None:
        times = look.band.time.tolist()
        overlays.append(band(times, _scaled(look.band.low, scale), _scaled(look.band.high, scale)))
        overlays.append(line(times, _scaled(look.band.middle, scale), "soft", dash=[6, 4]))
    steps = look.judged.growth_time.size <= 60
    if steps:
        overlays.append(points(look.judged.growth_time.tolist(), _scaled(look.judged.growth_level, scale)))
    return trace_chart(
        f"How the level grew in run {look.row.run}",
        about=f"Level after each blow, from the first. {others}".rstrip(),
        name=f"growth-{look.row.run}",
        x="Time since the first blow [s]",
        y=f"Level [{label}]",
        data=[look.judged.growth_time.tolist(), _scaled(look.judged.growth_level, scale)],
        curves=[curve("level", "higher", width=2.5)],
        overlays=overlays,
    )


def _scaled(values: FloatArray, scale: float) -> list[float]:
    return (values * scale).tolist()  # type: ignore[no-any-return]  # a list of floats
