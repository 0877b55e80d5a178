"""The film of a blow as MP4: frames drawn by the plotting library, packed by PyAV (the extra `film`)."""

from __future__ import annotations

import importlib
import io
from collections.abc import Callable, Iterator
from fractions import Fraction
from typing import Any, Final

import matplotlib as mpl
import numpy as np
from matplotlib.backends.backend_agg import FigureCanvasAgg
from matplotlib.figure import Figure
from matplotlib.lines import Line2D
from matplotlib.patches import PathPatch, Polygon, Rectangle
from matplotlib.path import Path

from strikeproof.errors import BadInput
from strikeproof.publish.blow.discs import Station, outline_points
from strikeproof.publish.blow.scene import RATE, TURNS, WORDS, Scene
from strikeproof.publish.blow.stage import (
    Word,
    bar_box,
    caption_word,
    clock_word,
    light_box,
    name_word,
    still_words,
    strip_lines,
    torque_lines,
    torque_scale,
    torque_word,
    x_at,
)
from strikeproof.publish.blow.story import BACKWARD, DRIVING, SLIPPING
from strikeproof.publish.colours import light

__all__ = ["film_frames", "film_mp4"]

_DPI: Final = 100.0
_CODECS: Final = ("libx264", "libopenh264", "mpeg4")
_STYLE: Final[dict[Any, Any]] = {
    "font.family": ["DejaVu Sans"],
    "text.parse_math": False,
    "text.color": light("ink"),
    "hatch.linewidth": 0.7,
    "path.simplify": True,
}


def film_mp4(scene: Scene, *, progress: Callable[[int, int], None] | None = None) -> bytes:
    """The film as MP4, the same bytes for the same scene on one machine.

    Raises
    ------
    BadInput
        If PyAV is not installed or brings no encoder.
    """
    av = _load_av()
    codec = next((name for name in _CODECS if name in av.codecs_available), None)
    if codec is None:
        raise _missing("the installed PyAV has no video encoder")
    raw = io.BytesIO()
    with av.open(raw, "w", format="mp4", options={"fflags": "+bitexact"}) as container:
        stream = container.add_stream(codec, rate=RATE, options=_options(codec))
        stream.width, stream.height = scene.layout.frame
        stream.pix_fmt = "yuv420p"
        stream.codec_context.thread_count = 1  # more threads would change the bytes
        for place, picture in enumerate(film_frames(scene)):
            frame = av.VideoFrame.from_ndarray(picture, format="rgb24")
            frame.pts, frame.time_base = place, Fraction(1, RATE)
            container.mux(stream.encode(frame))
            if progress is not None:
                progress(place + 1, scene.clock.times.size)
        container.mux(stream.encode(None))
    return raw.getvalue()


def _options(codec: str) -> dict[str, str]:
    """Good at a small size; without x264's look-ahead over blocks, whose bytes differ from run to run."""
    if codec == "libx264":
        return {"crf": "20", "preset": "veryfast", "x264-params": "mbtree=0"}
    return {"b": "2000000"}


def _load_av() -> Any:
    try:
        return importlib.import_module("av")
    except ImportError as cause:
        raise _missing("the package av, which writes films, is not installed") from cause


def _missing(what: str) -> BadInput:
    return BadInput(
        what,
        where="film .mp4",
        allowed=".svg and .html, which need nothing, or .mp4 with the extra `film`",
        fix="install it with `pip install 'strikeproof[film]'`, or name a file that ends in .html",
    )


def film_frames(scene: Scene) -> Iterator[np.ndarray]:
    """Every frame of the film: (height, width, 3) of 8-bit colours."""
    width, height = scene.layout.frame
    with mpl.rc_context(_STYLE):
        figure = Figure(figsize=(width / _DPI, height / _DPI), dpi=_DPI, facecolor=light("paper"))
        canvas: Any = FigureCanvasAgg(figure)  # untyped in the library
        axes = figure.add_axes((0.0, 0.0, 1.0, 1.0), xlim=(0, width), ylim=(height, 0))
        axes.set_axis_off()
        _draw_still(axes, scene)
        moving = [_Disc(axes, scene, station) for station in scene.stations]
        strips = _Strips(axes, scene)
        canvas.draw()
        ground = canvas.copy_from_bbox(figure.bbox)
        shown: tuple[float, np.ndarray] | None = None
        for place, time in enumerate(scene.clock.times.tolist()):
            if shown is None or shown[0] != time:
                canvas.restore_region(ground)
                for disc in moving:
                    disc.show(place, scene.row_at(time))
                strips.show(time)
                shown = time, np.asarray(canvas.buffer_rgba())[:, :, :3].copy()
            yield shown[1]


def _say(axes: Any, word: Word, **more: Any) -> Any:
    align = {"start": "left", "middle": "center", "end": "right"}[word.anchor]
    return axes.text(
        word.x,
        word.y,
        word.text,
        fontsize=word.size * 72.0 / _DPI,
        ha=align,
        va="baseline",
        color=light(word.role),
        fontweight="bold" if word.bold else "normal",
        **more,
    )


def _draw_still(axes: Any, scene: Scene) -> None:
    """What stays: words, faint curves, frames of the strips, where each body was at first."""
    for word in still_words(scene):
        _say(axes, word)
    for strip in (scene.layout.torque_strip, scene.layout.load_strip):
        axes.add_patch(
            Rectangle((strip.left, strip.top), strip.width, strip.height, fc="none", ec=light("rule"), lw=0.8)
        )
    for line in strip_lines(scene):
        axes.plot(*line.points.T, **{**line.stroke.style(), "lw": 0.9, "alpha": 0.35})
    _draw_key(axes, scene)
    for station in scene.stations:
        mark = np.array(
            [[-4.0, -station.radius - 7.0], [4.0, -station.radius - 7.0], [0.0, -station.radius - 1.0]]
        )
        points = outline_points(mark, station.centre, float(scene.turns[0, station.body]))
        axes.add_patch(Polygon(points, fc=light("soft"), lw=0))


def _draw_key(axes: Any, scene: Scene) -> None:
    """A bit of each torque's line before its name."""
    lines = torque_lines(strip_lines(scene))
    left = scene.layout.torque_strip.left + scene.layout.torque_strip.width
    named = [word for word in still_words(scene) if word.x == left + 34.0]
    for line, word in zip(lines, named, strict=True):
        style = {**line.stroke.style(), "lw": 1.6}
        axes.plot(
            [left + 1.0, left + 9.0],
            [line.points[-1, 1], word.y - 4.0],
            color=light(line.stroke.role),
            lw=0.7,
        )
        axes.plot([left + 9.0, left + 31.0], [word.y - 4.0] * 2, **style)


class _Disc:
    """The moving parts of one station."""

    def __init__(self, axes: Any, scene: Scene, station: Station) -> None:
        self.axes, self.scene, self.station = axes, scene, station
        colour = light(station.stroke.role)
        solid: dict[str, Any] = {"animated": True, "lw": 1.4}
        self.ring = PathPatch(Path(np.zeros((1, 2))), fc=light("panel"), ec=colour, **solid)
        self.notch = Polygon(station.notch, fc=colour, ec=colour, **solid)
        self.lugs = [Polygon(each, fc=light("band"), ec=colour, **solid) for each in station.lugs]
        driver = light(station.driver.role)
        self.tooth = Polygon(station.tooth, fc=driver, ec=driver, alpha=0.62, **solid)
        parts = [self.ring, self.notch, *self.lugs, self.tooth]
        self.parts = parts
        for part in parts:
            axes.add_patch(part)

    def show(self, frame: int, row: int) -> None:
        """Draw the disc as it is in a frame."""
        station, turns = self.station, self.scene.turns[frame]
        turn = float(turns[station.body])
        rims = [outline_points(each, station.centre, turn) for each in station.ring]
        self.ring.set_path(Path.make_compound_path(Path(rims[0]), Path(rims[1][::-1])))
        self.notch.set_xy(outline_points(station.notch, station.centre, turn))
        for patch, outline in zip(self.lugs, station.lugs, strict=True):
            patch.set_xy(outline_points(outline, station.centre, turn))
        driver = self.scene.driver_of(station)
        self.tooth.set_xy(outline_points(station.tooth, station.centre, float(turns[driver])))
        for part in self.parts:
            self.axes.draw_artist(part)
        if station.contact is not None:
            self._show_contact(station.contact, row)
        if station.braked:
            state = TURNS[int(self.scene.story.turning[row])]
            self._write(name_word(self.scene, station, state))

    def _write(self, word: Word) -> None:
        text = _say(self.axes, word, animated=True)
        self.axes.draw_artist(text)
        text.remove()

    def _paint(self, patch: Rectangle) -> None:
        self.axes.add_patch(patch)
        self.axes.draw_artist(patch)
        patch.remove()

    def _show_contact(self, contact: int, row: int) -> None:
        story, box = self.scene.story, light_box(self.scene, self.station)
        state = int(story.states[row, contact])
        solid = not story.contacts[contact].opens and state != SLIPPING
        place = ((box.left, box.top), box.width, box.height)
        self._paint(Rectangle(*place, animated=True, **_light_face(state, solid)))
        words = "solid" if solid else WORDS[state]
        role = "paper" if state == DRIVING and not solid else "ink"
        size = 12.0 if box.height > 18.0 else 9.5
        middle = box.top + box.height / 2 + 0.36 * size
        self._write(Word(box.left + box.width / 2, middle, words, size, "middle", role, bold=True))
        torque = float(story.torques[row, contact])
        bar = bar_box(self.scene, self.station)
        share = abs(torque) / torque_scale(self.scene)
        self._paint(
            Rectangle((bar.left, bar.top), bar.width, bar.height, fc=light("rule"), animated=True, lw=0)
        )
        self._paint(
            Rectangle(
                (bar.left, bar.top), bar.width * share, bar.height, fc=light("ink"), animated=True, lw=0
            )
        )
        self._write(torque_word(self.scene, self.station, torque))


def _light_face(state: int, solid: bool) -> dict[str, Any]:
    if solid:
        return {"fc": light("paper"), "ec": light("soft"), "lw": 1.2}
    if state == DRIVING:
        return {"fc": light("accent"), "ec": light("accent"), "lw": 1.2}
    edge = light("lower") if state == BACKWARD else light("ink") if state == SLIPPING else light("unknown")
    return {"fc": light("paper"), "ec": edge, "lw": 1.6}


class _Strips:
    """The strip charts as far as they have run, the line of now, and what has just happened."""

    def __init__(self, axes: Any, scene: Scene) -> None:
        self.axes, self.scene = axes, scene
        self.curves = strip_lines(scene)
        self.lines = [axes.plot([], [], animated=True, **each.stroke.style())[0] for each in self.curves]
        bottom = scene.layout.load_strip.top + scene.layout.load_strip.height
        self.span = (scene.layout.torque_strip.top, bottom)
        self.now: Line2D = axes.plot([], [], color=light("ink"), lw=1.0, animated=True)[0]

    def show(self, time: float) -> None:
        """Draw them up to a time."""
        across = x_at(self.scene, time)
        for line, curve in zip(self.lines, self.curves, strict=True):
            kept = curve.points[:, 0] <= across + 1e-9
            line.set_data(*curve.points[kept].T)
            self.axes.draw_artist(line)
        self.now.set_data([across, across], self.span)
        self.axes.draw_artist(self.now)
        text = _say(self.axes, caption_word(self.scene, self.scene.caption_at(time)), animated=True)
        self.axes.draw_artist(text)
        text.remove()
        clock = clock_word(self.scene, f"{time:.3f} ms")
        text = _say(self.axes, clock, animated=True)
        self.axes.draw_artist(text)
        text.remove()
