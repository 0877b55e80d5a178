"""A score against one parameter, with its best value and where the search began."""

from __future__ import annotations

import textwrap
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final

import numpy as np
from matplotlib.axes import Axes
from matplotlib.figure import FigureBase
from matplotlib.ticker import FuncFormatter, LogLocator, NullFormatter

from strikeproof.drivetrain import Optimum
from strikeproof.publish.blow.torque_axis import add_torque_axis
from strikeproof.publish.colours import light
from strikeproof.publish.drawing import Chart, Sheet, finish_axes
from strikeproof.quantity import FloatArray, write_percent

__all__ = ["SweptScore", "swept_chart"]


@dataclass(frozen=True, slots=True)
class SweptScore:
    """What a sweep found.

    Attributes
    ----------
    name, unit
        Of the parameter, as people read them; no unit for a ratio.
    values, scores, torques, beyond : (points,)
        Parameter, clamp load [N], torque equivalent [N·m], whether a limit was passed.
    optimum
        Where the score is best.
    start
        Value before the sweep, None when unknown.
    """

    name: str
    unit: str
    values: Sequence[float]
    scores: Sequence[float]
    torques: Sequence[float]
    beyond: Sequence[bool]
    optimum: Optimum
    start: float | None = None

    @property
    def logarithmic(self) -> bool:
        """Whether the values span half a decade or more and none is 0 or less."""
        return min(self.values) > 0.0 and max(self.values) / min(self.values) > 3.0

    @property
    def overstressed(self) -> bool:
        """Whether the point nearest to the best value passed a limit."""
        nearest = np.argmin(np.abs(np.asarray(self.values) - self.optimum.value))
        return bool(self.beyond[int(nearest)])

    @property
    def best_within(self) -> tuple[float, float] | None:
        """Value and score of the best point that passed no limit, None when all did."""
        rows = [
            (score, value)
            for value, score, passed in zip(self.values, self.scores, self.beyond, strict=True)
            if not passed
        ]
        score, value = max(rows, default=(0.0, 0.0))
        return (value, score) if rows else None

    def score_at(self, value: float) -> float | None:
        """Score at a value between the points [N], None outside them."""
        order = np.argsort(self.values)
        x, y = np.asarray(self.values)[order], np.asarray(self.scores)[order]
        if not x[0] <= value <= x[-1]:
            return None
        scale = np.log if self.logarithmic else np.asarray
        return float(np.interp(scale(value), scale(x), y))


def swept_chart(swept: SweptScore) -> Chart:
    """The chart of a sweep."""

    def draw(figure: FigureBase, sheet: Sheet) -> None:
        _draw(figure, sheet, swept)

    title = f"Score against {swept.name}"
    key = "Hollow points: bolt or part beyond its limit." if any(swept.beyond) else ""
    return Chart(
        "sweep",
        "blow",
        title,
        f"Simulated {title}, {len(swept.values)} points. {_best_words(swept)}."
        + (" There a limit is passed." if swept.overstressed else ""),
        lambda sheet: (380 if swept.overstressed else 320) if sheet.narrow else 440,
        draw,
        key=key,
    )


_RAISED: Final = str.maketrans("-0123456789", "⁻⁰¹²³⁴⁵⁶⁷⁸⁹")


def _number(value: float) -> str:
    """Three digits, with a power of ten where that is shorter: 0.25, 1200, 3.2·10⁻⁴."""
    if value == 0.0 or 1e-2 <= abs(value) < 1e5:
        return f"{value:.4g}".replace("-", "−") if abs(value) >= 1000.0 else f"{value:.3g}".replace("-", "−")
    digits, power = f"{value:.2e}".split("e")
    front = digits.rstrip("0").rstrip(".").replace("-", "−")
    raised = f"10{str(int(power)).translate(_RAISED)}"
    return raised if front == "1" else f"{front}·{raised}"


def _value_words(value: float, unit: str) -> str:
    return f"{_number(value)} {unit}".strip()


def _best_words(swept: SweptScore) -> str:
    best = swept.optimum
    words = f"best {1e-3 * best.score:.1f} kN at {_value_words(best.value, swept.unit)}"
    if best.at_end:
        words += ", at the end: it may lie beyond"
    return words


def _gain_words(swept: SweptScore) -> str:
    begun = swept.score_at(swept.start) if swept.start is not None else None
    if begun is None or begun <= 0.0:
        return ""
    return write_percent(100.0 * (swept.optimum.score / begun - 1.0))


def _draw(figure: FigureBase, sheet: Sheet, swept: SweptScore) -> None:
    axes = figure.subplots()
    order = np.argsort(swept.values)
    x, y = np.asarray(swept.values)[order], 1e-3 * np.asarray(swept.scores)[order]
    beyond = np.asarray(swept.beyond, dtype=bool)[order]
    colour = light("accent")
    axes.plot(x, y, color=colour, lw=1.6)
    size = 5.0 if x.size <= 60 else 3.0
    axes.plot(x[~beyond], y[~beyond], "o", ms=size, color=colour, mew=1.1)
    axes.plot(x[beyond], y[beyond], "o", ms=size, mfc=light("paper"), mec=colour, mew=1.1)
    if swept.logarithmic:
        axes.set_xscale("log")
        _ticks(axes, swept, sheet)
    span = max(float(y.max() - y.min()), 0.02 * abs(float(y.max())), 1e-6)
    axes.set_ylim(float(y.min()) - 0.08 * span, float(y.max()) + 0.22 * span)
    _mark_best(axes, swept, sheet)
    _mark_start(axes, swept, sheet)
    axes.set_title("\n".join(_told(swept, sheet)), loc="left", fontsize=sheet.letters, linespacing=1.4)
    label = f"{swept.name} ({swept.unit})" if swept.unit else f"{swept.name} (ratio)"
    finish_axes(axes, x=label, y="score, simulated (kN)")
    _add_torque(axes, np.asarray(swept.torques)[order], 1e3 * y)


def _mark_best(axes: Axes, swept: SweptScore, sheet: Sheet) -> None:
    best = swept.optimum
    axes.axvline(best.value, color=light("ink"), lw=0.9, ls=(0, (2, 2)))
    axes.plot(
        best.value, 1e-3 * best.score, "D", ms=9, mfc=light("ink"), mec=light("paper"), mew=1.2, zorder=5
    )
    if swept.overstressed and swept.best_within is not None:
        value, score = swept.best_within
        axes.plot(value, 1e-3 * score, "s", ms=9, mfc=light("higher"), mec=light("paper"), mew=1.2, zorder=5)
    right = swept.start is None or best.value >= swept.start
    _flag(axes, swept, sheet, best.value, "best", right)


def _mark_start(axes: Axes, swept: SweptScore, sheet: Sheet) -> None:
    begun = swept.score_at(swept.start) if swept.start is not None else None
    if swept.start is None or begun is None:
        return
    axes.axvline(swept.start, color=light("soft"), lw=0.9, ls=(0, (6, 2)))
    axes.plot(swept.start, 1e-3 * begun, "o", ms=11, mfc="none", mec=light("lower"), mew=2.0, zorder=4)
    _flag(axes, swept, sheet, swept.start, "start", swept.start > swept.optimum.value)


def _flag(axes: Axes, swept: SweptScore, sheet: Sheet, value: float, word: str, right: bool) -> None:
    """A word at the top of an upright line, on the side that is asked for if there is room."""
    room = 0.14 if sheet.narrow else 0.06
    share = _share(axes, swept, value)
    right = share < 1.0 - room and (right or share < room)
    axes.annotate(
        word,
        (value, 0.98),
        xycoords=("data", "axes fraction"),
        xytext=(3 if right else -3, 0),
        textcoords="offset points",
        ha="left" if right else "right",
        va="top",
        fontsize=sheet.letters,
    )


def _share(axes: Axes, swept: SweptScore, value: float) -> float:
    """How far along the axis a value is, 0 to 1."""
    scale = np.log if swept.logarithmic else np.asarray
    low, high = scale(axes.get_xlim()[0]), scale(axes.get_xlim()[1])
    return float((scale(value) - low) / (high - low))


def _told(swept: SweptScore, sheet: Sheet) -> list[str]:
    """What is marked, in words that stand above the curve."""
    lines = [f"◆ {_best_words(swept)}"]
    if gain := _gain_words(swept):
        lines.append(f"{gain} over the start") if sheet.narrow else lines.append(
            lines.pop() + f", {gain} over the start"
        )
    if swept.overstressed:
        lines.append("Stop: there the bolt or a part is beyond its limit.")
        within = swept.best_within
        lines.append(
            f"■ best within the limits {1e-3 * within[1]:.1f} kN at {_value_words(within[0], swept.unit)}"
            if within is not None
            else "No point is within the limits."
        )
    if swept.start is not None:
        begun = swept.score_at(swept.start)
        value = _value_words(swept.start, swept.unit)
        lines.append(
            f"○ start {1e-3 * begun:.1f} kN at {value}"
            if begun is not None
            else f"start, {value}, lies outside the sweep"
        )
    letters = int(sheet.width / (0.6 * sheet.letters))
    return [part for line in lines for part in textwrap.wrap(line, letters)]


def _ticks(axes: Axes, swept: SweptScore, sheet: Sheet) -> None:
    """Labels at 1, 2 and 5 of each decade where there is room, at whole decades otherwise."""
    low, high = axes.get_xlim()
    decades = np.log10(high / low)
    axes.xaxis.set_major_locator(
        LogLocator(subs=(1.0, 2.0, 5.0) if decades < (1.2 if sheet.narrow else 2.6) else (1.0,))
    )
    axes.xaxis.set_major_formatter(FuncFormatter(lambda value, _place: _number(float(value))))
    axes.xaxis.set_minor_locator(LogLocator(subs=range(2, 10)))
    axes.xaxis.set_minor_formatter(NullFormatter())
    axes.grid(visible=False, which="minor")


def _add_torque(axes: Axes, torques: FloatArray, scores: FloatArray) -> None:
    """Torque equivalent on the right, where one factor holds for all points."""
    known = scores > 0.0
    factors = torques[known] / scores[known]
    if not factors.size or np.ptp(factors) > 1e-6 * factors.max() or factors.min() <= 0.0:
        return
    add_torque_axis(axes, float(factors[0]))
