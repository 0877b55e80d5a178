"""What one tool does: over articles, supplies and time, and among the other tools."""

from __future__ import annotations

from dataclasses import asdict
from pathlib import Path

from strikeproof.desk.comparing.answers import Asking
from strikeproof.desk.comparing.compare import compare_campaign, scored_runs
from strikeproof.desk.runs.judged import Progress
from strikeproof.errors import NotFound
from strikeproof.judge.questions.ageing import find_ageing
from strikeproof.judge.questions.tool_sheet import sheet_lines
from strikeproof.judge.questions.tools import compare_tools
from strikeproof.publish.answers.one_tool import OneTool, one_tool_panel

__all__ = ["ask_tool"]


def ask_tool(workspace: Path, tool: str, name: str | None = None, progress: Progress | None = None) -> Asking:
    """One tool's sheet of results.

    Raises
    ------
    StrikeproofError
        If there is no such campaign or tool, or its runs cannot be asked.
    """
    outcome = compare_campaign(workspace, name, progress)
    comparison, judged = outcome.comparison, outcome.judged
    runs = scored_runs(judged)
    own = [each for each in runs if each.tool == tool]
    if not own:
        raise NotFound("tool", tool, {each.tool for each in runs})
    timed, level = judged.campaign.protocol.score.kind == "time to", comparison.interval_confidence
    supply = {each.stored.row.run: each.stored.row.conditions.get("supply") for each in judged.runs}
    margin, reference = comparison.margin_percent, comparison.reference
    tools = None
    if not any(each.not_reached for each in runs):
        tools = compare_tools(runs, reference, margin_percent=margin, confidence=level, timed=timed)
    places = () if tools is None or tools.best.unknown else tools.best.contenders
    ageing = find_ageing(runs, reference, confidence=level, timed=timed)
    found = OneTool(
        tool,
        reference,
        judged.unit,
        sheet_lines(own, lambda each: each.article),
        sheet_lines([each for each in own if each.article == reference], lambda each: supply[each.run]),
        tuple(each for each in comparison.results if each.tool == tool),
        next((each for each in places if each.article == tool), None),
        tuple(each for each in ageing if each.tool == tool),
    )
    place = found.place
    figures = {
        "tool": tool,
        "unit": judged.unit,
        "scores": [asdict(each) for each in found.lines],
        "supplies": [asdict(each) for each in found.supplies],
        "articles": found.results,
        "place_first": None if place is None else place.ranks[0],
        "place_last": None if place is None else place.ranks[1],
        "ageing": [asdict(each) for each in found.ageing],
    }
    return Asking(outcome, one_tool_panel(found), figures)
