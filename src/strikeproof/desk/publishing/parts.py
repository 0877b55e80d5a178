"""A campaign's results, explanation and charts, part by part, in the units of who looks."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping
from dataclasses import replace
from pathlib import Path
from typing import Any

from strikeproof.desk.calibrating.worth import Worth
from strikeproof.desk.comparing.answers import EnoughWishes, ask_change, ask_difference, ask_enough
from strikeproof.desk.comparing.compare import ComparisonOutcome
from strikeproof.desk.comparing.elsewhere import ElsewhereWishes, ask_elsewhere
from strikeproof.desk.comparing.one_tool import ask_tool
from strikeproof.desk.explaining.explain import ExplainOutcome, explain_workspace, find_explanation
from strikeproof.desk.publishing.report import build_report, tell_why
from strikeproof.desk.publishing.views import (
    ENDINGS,
    AnswerPanel,
    AnswerRows,
    ChartSection,
    ComparisonView,
    Drawing,
    ExplanationView,
    Mark,
    ToolResults,
)
from strikeproof.desk.workspace.opening import open_campaign
from strikeproof.errors import BadInput, NotFound
from strikeproof.judge.records import ArticleResult, Comparison, RigControl
from strikeproof.language import comma_in_files, language_now, speaking
from strikeproof.plain_text import write_csv_text
from strikeproof.publish.answers import Panel, panels_of
from strikeproof.publish.drawing import Chart, render_png, render_svg
from strikeproof.publish.explain import why_charts, why_section
from strikeproof.publish.gallery import SECTIONS, chart_heading, find_charts, page_drawing
from strikeproof.publish.report import Report, ReportRun
from strikeproof.publish.summary import summary
from strikeproof.publish.tables import results_of, said, set_aside_rows
from strikeproof.publish.texts import sentence
from strikeproof.publish.verdicts import alarms, rig_sentences
from strikeproof.quantity import from_si, parse_number, to_si, unit_label

__all__ = [
    "ask_to_show",
    "change_to_show",
    "chart_file",
    "compare_to_show",
    "elsewhere_to_show",
    "enough_to_show",
    "explain_to_show",
    "kept_explanation_to_show",
    "save_chart",
    "show_chart",
    "tool_to_show",
]

Progress = Callable[[int, int], None]


def compare_to_show(
    workspace: Path, name: str | None, units: Mapping[str, str], progress: Progress | None = None
) -> ComparisonView:
    """Compare the articles of a campaign, in the given units.

    Raises
    ------
    StrikeproofError
        If there is no such campaign, or no run in it has a score.
    """
    store, key, campaign = open_campaign(workspace, name)
    report, outcome = build_report(store, key, campaign, "", progress, why=False)
    return _comparison(_in_units(report, outcome.judged.worth, units), outcome)


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
        answers=tuple(map(panel_to_show, panels_of(report))),
        articles=tuple(each.name for each in report.campaign.articles),
        simulated=report.simulated,
    )


def panel_to_show(panel: Panel) -> AnswerPanel:
    """A panel for a front."""
    return AnswerPanel(
        panel.key,
        panel.heading,
        tuple((_mark(sign), text) for sign, text in panel.said),
        tuple(
            AnswerRows(
                each.caption,
                each.heads,
                tuple((_mark(sign), cells) for sign, cells in each.rows),
                each.verdict,
            )
            for each in panel.tables
        ),
        panel.notes,
    )


def _mark(sign: Any) -> Mark:
    return Mark(sign.word, sign.role, sign.path, sign.hollow)


def ask_to_show(
    workspace: Path, text: str, name: str | None = None, progress: Progress | None = None
) -> AnswerPanel:
    """A difference as a person wrote it, with every tool it ran with.

    Raises
    ------
    StrikeproofError
        If there is no such campaign, its runs cannot be asked, or the text cannot be read.
    """
    return panel_to_show(ask_difference(workspace, [text], name, progress).panel)


def change_to_show(
    workspace: Path, before: str, after: str, name: str | None = None, progress: Progress | None = None
) -> AnswerPanel:
    """What a change did to one piece.

    Raises
    ------
    StrikeproofError
        If there is no such campaign or article, or its runs cannot be asked.
    """
    return panel_to_show(ask_change(workspace, before, after, name, progress).panel)


def tool_to_show(
    workspace: Path, tool: str, name: str | None = None, progress: Progress | None = None
) -> AnswerPanel:
    """What one tool does.

    Raises
    ------
    StrikeproofError
        If there is no such campaign or tool, or its runs cannot be asked.
    """
    return panel_to_show(ask_tool(workspace, tool, name, progress).panel)


def enough_to_show(
    workspace: Path, typed: Mapping[str, str], name: str | None = None, progress: Progress | None = None
) -> AnswerPanel:
    """How many blocks are enough, for what a person typed: difference, power, hour, bolt; empty for none.

    Raises
    ------
    StrikeproofError
        If there is no such campaign, its runs cannot be asked, or what is typed is no number.
    """
    found = {key: parse_number(text) for key, text in typed.items() if text.strip()}
    wishes = EnoughWishes(
        found.get("difference"), found.get("power", 80.0) / 100.0, found.get("hour"), found.get("bolt")
    )
    return panel_to_show(ask_enough(workspace, wishes, name, progress).panel)


def elsewhere_to_show(
    workspace: Path, tool: str = "", *, calibrated: bool = False, progress: Progress | None = None
) -> AnswerPanel:
    """All campaigns of a workspace and its published summaries together.

    Raises
    ------
    StrikeproofError
        If fewer than two of them can be compared, or a file cannot be used.
    """
    wishes = ElsewhereWishes(tool=tool or None, calibrated_only=calibrated)
    return panel_to_show(ask_elsewhere(workspace, wishes, progress).panel)


def explain_to_show(
    workspace: Path,
    name: str | None,
    *,
    quick: bool = False,
    progress: Callable[[int, int, str], None] | None = None,
) -> ExplanationView:
    """Set the candidate explanations of a campaign against each other.

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


def chart_file(
    workspace: Path,
    name: str | None,
    chart: str,
    ending: str,
    units: Mapping[str, str],
    comma: bool = False,
) -> bytes:
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
    report = _in_units(report, outcome.judged.worth, units)
    found = {each.name: each for each in find_charts(report)}
    if chart not in found:
        raise NotFound("chart", chart, found)
    drawn = found[chart]
    with speaking(language_now(), decimal_comma=comma):
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
    return (head + write_csv_text(chart.rows(), decimal_comma=comma_in_files())).encode()


def _in_units(report: Report, worth: Worth, units: Mapping[str, str]) -> Report:
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
        comparison=report.comparison if timed else _converted(report.comparison, factor),
    )


def _run(run: ReportRun, score: float, level: float, unit: str) -> ReportRun:
    return replace(
        run,
        unit=unit or run.unit,
        score=_times(run.score, score),
        standard_uncertainty=_times(run.standard_uncertainty, score),
        growth_level=run.growth_level * level,
    )


def _converted(comparison: Comparison, factor: float) -> Comparison:
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
