"""A campaign's results and its explanation as the published page tells them, part by part for a front."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping
from dataclasses import replace
from pathlib import Path
from typing import Any

from strikeproof.desk.comparing.compare import ComparisonOutcome
from strikeproof.desk.explaining.explain import ExplainOutcome, explain_workspace, find_explanation
from strikeproof.desk.explaining.why import tell_why
from strikeproof.desk.publishing.chart_file import show_chart
from strikeproof.desk.publishing.report import build_report
from strikeproof.desk.publishing.units import in_units
from strikeproof.desk.publishing.views import ChartSection, ComparisonView, ExplanationView, Mark, ToolResults
from strikeproof.desk.workspace.opening import open_campaign
from strikeproof.publish.explain import why_charts, why_section
from strikeproof.publish.gallery import SECTIONS, find_charts
from strikeproof.publish.report import Report
from strikeproof.publish.summary import summary
from strikeproof.publish.tables import results_of, said, set_aside_rows
from strikeproof.publish.texts import sentence
from strikeproof.publish.verdicts import alarms, rig_sentences

__all__ = ["compare_to_show", "explain_to_show", "kept_explanation_to_show"]

Progress = Callable[[int, int], None]


def compare_to_show(
    workspace: Path, name: str | None, units: Mapping[str, str], progress: Progress | None = None
) -> ComparisonView:
    """Compare the articles of a campaign, told in the given units.

    Raises
    ------
    StrikeproofError
        If there is no such campaign, or no run in it has a score.
    """
    store, key, campaign = open_campaign(workspace, name)
    report, outcome = build_report(store, key, campaign, "", progress, why=False)
    return _comparison(in_units(report, outcome.judged.worth, units), outcome)


def _comparison(report: Report, outcome: ComparisonOutcome) -> ComparisonView:
    comparison = report.comparison
    told = tuple(dict.fromkeys((*report.warnings, *comparison.warnings)))
    return ComparisonView(
        alarms=(*(sentence(text) for text in report.doubts), *alarms(comparison)),
        rig=tuple(text for rig in comparison.controls for text in rig_sentences(rig)),
        summary=tuple(summary(report)),
        uncalibrated=report.uncalibrated,
        quantity=report.quantity,
        unit=report.unit,
        reference=comparison.reference,
        confidence_percent=100.0 * comparison.confidence,
        margin_percent=comparison.margin_percent,
        tools=tuple(
            ToolResults(
                table.tool,
                tuple((_mark(each["sign"]), str(each["text"])) for each in said(report, table.tool)),
                table.heads,
                tuple((_mark(sign), cells) for sign, cells in table.rows),
            )
            for table in (results_of(report, tool) for tool in report.tools)
        ),
        set_aside=tuple(set_aside_rows(comparison)),
        warnings=tuple(sentence(text) for text in told),
        charts=dict(_charts(report)),
        simulated=report.simulated,
    )


def _mark(sign: Any) -> Mark:
    return Mark(sign.word, sign.role, sign.path, sign.hollow)


def explain_to_show(
    workspace: Path,
    name: str | None,
    *,
    quick: bool = False,
    progress: Callable[[int, int, str], None] | None = None,
) -> ExplanationView:
    """Set the rival explanations of a campaign against each other.

    Raises
    ------
    StrikeproofError
        If there is no such campaign, it says too little to begin, or a fit that matters did not converge.
    """
    return _explanation(explain_workspace(workspace, name, quick=quick, progress=progress))


def kept_explanation_to_show(workspace: Path, name: str | None) -> ExplanationView | None:
    """The explanation that was worked out before for the campaign as it is now, or None."""
    store, key, campaign = open_campaign(workspace, name)
    found = find_explanation(store, key, campaign)
    return None if found is None else _explanation(found)


def _explanation(outcome: ExplainOutcome) -> ExplanationView:
    why = tell_why(outcome)
    return ExplanationView(
        section=why_section(why) or {},
        tables=tuple(tuple(rows) for rows in outcome.tables()),
        drawings=tuple(show_chart(each) for each in why_charts(why)),
        quick=outcome.explanation.diagnostics.quick,
    )


def _charts(report: Report) -> Iterator[tuple[str, ChartSection]]:
    charts = find_charts(replace(report, calibration=None, why=None))  # both have pages of their own
    for key, (heading, says) in SECTIONS.items():
        drawn = tuple(show_chart(each) for each in charts if each.section == key)
        if drawn:
            yield key, ChartSection(heading, says.format(reference=report.comparison.reference), drawn)
