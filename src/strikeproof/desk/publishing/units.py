"""A report in the units of the person who looks at it."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace

from strikeproof.desk.calibrating.worth import Worth
from strikeproof.judge.records import ArticleResult, Comparison, RigControl
from strikeproof.publish.report import Report, ReportRun
from strikeproof.quantity import from_si, to_si, unit_label

__all__ = ["in_units"]


def in_units(report: Report, worth: Worth, units: Mapping[str, str]) -> Report:
    """The report with scores and levels in the unit that `units` names for their kind.

    Plain readings, and scores that are times, stay as they are; so does the calibration of its sheet.
    """
    if worth.kind is None or worth.kind not in units:
        return report
    unit = units[worth.kind]
    factor = from_si(to_si(1.0, worth.unit, worth.kind), unit, worth.kind)
    timed = report.campaign.protocol.score.kind == "time to"
    score = 1.0 if timed else factor
    return replace(
        report,
        unit=report.unit if timed else unit_label(unit),
        level_unit=unit_label(unit),
        runs=tuple(_run(each, score, factor, "" if timed else unit_label(unit)) for each in report.runs),
        comparison=report.comparison if timed else _comparison(report.comparison, factor),
    )


def _run(run: ReportRun, score: float, level: float, unit: str) -> ReportRun:
    return replace(
        run,
        unit=unit or run.unit,
        score=_times(run.score, score),
        standard_uncertainty=_times(run.standard_uncertainty, score),
        growth_level=run.growth_level * level,
    )


def _comparison(comparison: Comparison, factor: float) -> Comparison:
    return replace(
        comparison,
        results=tuple(_result(each, factor) for each in comparison.results),
        controls=tuple(_control(each, factor) for each in comparison.controls),
    )


def _result(result: ArticleResult, factor: float) -> ArticleResult:
    return replace(
        result,
        median=_times(result.median, factor),
        median_low=_times(result.median_low, factor),
        median_high=_times(result.median_high, factor),
    )


def _control(rig: RigControl, factor: float) -> RigControl:
    """A control chart of scores; one over several tools holds ratios, which have no unit."""
    if rig.tool is None:
        return rig
    return replace(
        rig,
        centre=_times(rig.centre, factor),
        limits=None if rig.limits is None else (rig.limits[0] * factor, rig.limits[1] * factor),
        points=tuple(replace(point, value=point.value * factor) for point in rig.points),
    )


def _times(value: float | None, factor: float) -> float | None:
    return None if value is None else value * factor
