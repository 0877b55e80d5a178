"""One blow in slow motion on one sheet: who turns, who touches, what torque runs, what the bolt gains."""

from __future__ import annotations

from typing import Any, Final

import numpy as np
from matplotlib.axes import Axes
from matplotlib.figure import FigureBase

from strikeproof.language import retold, say, write_figures
from strikeproof.publish.blow.scene import TURNS
from strikeproof.publish.blow.story import BACKWARD, DRIVING, OPEN, SLIPPING, STATES, Story, body_word
from strikeproof.publish.blow.strokes import Stroke, label_ends, spread, strokes_of_bodies
from strikeproof.publish.colours import light
from strikeproof.publish.drawing import Chart, Sheet, finish_axes
from strikeproof.publish.texts import clip

__all__ = ["slow_motion_chart"]

_FACES: Final[dict[int, dict[str, Any]]] = {
    DRIVING: {"facecolor": light("accent"), "edgecolor": light("accent")},
    BACKWARD: {"facecolor": light("paper"), "edgecolor": light("lower"), "hatch": "////"},
    SLIPPING: {"facecolor": light("paper"), "edgecolor": light("ink"), "hatch": "...."},
    OPEN: {"facecolor": light("paper"), "edgecolor": light("unknown")},
}
_ROW: Final = {True: 26, False: 27}  # pixels of a bar's row, narrow and wide


def slow_motion_chart(story: Story) -> Chart:
    """Angles, contacts, torques and clamp load of a blow over one axis of time, events numbered."""
    rows = len(_bars(story))

    def height(sheet: Sheet) -> int:
        return sum(_heights(story, sheet)) + 150 + _legend_lines(story, sheet) * int(1.45 * sheet.letters)

    def draw(figure: FigureBase, sheet: Sheet) -> None:
        _draw(figure, sheet, story)

    gain = story.clamp_load[-1] - story.clamp_load[0]
    happened = "; ".join(
        say("{event} at {time} ms", event=each.words, time=write_figures(f"{each.time:.2f}"))
        for each in story.events
    )
    return Chart(
        "blow",
        "blow",
        say("One blow in slow motion"),
        say(
            "Simulated blow of {end} ms, {rows} contacts; clamp load {gain} kN. {happened}.",
            end=write_figures(f"{story.end:.2f}"),
            rows=rows,
            gain=write_figures(f"{gain:+.2f}"),
            happened=happened,
        ),
        height,
        draw,
        key=say(
            "Angle 0: the bolt before the blow. Bars: filled, driving or bolt turning; empty, open or bolt "
            "held; hatched, backward."
        ),
    )


def _bars(story: Story) -> list[tuple[str, list[tuple[float, float, int]], bool]]:
    """Name, stretches and whether it is the bolt, for all that can change."""
    rows = [
        (each.name, story.stretches(place), False)
        for place, each in enumerate(story.contacts)
        if each.opens or np.any(story.states[:, place] == SLIPPING)
    ]
    return [*rows, (body_word("bolt"), story.turns(), True)]


def _heights(story: Story, sheet: Sheet) -> tuple[int, int, int, int]:
    """Pixels of angles, contacts, torques, clamp load."""
    bars = _ROW[sheet.narrow] * len(_bars(story))
    return (150, bars, 160, 70) if sheet.narrow else (190, bars, 210, 90)


def _columns(sheet: Sheet) -> int:
    return 1 if sheet.narrow else 2


def _legend_lines(story: Story, sheet: Sheet) -> int:
    return -(-len(story.events) // _columns(sheet))


def _draw(figure: FigureBase, sheet: Sheet, story: Story) -> None:
    shares = [*_heights(story, sheet), 1.45 * sheet.letters * _legend_lines(story, sheet)]
    cells = figure.subplots(5, 1, height_ratios=shares)
    for cell in cells[:4]:
        cell.set_xlim(0.0, story.end)
        cell.tick_params(labelbottom=cell is cells[3])
        for event in story.events:
            cell.axvline(event.time, color=light("unknown"), lw=0.8, ls=(0, (1, 2)), zorder=0.5)
    _draw_angles(cells[0], sheet, story)
    _draw_bars(cells[1], sheet, story)
    _draw_torques(cells[2], sheet, story)
    _draw_load(cells[3], sheet, story)
    _number_events(cells[0], sheet, story)
    _list_events(cells[4], sheet, story)


def _draw_angles(cell: Axes, sheet: Sheet, story: Story) -> None:
    strokes = strokes_of_bodies(story.bodies)
    for place, stroke in enumerate(strokes):
        cell.plot(story.time, story.angles[:, place], **stroke.style())
    names = [clip(body_word(name), 12) for name in story.bodies]
    finish_axes(cell, y=say("angle (°)"))
    near = story.angles[:, 1:], story.angles[story.time <= story.parted, :1]  # not the hammer's way back
    cell.set_ylim(*_padded(np.concatenate([each.ravel() for each in near])))
    label_ends(cell, names, list(story.angles[-1]), strokes, sheet, _heights(story, sheet)[0])


def _draw_bars(cell: Axes, sheet: Sheet, story: Story) -> None:
    rows = _bars(story)
    for place, (_name, stretches, is_bolt) in enumerate(rows):
        for start, end, state in stretches:
            cell.barh(place, end - start, left=start, height=0.62, linewidth=1.0, zorder=2, **_FACES[state])
            _write_state(cell, sheet, story, place, (start, end), state, is_bolt)
    cell.set_ylim(len(rows) - 0.45, -0.55)
    cell.set_yticks(range(len(rows)), [clip(name, 12 if sheet.narrow else 20) for name, *_ in rows])
    cell.grid(visible=False)
    finish_axes(cell)
    cell.spines[["left", "bottom"]].set_visible(False)


def _write_state(
    cell: Axes,
    sheet: Sheet,
    story: Story,
    place: int,
    stretch: tuple[float, float],
    state: int,
    is_bolt: bool,
) -> None:
    """The state's word in its bar, where there is room."""
    word = retold(TURNS[state] if is_bolt else STATES[state])
    room = (stretch[1] - stretch[0]) / story.end * (sheet.width * (0.46 if sheet.narrow else 0.62))
    if room < 0.62 * sheet.letters * (len(word) + 1):
        return
    colour = light("paper") if state == DRIVING else light("ink")
    ground: dict[str, Any] = {} if state != BACKWARD else {"backgroundcolor": light("paper")}
    middle = (stretch[0] + stretch[1]) / 2
    cell.text(
        middle, place, word, color=colour, ha="center", va="center", fontsize=0.92 * sheet.letters, **ground
    )


def _draw_torques(cell: Axes, sheet: Sheet, story: Story) -> None:
    strokes = strokes_of_bodies(story.bodies)
    chosen = [strokes[each.second] for each in story.contacts]
    for place, stroke in enumerate(chosen):
        cell.plot(story.time, story.torques[:, place], **stroke.style())
    cell.plot(story.time, story.needed, color=light("soft"), lw=3.0, alpha=0.55, solid_capstyle="butt")
    finish_axes(cell, y=say("torque (N·m)"))
    cell.set_ylim(*_padded(np.column_stack([story.torques, story.needed])))
    names = [clip(each.name, 12 if sheet.narrow else 20) for each in story.contacts] + [say("slow turning")]
    ends = [*story.torques[-1].tolist(), float(story.needed[-1])]
    plain = Stroke("soft", (), 3.0)
    label_ends(cell, names, ends, [*chosen, plain], sheet, _heights(story, sheet)[2])


def _draw_load(cell: Axes, sheet: Sheet, story: Story) -> None:
    before, after = float(story.clamp_load[0]), float(story.clamp_load[-1])
    cell.plot(story.time, story.clamp_load, color=light("ink"), lw=2.0)
    finish_axes(cell, x=say("time from first contact, simulated (ms)"), y=say("clamp\nload (kN)"))
    low, high = _padded(story.clamp_load)
    if high - low < 0.02 * max(abs(after), 1e-9):
        low, high = low - 0.01 * abs(after), high + 0.01 * abs(after)
    cell.set_ylim(low, high)
    cell.ticklabel_format(useOffset=False)
    cell.locator_params(axis="y", nbins=3)
    across = cell.get_yaxis_transform()
    cell.text(
        1.012,
        after,
        write_figures(f"{after - before:+.2f} kN".replace("-", "−")),
        transform=across,
        va="center",
        ha="left",
    )


def _padded(values: np.ndarray) -> tuple[float, float]:
    low, high = float(np.min(values)), float(np.max(values))
    room = 0.06 * (high - low) or max(0.05 * abs(high), 1e-3)
    return low - room, high + room


def _number_events(cell: Axes, sheet: Sheet, story: Story) -> None:
    """A number for each event above the panels, moved apart where events lie close."""
    width = sheet.width * (0.5 if sheet.narrow else 0.74)
    least = 1.5 * sheet.letters / width * story.end
    places = spread([event.time for event in story.events], least, 0.0, story.end)
    up = cell.get_xaxis_transform()
    for number, (event, place) in enumerate(zip(story.events, places, strict=True), start=1):
        cell.plot(
            [event.time, place], [1.0, 1.055], transform=up, clip_on=False, color=light("unknown"), lw=0.8
        )
        cell.text(
            place,
            1.065,
            str(number),
            transform=up,
            ha="center",
            va="bottom",
            fontsize=sheet.letters * 0.9,
            fontweight="bold",
        )


def _list_events(cell: Axes, sheet: Sheet, story: Story) -> None:
    """The events in words, numbered, in columns."""
    cell.set_axis_off()
    columns, lines = _columns(sheet), _legend_lines(story, sheet)
    for place, event in enumerate(story.events):
        column, line = divmod(place, lines)
        cell.text(
            column / columns,
            1.0 - line / max(lines, 1),
            f"{place + 1}  {write_figures(f'{event.time:.2f}')} ms  {event.words}",
            transform=cell.transAxes,
            va="top",
            ha="left",
            fontsize=sheet.letters * 0.92,
        )
