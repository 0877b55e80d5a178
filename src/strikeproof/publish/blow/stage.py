"""What is around the discs of the film: words, lights, torque bars, strip charts."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

import numpy as np

from strikeproof.publish.blow.discs import Station
from strikeproof.publish.blow.layout import Box
from strikeproof.publish.blow.scene import Scene
from strikeproof.publish.blow.strokes import Stroke, spread
from strikeproof.publish.texts import clip
from strikeproof.quantity import FloatArray

__all__ = [
    "Line",
    "Word",
    "bar_box",
    "caption_word",
    "clock_word",
    "light_box",
    "name_word",
    "still_words",
    "strip_lines",
    "torque_lines",
    "torque_scale",
    "torque_word",
    "x_at",
]

Anchor = Literal["start", "middle", "end"]


@dataclass(frozen=True, slots=True)
class Word:
    """A line of text with its baseline at a point of the frame; size in pixels."""

    x: float
    y: float
    text: str
    size: float = 13.0
    anchor: Anchor = "start"
    role: str = "ink"
    bold: bool = False


@dataclass(frozen=True, slots=True)
class Line:
    """A curve of a strip chart in pixels, with its name (none: a rule of the chart)."""

    points: FloatArray
    stroke: Stroke
    name: str = ""


def name_word(scene: Scene, station: Station, state: str = "") -> Word:
    """The body's name above its disc, with the bolt's state behind it."""
    text = clip(station.name, scene.layout.fitting(scene.layout.pitch, scene.layout.letters) - len(state)) + (
        f": {state}" if state else ""
    )
    y = station.centre[1] - scene.layout.largest - 10.0
    return Word(station.centre[0], y, text, scene.layout.letters, "middle", bold=True)


def light_box(scene: Scene, station: Station) -> Box:
    """Where a contact says what it does, below the disc that it drives."""
    big = scene.layout.letters > 12.0
    width, height = (104.0, 21.0) if big else (78.0, 15.0)
    return Box(station.centre[0] - width / 2, station.centre[1] + scene.layout.largest + 6.0, width, height)


def bar_box(scene: Scene, station: Station) -> Box:
    """Where the torque of a contact is shown as a bar, below its light."""
    light = light_box(scene, station)
    return Box(light.left, light.top + light.height + 3.0, light.width, 5.0)


def torque_word(scene: Scene, station: Station, torque: float | None) -> Word:
    """Contact and torque below its bar; without a torque the contact alone."""
    bar = bar_box(scene, station)
    size = scene.layout.letters - 1.0
    most = scene.layout.fitting(scene.layout.pitch, size) - 10  # the torque needs the rest
    name = "" if station.contact is None else clip(scene.story.contacts[station.contact].name, max(most, 4))
    text = name if torque is None else f"{name} {torque:.0f} N·m".replace("-", "−")
    return Word(station.centre[0], bar.top + bar.height + 13.0, text, size, "middle")


def caption_word(scene: Scene, text: str) -> Word:
    """What has just happened."""
    return Word(
        scene.layout.torque_strip.left,
        scene.layout.caption,
        text,
        13.0 if scene.layout.narrow else 15.0,
        bold=True,
    )


def clock_word(scene: Scene, text: str) -> Word:
    """The time of the blow, at the right of the caption."""
    size = 13.0 if scene.layout.narrow else 15.0
    return Word(scene.layout.frame[0] - 8.0, scene.layout.caption, text, size, "end", bold=True)


def torque_scale(scene: Scene) -> float:
    """The largest torque, which fills a bar. [N·m]"""
    return max(float(np.abs(scene.story.torques).max()), 1e-9)


def x_at(scene: Scene, time: float) -> float:
    """Where a time [ms] is on the strip charts."""
    strip = scene.layout.torque_strip
    return strip.left + strip.width * time / scene.story.end


def _heights(strip: Box, values: FloatArray, low: float, high: float) -> FloatArray:
    return strip.top + strip.height * (high - values) / (high - low)


def _torque_span(scene: Scene) -> tuple[float, float]:
    values = np.concatenate([scene.story.torques.ravel(), scene.story.needed])
    low, high = min(0.0, float(values.min())), max(float(values.max()), 1.0)
    return low - 0.04 * (high - low), high + 0.06 * (high - low)


def _load_span(scene: Scene) -> tuple[float, float]:
    low, high = float(scene.story.clamp_load.min()), float(scene.story.clamp_load.max())
    room = max(0.15 * (high - low), 1e-4 * max(high, 1.0))
    return low - room, high + room


def strip_lines(scene: Scene) -> list[Line]:
    """Every torque, that of slow turning, and the clamp load, thinned to what a pixel shows."""
    story, rows = scene.story, _seen_rows(scene)
    across = np.array([x_at(scene, float(time)) for time in story.time[rows]])
    span = _torque_span(scene)
    strokes = {station.contact: station.stroke for station in scene.stations if station.contact is not None}
    lines = [
        Line(
            np.column_stack([across, _heights(scene.layout.torque_strip, story.torques[rows, place], *span)]),
            strokes[place],
            contact.name,
        )
        for place, contact in enumerate(story.contacts)
    ]
    needed = _heights(scene.layout.torque_strip, story.needed[rows], *span)
    lines.append(Line(np.column_stack([across, needed]), Stroke("soft", (), 3.0), "slow turning"))
    load = _heights(scene.layout.load_strip, story.clamp_load[rows], *_load_span(scene))
    lines.append(Line(np.column_stack([across, load]), Stroke("ink", (), 2.0), "clamp load"))
    return lines


def torque_lines(lines: list[Line]) -> list[Line]:
    """Those of `strip_lines` that are torques: all but the clamp load, which is last."""
    return lines[:-1]


def _seen_rows(scene: Scene) -> np.ndarray:
    """Rows of the story, no more than some two a pixel."""
    time = scene.story.time
    pixel = np.floor(time / scene.story.end * 2.0 * scene.layout.torque_strip.width)
    return np.unique(np.append(np.unique(pixel, return_index=True)[1], time.size - 1))


def still_words(scene: Scene) -> list[Word]:
    """All words that stay as they are."""
    story = scene.story
    words = [
        Word(12.0, 26.0, "One blow in slow motion", 17.0, bold=True),
    ]
    words += _heading_words(scene)
    words += [name_word(scene, station) for station in scene.stations if not station.braked]
    words += _hammer_words(scene)
    words += _axis_words(scene)
    lines = strip_lines(scene)
    words += _line_words(scene, torque_lines(lines))
    strip = scene.layout.torque_strip
    gain = float(story.clamp_load[-1] - story.clamp_load[0])
    words.append(
        Word(
            strip.left + strip.width + 8.0,
            float(lines[-1].points[-1, 1]) + 4.0,
            f"{gain:+.2f} kN".replace("-", "−"),
            12.0,
            bold=True,
        )
    )
    return words


def _line_words(scene: Scene, lines: list[Line]) -> list[Word]:
    """The name of every torque at the end of its line, apart from each other."""
    layout, strip = scene.layout, scene.layout.torque_strip
    size, left = 11.0 if layout.letters > 12.0 else 9.5, strip.right + 34.0
    most = layout.fitting(layout.frame[0] - left, size)
    ends = spread([float(line.points[-1, 1]) for line in lines], 13.0, strip.top, strip.bottom)
    return [Word(left, y + 4.0, clip(line.name, most), size) for line, y in zip(lines, ends, strict=True)]


def _heading_words(scene: Scene) -> list[Word]:
    """The lines under the title."""
    layout = scene.layout
    lines = [(text, 12.5, "ink", 17.0) for text in layout.heading]
    lines += [(text, 11.0, "soft", 15.0) for text in layout.small]
    words, y = [], 30.0
    for text, size, role, step in lines:
        y += step
        words.append(Word(12.0, y, text, size, role=role))
    return words


def _hammer_words(scene: Scene) -> list[Word]:
    """The hammer's speeds below its disc."""
    station = scene.stations[0]
    before, back = scene.story.hammer_speed
    box = light_box(scene, station)
    size = scene.layout.letters - 1.0
    return [
        Word(station.centre[0], box.top + 0.6 * box.height, f"{before:.0f} rad/s in", size, "middle"),
        Word(
            station.centre[0],
            box.top + 0.6 * box.height + 1.3 * size,
            f"{abs(back):.0f} rad/s {'back' if back >= 0.0 else 'on'}",
            size,
            "middle",
        ),
    ]


def _axis_words(scene: Scene) -> list[Word]:
    strip, load = scene.layout.torque_strip, scene.layout.load_strip
    low, high = _torque_span(scene)
    step = _round_step((high - low) / 2.5)
    words = [
        Word(
            strip.left - 8.0,
            float(_heights(strip, np.array(value), low, high)) + 4.0,
            f"{value:g}",
            11.0,
            "end",
        )
        for value in np.arange(np.ceil(low / step) * step, high, step) + 0.0
    ]
    for end in (float(scene.story.clamp_load.min()), float(scene.story.clamp_load.max())):
        y = float(_heights(load, np.array(end), *_load_span(scene)))
        words.append(Word(load.left - 8.0, y + 4.0, f"{end:.1f}", 11.0, "end"))
    words += [
        Word(8.0, strip.top - 4.0, "N·m", 11.0),
        Word(8.0, load.top + load.height / 2 + 4.0, "kN", 11.0),
    ]
    tick = _round_step(scene.story.end / (3.5 if scene.layout.narrow else 6.0))
    for time in np.arange(0.0, scene.story.end + 1e-9, tick):
        words.append(Word(x_at(scene, float(time)), load.bottom + 16.0, f"{time:.6g}", 11.0, "middle"))
    words.append(
        Word(strip.left + strip.width / 2, load.bottom + 34.0, "time from first contact (ms)", 12.0, "middle")
    )
    return words


def _round_step(rough: float) -> float:
    """1, 2 or 5 times a power of ten, about so large."""
    power = 10.0 ** np.floor(np.log10(rough))
    return float(power * min((1.0, 2.0, 5.0, 10.0), key=lambda each: abs(np.log(each * power / rough))))
