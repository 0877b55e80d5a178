"""The step of bolt and rig: what they are, and whether the bolt bears what the tools are expected to do."""

from __future__ import annotations

from nicegui.element import Element

from strikeproof.desk.planning.bolt_check import BoltCheck, check_bolt_of
from strikeproof.desk.setting_up.fields import fields_of
from strikeproof.quantity import write_number
from strikeproof.web.elements import facts, notes, section, table, tag
from strikeproof.web.planning.editor import Editor
from strikeproof.web.planning.fields import edit_fields
from strikeproof.web.units import Units
from strikeproof.web.working import working

__all__ = ["show_bolt"]

_BOLT = ("thread", "class", "hand", "friction", "runs_per_bolt", "largest_proof_share")
_RIG = ("name", "channel", "unit", "own_unit", "repeatability_percent")
_SIGNS = {"holds": "● holds", "too much": "▲ more than allowed", "stop": "■ STOP"}


async def show_bolt(editor: Editor) -> None:
    """Fields of both, and the check below the bolt's."""
    with section("Bolt"):
        place: Element

        async def check() -> None:
            if editor.set_up.tables.get("bolt"):
                await working(
                    place,
                    "Hammering on the bolt",
                    lambda found: _show_check(found, editor.view.units),
                    check_bolt_of,
                    editor.workspace,
                    editor.word,
                    editor.set_up.mark,
                )

        edit_fields(
            editor,
            ("bolt",),
            fields_of("bolt"),
            _BOLT,
            more="Friction of thread and head apart, its uncertainty, one bolt's name",
            after=check,
        )
        place = tag("div", classes="place", aria_live="polite")
        with place:
            tag("p", "Give a thread and a property class to see what the bolt bears.", "quiet")
        await check()
    with section("Rig"):
        edit_fields(
            editor,
            ("rig",),
            fields_of("rig"),
            _RIG,
            more="Sample rate, resolution, full scale, stiffness of the clamped parts",
        )


def _show_check(found: BoltCheck, units: Units) -> None:
    if found.expected:
        worst = "stop" if found.stop else "held"
        tag("p", found.says, f"verdict-line {worst}", role="alert" if found.stop else "status")
    for text in found.stops:
        tag("p", text, "verdict-line stop", role="alert")
    bolt = found.facts
    pairs = [
        ("Proof load", units.write(bolt.proof_load, "force", 3)),
        (f"Allowed, {100 * bolt.share:.3g} % of proof", units.write(bolt.allowed_clamp_load, "force", 3)),
        ("Yield load", units.write(bolt.yield_load, "force", 3)),
    ]
    if bolt.tightening is not None:
        pairs += [
            ("Torque that gets it there", units.write(bolt.tightening.allowed_torque, "torque", 3)),
            ("Nut factor K", write_number(bolt.tightening.tension.nut_factor, 3)),
        ]
    facts(pairs)
    if found.expected:
        table(
            ["Tool", "Hardest article", "Clamp load", "Of proof", "Peak torque", ""],
            [
                [
                    each.tool,
                    each.article,
                    units.write(each.load, "force", 3),
                    f"{100 * each.proof_share:.0f} %",
                    units.write(each.peak_torque, "torque", 3),
                    _SIGNS[each.verdict],
                ]
                for each in found.expected
            ],
            caption="Expected of each tool: simulated, an estimate",
            numbers=(2, 3, 4),
        )
        assumed = list(dict.fromkeys(text for each in found.expected for text in each.assumed))
        notes([f"Assumed, since it is not given: {text}." for text in assumed])
    notes(list(found.untold), "Not predicted")
    with tag("details", classes="more"):
        tag("summary", "Cautions of this bolt")
        for text in bolt.cautions:
            tag("p", text)
