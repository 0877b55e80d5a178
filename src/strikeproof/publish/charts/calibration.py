"""Calibration: readings against applied values with the fitted curve, and what the curve leaves over."""

from __future__ import annotations

import numpy as np
from matplotlib.axes import Axes
from matplotlib.figure import FigureBase

from strikeproof.judge.calibration import CalibrationFit
from strikeproof.language import say
from strikeproof.publish.colours import light
from strikeproof.publish.drawing import Chart, Sheet, finish_axes
from strikeproof.publish.report import Report
from strikeproof.quantity import BoolArray, FloatArray, write_number

__all__ = ["calibration_charts"]


def calibration_charts(report: Report) -> tuple[Chart, ...]:
    """The one calibration chart, when the campaign is calibrated."""
    fit = report.calibration
    if fit is None:
        return ()
    applied, reading = report.applied_unit, report.reading_unit

    def draw(figure: FigureBase, sheet: Sheet) -> None:
        top, bottom = figure.subplots(2, 1, sharex=True, height_ratios=(3, 2))
        _draw_curve(top, fit)
        finish_axes(top, y=say("reading ({reading})", reading=reading))
        _draw_residuals(bottom, fit, sheet)
        finish_axes(
            bottom,
            x=say("applied ({applied})", applied=applied),
            y=say("residual ({reading})", reading=reading),
        )
        figure.align_ylabels()
        handles, labels = top.get_legend_handles_labels()
        figure.legend(
            handles, labels, loc="outside upper left", ncols=2 if sheet.narrow else 4, handlelength=1.6
        )

    return (
        Chart(
            "calibration",
            "calibration",
            say("Calibration and its residuals"),
            say(
                "{size} readings against applied values with a curve of degree {degree}, and the "
                "residuals below; their standard deviation is {residual_sd} {reading}.",
                size=fit.applied.size,
                degree=fit.degree,
                residual_sd=write_number(fit.residual_sd, 3),
                reading=reading,
            ),
            lambda sheet: 380 if sheet.narrow else 470,
            draw,
            rows=lambda: (
                (
                    f"applied [{applied}]",
                    f"reading [{reading}]",
                    "residual",
                ),
                *zip(fit.applied.tolist(), fit.reading.tolist(), fit.residuals.tolist(), strict=True),
            ),
        ),
    )


def _groups(fit: CalibrationFit) -> list[tuple[str, str, BoolArray]]:
    if fit.rising is None:
        return [(say("reading"), "o", np.ones(fit.applied.size, bool))]
    return [(say("going up"), "^", fit.rising), (say("going down"), "v", ~fit.rising)]


def _draw_curve(cell: Axes, fit: CalibrationFit) -> None:
    grid = np.linspace(*fit.applied_range, 60)
    cell.plot(
        grid,
        fit.curve.reading(grid),
        color=light("accent"),
        lw=1.4,
        label=say("curve, degree {degree}", degree=fit.degree),
    )
    _draw_points(cell, fit, fit.reading)
    if fit.suspects:
        odd = list(fit.suspects)
        cell.plot(
            fit.applied[odd],
            fit.reading[odd],
            "s",
            ms=12,
            mfc="none",
            mec=light("lower"),
            label=say("check this point"),
        )


def _draw_points(cell: Axes, fit: CalibrationFit, values: FloatArray) -> None:
    for label, marker, chosen in _groups(fit):
        hollow = marker == "v"
        cell.plot(
            fit.applied[chosen],
            values[chosen],
            marker,
            ms=5.5,
            mfc=light("paper") if hollow else light("ink"),
            mec=light("ink"),
            mew=1.0,
            label=label,
        )


def _draw_residuals(cell: Axes, fit: CalibrationFit, sheet: Sheet) -> None:
    cell.axhspan(-2 * fit.residual_sd, 2 * fit.residual_sd, color=light("band"), lw=0)
    cell.axhline(0.0, color=light("accent"), lw=1.4)
    _draw_points(cell, fit, fit.residuals)
    cell.set_title(say("shaded: ± 2 standard deviations"), loc="right", fontsize=0.92 * sheet.letters)
