"""What is worked out for a step of a plan, as markup: power, bolt, curve, and the run sheet."""

from __future__ import annotations

import base64
from typing import Any

from strikeproof.desk.calibrating.calibration import CalibrationOutcome
from strikeproof.desk.planning.bolt_check import BoltCheck
from strikeproof.desk.planning.repeats import DrawnPower
from strikeproof.desk.planning.sheet import SheetPlan
from strikeproof.desk.safety.cautions import Stop, plan_cautions
from strikeproof.desk.workspace.opening import campaign_names
from strikeproof.errors import end_sentence
from strikeproof.quantity import write_duration, write_number
from strikeproof.web.fragments import render
from strikeproof.web.frame import View
from strikeproof.web.planning.extra_block import listed
from strikeproof.web.units import Units

__all__ = ["show_bolt", "show_calibration", "show_power", "show_sheet"]

_SIGNS = {"holds": "● holds", "too much": "▲ more than allowed", "stop": "■ STOP"}


def show_power(found: DrawnPower) -> str:
    """What more repeats buy."""
    points = found.curve.points
    lines = [f"{p.repeats},{p.difference_percent:.4g},{p.runs},{p.time_s:g}" for p in points]
    csv = "\n".join(["repeats,difference_percent,runs,time_s", *lines, ""])
    rows = [
        (
            str(each.repeats),
            f"{write_number(each.difference_percent, 2)} %",
            str(each.runs),
            write_duration(each.time_s),
        )
        for each in points
    ]
    svg = _data("image/svg+xml", found.file)
    return render("planned_protocol", found=found, rows=rows, svg=svg, csv=_data("text/csv", csv))


def _data(kind: str, text: str) -> str:
    return f"data:{kind};base64,{base64.b64encode(text.encode()).decode()}"


def show_bolt(found: BoltCheck, units: Units) -> str:
    """What the bolt withstands, and what each tool is expected to put on it."""
    assumed = dict.fromkeys(text for each in found.expected for text in each.assumed)
    rows = [
        (
            each.tool,
            each.article,
            units.write(each.load, "force", 3),
            f"{100 * each.withstood_share:.0f} %",
            units.write(each.peak_torque, "torque", 3),
            _SIGNS[each.verdict],
        )
        for each in found.expected
    ]
    return render(
        "planned_bolt",
        found=found,
        lines=_bolt_lines(found),
        pairs=_bolt_pairs(found, units),
        rows=rows,
        assumed=[f"Assumed, since it is not given: {text}." for text in assumed],
    )


def _bolt_lines(found: BoltCheck) -> list[tuple[str, str, str]]:
    """Sentences with their kind and role."""
    lines = []
    if found.expected:
        kind, role = ("stop", "alert") if found.stop else ("held", "status")
        lines.append((found.says, kind, role))
    lines += [(text, "stop" if isinstance(text, Stop) else "held", "alert") for text in found.other_cautions]
    lines += [(text, "stop", "alert") for text in found.stops]
    lines += [(text, "held", "alert") for text in found.near]
    return lines + ([(found.blind, "held", "alert")] if found.blind else [])


def _bolt_pairs(found: BoltCheck, units: Units) -> list[tuple[str, str]]:
    bolt = found.facts
    pairs = [
        ("Proof load", units.write(bolt.proof_load, "force", 3)),
        (f"Allowed, {100 * bolt.share:.3g} % of proof", units.write(bolt.allowed_clamp_load, "force", 3)),
        ("Yield load", units.write(bolt.yield_load, "force", 3)),
    ]
    if bolt.tightening is not None:
        pairs += [
            ("Torque that reaches it", units.write(bolt.tightening.allowed_torque, "torque", 3)),
            ("Nut factor K", write_number(bolt.tightening.tension.nut_factor, 3)),
        ]
    return pairs


def show_calibration(found: CalibrationOutcome) -> str:
    """The curve in figures, and what is odd about the readings."""
    return render("planned_calibration", found=found)


def show_sheet(view: View, word: str, plan: SheetPlan, said: str = "") -> str:
    """The runs as they would be now, and whether the sheet in the folder is it."""
    campaign = plan.campaign
    mechanisms = [each.mechanism for each in campaign.tools]

    def post(what: str) -> str:
        return view.to(f"/plan/sheet/{what}", set_up=word)

    facts: dict[str, Any] = {
        "pairs": [
            ("Runs still to make", plan.left),
            ("Made already", len(plan.made)),
            ("Repeats", plan.repeats),
            ("Hammering and cool-down", write_duration(plan.time_s)),
            ("New bolts", plan.bolts or "not counted"),
        ],
        "is_loaded": campaign.name in campaign_names(view.site.workspace),
        "short": listed(plan.short) if plan.short else "",
        "to_know": [end_sentence(each) for each in plan.notes],
        "cautions": [*plan_cautions(plan.left, campaign.protocol.duration_s, mechanisms)],
    }
    return render("planned_sheet", view=view, word=word, found=plan, said=said, post=post, **facts)
