"""The step of the protocol: how every run is made, and how many it takes."""

from __future__ import annotations

import base64

from nicegui.element import Element

from strikeproof.desk.planning.repeats import DrawnPower, draw_power
from strikeproof.desk.setting_up.fields import fields_of
from strikeproof.quantity import write_duration, write_number
from strikeproof.web.elements import html, link, section, table, tag
from strikeproof.web.planning.editor import Editor
from strikeproof.web.planning.fields import edit_fields
from strikeproof.web.working import working

__all__ = ["show_protocol"]

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
