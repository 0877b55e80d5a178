"""All charts of a report, as files or for the page."""

from __future__ import annotations

import re
import textwrap
from collections.abc import Mapping
from pathlib import Path
from typing import Final

from markupsafe import Markup

from strikeproof.campaign.whole_file import write_whole
from strikeproof.errors import BadInput
from strikeproof.language import say
from strikeproof.publish.charts.calibration import calibration_charts
from strikeproof.publish.charts.gain import gain_charts
from strikeproof.publish.charts.growth import growth_charts
from strikeproof.publish.charts.price import price_charts
from strikeproof.publish.charts.run_order import run_order_charts
from strikeproof.publish.charts.tools import tool_charts
from strikeproof.publish.drawing import NARROW, WIDE, Chart, render_png, render_svg, themed
from strikeproof.publish.explain import why_charts
from strikeproof.publish.report import Report
from strikeproof.publish.texts import clip

__all__ = [
    "SECTIONS",
    "chart_heading",
    "draw_charts",
    "draw_svg_charts",
    "find_charts",
    "page_drawing",
    "write_charts",
]

SECTIONS: Final[Mapping[str, tuple[str, str]]] = {
    "found": (say("What was found"), ""),
    "tools": (say("Does it hold with each tool"), ""),
    "why": (say("Why"), ""),
    "growth": (
        say("How the level grows"),
        say(
            "Solid line: median of the runs. Shaded: from the lowest run to the highest. Dashed: the "
            "median of {reference}. Dotted with a hollow end: an excluded run."
        ),
    ),
    "rig": (say("The rig through the campaign"), ""),
    "price": (say("Price against gain"), ""),
    "calibration": (say("Calibration"), ""),
}
"""Where a chart may be: the heading, and what is said above its charts."""


def find_charts(report: Report) -> tuple[Chart, ...]:
    """Every chart that the report has data for, under names of their own."""
    kinds = (gain_charts, tool_charts, growth_charts, run_order_charts, calibration_charts, price_charts)
    drawn = tuple(chart for kind in kinds for chart in kind(report))
    return (*drawn, *why_charts(report.why))


def draw_charts(report: Report) -> dict[str, str | bytes]:
    """File name to content: an SVG and a PNG for each chart, in light colours."""
    files: dict[str, str | bytes] = {}
    for chart in find_charts(report):
        heading = chart_heading(report, chart)
        files[f"{chart.name}.svg"] = render_svg(chart, heading=heading)
        files[f"{chart.name}.png"] = render_png(chart, heading=heading)
    return files


def draw_svg_charts(report: Report) -> dict[str, str]:
    """File name to content of the SVG files alone, as `draw_charts` has them."""
    return {
        f"{chart.name}.svg": render_svg(chart, heading=chart_heading(report, chart))
        for chart in find_charts(report)
    }


def chart_heading(report: Report, chart: Chart) -> tuple[str, ...]:
    """What a picture must say for itself once it has left the page."""
    whose = f"{clip(report.campaign.name, 60)}, {report.made}"
    lines = (chart.title, say("SIMULATED runs: {whose}", whose=whose) if report.simulated else whose)
    return (*lines, *textwrap.wrap(chart.key, int(WIDE.width / (0.56 * WIDE.letters))))


def write_charts(report: Report, folder: str | Path) -> tuple[Path, ...]:
    """Write every chart into a folder, made when missing.

    Raises
    ------
    BadInput
        If the folder cannot be written to.
    """
    target = Path(folder)
    written = []
    try:
        target.mkdir(parents=True, exist_ok=True)
    except OSError as cause:
        raise BadInput(
            f"charts cannot be written ({cause.strerror})",
            where=str(target),
            allowed="a folder that can be written to",
            fix="name another folder",
        ) from cause
    for name, content in draw_charts(report).items():
        path = target / name
        write_whole(path, content)
        written.append(path)
    return tuple(written)


def page_drawing(chart: Chart) -> dict[str, object]:
    """What the page needs of a chart: its words, and it drawn wide and narrow."""
    return {
        "name": chart.name,
        "title": chart.title,
        "says": chart.says,
        "wide": Markup(_slim(themed(render_svg(chart, WIDE)))),  # our own drawing, its text escaped by it
        "narrow": Markup(_slim(themed(render_svg(chart, NARROW)))),
    }


def _slim(svg: str) -> str:
    """The drawing with its paths to a hundredth of a pixel, which halves it."""
    return re.sub(r' d="[^"]*"', lambda path: re.sub(r"(\.\d\d)\d+", r"\1", path[0]), svg)
