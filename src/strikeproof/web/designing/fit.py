"""An article of the campaign, or of its design, drawn in its place, and told where it touches."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from nicegui import ui

from strikeproof.desk.designing.views import FitView
from strikeproof.web.elements import empty_state, html, link, notes, on_value, section, select, table, tag
from strikeproof.web.frame import View
from strikeproof.web.tasks import FIT, FIT_NAMES
from strikeproof.web.working import fill

__all__ = ["show_fit"]

_LIMITS = {
    "pocket": "the pocket",
    "wall": "the nearest wall",
    "free length": "the free length",
    "seat": "the seat",
}


async def show_fit(view: View, article: str) -> None:
    """A choice of the articles, and the one chosen in its place."""
    await fill(
        "Looking for articles",
        lambda names: _choose(view, names, article),
        FIT_NAMES,
        view.site.workspace,
        view.campaign,
    )


async def _choose(view: View, names: tuple[tuple[str, ...], tuple[str, ...]], article: str) -> None:
    built, proposed = names
    if not built and not proposed:
        with empty_state(
            "Nothing to place yet",
            "Only an article with dimensions can be drawn in its place. Describe one of the campaign's by "
            "its parts, or search for proposals.",
        ):
            link("Search for proposals", view.to("/design", step="proposals"), "button primary")
        return
    options = [*((each, each) for each in built), *((each, f"{each} (proposal)") for each in proposed)]
    chosen = article if article in (*built, *proposed) else options[0][0]
    with tag("div", classes="fields"):
        box = select("Article", options, chosen, data_key="fit-article")
    on_value(box, lambda text: ui.navigate.to(view.to("/design", step="fit", article=text)))
    await fill(
        "Placing it",
        lambda found: _show(view, found),
        FIT,
        view.site.workspace,
        view.campaign,
        chosen,
        view.units.mapping,
    )


def _show(view: View, found: FitView) -> None:
    told, units = found.facts, view.units
    long, swept = (units.write(told[key], "length", 3) for key in ("length_m", "swept_diameter_m"))
    size = f"{long} long, sweeps {swept}"
    fits = told["fits"]
    word = "It fits" if fits else "■ It touches"
    tag(
        "p",
        f"{word}: {told['article']}, {size}.",
        "verdict-line good" if fits else "verdict-line stop",
        role="status",
    )
    with tag("div", classes="two"):
        drawn = html(found.section, classes="drawing room large")
        drawn.props["aria-label"] = found.says
        with tag("div"):
            if told["touches"]:
                _touches(view, told)
            if told["mends"]:
                with section("What would mend it", level=3), tag("ul", classes="mends"):
                    for each in told["mends"]:
                        tag("li", each["words"])
    notes(told["cautions"], "What is not looked at, and what belongs before use")


def _touches(view: View, told: Mapping[str, Any]) -> None:
    write = view.units.write
    table(
        ("Part", "Touches", "Too much by", "Above the seat", "Would do"),
        [
            (
                each["part"],
                _LIMITS[each["limit"]],
                write(each["excess_m"], "length", 3),
                f"{write(each['from_m'], 'length', 3)} to {write(each['to_m'], 'length', 3)}",
                write(each["allowed_m"], "length", 4) if each["allowed_m"] else "nothing",
            )
            for each in told["touches"]
        ],
        caption="Where it touches, worst first: on the radius, or in length",
        numbers=(2, 3, 4),
    )
