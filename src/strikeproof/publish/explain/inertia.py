"""Gain against inertia: the articles as measured, and the curve that the likeliest explanation draws."""

from __future__ import annotations

import math

import numpy as np
from matplotlib.axes import Axes
from matplotlib.figure import FigureBase
from matplotlib.ticker import FuncFormatter, LogLocator, NullFormatter

from strikeproof.explain import EXPLANATIONS
from strikeproof.language import say, write_figures
from strikeproof.publish.colours import light
from strikeproof.publish.drawing import Chart, Rows, Sheet, finish_axes
from strikeproof.publish.explain.why import InertiaCurve, Why
from strikeproof.publish.labels import Box, place_labels
from strikeproof.publish.panels import legend_above
from strikeproof.publish.texts import clip

__all__ = ["inertia_charts"]

_NORMAL_90 = 1.6449
_Point = tuple[str, float, float, float, float]


def inertia_charts(why: Why) -> tuple[Chart, ...]:
    """The one chart, a panel a tool, when there is a curve."""
    if not why.curves:
        return ()

    def height(sheet: Sheet) -> int:
        return _shape(sheet, len(why.curves))[0] * (290 if sheet.narrow else 360) + 70

    def draw(figure: FigureBase, sheet: Sheet) -> None:
        _draw(figure, sheet, why)

    rival = EXPLANATIONS[why.curves[0].rival].label
    return (
        Chart(
            "why-inertia",
            "why",
            say("Gain against inertia"),
            say(
                "One point an article with its 90 % interval; the curve is what the explanation {name} "
                "expects of the reference with another inertia and all else unchanged, with its 90 % "
                "band.",
                name=rival,
            ),
            height,
            draw,
            key=say(
                "Curve: the reference with another inertia and all else unchanged. An article off the "
                "curve is there by its stiffness, gap or bond."
            ),
            rows=lambda: _numbers(why),
        ),
    )


def _numbers(why: Why) -> Rows:
    yield ("tool", "explanation", "inertia_kg_m2", "gain_percent", "low_percent", "high_percent")
    for curve in why.curves:
        values = (curve.inertia, curve.middle, curve.low, curve.high)
        for row in zip(*(each.tolist() for each in values), strict=True):
            yield (curve.tool, curve.rival, *row)


def _shape(sheet: Sheet, panels: int) -> tuple[int, int]:
    columns = 1 if sheet.narrow else min(2, panels)
    return -(-panels // columns), columns


def _draw(figure: FigureBase, sheet: Sheet, why: Why) -> None:
    shape = _shape(sheet, len(why.curves))
    cells = figure.subplots(*shape, sharex=True, squeeze=False)
    across = 0.86 * sheet.width / shape[1]
    for cell, curve in zip(cells.flat, why.curves, strict=False):
        _draw_curve(cell, curve)
        points = _points(why, curve.tool)
        _draw_points(cell, points)
        cell.set_xscale("log")
        cell.xaxis.set_major_locator(LogLocator(subs=(1.0, 2.0, 5.0)))
        cell.xaxis.set_major_formatter(FuncFormatter(lambda value, _place: write_figures(f"{value:g}")))
        cell.xaxis.set_minor_formatter(NullFormatter())
        cell.tick_params(which="minor", size=0)
        cell.set_title(say("with {tool}", tool=clip(curve.tool, 30)), fontweight="bold")
        finish_axes(cell)
        cell.margins(x=0.06, y=0.12)
        _name_points(cell, points, curve, (across, 265.0 if sheet.narrow else 340.0), 0.92 * sheet.letters)
    for spare in cells.flat[len(why.curves) :]:
        spare.set_axis_off()
    figure.supxlabel(say("inertia about the axis (kg·mm²)"), fontsize=sheet.letters)
    figure.supylabel(
        say("gain over {reference} (%)", reference=clip(why.reference, 18)), fontsize=sheet.letters
    )
    legend_above(figure, sheet, cells[0, 0], 1 if sheet.narrow else 3)


def _draw_curve(cell: Axes, curve: InertiaCurve) -> None:
    inertia = 1e6 * curve.inertia
    cell.axhline(0.0, color=light("soft"), lw=1.0)
    cell.fill_between(inertia, curve.low, curve.high, color=light("band"), lw=0, label=say("its 90 % band"))
    words = say("other inertia only ({label})", label=EXPLANATIONS[curve.rival].label)
    cell.plot(inertia, curve.middle, color=light("accent"), lw=1.8, label=words)


def _points(why: Why, tool: str) -> list[_Point]:
    """Name, inertia [kg·mm²], gain and its ends [%] of every article with the tool."""
    evidence = why.explanation.evidence
    found = []
    for place, gain in enumerate(evidence.gains):
        inertia = why.inertia(gain.article)
        if gain.setting.tool == tool and inertia is not None:
            half = _NORMAL_90 * math.sqrt(float(evidence.covariance[place, place]))
            low, middle, high = (100.0 * np.expm1(gain.log_gain + np.array([-half, 0.0, half]))).tolist()
            found.append((gain.article, 1e6 * inertia, middle, low, high))
    base = why.inertia(why.reference)
    return found if base is None else [(why.reference, 1e6 * base, 0.0, 0.0, 0.0), *found]


def _draw_points(cell: Axes, points: list[_Point]) -> None:
    for place, (_name, inertia, gain, low, high) in enumerate(points):
        cell.plot([inertia, inertia], [low, high], color=light("ink"), lw=1.2)
        face = light("paper") if place == 0 else light("ink")
        label = say("article, measured, 90 %") if place == 1 else "_nolegend_"
        cell.plot([inertia], [gain], "o", ms=6.5, mfc=face, mec=light("ink"), mew=1.3, label=label)


def _name_points(
    cell: Axes, points: list[_Point], curve: InertiaCurve, size: tuple[float, float], letters: float
) -> None:
    """Names beside the points of a panel that is about `size` pixels wide and high, off the curve."""
    (left, right), (bottom, top) = cell.get_xlim(), cell.get_ylim()
    across, up = size[0] / math.log(right / left), size[1] / (top - bottom)

    def place(inertia: float, gain: float) -> tuple[float, float]:
        return math.log(inertia / left) * across, (gain - bottom) * up

    spots_at = [place(inertia, gain) for _name, inertia, gain, *_ends in points]
    taken = [Box(x - 6, y - 6, x + 6, y + 6) for x, y in spots_at]
    taken += [
        Box(x - 1, (low - bottom) * up, x + 1, (high - bottom) * up)
        for (x, _y), (*_rest, low, high) in zip(spots_at, points, strict=True)
    ]
    fine = np.geomspace(curve.inertia[0], curve.inertia[-1], 90)
    for inertia, gain in zip(fine, np.interp(fine, curve.inertia, curve.middle), strict=True):
        x, y = place(1e6 * float(inertia), float(gain))
        taken.append(Box(x - 3, y - 2, x + 3, y + 2))
    zero = place(left, 0.0)[1]
    taken.append(Box(0.0, zero - 1, size[0], zero + 1))
    names = [clip(point[0], 14) for point in points]
    sizes = [(0.62 * letters * len(name) + 4, 1.25 * letters) for name in names]
    spots = place_labels(spots_at, sizes, taken, Box(0.0, 0.0, *size))
    for (_name, inertia, gain, *_ends), name, spot in zip(points, names, spots, strict=True):
        cell.annotate(
            name,
            (inertia, gain),
            xytext=(spot.across, spot.up),
            textcoords="offset points",
            ha=("center", "left", "right")[spot.side],
            va="center",
            fontsize=letters,
        )
