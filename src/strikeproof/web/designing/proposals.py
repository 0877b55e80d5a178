"""What a search found: figures side by side, a chart, a card for each proposal, and the next test."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from typing import Any, Final

from strikeproof.desk.articles.life_words import count_blows, tell_static
from strikeproof.desk.designing.views import FILES, DesignView
from strikeproof.desk.workspace.places import planned_names
from strikeproof.quantity import write_duration, write_number, write_percent
from strikeproof.web.fragments import render
from strikeproof.web.frame import View

__all__ = ["design_markup"]

Row = Mapping[str, Any]

_VERDICTS: Final = {"holds": "● holds", "finite life": "▲ finite life", "stop": "■ STOP"}
_MOST_MARGINS: Final = 6


def design_markup(view: View, found: DesignView) -> str:
    """All of it, the best proposal first."""
    told = found.told
    return render(
        "proposed",
        view=view,
        found=found,
        beside=[_beside(view, told, each) for each in found.proposals],
        cards=[_card(view, told, each) for each in found.proposals],
        planned=view.chosen in planned_names(view.site.workspace),
        files=FILES,
        tests=[_test(told, each) for each in told["next_tests"]],
        hour=f"{told['hour_costs']:.0f} {told['currency']}".strip() if told["next_tests"] else "",
        ruled_out=[(reason, str(count)) for reason, count in told["refused"].items() if count],
    )


def _beside(view: View, told: Row, each: Row) -> tuple[str, ...]:
    return (
        str(each["number"]),
        each["name"],
        each["gain_words"],
        view.units.write(each["mass_kg"], "mass", 3),
        _price(told, each["price"]),
        view.units.write(each["outer_diameter_m"], "length", 3),
        _weakest(each),
    )


def _card(view: View, told: Row, each: Row) -> Row:
    return {
        "told": each,
        "gains": [
            (
                f"{tool['tool']}, {tool['duration_s']:g} s",
                write_percent(tool["gain_percent"]),
                f"{write_percent(tool['low'])} to {write_percent(tool['high'])}",
                view.units.write(tool["peak_torque_high_n_m"], "torque", 3),
            )
            for tool in each["tools"]
        ],
        "figures": list(_figures(view, told, each)),
        "margins": [_margin(view, row) for row in each["margins"][:_MOST_MARGINS]],
        "weakest": _weakest(each),
        "asks": {
            "title": f"Add {each['name']} to {view.chosen}?",
            "says": [
                f"{each['name']} is appended to the articles in campaign.toml; nothing else in it changes, "
                "and undo on the page of the plan reverses it. Its runs are planned with one more press.",
                "Build it and prove it behind a guard before it is run.",
            ],
            "yes": "Add it",
            "no": "Leave it out",
        },
    }


def _margin(view: View, row: Row) -> tuple[str, ...]:
    return (
        f"{row['part']}, {row['mode']}",
        view.units.write(row["peak_torque_n_m"], "torque", 3),
        tell_static(row["static"], row.get("static_uncertainty")),
        "–" if row["fatigue"] is None else f"{write_number(row['fatigue'], 3)} times",
        _life(row),
        _VERDICTS[row["verdict"]],
    )


def _life(row: Row) -> str:
    """Files of before lives were worked out have none."""
    least, middle = row.get("blows_90"), row.get("blows_50")
    if least is None or middle is None:
        return "–"
    return f"{count_blows(least, row['mode'])} ({count_blows(middle, row['mode'])})"


def _price(told: Row, price: float | None) -> str:
    return "no price known" if price is None else f"{price:.2f} {told['currency']}".strip()


def _weakest(each: Row) -> str:
    if not each["margins"]:
        return "–"
    first = each["margins"][0]
    return f"{tell_static(first['static'], first.get('static_uncertainty'))} its peak"


def _figures(view: View, told: Row, each: Row) -> Iterator[tuple[str, str]]:
    units = view.units
    yield "Mass", units.write(each["mass_kg"], "mass", 3)
    yield "Price", _price(told, each["price"])
    long, across = (units.write(each[key], "length", 3) for key in ("length_m", "outer_diameter_m"))
    yield "Size", f"{long} long, {across} across"
    yield "Polar inertia", f"{write_number(each['polar_inertia_kg_m2'] * 1e6, 3)} kg·mm²"
    yield "Peak at the bolt may reach", units.write(each["peak_torque_n_m"], "torque", 3)


def _test(told: Row, each: Row) -> tuple[str, str]:
    cost = "built already" if each["price"] == 0.0 else _price(told, each["price"])
    duration = write_duration(3600.0 * each["hours"])
    return each["setup"], f"{each['bits']:.1f} bit expected in {duration} at the bench; {cost}"
