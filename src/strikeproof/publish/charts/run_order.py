"""Run-order chart: the reference with centre, limits and drift, every other run behind it."""

from __future__ import annotations

import math

import numpy as np
from matplotlib.axes import Axes
from matplotlib.figure import FigureBase

from strikeproof.judge.records import RigControl
from strikeproof.language import say
from strikeproof.publish.colours import light
from strikeproof.publish.drawing import Chart, Rows, Sheet, finish_axes
from strikeproof.publish.report import Report, ReportRun
from strikeproof.publish.texts import clip, unit_words
from strikeproof.publish.verdicts import rig_sentences

__all__ = ["drift_line", "run_order_charts"]


def run_order_charts(report: Report) -> tuple[Chart, ...]:
    """The one run-order chart, a panel a tool, when there is a score to show."""
    panels = [(rig, runs) for rig in report.comparison.controls if (runs := _scored(report, rig.tool))]
    if not panels:
        return ()

    def height(sheet: Sheet) -> int:
        return len(panels) * (215 if sheet.narrow else 250) + 70

    def draw(figure: FigureBase, sheet: Sheet) -> None:
        _draw(figure, sheet, report, panels)

    says = " ".join(" ".join(rig_sentences(rig)) for rig, _ in panels)
    title = say("Every run in the order it was made")
    return (Chart("run-order", "rig", title, says, height, draw, rows=lambda: _numbers(report)),)


def _numbers(report: Report) -> Rows:
    yield ("order", "run", "tool", "article", "block", f"score [{report.unit}]", "set_aside")
    for run in sorted(report.runs, key=lambda each: each.order):
        yield (
            run.order,
            run.row.run,
            run.row.tool,
            run.row.article,
            run.row.block,
            run.score,
            run.row.set_aside or "",
        )


def _finite(run: ReportRun) -> bool:
    return run.score is not None and math.isfinite(run.score)


def _scored(report: Report, tool: str | None) -> list[ReportRun]:
    return [run for run in report.runs if _finite(run) and tool in (None, run.row.tool)]


def _draw(
    figure: FigureBase, sheet: Sheet, report: Report, panels: list[tuple[RigControl, list[ReportRun]]]
) -> None:
    cells = figure.subplots(len(panels), 1, sharex=True, squeeze=False)[:, 0]
    for cell, (rig, runs) in zip(cells, panels, strict=True):
        _draw_others(cell, runs, report.comparison.reference, sheet)
        if rig.tool is not None:
            _draw_reference(cell, rig)
        cell.set_title(say("with {tool}", tool=clip(rig.tool or say("all tools"), 30)), fontweight="bold")
        finish_axes(cell)
        cell.margins(x=0.03)
    figure.supxlabel(say("run, in the order made (count)"), fontsize=sheet.letters)
    figure.supylabel(f"{clip(report.quantity, 40)} ({unit_words(report.unit)})", fontsize=sheet.letters)
    known = {
        label: line for cell in cells for line, label in zip(*cell.get_legend_handles_labels(), strict=True)
    }
    figure.legend(
        list(known.values()),
        list(known),
        loc="outside upper left",
        ncols=2 if sheet.narrow else 7,
        fontsize=sheet.letters * 0.92,
        handlelength=1.6,
        columnspacing=1.2,
    )


def _draw_others(cell: Axes, runs: list[ReportRun], reference: str, sheet: Sheet) -> None:
    size = 3.2 if sheet.narrow else 4.2
    kept = [run for run in runs if run.row.set_aside is None and run.row.article != reference]
    aside = [run for run in runs if run.row.set_aside is not None]
    cell.plot(
        [run.order for run in kept],
        _scores(kept),
        "o",
        ms=size,
        mfc=light("rule"),
        mec=light("soft"),
        mew=0.6,
        label=say("other articles"),
    )
    if aside:
        cell.plot(
            [run.order for run in aside],
            _scores(aside),
            "o",
            ms=size + 3,
            mfc="none",
            mec=light("ink"),
            mew=1.3,
            label=say("excluded"),
        )


def _scores(runs: list[ReportRun]) -> list[float]:
    return [run.score for run in runs if run.score is not None]


def _draw_reference(cell: Axes, rig: RigControl) -> None:
    points = [point for point in rig.points if not point.set_aside]
    orders = [point.order for point in points]
    broken = {run for signal in rig.signals for run in signal.runs}
    if rig.centre is not None:
        cell.axhline(rig.centre, color=light("accent"), lw=1.0, label=say("centre"))
    if rig.limits is not None:
        for limit, label in zip(rig.limits, (say("control limits"), "_nolegend_"), strict=True):
            cell.axhline(limit, color=light("ink"), lw=1.0, ls=(0, (5, 3)), label=label)
    line = drift_line(rig)
    if line:
        cell.plot(
            *zip(*line, strict=True), color=light("lower"), lw=1.4, ls=(0, (8, 2, 1, 2)), label=say("drift")
        )
    values = [point.value for point in points]
    cell.plot(orders, values, "o-", ms=6, lw=0.9, color=light("accent"), label=say("reference"))
    odd = [(point.order, point.value) for point in points if point.run in broken]
    if odd:
        cell.plot(
            *zip(*odd, strict=True),
            "s",
            ms=11,
            mfc="none",
            mec=light("lower"),
            mew=1.6,
            label=say("breaks a rule"),
        )


def drift_line(rig: RigControl) -> list[tuple[float, float]]:
    """Points of the drift line through the centre: an even change in percent for every run."""
    orders = [point.order for point in rig.points if not point.set_aside]
    if rig.drift_percent_per_run is None or rig.centre is None or len(orders) < 2:
        return []
    middle = sum(orders) / len(orders)
    factor = 1.0 + rig.drift_percent_per_run / 100.0
    places = np.linspace(min(orders), max(orders), 24)
    return [(float(at), float(rig.centre * factor ** (at - middle))) for at in places]
