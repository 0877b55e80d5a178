"""The film of a blow as a drawing that moves by itself, and as a page that can be stopped and stepped.

Neither needs anything but a browser. Colours are the page's roles, light or dark as the reader's screen.
"""

from __future__ import annotations

import json
import math
import re
from collections.abc import Iterable, Sequence
from importlib.resources import files

import numpy as np

from strikeproof.plain_text import xml_text
from strikeproof.publish.blow.discs import Station
from strikeproof.publish.blow.layout import Box
from strikeproof.publish.blow.scene import RATE, TURNS, WORDS, Scene
from strikeproof.publish.blow.stage import (
    Line,
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
from strikeproof.publish.blow.story import BACKWARD, DRIVING, OPEN, SLIPPING
from strikeproof.publish.colours import theme_css
from strikeproof.quantity import FloatArray

__all__ = ["film_page", "film_svg"]


def film_svg(scene: Scene) -> str:
    """The film as one SVG file that plays again and again."""
    width, height = scene.layout.frame
    style = f"<style>{theme_css()}</style>"
    size = f'xmlns="http://www.w3.org/2000/svg" width="{width}" height="{height}" '
    return _svg(scene, style, size, clock=False) + "\n"


def film_page(wide: Scene, narrow: Scene) -> str:
    """The film as one HTML page with a button, a slider over the blow, and its events to jump to.

    `wide` and `narrow` are one blow on the same clock; the page shows the one that fits.
    """
    shell = files("strikeproof.publish").joinpath("templates", "film.html").read_text(encoding="utf-8")
    marks = {
        "@theme@": theme_css(),
        "@title@": xml_text(f"One blow in slow motion: {wide.whose}"),
        "@wide@": _svg(wide, "", 'class="film wide" ', clock=True),
        "@narrow@": _svg(narrow, "", 'class="film narrow" ', clock=True),
        "@events@": _event_buttons(wide),
        "@told@": json.dumps(_told(wide), separators=(",", ":")).replace("<", "\\u003c"),
    }
    return re.sub("|".join(marks), lambda found: marks[found[0]], shell)


def _told(scene: Scene) -> dict[str, object]:
    """What the page says about each frame."""
    story, times = scene.story, scene.clock.times
    rows = [scene.row_at(float(time)) for time in times]
    return {
        "rate": RATE,
        "frames": int(times.size),
        "still": _frame_of(scene, story.end / 2.0),
        "times": [round(float(time), 4) for time in times],
        "torques": [[round(float(value), 1) for value in story.torques[row]] for row in rows],
        "names": [contact.name for contact in story.contacts],
        "loads": [round(float(story.clamp_load[row]), 3) for row in rows],
    }


def _frame_of(scene: Scene, time: float) -> int:
    """The first frame that shows the blow at a time or later; for its first instant the last such frame."""
    times = scene.clock.times
    return max(int(np.argmax(times >= time - 1e-9)), int(np.count_nonzero(times <= 0.0)) - 1)


def _event_buttons(scene: Scene) -> str:
    """Each event as a button that knows its first frame."""
    found = []
    for event in scene.story.events:
        frame = _frame_of(scene, event.time)
        words = xml_text(event.words)
        found.append(f'<li><button data-frame="{frame}">{event.time:.2f} ms {words}</button></li>')
    return "".join(found)


def _svg(scene: Scene, style: str, attributes: str, *, clock: bool) -> str:
    width, height = scene.layout.frame
    said = xml_text("One blow in slow motion. " + " ".join(scene.layout.heading))
    happened = "; ".join(f"{event.time:.2f} ms {event.words}" for event in scene.story.events)
    parts = [
        f'<svg {attributes}viewBox="0 0 {width} {height}" role="img" aria-label="{said}" '
        'font-family="system-ui, DejaVu Sans, sans-serif">',
        f"<desc>{xml_text(happened)}</desc>",
        style,
        f'<rect width="{width}" height="{height}" style="fill:var(--paper)"/>',
        *(_text(word) for word in still_words(scene)),
        *_strips(scene),
        *(_station(scene, station) for station in scene.stations),
        *_captions(scene),
    ]
    if clock:
        parts.append(_text(clock_word(scene, "0.000 ms"), ' class="now"'))
    return "\n".join([part for part in parts if part] + ["</svg>"])


def _text(word: Word, more: str = "") -> str:
    weight = ' font-weight="bold"' if word.bold else ""
    return (
        f'<text x="{word.x:.1f}" y="{word.y:.1f}" font-size="{word.size:g}" text-anchor="{word.anchor}"'
        f'{weight}{more} style="fill:var(--{word.role})">{xml_text(word.text)}</text>'
    )


def _timing(scene: Scene) -> str:
    return f'dur="{scene.clock.seconds:g}s" repeatCount="indefinite"'


def _spin(scene: Scene, body: int) -> str:
    """The turning of a body, one value a frame and the last one again, so that value k falls on frame k."""
    turns = scene.turns[:, body]
    values = ";".join(_short(float(turn)) for turn in np.append(turns, turns[-1]))
    return f'<animateTransform attributeName="transform" type="rotate" values="{values}" {_timing(scene)}/>'


def _short(value: float) -> str:
    return f"{value:.2f}".rstrip("0").rstrip(".") or "0"


def _path(outline: FloatArray) -> str:
    return "M" + "L".join(f"{x:.1f},{y:.1f}" for x, y in outline) + "Z"


def _station(scene: Scene, station: Station) -> str:
    x, y = station.centre
    own, driver = f"var(--{station.stroke.role})", f"var(--{station.driver.role})"
    radius = station.radius
    begun = _short(float(scene.turns[0, station.body]))
    ring = _path(station.ring[0]) + _path(station.ring[1][::-1])
    lugs = "".join(f'<path d="{_path(lug)}" style="fill:var(--band)"/>' for lug in station.lugs)
    parts = [
        f'<g transform="translate({x:.1f} {y:.1f})">',
        f'<path d="M-4,{-radius - 7:.1f}h8l-4,6Z" transform="rotate({begun})" style="fill:var(--soft)"/>',
        f'<g style="stroke:{own};stroke-width:1.4">{_spin(scene, station.body)}',
        f'<path d="{ring}" style="fill:var(--panel)"/>{lugs}',
        f'<path d="{_path(station.notch)}" style="fill:{own}"/></g>',
        f'<g style="fill:{driver};stroke:{driver};opacity:.65">{_spin(scene, scene.driver_of(station))}',
        f'<path d="{_path(station.tooth)}"/></g></g>',
    ]
    if station.contact is not None:
        parts += _contact(scene, station, station.contact)
    if station.braked:
        parts += _brake(scene, station)
    return "".join(parts)


def _spans(
    stretches: list[tuple[float, float, int]], last: int, end: float, state: int
) -> list[tuple[float, float]]:
    """When a state holds; the state of the last instant holds on without end."""
    found = [(a, b) for a, b, value in stretches if value == state]
    return [*found, (end, math.inf)] if last == state else found


def _brake(scene: Scene, station: Station) -> list[str]:
    story, found = scene.story, []
    for state, word in TURNS.items():
        spans = _spans(story.turns(), int(story.turning[-1]), story.end, state)
        if spans:
            found.append(_shown(scene, spans, _text(name_word(scene, station, word))))
    return found


def _contact(scene: Scene, station: Station, contact: int) -> list[str]:
    """Its light in every state that it takes, its torque as a bar, its name."""
    story, box = scene.story, light_box(scene, station)
    found = []
    for state in (OPEN, DRIVING, BACKWARD, SLIPPING):
        spans = _spans(story.stretches(contact), int(story.states[-1, contact]), story.end, state)
        if spans:
            solid = not story.contacts[contact].opens and state != SLIPPING
            found.append(
                _shown(scene, spans, _light(box, -1, "solid") if solid else _light(box, state, WORDS[state]))
            )
    bar = bar_box(scene, station)
    rows = [scene.row_at(float(time)) for time in scene.clock.times]
    widths = bar.width * np.abs(story.torques[rows, contact]) / torque_scale(scene)
    values = ";".join(_short(float(width)) for width in np.append(widths, widths[-1]))
    found += [
        _rect(bar, "fill:var(--rule)"),
        f'<rect x="{bar.left:.1f}" y="{bar.top:.1f}" width="0" height="{bar.height:g}" '
        f'style="fill:var(--ink)"><animate attributeName="width" values="{values}" {_timing(scene)}/></rect>',
        _text(torque_word(scene, station, None), f' data-contact="{contact}"'),
    ]
    return found


def _rect(box: Box, style: str) -> str:
    return (
        f'<rect x="{box.left:.1f}" y="{box.top:.1f}" width="{box.width:g}" height="{box.height:g}" '
        f'style="{style}"/>'
    )


def _light(box: Box, state: int, words: str) -> str:
    role = {DRIVING: "accent", BACKWARD: "lower", SLIPPING: "ink", OPEN: "unknown"}.get(state, "soft")
    ground = "accent" if state == DRIVING else "paper"
    size = 12.0 if box.height > 18.0 else 9.5
    word = Word(
        box.left + box.width / 2,
        box.top + box.height / 2 + 0.36 * size,
        words,
        size,
        "middle",
        "paper" if state == DRIVING else "ink",
        bold=True,
    )
    return _rect(box, f"fill:var(--{ground});stroke:var(--{role});stroke-width:1.6") + _text(word)


def _shown(scene: Scene, spans: Iterable[tuple[float, float]], inner: str) -> str:
    """`inner`, seen only while the blow is within the spans [ms]; one without end lasts to the film's end."""
    moments: dict[float, str] = {0.0: "hidden"}
    for start, end in spans:
        moments[_share(scene, start)] = "visible"
        if math.isfinite(end):
            moments[_share(scene, end)] = "hidden"
    keys = sorted(moments)
    times = ";".join(f"{key:.5f}" for key in keys)
    values = ";".join(moments[key] for key in keys)
    return (
        f'<g visibility="{moments[0.0]}">{inner}<animate attributeName="visibility" calcMode="discrete" '
        f'keyTimes="{times}" values="{values}" {_timing(scene)}/></g>'
    )


def _share(scene: Scene, time: float) -> float:
    """When in the film, 0 to 1, the blow reaches a time; its first instant lasts from the start on."""
    if time <= 0.0:
        return 0.0
    frame = float(np.interp(time, *_running(scene)))
    return min(frame / scene.clock.times.size, 0.99999)


def _running(scene: Scene) -> tuple[FloatArray, FloatArray]:
    """Times while the film runs, and their frames."""
    times = scene.clock.times
    first = int(np.count_nonzero(times <= 0.0)) - 1
    last = int(np.argmax(times >= scene.story.end))
    return times[first : last + 1], np.arange(first, last + 1, dtype=float)


def _captions(scene: Scene) -> list[str]:
    events = scene.story.events
    ends = [event.time for event in events[1:]] + [math.inf]
    found = []
    for event, end in zip(events, ends, strict=True):
        if end > event.time:
            text = _text(caption_word(scene, f"{event.time:.2f} ms  {event.words}"))
            found.append(_shown(scene, [(event.time, end)], text))
    return found


def _strips(scene: Scene) -> list[str]:
    """Curves faint in full, strong as far as they have run, and the line of now."""
    strip, load = scene.layout.torque_strip, scene.layout.load_strip
    bottom = load.top + load.height
    lines = strip_lines(scene)
    across = [x_at(scene, float(time)) for time in scene.clock.times]
    widths = ";".join(_short(x - strip.left) for x in [*across, across[-1]])
    moves = ";".join(f"{_short(x)} 0" for x in [*across, across[-1]])
    return [
        *(_rect(box, "fill:none;stroke:var(--rule)") for box in (strip, load)),
        f'<clipPath id="run{scene.layout.frame[0]}"><rect x="{strip.left:g}" y="{strip.top - 4:g}" width="0" '
        f'height="{bottom - strip.top + 8:g}">'
        f'<animate attributeName="width" values="{widths}" {_timing(scene)}/></rect></clipPath>',
        f'<g style="fill:none;opacity:.4">{_curves(lines, thin=True)}</g>',
        f'<g style="fill:none" clip-path="url(#run{scene.layout.frame[0]})">{_curves(lines, thin=False)}</g>',
        f'<path d="M0,{strip.top:g}V{bottom:g}" style="stroke:var(--ink)" '
        f'transform="translate({strip.left:g} 0)"><animateTransform attributeName="transform" '
        f'type="translate" values="{moves}" {_timing(scene)}/></path>',
        _key(scene, lines),
    ]


def _curves(lines: Sequence[Line], *, thin: bool) -> str:
    found = []
    for line in lines:
        width = 0.9 if thin else line.stroke.width
        dashes = ",".join(f"{each * width:.1f}" for each in line.stroke.dashes)
        dashed = f";stroke-dasharray:{dashes}" if dashes else ""
        points = " ".join(f"{x:.1f},{y:.1f}" for x, y in line.points)
        found.append(
            f'<polyline points="{points}" '
            f'style="stroke:var(--{line.stroke.role});stroke-width:{width:g}{dashed}"/>'
        )
    return "".join(found)


def _key(scene: Scene, lines: Sequence[Line]) -> str:
    """A bit of each torque's line before its name."""
    left = scene.layout.torque_strip.left + scene.layout.torque_strip.width
    named = [word.y - 4.0 for word in still_words(scene) if word.x == left + 34.0]
    found = []
    for line, y in zip(torque_lines(list(lines)), named, strict=True):
        dashes = ",".join(f"{each * 1.6:.1f}" for each in line.stroke.dashes)
        dashed = f";stroke-dasharray:{dashes}" if dashes else ""
        colour = f"stroke:var(--{line.stroke.role})"
        found.append(
            f'<path d="M{left + 1:g},{line.points[-1, 1]:.1f}L{left + 9:g},{y:.1f}" '
            f'style="{colour};stroke-width:.7"/>'
            f'<path d="M{left + 9:g},{y:.1f}H{left + 31:g}" style="{colour};stroke-width:1.6{dashed}"/>'
        )
    return "".join(found)
