"""One chart of a campaign as a file: drawn, or the numbers behind it."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from pathlib import Path

from strikeproof.desk.browse_units import in_units
from strikeproof.desk.browse_views import ENDINGS
from strikeproof.desk.report import build_report
from strikeproof.desk.workspace import open_campaign
from strikeproof.errors import BadInput, NotFound
from strikeproof.plain_text import write_csv_text
from strikeproof.publish import Report
from strikeproof.publish.drawing import Chart, render_png, render_svg
from strikeproof.publish.explain import BlowView, Why
from strikeproof.publish.gallery import chart_heading, find_charts

__all__ = ["chart_file"]


Rows = Iterable[Sequence[object]]


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
    return _drawn(report, found[chart], ending) if ending != "csv" else _numbers(report, chart)


def _drawn(report: Report, chart: Chart, ending: str) -> bytes:
    heading = chart_heading(report, chart)
    if ending == "svg":
        return render_svg(chart, heading=heading).encode()
    return render_png(chart, heading=heading)


def _numbers(report: Report, chart: str) -> bytes:
    head = "# simulated runs\n" if report.simulated else ""
    kind = "growth" if chart.startswith("growth-") else chart
    rows = _why_rows(report.why, chart) if chart.startswith("why-") and report.why else _ROWS[kind](report)
    return (head + write_csv_text(rows)).encode()


def _gain_rows(report: Report) -> Rows:
    yield ("tool", "article", "verdict", "gain_percent", "low_percent", "high_percent", "p", "price")
    for each in report.comparison.results:
        yield (
            each.tool,
            each.article,
            each.verdict,
            each.gain_percent,
            each.low_percent,
            each.high_percent,
            each.p,
            each.price,
        )


def _growth_rows(report: Report) -> Rows:
    yield ("tool", "article", "run", "set_aside", "time_s", f"level [{report.level_unit}]")
    for run in report.runs:
        for time, level in zip(run.growth_time.tolist(), run.growth_level.tolist(), strict=True):
            yield (run.tool, run.article, run.run, run.set_aside or "", time, level)


def _order_rows(report: Report) -> Rows:
    yield ("order", "run", "tool", "article", "block", f"score [{report.unit}]", "set_aside")
    for run in sorted(report.runs, key=lambda each: each.order):
        yield (run.order, run.run, run.tool, run.article, run.block, run.score, run.set_aside or "")


def _calibration_rows(report: Report) -> Rows:
    fit = report.calibration
    yield (f"applied [{report.applied_unit}]", f"reading [{report.reading_unit}]", "residual")
    if fit is not None:
        yield from zip(fit.applied.tolist(), fit.reading.tolist(), fit.residuals.tolist(), strict=True)


_ROWS = {
    "gain": _gain_rows,
    "price": _gain_rows,
    "growth": _growth_rows,
    "run-order": _order_rows,
    "calibration": _calibration_rows,
}


def _why_rows(why: Why, chart: str) -> Rows:
    if chart == "why-weights":
        yield ("rival", "weight", "probability", "error_percent", "elpd", "elpd_error")
        for rival in why.explanation.rivals:
            yield (
                rival.name,
                rival.weight,
                rival.probability,
                rival.error_percent,
                rival.elpd,
                rival.elpd_error,
            )
    elif chart == "why-inertia":
        yield ("tool", "rival", "inertia_kg_m2", "gain_percent", "low_percent", "high_percent")
        for curve in why.curves:
            for place in range(curve.inertia.size):
                values = (curve.inertia, curve.middle, curve.low, curve.high)
                yield (curve.tool, curve.rival, *(float(each[place]) for each in values))
    elif chart in ("why-left-out", "why-split"):
        yield (
            *("tool", "article", "measured_percent", "foretold_percent", "low_percent", "high_percent"),
            *("inertia_percent", "stiffness_percent", "gap_percent", "bond_percent"),
        )
        for row in why.explanation.articles:
            parts = ("",) * 4 if row.split is None else tuple(row.split.as_json().values())
            yield (
                row.tool,
                row.article,
                row.measured_percent,
                row.predicted_percent,
                row.low,
                row.high,
                *parts,
            )
    elif chart == "why-blow":
        yield from _blow_rows(why.blows)
    else:
        yield ("article", "part", "energy_j")
        for view in why.blows:
            for part, value in view.ledger.as_json().items():
                if isinstance(value, float):
                    yield (view.article, part.removesuffix("_j"), value)


def _blow_rows(blows: Sequence[BlowView]) -> Rows:
    story = blows[0].story
    yield (
        "article",
        "time_ms",
        *(f"angle {body} [deg]" for body in story.bodies),
        *(f"torque {number} [N m]" for number in range(1, story.torques.shape[1] + 1)),
        "clamp_load_kn",
    )
    for view in blows:
        told = view.story
        for place, time in enumerate(told.time.tolist()):
            yield (
                view.article,
                time,
                *told.angles[place].tolist(),
                *told.torques[place].tolist(),
                float(told.clamp_load[place]),
            )
