"""What a search found: figures side by side, a chart, a card for each proposal, and the next test."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from typing import Any, Final

from nicegui.element import Element

from strikeproof.desk.articles.life_words import count_blows
from strikeproof.desk.designing.adopt import adopt_proposal
from strikeproof.desk.designing.views import FILES, DesignView
from strikeproof.desk.planning.extra_block import ExtraBlock
from strikeproof.desk.workspace.places import planned_names
from strikeproof.errors import StrikeproofError
from strikeproof.quantity import write_duration, write_number, write_percent
from strikeproof.web.drawings import show_drawing
from strikeproof.web.elements import button, facts, html, link, notes, section, show_error, table, tag
from strikeproof.web.frame import View
from strikeproof.web.planning.asking import ask
from strikeproof.web.planning.extra_block import offer_block, tell_block
from strikeproof.web.work import WORK

__all__ = ["show_design"]

Row = Mapping[str, Any]

_VERDICTS: Final = {"holds": "● holds", "finite life": "▲ finite life", "stop": "■ STOP"}
_MOST_MARGINS: Final = 6


def show_design(view: View, found: DesignView) -> None:
    """All of it, the best proposal first."""
    told = found.told
    if found.stale:
        notes(
            ["The brief was changed since this search; search again for proposals that meet it."],
            "From an older brief",
        )
    if not told["complete"]:
        notes(["The search was stopped before its end; what it had found is shown here."], "Not complete")
    if told["quick"]:
        tag("p", "A quick search; a thorough one looks at far more.", "quiet")
    with section("Proposals"):
        _side_by_side(view, told)
    if found.drawing is not None:
        with section("What more money buys"):
            show_drawing(view, found.drawing, "/data/design")
    for each in found.proposals:
        _card(view, told, each)
    _tests(told)
    with section("What was looked at"):
        _looked_at(told)


def _side_by_side(view: View, told: Row) -> None:
    if not told["proposals"]:
        tag("p", "No article meets this brief at the predicted peak.", "lead")
        return
    table(
        ("", "Proposal", "Gain", "Mass", "Price", "Across", "Holds"),
        [
            (
                str(each["number"]),
                each["name"],
                each["gain_words"],
                view.units.write(each["mass_kg"], "mass", 3),
                _price(told, each["price"]),
                view.units.write(each["outer_diameter_m"], "length", 3),
                _weakest(each),
            )
            for each in told["proposals"]
        ],
        caption=f"Gain over {told['reference']} with its 90 % interval",
        numbers=(3, 4, 5),
    )


def _price(told: Row, price: float | None) -> str:
    return "no price known" if price is None else f"{price:.2f} {told['currency']}".strip()


def _weakest(each: Row) -> str:
    if not each["margins"]:
        return "–"
    first = each["margins"][0]
    return f"{write_number(first['static'], 3)} times its peak"


def _card(view: View, told: Row, each: Row) -> None:
    with section(f"{each['number']}. {each['name']}", "proposal"):
        tag("p", each["words"])
        for stop in each["stops"]:
            tag("p", stop, "verdict-line stop", role="alert")
        with tag("div", classes="two"):
            with tag("div"):
                _gains(view, told, each)
                facts(_figures(view, told, each))
                for text in (*each["why"], *([each["near"]] if each["near"] else [])):
                    tag("p", text)
            with tag("div"):
                drawn = html(each["half_section"], classes="drawing")
                drawn.props["role"], drawn.props["tabindex"], drawn.props["aria-label"] = (
                    "img",
                    0,
                    each["says"],
                )
        _margins(view, each)
        with tag("details", classes="more"):
            tag("summary", "Cautions")
            for text in each["cautions"]:
                tag("p", text)
        _actions(view, each)


def _gains(view: View, told: Row, each: Row) -> None:
    table(
        ("With", "Gain", "90 % interval", "Peak torque may reach"),
        [
            (
                f"{tool['tool']}, {tool['duration_s']:g} s",
                write_percent(tool["gain_percent"]),
                f"{write_percent(tool['low'])} to {write_percent(tool['high'])}",
                view.units.write(tool["peak_torque_high_n_m"], "torque", 3),
            )
            for tool in each["tools"]
        ],
        caption=f"Gain over {told['reference']}; the brief is judged by {each['tool']}",
        numbers=(1, 2, 3),
    )


def _figures(view: View, told: Row, each: Row) -> Iterator[tuple[str, str]]:
    units = view.units
    yield "Mass", units.write(each["mass_kg"], "mass", 3)
    yield "Price", _price(told, each["price"])
    long, across = (units.write(each[key], "length", 3) for key in ("length_m", "outer_diameter_m"))
    yield "Size", f"{long} long, {across} across"
    yield "Polar inertia", f"{write_number(each['polar_inertia_kg_m2'] * 1e6, 3)} kg·mm²"
    yield "Peak at the bolt may reach", units.write(each["peak_torque_n_m"], "torque", 3)


def _margins(view: View, each: Row) -> None:
    if not each["margins"]:
        return
    with tag("details", classes="more", open=bool(each["stops"])):
        tag("summary", f"Margins: {_weakest(each)} at the weakest place")
        table(
            ("Place", "Peak in its joint", "Static limit", "Fatigue limit", "Blows at 90 % (50 %)", ""),
            [
                (
                    f"{row['part']}, {row['mode']}",
                    view.units.write(row["peak_torque_n_m"], "torque", 3),
                    f"{write_number(row['static'], 3)} times",
                    "–" if row["fatigue"] is None else f"{write_number(row['fatigue'], 3)} times",
                    _life(row),
                    _VERDICTS[row["verdict"]],
                )
                for row in each["margins"][:_MOST_MARGINS]
            ],
            caption="Margins over the peak torque that each place's own joint may reach, smallest first",
            numbers=(1, 2, 3, 4),
        )


def _life(row: Row) -> str:
    """Files of before lives were worked out have none."""
    least, middle = row.get("blows_90"), row.get("blows_50")
    return "–" if least is None or middle is None else f"{count_blows(least)} ({count_blows(middle)})"


def _actions(view: View, each: Row) -> None:
    name, folder = each["name"], each["folder"]
    with tag("div", classes="bar actions"):
        sheet = view.to(f"/design/sheet/{folder}")
        link(
            "Sheet for the workshop", sheet, "button", target="_blank", aria_label=f"Workshop sheet of {name}"
        )
        place = view.to("/design", step="fit", article=name)
        link("Draw it in its place", place, "button", aria_label=f"Draw {name} in its place")
        answer: Element

        async def add() -> None:
            await _add(view, each, answer)

        if view.chosen in planned_names(view.site.workspace):
            button("Add it to the campaign", add, "button", aria_label=f"Add {name} to the campaign")
    answer = tag("div", aria_live="polite")
    with tag("div", classes="bar files", role="group", aria_label=f"Files of {name}"):
        for file, (words, _kind) in FILES.items():
            target = view.to(f"/design/file/{folder}/{file}")
            label = f"{words} of {name}"
            link(words, target, "button small", download=f"{folder}-{file}", aria_label=label)


async def _add(view: View, each: Row, answer: Element) -> None:
    says = [
        f"{each['name']} is appended to the articles in campaign.toml; nothing else in it changes, and undo "
        "on the page of the plan reverses it. Its runs are planned with one more press.",
        "Build it and prove it behind a guard before it is run.",
    ]
    if not await ask(f"Add {each['name']} to {view.chosen}?", says, "Add it", "Leave it out"):
        return
    answer.clear()
    with answer:
        try:
            word = await WORK.run(adopt_proposal, view.site.workspace, view.campaign, each["folder"])
        except StrikeproofError as error:
            show_error(error)
            return
        with tag("p", "It is an article of the campaign now. ", "good-line"):
            link("See the plan", view.to("/plan", set_up=word, step="sheet"))
        place = tag("div")

    async def planned(block: ExtraBlock) -> None:
        place.clear()
        with place:
            tell_block(view, word, block)

    with place:
        offer_block(view, word, (each["name"],), planned)


def _tests(told: Row) -> None:
    if not told["next_tests"]:
        return
    with section("The next test"):
        with tag("ol", classes="steps"):
            for each in told["next_tests"]:
                cost = "built already" if each["price"] == 0.0 else _price(told, each["price"])
                with tag("li"):
                    tag("span", each["setup"])
                    tag(
                        "small",
                        f"{each['bits']:.1f} bit expected in {write_duration(3600.0 * each['hours'])} at the "
                        f"bench; {cost}",
                    )
        hour = f"{told['hour_costs']:.0f} {told['currency']}".strip()
        tag(
            "p",
            f"It teaches most about the open question for its cost, an hour counted as {hour}. One bit "
            "halves what is open.",
            "quiet",
        )


def _looked_at(told: Row) -> None:
    tag("p", f"{told['searched']} articles were looked at.")
    refused = [(reason, str(count)) for reason, count in told["refused"].items() if count]
    if refused:
        table(
            ("Limit", "Articles"),
            refused,
            caption="Articles that each limit ruled out",
            numbers=(1,),
            stacked=False,
        )
    notes(told["notes"], "Note")
