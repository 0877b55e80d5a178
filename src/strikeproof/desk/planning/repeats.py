"""What more repeats buy: the smallest difference they show, and what they cost in runs and hours."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from pathlib import Path
from typing import Any, Final

from strikeproof.desk.setting_up.editor import open_set_up
from strikeproof.errors import BadInput
from strikeproof.judge.repeats import difference_shown, repeats_for
from strikeproof.quantity import parse_quantity, write_number

__all__ = ["USUAL_REPEATABILITY", "DrawnPower", "PowerCurve", "PowerPoint", "draw_power", "power_curve"]

USUAL_REPEATABILITY: Final = 2.0
"""Standard deviation of repeated runs where the rig's own is not known, percent (common practice)."""
_MOST: Final = 20


@dataclass(frozen=True, slots=True)
class PowerPoint:
    """So many repeats: the difference they show with 80 % power, the runs and the time. [%, 1, s]"""

    repeats: int
    difference_percent: float
    runs: int
    time_s: float


@dataclass(frozen=True, slots=True)
class PowerCurve:
    """What each number of repeats shows.

    Attributes
    ----------
    points
        From 1 repeat on.
    repeatability_percent, assumed
        What the curve is for, and whether it is only the usual value.
    needed
        Repeats for the smallest difference that the protocol asks for, None when it asks for none.
    chosen
        Repeats that the plan will use, None when nothing says.
    """

    points: tuple[PowerPoint, ...]
    repeatability_percent: float
    assumed: bool
    needed: int | None
    chosen: int | None

    @property
    def says(self) -> str:
        """The curve in one sentence."""
        scatter = write_number(self.repeatability_percent, 2)
        base = f"the usual {scatter} %; measure your own" if self.assumed else f"{scatter} %"
        point = next((each for each in self.points if each.repeats == (self.chosen or 4)), self.points[-1])
        shown = write_number(point.difference_percent, 2)
        return (
            f"{point.repeats} repeats show a difference of {shown} % from the reference with 80 % power, all "
            f"comparisons together at 95 %, for runs that repeat to {base}."
        )


def power_curve(tables: Mapping[str, Any], *, most: int = _MOST) -> PowerCurve:
    """The curve of a campaign as far as it is set up.

    Raises
    ------
    BadInput
        If there is nothing to compare yet, or a value in it cannot be used.
    """
    articles, tools = len(tables.get("article", [])), len(tables.get("tool", []))
    if articles < 2 or not tools:
        raise BadInput(
            f"{articles} articles and {tools} tools",
            where="repeats",
            allowed="at least two articles and one tool",
            fix="add what is to be compared",
        )
    protocol = tables.get("protocol", {})
    known = _number(tables.get("rig", {}).get("repeatability_percent"))
    wanted = _number(protocol.get("smallest_difference_percent"))
    scatter = known or USUAL_REPEATABILITY
    comparisons = (articles - 1) * tools
    pause = _seconds(protocol.get("duration", "10 s")) + _seconds(protocol.get("cool_down", "0 s"))
    counts = [(repeats, repeats * tools * (articles + 1)) for repeats in range(1, most + 1)]
    points = tuple(
        PowerPoint(repeats, difference_shown(repeats, scatter, comparisons, tools=tools), runs, runs * pause)
        for repeats, runs in counts
    )
    needed = None if wanted is None else repeats_for(wanted, scatter, comparisons, tools=tools)
    given = protocol.get("repeats")
    return PowerCurve(points, scatter, known is None, needed, given if isinstance(given, int) else needed)


def _number(value: Any) -> float | None:
    """A usable number, None for what is not there or waits to be fixed."""
    good = isinstance(value, int | float) and not isinstance(value, bool) and 0 < value < 100
    return float(value) if good else None


def _seconds(text: Any) -> float:
    try:
        return parse_quantity(str(text), "time")
    except BadInput:
        return 0.0


@dataclass(frozen=True, slots=True)
class DrawnPower:
    """The curve with its picture, wide and narrow, as markup for a page, and as a file."""

    curve: PowerCurve
    wide: str
    narrow: str
    says: str
    file: str


def draw_power(workspace: Path, name: str, mark: str = "") -> DrawnPower:
    """The power curve of the campaign called `name`, drawn.

    Parameters
    ----------
    mark
        Of the state that is asked about: who shares answers must not share one of another state.

    Raises
    ------
    BadInput, NotFound
        If there is nothing to compare yet, or no such campaign.
    """
    # Drawing takes a plotting library, which nobody waits for who wants the figures only.
    from strikeproof.publish.charts.power import power_chart
    from strikeproof.publish.drawing import render_svg
    from strikeproof.publish.gallery import page_drawing

    tables = open_set_up(workspace, name).tables
    curve = power_curve(tables)
    margin = _number(tables.get("campaign", {}).get("margin_percent")) or 3.0
    wanted = _number(tables.get("protocol", {}).get("smallest_difference_percent"))
    points = [
        (each.repeats, each.difference_percent) for each in curve.points if each.difference_percent < 60
    ]
    chart = power_chart(points, curve.chosen, wanted, margin)
    drawn = page_drawing(chart)
    heading = (chart.title, str(tables.get("campaign", {}).get("name", "")))
    return DrawnPower(
        curve, str(drawn["wide"]), str(drawn["narrow"]), chart.says, render_svg(chart, heading=heading)
    )
