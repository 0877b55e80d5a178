"""Where the joules go, as a picture.

The hammer's energy runs along the drivetrain as a trunk and leaves it station by station: the rebound turns
back to the hammer, losses drop out where they arise, what reaches the end stays in the clamped joint. Every
band is as wide as its energy. On a narrow sheet the trunk runs downward.
"""

from __future__ import annotations

import textwrap
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any, Final

import numpy as np
from matplotlib.axes import Axes
from matplotlib.figure import FigureBase
from matplotlib.patches import Polygon

from strikeproof.drivetrain import Ledger
from strikeproof.language import listed, say, write_figures
from strikeproof.publish.blow.joules import SHOWN, Stream, split_energy
from strikeproof.publish.blow.story import Contact
from strikeproof.publish.colours import light
from strikeproof.publish.drawing import Chart, Sheet
from strikeproof.quantity import FloatArray

__all__ = ["Ribbon", "energy_chart", "lay_ribbons"]

_BEND: Final = 9.0  # inner radius of a stream that drops out
_TURN: Final = 10.0  # half the distance between the trunk and the rebound that runs back
_LEAD: Final = 0.16  # share of the length before the first station
_ARROW: Final = 9.0


@dataclass(frozen=True, slots=True)
class Ribbon:
    """A band of energy in pixels: along the drivetrain and across it, losses on the far side.

    Attributes
    ----------
    outline : (points, 2)
        Along and across.
    width
        Of the band.
    end
        Where its arrow points to, for its label.
    """

    stream: Stream
    outline: FloatArray
    width: float
    end: tuple[float, float]


def energy_chart(
    ledger: Ledger, contacts: Sequence[Contact], *, what: str = "One blow", goes_on: bool = False
) -> Chart:
    """The energy of a blow, or of a run, from the hammer to where it ends; `goes_on` as in `split_energy`."""
    streams = split_energy(ledger, contacts, goes_on=goes_on)

    def height(sheet: Sheet) -> int:
        outs = sum(each.shown and each.way != "back" for each in streams)
        return max(520, 46 * outs + 150) if sheet.narrow else 430 if outs < 8 else 500

    def draw(figure: FigureBase, sheet: Sheet) -> None:
        _draw(figure, sheet, streams, float(ledger.hammer_in), _sum_up(streams, ledger, goes_on=goes_on))

    told = [each for each in streams if each.energy]
    parts = listed([f"{each.name} {_joules(each.energy)} ({_percent(each.share)})" for each in told])
    return Chart(
        "energy",
        "blow",
        f"{what}: where the joules go",
        say(
            "Simulated energy. The hammer brings in {energy}: {parts}.",
            energy=_joules(float(ledger.hammer_in)),
            parts=parts,
        ),
        height,
        draw,
        key=_key(streams),
    )


def _key(streams: Sequence[Stream]) -> str:
    hidden = [each for each in streams if 1e-5 <= abs(each.share) < SHOWN and each.way != "open"]
    left_open = next(each for each in streams if each.way == "open")
    share = write_figures(f"{abs(left_open.share) * 100:.2g}")
    words = [say("Width: energy. The calculation leaves {share} % open.", share=share)]
    if hidden:
        told = listed([f"{each.name} {_joules(each.energy)}" for each in hidden])
        words.append(say("Below {share} %: {parts}.", share=write_figures(f"{SHOWN * 100:g}"), parts=told))
    return " ".join(words)


def _sum_up(streams: Sequence[Stream], ledger: Ledger, *, goes_on: bool) -> str:
    """The whole in three numbers, each on a line; rounded first, so that what is read adds up."""
    back, kept, given = (
        round(100.0 * abs(sum(each.share for each in streams if each.way == way)), 1)
        for way in ("back", "end", "in")
    )
    lines = [say("Of 100 J that the hammer brings in")]
    figure = write_figures(f"{back:.1f}")
    lines.append(
        say("{energy} stay in it,", energy=figure)
        if goes_on
        else say("{energy} go back with it,", energy=figure)
    )
    lines += [_say_given(ledger, write_figures(f"{given:.1f}"))] if given else []
    heat = write_figures(f"{100.0 - back - kept + given:.1f}")
    if ledger.clamp_work < 0.0:
        return "\n".join([*lines, say("{energy} become heat and vibration.", energy=heat)])
    lines.append(say("{energy} become heat and vibration,", energy=heat))
    return "\n".join(
        [*lines, say("{energy} stay in the clamped joint.", energy=write_figures(f"{kept:.1f}"))]
    )


def _say_given(ledger: Ledger, energy: str) -> str:
    """What comes back out of the bolt."""
    if ledger.clamp_work < 0.0 and ledger.windup < 0.0:
        return say(
            "With the {energy} that come out of the clamped joint and the twist of shank", energy=energy
        )
    if ledger.clamp_work < 0.0:
        return say("With the {energy} that come out of the clamped joint", energy=energy)
    return say("With the {energy} that come out of the twist of shank", energy=energy)


def _joules(energy: float) -> str:
    digits = 0 if abs(energy) >= 1000.0 else 1 if abs(energy) >= 10.0 else 2 if abs(energy) >= 0.1 else 4
    return write_figures(f"{energy:,.{digits}f} J".replace("-", "−").replace(",", " "))


def _percent(share: float) -> str:
    return write_figures(f"{100.0 * share:.1f} %".replace("-", "−"))


def lay_ribbons(
    streams: Sequence[Stream], *, length: float, wide: float, drop: tuple[float, ...], apart: float
) -> tuple[FloatArray, list[Ribbon]]:
    """Outline of the trunk and the bands that leave it.

    Parameters
    ----------
    length
        Of the trunk. [px]
    wide
        Width of what the hammer brings in, and so the scale. [px]
    drop
        How far beyond the trunk the losses reach, in turns. [px]
    apart
        Least distance between neighbours, for their labels. [px]
    """
    shown = [each for each in streams if each.shown]
    back = wide * sum(each.share for each in shown if each.way == "back")
    outs = [each for each in shown if each.way in ("in", "out", "open")]
    lead, room = _LEAD * length, (0.94 - _LEAD) * length
    places = _stations(np.array([wide * each.share for each in outs]), lead, room, apart)
    upper: list[tuple[float, float]] = [(0.0, 0.0), (lead, 0.0), (lead, back)]
    lower: list[tuple[float, float]] = [(0.0, wide)]
    edge, ribbons = wide, []
    ribbons += [_turn_back(each, lead, back) for each in shown if each.way == "back"]
    for number, (each, place) in enumerate(zip(outs, places, strict=True)):
        width = wide * each.share
        reach = wide + drop[number % len(drop)]
        ribbons.append(_drop_out(each, float(place), edge, width, reach))
        lower += [(float(place), edge), (float(place), edge - width)]
        edge -= width
    ends = [each for each in shown if each.way == "end" and each.share > 0.0]
    ribbons += [_reach_end(each, length, back, edge) for each in ends]
    tail = length - 2.0 * _ARROW
    upper.append((tail, back))
    lower.append((tail, edge))
    return np.array(upper + lower[::-1]), ribbons


def _stations(widths: FloatArray, lead: float, room: float, apart: float) -> FloatArray:
    """Where along the trunk each stream leaves it, its arrow amid a cell that holds band and label."""
    cells = np.maximum(np.abs(widths) + 3.0 * _BEND, apart)
    cells = cells + (room - float(cells.sum())) / max(widths.size, 1)
    middles = lead + np.cumsum(cells) - cells / 2.0
    places: FloatArray = middles - np.sign(widths) * (_BEND + np.abs(widths) / 2.0)
    return places


def _arc(middle: tuple[float, float], radius: float, start: float, end: float) -> list[tuple[float, float]]:
    """Points of an arc; 0 along, a quarter turn across."""
    turn = np.linspace(start, end, 48)
    x, y = middle[0] + radius * np.cos(turn), middle[1] + radius * np.sin(turn)
    return list(zip(x.tolist(), y.tolist(), strict=True))


def _turn_back(stream: Stream, lead: float, width: float) -> Ribbon:
    """Half a turn to the near side and back to the hammer, ending in an arrow."""
    middle = (lead, -_TURN)
    outer = _arc(middle, _TURN + width, np.pi / 2, -np.pi / 2)
    inner = _arc(middle, _TURN, -np.pi / 2, np.pi / 2)
    near, far, tip = -_TURN - _TURN, -2.0 * _TURN - width, (0.0, -2.0 * _TURN - width / 2)
    arrow = [(_ARROW * 2, far), (_ARROW * 2, far - 5.0), tip, (_ARROW * 2, near + 5.0), (_ARROW * 2, near)]
    return Ribbon(stream, np.array([*outer, *arrow, *inner]), width, tip)


def _drop_out(stream: Stream, place: float, edge: float, width: float, reach: float) -> Ribbon:
    """A quarter turn to the far side with an arrow at its end; energy that comes in, the other way round."""
    wide = abs(width)
    if width < 0.0:
        return _come_in(stream, place, edge, wide, reach)
    middle = (place, edge + _BEND)
    outer = _arc(middle, _BEND + wide, -np.pi / 2, 0.0)
    inner = _arc(middle, _BEND, 0.0, -np.pi / 2)
    near, far = place + _BEND, place + _BEND + wide
    tip = ((near + far) / 2, reach + _ARROW)
    arrow = [(far, reach), (far + 4.0, reach), tip, (near - 4.0, reach), (near, reach)]
    return Ribbon(stream, np.array([*outer, *arrow, *inner]), wide, tip)


def _come_in(stream: Stream, place: float, edge: float, wide: float, reach: float) -> Ribbon:
    """From the far side into the trunk, which it widens from `place` on; a notch shows its start."""
    middle = (place, edge + wide + _BEND)
    outer = _arc(middle, _BEND + wide, np.pi, 1.5 * np.pi)
    inner = _arc(middle, _BEND, 1.5 * np.pi, np.pi)
    near, far = place - _BEND, place - _BEND - wide
    centre = (near + far) / 2
    tail = [(near, reach + _ARROW), (centre, reach), (far, reach + _ARROW)]
    return Ribbon(stream, np.array([*outer, *inner, *tail]), wide, (centre, reach + _ARROW))


def _reach_end(stream: Stream, length: float, back: float, edge: float) -> Ribbon:
    tail, tip = length - 2.0 * _ARROW, (length, (back + edge) / 2)
    outline = [(tail, back), (tail, back - 5.0), tip, (tail, edge + 5.0), (tail, edge)]
    return Ribbon(stream, np.array(outline), edge - back, tip)


_FACES: Final[dict[str, dict[str, Any]]] = {
    "back": {"facecolor": light("paper"), "edgecolor": light("lower"), "hatch": "...."},
    "in": {"facecolor": light("accent"), "edgecolor": light("accent")},
    "out": {"facecolor": light("band"), "edgecolor": light("soft")},
    "open": {"facecolor": light("paper"), "edgecolor": light("unknown"), "hatch": "xxxx"},
    "end": {"facecolor": light("accent"), "edgecolor": light("accent")},
}


def _draw(figure: FigureBase, sheet: Sheet, streams: Sequence[Stream], total: float, summed: str) -> None:
    axes = figure.subplots()
    axes.set_axis_off()
    axes.set_aspect("equal")
    outs = sum(each.shown and each.way not in ("back", "end") for each in streams)
    drop: tuple[float, ...]
    lines = max((len(textwrap.wrap(each.name, 12)) for each in streams), default=1) + 2
    length, wide, drop, apart = 760.0, 150.0, (30.0,), 36.0 if sheet.narrow else 92.0
    if sheet.narrow:
        length, wide, drop = max(470.0, 46.0 * outs + 100.0), 72.0, (12.0,)
    elif outs >= 8:
        apart = 50.0
        drop = (30.0, 30.0 + 1.3 * lines * sheet.letters + 8.0)
    trunk, ribbons = lay_ribbons(streams, length=length, wide=wide, drop=drop, apart=apart)
    _fill(axes, trunk, sheet, facecolor=light("accent"), edgecolor=light("accent"))
    for ribbon in ribbons:
        _fill(axes, ribbon.outline, sheet, linewidth=1.0, **_FACES[ribbon.stream.way])
        _name(axes, ribbon, sheet, length)
    _name_hammer(axes, sheet, total, wide)
    if not sheet.narrow:
        axes.text(0.45 * length, -16.0, summed, va="bottom", linespacing=1.5, fontsize=sheet.letters)
    back = max((each.width for each in ribbons if each.stream.way == "back"), default=0.0)
    _frame(axes, sheet, length, wide + max(drop), back)


def _frame(axes: Axes, sheet: Sheet, length: float, far: float, back: float) -> None:
    near = min(-2.0 * _TURN - back - 8.0, back - 98.0 if sheet.narrow else 0.0)
    if sheet.narrow:
        axes.set_xlim(near, near + sheet.width - 16.0)
        axes.set_ylim(length + 34.0, -6.0)
    else:
        axes.set_xlim(-4.0, sheet.width - 16.0)
        axes.set_ylim(far + 92.0, near - 22.0)


def _fill(axes: Axes, outline: FloatArray, sheet: Sheet, **face: Any) -> None:
    points = outline[:, ::-1] if sheet.narrow else outline
    axes.add_patch(Polygon(points, closed=True, **face))


def _name(axes: Axes, ribbon: Ribbon, sheet: Sheet, length: float) -> None:
    stream, (along, across) = ribbon.stream, ribbon.end
    figures = (_joules(stream.energy), _percent(stream.share))
    size = sheet.letters * 0.92
    if stream.way == "back":
        _name_rebound(axes, ribbon, sheet)
    elif sheet.narrow:
        words = "\n".join([*textwrap.wrap(stream.name, 20), f"{figures[0]}, {figures[1]}"])
        if stream.way == "end":
            axes.text(across + 12.0, length, words, ha="left", va="center", fontsize=size)
        else:
            axes.text(across + 4.0, along, words, ha="left", va="center", fontsize=size)
    elif stream.way == "end":
        words = "\n".join([*textwrap.wrap(stream.name, 10), *figures])
        axes.text(along + 6.0, across, words, ha="left", va="center", fontsize=size)
    else:
        words = "\n".join([*textwrap.wrap(stream.name, 12), *figures])
        axes.text(along, across + 4.0, words, ha="center", va="top", fontsize=size)


def _name_rebound(axes: Axes, ribbon: Ribbon, sheet: Sheet) -> None:
    stream = ribbon.stream
    words = (
        f"{stream.name}{chr(10) if sheet.narrow else ' '}{_joules(stream.energy)}, {_percent(stream.share)}"
    )
    if sheet.narrow:
        below = ribbon.outline[:, 0].max() + 6.0
        axes.text(ribbon.width - 7.0, below, words, ha="right", va="top", fontsize=sheet.letters * 0.92)
    else:
        top = ribbon.end[1] - ribbon.width / 2 - 8.0
        axes.text(0.0, top, words, ha="left", va="bottom", fontsize=sheet.letters)


def _name_hammer(axes: Axes, sheet: Sheet, total: float, wide: float) -> None:
    style: dict[str, Any] = {"color": light("paper"), "fontsize": sheet.letters, "fontweight": "bold"}
    if sheet.narrow:
        axes.text(wide / 2, 8.0, f"{say('hammer')}\n{_joules(total)}", ha="center", va="top", **style)
    else:
        axes.text(
            10.0,
            wide / 2,
            say("hammer\nbrings in\n{energy}", energy=_joules(total)),
            ha="left",
            va="center",
            **style,
        )
