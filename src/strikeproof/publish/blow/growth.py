"""How the clamp load grows, blow by blow, in one or several simulated runs."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from matplotlib.axes import Axes
from matplotlib.figure import FigureBase

from strikeproof.drivetrain import Chain, Run
from strikeproof.errors import BadInput
from strikeproof.publish.blow.strokes import label_ends, strokes_of_runs
from strikeproof.publish.blow.torque_axis import add_torque_axis
from strikeproof.publish.colours import light
from strikeproof.publish.drawing import Chart, Sheet, finish_axes
from strikeproof.publish.texts import clip, count
from strikeproof.quantity import FloatArray

__all__ = ["Grown", "growth_chart", "growth_curve"]

_STEPS = 60  # with more blows than these a stair looks like a line


@dataclass(frozen=True, slots=True)
class Grown:
    """A run under a name, with the chain that it was hammered on."""

    name: str
    chain: Chain
    run: Run


def growth_curve(run: Run) -> tuple[FloatArray, FloatArray]:
    """Time [s] and clamp load [kN], from the start on."""
    return (
        np.concatenate(([0.0], run.time)),
        1e-3 * np.concatenate(([run.start_load], run.clamp_load)),
    )


def growth_chart(curves: Sequence[Grown], *, marked: int | None = None) -> Chart:
    """Clamp load against time, its torque equivalent on the right.

    Parameters
    ----------
    curves
        One or more runs.
    marked
        Number of a blow of the first run that other pictures show.

    Raises
    ------
    BadInput
        If there is no run.
    """
    if not curves:
        raise BadInput("no run to draw", where="growth curves", allowed="one or more")
    ends = "; ".join(
        f"{each.name}: {count(each.run.time.size, 'blow')} to {1e-3 * each.run.end_load:.1f} kN"
        for each in curves
    )

    def draw(figure: FigureBase, sheet: Sheet) -> None:
        _draw(figure, sheet, curves, marked)

    return Chart(
        "growth",
        "blow",
        "Clamp load, blow by blow",
        f"Simulated clamp load against time. {ends}.",
        lambda sheet: (300 if len(curves) > 1 else 250) if sheet.narrow else 380,
        draw,
        key=f"Ring: blow {marked}, the one shown in slow motion." if marked else "",
    )


def _draw(figure: FigureBase, sheet: Sheet, curves: Sequence[Grown], marked: int | None) -> None:
    axes = figure.subplots()
    strokes = strokes_of_runs(len(curves))
    for each, stroke in zip(curves, strokes, strict=True):
        time, load = growth_curve(each.run)
        step = "steps-post" if time.size <= _STEPS else "default"
        axes.plot(time, load, drawstyle=step, **stroke.style())
    top = 1.08 * max(float(growth_curve(each.run)[1].max()) for each in curves)
    axes.set_ylim(0.0, top if top > 0.0 else 1.0)
    axes.set_xlim(0.0, max(1e-3, *(float(growth_curve(each.run)[0][-1]) for each in curves)) * 1.0)
    if marked is not None:
        _mark(axes, curves[0].run, marked, sheet)
    _draw_proof(axes, curves, sheet)
    finish_axes(axes, x="time after the start (s)", y="clamp load, simulated (kN)")
    if len(curves) > 1:
        names = [_end_words(each, 13 if sheet.narrow else 22) for each in curves]
        lasts = [growth_curve(each.run)[1][-1] for each in curves]
        label_ends(axes, names, lasts, strokes, sheet, 240 if sheet.narrow else 310)
    elif _one_factor(curves):
        add_torque_axis(axes, curves[0].chain.torque_per_load)


def _end_words(grown: Grown, letters: int) -> str:
    """Name, clamp load and torque equivalent at the end; in a narrow column each on a line."""
    load, torque = 1e-3 * grown.run.end_load, grown.run.torque_equivalent
    between = "\n" if letters < 16 else ", "
    return f"{clip(grown.name, letters)}\n{load:.0f} kN{between}{torque:.0f} N·m"


def _one_factor(curves: Sequence[Grown]) -> bool:
    factors = [each.chain.torque_per_load for each in curves]
    return min(factors) > 0.0 and max(factors) - min(factors) <= 1e-9 * max(factors)


def _mark(axes: Axes, run: Run, blow: int, sheet: Sheet) -> None:
    time, load = growth_curve(run)
    axes.plot(time[blow], load[blow], "o", ms=9, mfc="none", mec=light("ink"), mew=1.6)
    axes.annotate(
        f"blow {blow}: {load[blow]:.1f} kN",
        (time[blow], load[blow]),
        xytext=(7, -5),
        textcoords="offset points",
        fontsize=sheet.letters,
        ha="left" if time[blow] < 0.6 * time[-1] else "right",
        va="top",
    )


def _draw_proof(axes: Axes, curves: Sequence[Grown], sheet: Sheet) -> None:
    """Proof load of the bolt, where it lies on the picture."""
    low, top = axes.get_ylim()
    for proof in sorted({1e-3 * each.chain.proof_load for each in curves if each.chain.proof_load < np.inf}):
        if not low < proof < 1.25 * top:
            continue
        if proof > 0.9 * top:
            axes.set_ylim(low, 1.12 * proof)
        axes.axhline(proof, color=light("lower"), lw=1.2, ls=(0, (6, 2, 1, 2)))
        axes.text(
            0.99,
            proof,
            f"proof load {proof:.1f} kN",
            transform=axes.get_yaxis_transform(),
            ha="right",
            va="bottom",
            fontsize=sheet.letters,
        )
