"""One chart of a campaign as a file: drawn, or the numbers behind it."""

from __future__ import annotations

from collections.abc import Mapping
from pathlib import Path

from strikeproof.desk.publishing.report import build_report
from strikeproof.desk.publishing.units import in_units
from strikeproof.desk.publishing.views import ENDINGS, Drawing
from strikeproof.desk.workspace.opening import open_campaign
from strikeproof.errors import BadInput, NotFound
from strikeproof.plain_text import write_csv_text
from strikeproof.publish.drawing import Chart, render_png, render_svg
from strikeproof.publish.gallery import chart_heading, find_charts, page_drawing

__all__ = ["chart_file", "save_chart", "show_chart"]


def chart_file(workspace: Path, name: str | None, chart: str, ending: str, units: Mapping[str, str]) -> bytes:
    """A chart of the published page as SVG or PNG, or its numbers as CSV.

    Raises
    ------
    BadInput, NotFound
        If the ending is another one, or the campaign has no such chart.
    """
    if ending not in ENDINGS:
        raise BadInput(repr(ending), where="chart", allowed=", ".join(ENDINGS))
    store, key, campaign = open_campaign(workspace, name)
    why = chart.startswith("why-")
    report, outcome = build_report(store, key, campaign, "", why=why)
    report = in_units(report, outcome.judged.worth, units)
    found = {each.name: each for each in find_charts(report)}
    if chart not in found:
        raise NotFound("chart", chart, found)
    drawn = found[chart]
    return save_chart(drawn, ending, chart_heading(report, drawn), simulated=report.simulated)


def show_chart(chart: Chart) -> Drawing:
    """A chart for a screen."""
    both = page_drawing(chart)
    return Drawing(chart.name, chart.title, chart.says, str(both["wide"]), str(both["narrow"]))


def save_chart(chart: Chart, ending: str, heading: tuple[str, ...], *, simulated: bool) -> bytes:
    """A chart as a file; as CSV, the numbers behind it."""
    if ending == "svg":
        return render_svg(chart, heading=heading).encode()
    if ending == "png":
        return render_png(chart, heading=heading)
    head = "# simulated runs\n" if simulated else ""
    return (head + write_csv_text(chart.rows())).encode()
