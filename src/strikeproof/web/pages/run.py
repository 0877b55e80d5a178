"""One run: its numbers and flags, its trace down to single blows, its growth, its history."""

from __future__ import annotations

import asyncio
from collections.abc import Iterator
from urllib.parse import urlencode

from nicegui import app, context, ui
from nicegui.element import Element
from starlette.responses import Response, StreamingResponse

from strikeproof.desk.loading.upload import load_log_again
from strikeproof.desk.runs.flag_words import flag_fix, flag_words
from strikeproof.desk.runs.one_run import RunLook, look_at_run
from strikeproof.desk.runs.sounds import KeptSound
from strikeproof.desk.runs.standing import put_run_back, set_run_aside
from strikeproof.desk.runs.trace_window import find_trace, trace_csv, trace_window
from strikeproof.errors import BadInput, StrikeproofError
from strikeproof.quantity import FloatArray, write_number, write_uncertain
from strikeproof.web.answering import refusal
from strikeproof.web.elements import (
    button,
    facts,
    field,
    html,
    link,
    notes,
    on_value,
    section,
    show_error,
    table,
    tag,
)
from strikeproof.web.fragments import render
from strikeproof.web.frame import View, nothing_yet, page
from strikeproof.web.planning.asking import say
from strikeproof.web.site import Site
from strikeproof.web.trace_chart import band, curve, line, pack, points, span, ticks, trace_chart
from strikeproof.web.upload import Upload
from strikeproof.web.working import fill

__all__ = ["register"]

_MOST_POINTS = 20_000


def register(site: Site) -> None:
    """Make the page and what its chart asks for."""

    @page(site, "/run", "Run")
    async def show_run(view: View, run: str = "") -> None:
        if view.campaign is None:
            nothing_yet(view, "No runs yet", "Load a campaign folder, or record runs at the rig.")
            return
        if not run:
            raise BadInput("no run is named", where="address", allowed="a run", fix="choose one in the list")
        ui.add_head_html(render("chart_head"))
        await fill(
            "Reading the run", lambda look: _show(view, look), look_at_run, site.workspace, view.campaign, run
        )

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


def _show(view: View, look: RunLook) -> None:
    with tag("div", classes="bar"):
        tag("p", look.row.run, "big")
        for text, name in (("Run before", look.before), ("Next run", look.after)):
            if name is not None:
                link(text, view.to("/run", run=name), "button", title=name)
    _standing(view, look)
    facts(_numbers(view, look), "plate filled")
    if look.judged.only_ratio:
        notes([f"{look.judged.only_ratio[:1].upper()}{look.judged.only_ratio[1:]}."], "Only a ratio")
    _flags(look)
    if look.trace is not None:
        with section("Trace"):
            _trace(view, look)
    if look.judged.growth_time.size > 1:
        with section("Growth"):
            _growth(view, look)
    if look.sound is not None:
        with section("Sound"):
            _sound(look.sound)
    with section("History"):
        table(
            ("When (UTC)", "What", "Why", "By"),
            [
                (at[:19].replace("T", " "), what, why.replace("_", " "), by)
                for at, what, why, by in look.history
            ],
            caption=f"History of run {look.row.run}",
        )
        if look.row.log is not None:
            _replacing(view, look)


def _replacing(view: View, look: RunLook) -> None:
    """Another log in place of the saved one, for a file that was read wrongly or corrected."""
    typed = {"why": ""}
    with tag("details") as box:
        tag("summary", "Replace the log", "button")
        tag(
            "p",
            "If the logger's file was wrong and is corrected now, or was read wrongly, give the reason, then "
            "the corrected file. The log before stays in this run's history.",
        )
        reason = field("Why the log is replaced", placeholder="thousands separators")
        on_value(reason, lambda text: typed.update(why=text))  # said before the file comes

        async def again(came: str = "") -> None:
            try:
                said = await asyncio.to_thread(
                    load_log_again, view.site.workspace, view.campaign, look.row.run, typed["why"], came=came
                )
            except StrikeproofError as error:
                with box:
                    show_error(error)
                return
            with context.client.content:
                await say("The log was replaced", [f"{said[:1].upper()}{said[1:]}."])
            ui.navigate.reload()

        async def again_from_folder() -> None:
            await again()

        Upload("Corrected log", accept="", told=again)
        button("Read the file in the campaign's folder again", again_from_folder)


def _sound(sound: KeptSound) -> None:
    """What the run's recording says of its trace."""
    why = f": {'; '.join(sound.reasons)}" if sound.reasons else ""
    tag("p", f"The sound {sound.verdict}{why}.", "lead")
    facts(
        [
            ("Recording", sound.recording),
            (
                "Blows in the sound",
                "–" if sound.blows is None else write_uncertain(sound.blows, sound.blows_uncertainty),
            ),
            ("Blows a second", write_number(sound.blow_rate_hz, 4)),
        ]
    )


def _standing(view: View, look: RunLook) -> None:
    """Whether the run counts, and the way to change that."""
    with tag("div", classes="standing") as box:
        if look.row.set_aside is not None:
            tag("p", f"Excluded: {look.row.set_aside}", "aside-word")
            button("Include it again", lambda: _changed(box, put_run_back, view, look.row.run))
            return
        with tag("details"):
            tag("summary", "Exclude this run", "button")
            reason = field("Reason, for everyone who reads the result", placeholder="socket not fully on")
            typed = {"why": ""}
            on_value(reason, lambda text: typed.update(why=text))  # said before the button is
            button(
                "Exclude",
                lambda: _changed(box, set_run_aside, view, look.row.run, typed["why"]),
                "button primary",
            )


async def _changed(box: Element, change: object, view: View, run: str, *more: str) -> None:
    """Change whether a run counts and show the page again, or what is wrong."""
    try:
        await asyncio.to_thread(change, view.site.workspace, view.campaign, run, *more)  # type: ignore[arg-type]  # one of two
    except StrikeproofError as error:
        with box:
            show_error(error)
        return
    ui.navigate.reload()


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
        (label, text) for label, text in (("Bolt", look.row.bolt), ("Started", look.row.started)) if text
    ]
    if look.trace is not None:
        rows.append(("Samples", f"{look.trace.samples} at {write_number(look.trace.sample_rate_hz)} Hz"))
    rows += look.conditions
    rows += [(label, text) for label, text in (("Log", look.row.log), ("Note", look.row.note)) if text]
    return [*rows, ("The score is", look.score_says)]


def _flags(look: RunLook) -> None:
    if not look.flags:
        tag("p", "No flag: nothing in this run looks odd.", "good")
        return
    with section("Flags"), tag("ul", classes="flags"):
        for each in look.flags:
            with tag("li"):
                tag("strong", f"{flag_words(each.kind).capitalize()}:")
                tag("span", f" {each.detail}")
                meant = [f"{each.meaning}." if each.meaning else "", flag_fix(each.kind)]
                tag("small", " ".join(text[:1].upper() + text[1:] for text in meant if text))


def _trace(view: View, look: RunLook) -> None:
    scale, label = view.units.scale(look.reading_unit)
    asked = {"campaign": view.campaign or "", "run": look.row.run, "scale": scale}
    facts, samples = look.facts, look.trace.samples if look.trace else 0
    overlays = [ticks(facts.blow_times.tolist())] if facts is not None and facts.blow_times.size else []
    if facts is not None and facts.start_s is not None and look.window_end_s is not None:
        overlays.append(span(facts.start_s, look.window_end_s))
    chart = trace_chart(
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
    html(chart)


def _growth(view: View, look: RunLook) -> None:
    scale, label = view.units.scale(look.level_unit)
    overlays = []
    if look.band is not None:
        times = look.band.time.tolist()
        overlays.append(band(times, _scaled(look.band.low, scale), _scaled(look.band.high, scale)))
        overlays.append(line(times, _scaled(look.band.middle, scale), "soft", dash=[6, 4]))
    steps = look.judged.growth_time.size <= 60
    if steps:
        overlays.append(points(look.judged.growth_time.tolist(), _scaled(look.judged.growth_level, scale)))
    others = (
        f" Shaded: {look.band.runs} other runs of {look.row.article}; dashed: their median."
        if look.band
        else ""
    )
    chart = trace_chart(
        f"How the level grew in run {look.row.run}",
        about=f"Level after each blow, from the first.{others}",
        name=f"growth-{look.row.run}",
        x="Time since the first blow [s]",
        y=f"Level [{label}]",
        data=[look.judged.growth_time.tolist(), _scaled(look.judged.growth_level, scale)],
        curves=[curve("level", "higher", width=2.5)],
        overlays=overlays,
    )
    html(chart)
    if others:
        tag("p", others.strip(), "quiet")


def _scaled(values: FloatArray, scale: float) -> list[float]:
    return (values * scale).tolist()  # type: ignore[no-any-return]  # a list of floats
