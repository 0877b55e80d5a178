"""Steps of a set-up with a form each: the tools, the bolt, the calibration, and how runs are made."""

from __future__ import annotations

import base64

from nicegui.element import Element

from strikeproof.desk.calibrating.calibration import CalibrationOutcome
from strikeproof.desk.calibrating.readings import calibrate_set_up, readings_text, sheet_of_readings
from strikeproof.desk.planning.bolt_check import BoltCheck, check_bolt_of
from strikeproof.desk.planning.repeats import DrawnPower, draw_power
from strikeproof.desk.safety.cautions import Stop
from strikeproof.desk.setting_up.edits import add_entry, copy_entry, remove_entry, set_value, value_at
from strikeproof.desk.setting_up.fields import fields_of
from strikeproof.quantity import write_duration, write_number
from strikeproof.web.elements import (
    button,
    empty_state,
    facts,
    html,
    link,
    notes,
    on_value,
    section,
    table,
    tag,
)
from strikeproof.web.planning.asking import ask
from strikeproof.web.planning.editor import Editor
from strikeproof.web.planning.fields import edit_fields
from strikeproof.web.units import Units
from strikeproof.web.working import working

__all__ = ["show_bolt", "show_calibration", "show_protocol", "show_tools"]

_CAMPAIGN = ("name", "margin_percent", "currency", "note")
_PROTOCOL = (
    "duration",
    "direction",
    "rotation",
    "score",
    "cool_down",
    "repeats",
    "looks",
    "smallest_difference_percent",
)


async def show_protocol(editor: Editor) -> None:
    """Fields, and the power curve that follows them."""
    with section("How every run is made"):
        place: Element

        async def draw() -> None:
            await working(
                place,
                "Working out the power",
                _show_power,
                draw_power,
                editor.workspace,
                editor.word,
                editor.set_up.mark,
            )

        edit_fields(
            editor,
            ("protocol",),
            fields_of("protocol"),
            _PROTOCOL,
            more="Supply for all tools, seed of the random order",
            after=draw,
        )
    with section("How many repeats"):
        known = {each.key: each for each in fields_of("rig")}
        edit_fields(
            editor,
            ("rig",),
            [known["repeatability_percent"]],
            ("repeatability_percent",),
            more="",
            after=draw,
        )
        place = tag("div", classes="place", aria_live="polite")
        await draw()
    with section("What the campaign is called"):
        fields = [each for each in fields_of("campaign") if each.key != "reference"]
        edit_fields(editor, ("campaign",), fields, _CAMPAIGN, more="Simulated runs", after=draw)


def _show_power(drawn: DrawnPower) -> None:
    curve = drawn.curve
    tag("p", curve.says, "verdict-line")
    with tag("figure", classes="chart drawn"):
        tag("figcaption", "What more repeats buy")
        for markup, room in ((drawn.wide, "wideonly"), (drawn.narrow, "narrow")):
            part = html(markup, classes=room)
            part.props["role"], part.props["aria-label"] = "img", drawn.says
        with tag("div", classes="save"):
            link("SVG", _data("image/svg+xml", drawn.file), "button small", download="power.svg")
            lines = [f"{p.repeats},{p.difference_percent:.4g},{p.runs},{p.time_s:g}" for p in curve.points]
            csv = "\n".join(["repeats,difference_percent,runs,time_s", *lines, ""])
            link("CSV", _data("text/csv", csv), "button small", download="power.csv")
    with tag("details", classes="more"):
        tag("summary", "The same in figures")
        table(
            ["Repeats", "Smallest difference shown", "Runs", "Hammering and cool-down"],
            [
                [
                    str(each.repeats),
                    f"{write_number(each.difference_percent, 2)} %",
                    str(each.runs),
                    write_duration(each.time_s),
                ]
                for each in curve.points
            ],
            caption="80 % power, all comparisons together at 95 %",
            numbers=(1, 2, 3),
        )


def _data(kind: str, text: str) -> str:
    return f"data:{kind};base64,{base64.b64encode(text.encode()).decode()}"


_FIRST = ("name", "mechanism", "drive_mm", "supply")
_WORDS = {"mechanism": (("air", "air"), ("spring-and-cam", "spring and cam"), ("oil-pulse", "oil pulse"))}


def show_tools(editor: Editor) -> None:
    """Every tool with its fields, and the way to another."""
    tools = editor.set_up.tables.get("tool", [])
    if not tools:
        empty_state(
            "No tool yet", "A tool is an impact wrench that the articles are run with. Add one or more."
        )
    for number, tool in enumerate(tools):
        _card(editor, number, str(tool.get("name", "")))
    button("Add a tool", lambda: _add(editor), "button primary", data_add="tool")


async def _add(editor: Editor) -> None:
    taken = {each.get("name") for each in editor.set_up.tables.get("tool", [])}
    name = next(word for n in range(1, 1000) if (word := f"tool-{n}") not in taken)
    await editor.change(add_entry("tool", {"name": name, "mechanism": "air", "drive_mm": 12.7}), anew=True)


def _card(editor: Editor, number: int, name: str) -> None:
    def follow() -> None:
        now = (value_at(editor.set_up.tables, ("tool", number)) or {}).get("name")
        heading._text = str(now or f"Tool {number + 1}")
        heading.update()

    with tag("fieldset", classes="entry"):
        heading = tag("legend", name or f"Tool {number + 1}")
        edit_fields(
            editor,
            ("tool", number),
            fields_of("tool"),
            _FIRST,
            more="What more is known of it: inertia, speed and rate of its blows",
            choices=_WORDS,
        )
        editor.watchers.append(follow)
        with tag("div", classes="bar tail"):
            button("Copy", lambda: editor.change(copy_entry("tool", number), anew=True), "button small")
            button("Delete", lambda: _remove(editor, number), "button small")


async def _remove(editor: Editor, number: int) -> None:
    await editor.settle()  # a name that was typed last counts
    name = (value_at(editor.set_up.tables, ("tool", number)) or {}).get("name")
    says = ["Undo brings it back."]
    if await ask(f"Delete {name or 'this tool'}?", says, "Delete it", "Keep it"):
        await editor.change(remove_entry("tool", number), anew=True)


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
            more="Own strength, head and shank; friction apart, its uncertainty, one bolt's name",
            after=check,
        )
        place = tag("div", classes="place", aria_live="polite")
        with place:
            tag("p", "Give a thread and a property class to see what load the bolt withstands.", "quiet")
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
    for text in found.other_cautions:
        tag("p", text, f"verdict-line {'stop' if isinstance(text, Stop) else 'held'}", role="alert")
    for text in found.stops:
        tag("p", text, "verdict-line stop", role="alert")
    if found.blind:
        tag("p", found.blind, "verdict-line held", role="alert")
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


_NOT_YET = ("applied_unit", "reference_uncertainty_percent", "degree")
_SHEET = {"sheet": "calibration.csv", "applied_unit": "N m"}


async def show_calibration(editor: Editor) -> None:
    """The way to a calibration, or what means one."""
    if "calibration" not in editor.set_up.tables:
        notes(
            [
                "Without a calibration scores stay plain readings: which article is better, and by how many "
                "per cent, still holds. What a reading is worth in torque is then known only where the rig "
                "reads torque, or a force with the bolt's thread and friction given: as good as those are.",
                "To calibrate, set a torque wrench on the test bolt to a few values, up and down, twice or "
                "more, and write down what the rig reads each time.",
            ],
            "This step may be left out",
        )
        button(
            "Add a calibration",
            lambda: editor.change(set_value(("calibration",), _SHEET), anew=True),
            "button primary",
        )
        return
    place = None

    async def fit() -> None:
        if place is not None:
            await working(
                place,
                "Fitting the curve",
                _show_fit,
                calibrate_set_up,
                editor.workspace,
                editor.word,
                editor.set_up.mark,
            )

    fields = [each for each in fields_of("calibration") if each.key != "sheet"]
    edit_fields(editor, ("calibration",), fields, _NOT_YET, more="Rig and bolt it was made on", after=fit)
    text = readings_text(editor.workspace, editor.word)
    with tag("label", classes="field readings"):
        tag(
            "span",
            "Readings: applied, reading, direction (up or down), repeat; one a line, or pasted from a table",
        )
        area = tag("textarea", text, rows=12, spellcheck="false", data_key="readings", data_guard="left")

    async def changed(typed: str) -> None:
        await editor.change(lambda tables: tables, calibration=sheet_of_readings(typed))
        await fit()

    on_value(area, changed)
    place = tag("div", classes="place", aria_live="polite")
    await fit()
    with tag("div", classes="bar tail"):
        button("Leave the calibration out", lambda: _remove_reading(editor), "button small")


async def _remove_reading(editor: Editor) -> None:
    says = ["Its readings stay in the folder; undo brings it back."]
    if await ask("Leave the calibration out?", says, "Leave it out", "Keep it"):
        await editor.change(set_value(("calibration",), None), anew=True)


def _show_fit(found: CalibrationOutcome) -> None:
    facts(found.rows(), "rows")
    notes(found.cautions, "Caution")
    notes(found.doubts(), "Look at these lines")
    notes(found.notes)
