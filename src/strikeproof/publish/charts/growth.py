"""Growth curves: how the level rises blow by blow, one cell an article, the reference behind it."""

from __future__ import annotations

import numpy as np
from matplotlib.axes import Axes
from matplotlib.figure import FigureBase

from strikeproof.language import say
from strikeproof.publish.colours import light
from strikeproof.publish.drawing import Chart, Rows, Sheet, finish_axes
from strikeproof.publish.report import Report, ReportRun
from strikeproof.publish.texts import clip, file_word, unit_words
from strikeproof.quantity import FloatArray

__all__ = ["growth_charts"]


def growth_charts(report: Report) -> tuple[Chart, ...]:
    """A chart a tool, for the tools that have at least one growth curve."""
    found = []
    for tool in report.tools:
        runs = [run for run in report.runs if run.row.tool == tool and _points(run)[0].size > 1]
        if runs:
            found.append(_chart(report, tool, runs))
    return tuple(found)


def _chart(report: Report, tool: str, runs: list[ReportRun]) -> Chart:
    names = _in_order(report, runs)

    def height(sheet: Sheet) -> int:
        rows = -(-len(names) // _columns(sheet, len(names)))
        return rows * (150 if sheet.narrow else 185) + 60

    def draw(figure: FigureBase, sheet: Sheet) -> None:
        _draw(figure, sheet, report, names, runs)

    return Chart(
        f"growth-{file_word(tool)}",
        "growth",
        say("Growth curves with {tool}", tool=tool),
        say(
            "{level_quantity} against time with {tool}, one cell for each of {names} articles: median "
            "and range of its runs, with the median of {reference} dashed behind it.",
            level_quantity=report.level_quantity,
            tool=tool,
            names=len(names),
            reference=report.campaign.reference,
        ),
        height,
        draw,
        key=say(
            "Line: median. Shaded: lowest to highest run. Dashed: {reference}. Dotted, hollow end: excluded.",
            reference=clip(report.campaign.reference, 24),
        ),
        rows=lambda: _numbers(report, runs),
    )


def _numbers(report: Report, runs: list[ReportRun]) -> Rows:
    yield (
        "tool",
        "article",
        "run",
        "set_aside",
        "time_s",
        f"level [{report.level_unit}]",
    )
    for run in runs:
        for time, level in zip(run.growth_time.tolist(), run.growth_level.tolist(), strict=True):
            yield (run.row.tool, run.row.article, run.row.run, run.row.set_aside or "", time, level)


def _in_order(report: Report, runs: list[ReportRun]) -> list[str]:
    used = {run.row.article for run in runs}
    rest = [article.name for article in report.campaign.articles if article.name != report.campaign.reference]
    ordered = [report.campaign.reference, *rest]
    return [name for name in [*ordered, *sorted(used - set(ordered))] if name in used]


def _columns(sheet: Sheet, cells: int) -> int:
    return min(2 if sheet.narrow else 4, cells)


def _draw(figure: FigureBase, sheet: Sheet, report: Report, names: list[str], runs: list[ReportRun]) -> None:
    columns = _columns(sheet, len(names))
    rows = -(-len(names) // columns)
    cells = figure.subplots(rows, columns, sharex=True, sharey=True, squeeze=False)
    end = max(report.campaign.protocol.duration_s, *(float(_points(run)[0][-1]) for run in runs))
    grid = np.linspace(0.0, end, sheet.points)
    reference = _curves(runs, report.campaign.reference, grid)
    for cell, name in zip(cells.flat, names, strict=False):
        if reference.size:
            cell.plot(grid, np.median(reference, axis=0), color=light("soft"), lw=1.1, ls=(0, (4, 2)))
        if name != report.campaign.reference or reference.size == 0:
            _draw_article(cell, grid, _curves(runs, name, grid), "accent")
        else:
            _draw_article(cell, grid, reference, "soft")
        _draw_aside(
            cell, [run for run in runs if run.row.article == name and run.row.set_aside is not None], sheet
        )
        cell.set_title(clip(name, 16 if sheet.narrow else 22))
        finish_axes(cell)
        cell.tick_params(pad=5)
        cell.xaxis.set_major_formatter("{x:g}")
        cell.locator_params(nbins=4)
    cells[0, 0].set_xlim(0.0, grid[-1])
    cells[0, 0].set_ylim(*_span(runs))
    for spare in cells.flat[len(names) :]:
        spare.set_axis_off()
    for place, cell in enumerate(cells.flat[: len(names)]):
        if place + columns >= len(names):
            cell.tick_params(labelbottom=True)
    figure.supxlabel(say("time after the start (s)"), fontsize=sheet.letters)
    figure.supylabel(f"{report.level_quantity} ({unit_words(report.level_unit)})", fontsize=sheet.letters)


def _draw_article(cell: Axes, grid: FloatArray, curves: FloatArray, role: str) -> None:
    if not curves.size:
        return
    cell.fill_between(grid, curves.min(axis=0), curves.max(axis=0), color=light(role), alpha=0.22, lw=0)
    cell.plot(grid, np.median(curves, axis=0), color=light(role), lw=1.8)


def _draw_aside(cell: Axes, runs: list[ReportRun], sheet: Sheet) -> None:
    """Excluded runs: a thin line with a hollow end."""
    for run in runs:
        time, level = _points(run)
        step = max(1, time.size // sheet.points)
        time, level = time[::step], level[::step]
        cell.plot(time, level, color=light("ink"), lw=0.7, ls=(0, (1, 1.5)))
        cell.plot(
            time[-1:],
            level[-1:],
            "o",
            ms=5,
            mfc=light("paper"),
            mec=light("ink"),
            mew=1,
            clip_on=False,
        )


def _curves(runs: list[ReportRun], article: str, grid: FloatArray) -> FloatArray:
    """(runs, grid) levels of the runs of an article that count; the last level is held."""
    kept = [run for run in runs if run.row.article == article and run.row.set_aside is None]
    if not kept:
        return np.empty((0, grid.size))
    return np.stack([np.interp(grid, *_points(run)) for run in kept])


def _points(run: ReportRun) -> tuple[FloatArray, FloatArray]:
    """Where the curve is known."""
    known = np.isfinite(run.growth_time) & np.isfinite(run.growth_level)
    return run.growth_time[known], run.growth_level[known]


def _span(runs: list[ReportRun]) -> tuple[float, float]:
    """From zero, or below it, to a little above the highest level."""
    levels = np.concatenate([_points(run)[1] for run in runs])
    low, high = min(0.0, float(levels.min())), float(levels.max())
    return (low, 1.05 * high) if high > low else (low, low + 1.0)
