"""Rows of the page's tables: every number with its digits, or a dash."""

from __future__ import annotations

from dataclasses import replace

from strikeproof.campaign.flags import FLAGS, find_flag
from strikeproof.judge.records import Comparison
from strikeproof.language import retold, say, write_figures
from strikeproof.publish.report import Report, ReportRun
from strikeproof.publish.results import ResultTable, result_table
from strikeproof.publish.texts import given, plain, unit_words
from strikeproof.publish.verdicts import SIGNS, gain_words, sign_of, verdict_sentence
from strikeproof.quantity import unit_label, write_number, write_uncertain

__all__ = ["facts", "flag_rows", "protocol_rows", "results_of", "run_rows", "said", "set_aside_rows"]

Row = dict[str, object]

_NONE = "–"


def facts(report: Report) -> list[tuple[str, str]]:
    """The title block: what a reader looks for before reading."""
    campaign = report.campaign
    aside = sum(run.row.set_aside is not None for run in report.runs)
    return [
        (say("Reference"), campaign.reference),
        (say("Articles"), str(len({run.row.article for run in report.runs}))),
        (say("Tools"), str(len(report.tools))),
        (
            say("Runs"),
            say("{runs}, {aside} excluded", runs=len(report.runs), aside=aside)
            if aside
            else str(len(report.runs)),
        ),
        (say("Judged by"), f"{report.quantity} ({unit_words(report.unit)})"),
        (say("Same within"), f"{given(report.comparison.margin_percent)} %"),
        (say("Rig"), report.rig_words),
        (say("Made"), report.made),
    ]


def protocol_rows(report: Report) -> list[tuple[str, str]]:
    """How every run was made."""
    protocol, rig = report.campaign.protocol, report.campaign.rig
    rows = [
        (say("Duration of a run"), f"{given(protocol.duration_s)} s"),
        (say("Direction"), str(report.campaign.turning)),
        (say("Score"), say("{quantity}, in {unit}", quantity=report.quantity, unit=unit_words(report.unit))),
        (
            say("Judged channel"),
            say(
                "{channel}, in {reading_unit}",
                channel=rig.channel or say("the only one"),
                reading_unit=report.reading_unit,
            ),
        ),
    ]
    for each in report.campaign.other_rigs:
        rows.append(
            (
                say("Judged channel of {rig}", rig=each.rig.name),
                say(
                    "{channel}, in {reading_unit}",
                    channel=each.rig.channel or say("the only one"),
                    reading_unit=unit_words(unit_label(each.rig.unit)),
                ),
            )
        )
    for tool in report.campaign.tools:
        known = [
            tool.mechanism,
            tool.supply,
            say("{drive_mm} mm square", drive_mm=write_figures(f"{tool.drive_mm:g}"))
            if tool.drive_mm
            else None,
        ]
        rows.append(
            (
                say("Tool {name}", name=tool.name),
                ", ".join(word for word in known if word) or say("nothing more is known"),
            )
        )
    return rows


def said(report: Report, tool: str) -> list[Row]:
    """The plain sentences about a tool's articles, the clearest first."""
    order = list(SIGNS)
    rows = [each for each in report.comparison.results if each.tool == tool and each.verdict != "reference"]
    rows.sort(key=lambda each: (order.index(each.verdict), -abs(each.gain_percent or 0.0)))
    return [{"sign": sign_of(each), "text": verdict_sentence(each, report.comparison)} for each in rows]


def results_of(report: Report, tool: str) -> ResultTable:
    """The table of results of one tool."""
    ratios = {
        (run.row.article, run.row.tool)
        for run in report.runs
        if report.uncalibrated is not None or (run.only_ratio is not None and run.row.set_aside is None)
    }
    return result_table(report.comparison, tool, report.unit, report.campaign.currency, ratios)


def set_aside_rows(comparison: Comparison) -> list[Row]:
    """Gains without and with the excluded runs, where there are such runs."""
    return [
        {
            "article": each.article,
            "tool": each.tool,
            "without": gain_words(each),
            "with": gain_words(
                replace(
                    each,
                    gain_percent=each.gain_percent_with_set_aside,
                    low_percent=each.low_percent_with_set_aside,
                    high_percent=each.high_percent_with_set_aside,
                )
            ),
        }
        for each in comparison.results
        if each.verdict != "reference"
        and (each.low_percent_with_set_aside, each.high_percent_with_set_aside) != (None, None)
    ]


def run_rows(report: Report) -> list[Row]:
    """Every run in the order made."""
    return [_run_row(run) for run in sorted(report.runs, key=lambda each: each.order)]


def flag_rows(report: Report) -> list[tuple[str, str]]:
    """The kinds of flag that occur, with what they mean."""
    kinds = {kind for run in report.runs for kind, _ in run.flags}
    return [(retold(FLAGS[kind].words), FLAGS[kind].meaning) for kind in sorted(kinds) if kind in FLAGS]


def _run_row(run: ReportRun) -> Row:
    return {
        "order": run.order,
        "run": plain(run.row.run),
        "article": run.row.article,
        "tool": run.row.tool,
        "block": run.row.block,
        "started": run.row.started or _NONE,
        "score": _score(run),
        "score_key": "" if run.score is None else repr(run.score),
        "clamp": _NONE if run.clamp_load_n is None else f"{write_number(run.clamp_load_n / 1000)} kN",
        "clamp_key": "" if run.clamp_load_n is None else repr(run.clamp_load_n),
        "torque": _NONE if run.torque_n_m is None else f"{write_number(run.torque_n_m)} N·m",
        "torque_key": "" if run.torque_n_m is None else repr(run.torque_n_m),
        "blows": _NONE if run.blows is None else str(run.blows),
        "rate": _NONE if run.blow_rate_hz is None else f"{write_number(run.blow_rate_hz, 3)} Hz",
        "rate_key": "" if run.blow_rate_hz is None else repr(run.blow_rate_hz),
        "flags": [(find_flag(kind).words, detail) for kind, detail in run.flags],
        "ratio": run.only_ratio,
        "set_aside": run.row.set_aside,
        "note": run.row.note,
    }


def _score(run: ReportRun) -> str:
    if run.not_reached_s is not None:
        return say(
            "not reached in {not_reached_s} s", not_reached_s=write_figures(f"{run.not_reached_s:.3g}")
        )
    if run.score is None:
        return say("no score")
    if run.standard_uncertainty is None:
        return f"{write_number(run.score)} {unit_words(run.unit)}"
    return write_uncertain(run.score, run.standard_uncertainty, unit_words(run.unit))
