"""What more repeats buy: the smallest difference shown against the runs of each article."""

from __future__ import annotations

from collections.abc import Sequence

from matplotlib.figure import FigureBase
from matplotlib.ticker import FuncFormatter, MaxNLocator, NullLocator

from strikeproof.language import say, say_many, write_figures
from strikeproof.publish.colours import light
from strikeproof.publish.drawing import Chart, Sheet, finish_axes
from strikeproof.publish.texts import given

__all__ = ["power_chart"]

_TICKS = (0.5, 1.0, 2.0, 3.0, 5.0, 10.0, 20.0, 50.0)


def power_chart(
    points: Sequence[tuple[int, float]], chosen: int | None, wanted: float | None, margin: float
) -> Chart:
    """The power curve.

    Parameters
    ----------
    points
        Repeats and the smallest difference they show. [1, %]
    chosen
        Repeats that the plan will use.
    wanted
        Smallest difference that the protocol asks for. [%]
    margin
        Differences inside it count as the same. [%]
    """
    last = points[-1]
    told = say(
        "{repeats} show {last} %",
        repeats=say_many("{count} repeat", "{count} repeats", last[0]),
        last=write_figures(f"{last[1]:.1f}"),
    )

    def draw(figure: FigureBase, sheet: Sheet) -> None:
        _draw(figure, sheet, points, (chosen, wanted, margin))

    return Chart(
        "power",
        "plan",
        say("What more repeats buy"),
        say(
            "Smallest difference from the reference that is shown with 80 % power, against repeats: "
            "{shown}; the table below holds the same figures.",
            shown=told,
        ),
        lambda sheet: 250 if sheet.narrow else 320,
        draw,
    )


def _draw(
    figure: FigureBase,
    sheet: Sheet,
    points: Sequence[tuple[int, float]],
    marks: tuple[int | None, float | None, float],
) -> None:
    chosen, wanted, margin = marks
    axes = figure.subplots()
    repeats, shown = zip(*points, strict=True)
    axes.axhspan(0.01, margin, color=light("band"), lw=0)
    axes.plot(repeats, shown, "-o", color=light("accent"), lw=2.0, ms=5, mfc=light("paper"), mew=1.6)
    if wanted is not None:
        axes.axhline(wanted, color=light("lower"), lw=1.4, dashes=(6, 3))
        axes.annotate(
            say("wanted: {wanted} %", wanted=given(wanted)),
            (repeats[-1], wanted),
            ha="right",
            va="bottom",
            color=light("lower"),
        )
    at = next((each for each in points if each[0] == chosen), None)
    if at is not None:
        axes.plot([at[0]], [at[1]], "o", ms=12, color=light("accent"))
        axes.annotate(
            f"{say_many('{count} repeat', '{count} repeats', at[0])}: {at[1]:.1f} %",
            at,
            xytext=(10, 9),
            textcoords="offset points",
            fontweight="bold",
        )
    axes.set_yscale("log")
    low, high = min(*shown, margin, wanted or margin), min(max(shown), 60.0)
    axes.annotate(say("counts as the same"), (repeats[0], 0.62 * low), color=light("soft"))
    axes.set_ylim(0.55 * low, 1.25 * high)
    axes.set_yticks([tick for tick in _TICKS if 0.55 * low <= tick <= 1.25 * high])
    axes.yaxis.set_major_formatter(FuncFormatter(lambda value, _place: f"{value:g}"))
    axes.yaxis.set_minor_locator(NullLocator())
    axes.xaxis.set_major_locator(MaxNLocator(6 if sheet.narrow else 10, integer=True))
    finish_axes(axes, x=say("repeats of each article with each tool"), y=say("smallest difference (%)"))
