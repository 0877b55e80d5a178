"""What a reading of the rig is worth: applied and reading, with residuals and budget as they are typed."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any
from urllib.parse import parse_qs

from starlette.requests import Request
from starlette.responses import JSONResponse, Response

from strikeproof.desk.calibrating.entering import (
    APPLIED_UNITS,
    CalibrationView,
    Draft,
    Fault,
    Point,
    find_faults,
    keep_calibration,
    read_points,
    start_draft,
    try_calibration,
)
from strikeproof.errors import BadInput, StrikeproofError, end_sentence
from strikeproof.plain_text import join_halves
from strikeproof.quantity import unit_label, write_number
from strikeproof.web.answering import refusal
from strikeproof.web.fragments import render
from strikeproof.web.frame import View
from strikeproof.web.plain import plain_page, view_of_runs
from strikeproof.web.routes import app
from strikeproof.web.site import Site
from strikeproof.web.trace_chart import curve, points, trace_chart
from strikeproof.web.work import WORK

__all__ = ["register"]

_BLANK = (Point(), Point(), Point())
_MOST_FIELDS = 50_000
_LEAST = 3
"""Readings that a straight line and its scatter need."""


def register(site: Site) -> None:
    """Make the page, and what its script asks while readings are typed."""
    nothing = ("No campaign yet", "Readings are saved with a campaign.")
    plain_page(site, "/calibration", "Calibration", nothing, facts=_facts)

    @app.get("/data/calibration")
    async def saved(request: Request, campaign: str = "") -> Response:
        try:
            view = view_of_runs(site, request, campaign)
            draft = await WORK.run(start_draft, site.workspace, view.campaign)
        except StrikeproofError as error:
            return refusal(error)
        return JSONResponse(await _tried(view, draft, refused=False))

    @app.post("/data/calibration")
    async def typed(request: Request, campaign: str = "", refused: bool = False) -> Response:
        try:
            view, draft = view_of_runs(site, request, campaign), _draft(await _fields(request))
        except StrikeproofError as error:
            return refusal(error)
        return JSONResponse(await _tried(view, draft, refused=refused))

    @app.post("/data/calibration/keep")
    async def keep(request: Request, campaign: str = "") -> Response:
        try:
            view, draft = view_of_runs(site, request, campaign), _draft(await _fields(request))
            text = await WORK.run(keep_calibration, site.workspace, view.campaign, draft)
        except StrikeproofError as error:
            return JSONResponse({"said": render("told", error=error), "saved": False})
        return JSONResponse({"said": f"{text}. Scores and comparison now use them.", "saved": True})

    @app.post("/data/calibration/paste")
    async def paste(request: Request) -> Response:
        try:
            found = read_points((await _fields(request)).get("pasted", [""])[0])
        except BadInput as error:
            return JSONResponse({"said": render("told", error=error)})
        keys = ("applied", "reading", "direction", "repeat")
        return JSONResponse({"rows": [{key: getattr(each, key) for key in keys} for each in found]})


def _facts(view: View) -> Mapping[str, Any]:
    draft = start_draft(view.site.workspace, view.campaign)
    return {
        "draft": draft,
        "points": draft.points or _BLANK,
        "blank": Point(),
        "units": dict.fromkeys((*APPLIED_UNITS, draft.applied_unit)),
    }


async def _fields(request: Request) -> dict[str, list[str]]:
    sent = (await request.body()).decode("utf-8", "replace")
    try:
        found = parse_qs(sent, keep_blank_values=True, max_num_fields=_MOST_FIELDS)
    except ValueError as cause:
        raise BadInput(
            "there are too many readings",
            where="calibration",
            allowed=f"at most {_MOST_FIELDS // 5}",
            fix="enter fewer",
        ) from cause
    return {key: [join_halves(each) for each in values] for key, values in found.items()}


def _draft(fields: Mapping[str, list[str]]) -> Draft:
    """What was typed; a form holds the fields of each reading one after the other."""

    def one(key: str, otherwise: str = "") -> str:
        return fields.get(key, [otherwise])[0]

    columns = [
        fields.get(key, []) for key in ("applied", "reading", "direction", "repeat", "applied_uncertainty")
    ]
    rows = zip(*columns, strict=False)  # a form of ours has them all
    return Draft(
        tuple(
            Point(applied, reading, direction, repeat.strip(), _own_uncertainty(own))
            for applied, reading, direction, repeat, own in rows
        ),
        one("applied_unit", "N m"),
        one("reading_unit", "reading"),
        one("reference_uncertainty_percent", "0"),
        {"1": 1, "2": 2, "3": 3}.get(one("degree")),
    )


def _own_uncertainty(text: str) -> float | None:
    try:
        return float(text)
    except ValueError:
        return None


async def _tried(view: View, draft: Draft, *, refused: bool) -> dict[str, Any]:
    """What the readings say so far: what is wrong at each field, residuals, and the curve or why none."""
    try:
        found: CalibrationView | StrikeproofError = await WORK.run(
            try_calibration, view.site.workspace, view.campaign, draft
        )
    except StrikeproofError as error:
        found = error
    residuals = found.residuals if isinstance(found, CalibrationView) else {}
    suspects = found.suspects if isinstance(found, CalibrationView) else ()
    shown = _curve(draft, found) if isinstance(found, CalibrationView) else {"chart": ""}
    texts = ((fault, _fault_words(draft, fault, refused=refused)) for fault in find_faults(draft))
    return {
        "faults": {_word(fault): text for fault, text in texts if text},
        "residuals": [
            write_number(residuals.get(place), 3) + (" !" if place in suspects else "")
            for place in range(len(draft.points))
        ],
        "markup": render("calibrated", found=found, begins=_few(draft), **shown),
    }


def _few(draft: Draft) -> bool:
    """Whether there are too few readings for a curve because a person has only begun."""
    typed = [each for each in draft.points if not each.blank]
    return len(typed) < _LEAST and all(each.numbers(draft.units) is not None for each in typed)


def _word(fault: Fault) -> str:
    """Names the line of a field for what is wrong with it."""
    place, *name = fault.place
    return f"{name[0]}-{int(place) + 1}" if name else "reference"


def _fault_words(draft: Draft, fault: Fault, *, refused: bool) -> str:
    """Empty for a number that a person may still be about to type, until they wanted to save it."""
    place, *name = fault.place
    if name and isinstance(place, int) and not refused:
        point = draft.points[place]
        if not {"applied": point.applied, "reading": point.reading}[str(name[0])].strip():
            return ""
    which = f"{str(name[0]).capitalize()}: " if name else ""
    return end_sentence(f"{which}{fault.problem}; {fault.fix}")


def _curve(draft: Draft, found: CalibrationView) -> dict[str, Any]:
    applied, unit = unit_label(draft.applied_unit), draft.reading_unit
    shown = "arb. unit" if unit == "reading" else unit_label(unit)
    complete = [pair for each in draft.points if (pair := each.numbers(draft.units)) is not None]
    chart = trace_chart(
        "Calibration",
        about="Readings as dots, the fitted curve as a line.",
        name="calibration",
        x=f"Applied [{applied}]",
        y=f"Reading [{shown}]",
        data=[list(found.curve_applied), list(found.curve_reading)],
        curves=[curve("curve", "accent", width=2)],
        overlays=[points([x for x, _y in complete], [y for _x, y in complete], hollow=True)],
        zoomable=False,
        height="18rem",
    )
    return {
        "chart": chart,
        "applied": applied,
        "at": write_number(found.at),
        "expanded": write_number(found.expanded, 2),
        "budget": [
            (name, write_number(value, 2), f"{share:.0f} %", source)
            for name, value, share, source in found.budget
        ],
        "waiting": sum(not each.blank and each.numbers(draft.units) is None for each in draft.points),
    }
