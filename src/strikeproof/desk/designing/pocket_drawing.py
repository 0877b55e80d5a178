"""The room around a bolt as a little half-and-half section: pocket, wall, free length, and what is in it.

Drawn from a brief's tables as they are typed, so what is missing or wrong is simply not drawn. Plain markup
in a page's own colours; hatched is what is in the way.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from typing import Any, Final

from strikeproof.errors import StrikeproofError
from strikeproof.plain_text import xml_text
from strikeproof.quantity import parse_quantity

__all__ = ["Outline", "Room", "draw_room", "read_room"]

_BEYOND: Final = 1.05
"""How far the ground is drawn beyond the widest, as a share of it."""
_WIDTH: Final = 380.0
_HIGHEST: Final = 300.0
_MARGIN: Final = (84.0, 30.0)  # beside and above the drawing, for its figures
_GROUND: Final = 26.0

Write = Callable[[float], str]
"""A length in metres as people read it."""


@dataclass(frozen=True, slots=True)
class Outline:
    """What an article sweeps: radius against height above the seat, part by part. [m]"""

    part: str
    points: tuple[tuple[float, float], ...]
    touches: bool


@dataclass(frozen=True, slots=True)
class Room:
    """What can be drawn of a brief's envelope. [m]"""

    steps: tuple[tuple[float, float], ...]
    free_length: float | None
    wall: float | None
    hexagon: float | None

    @property
    def depth(self) -> float:
        """Of the pocket."""
        return self.steps[-1][0] if self.steps else 0.0


def read_room(tables: Mapping[str, Any]) -> Room:
    """The room as far as it is given: the steps that go deeper, and every length that is one."""
    envelope = tables.get("envelope", {})
    steps: list[tuple[float, float]] = []
    pocket = envelope.get("pocket", []) if isinstance(envelope, Mapping) else []
    for each in pocket if isinstance(pocket, list) else []:
        depth, width = (_length(each, key) for key in ("to_depth_mm", "diameter_mm"))
        if depth and width and depth > (steps[-1][0] if steps else 0.0):
            steps.append((depth, width))
    return Room(
        tuple(steps),
        _length(envelope, "free_length_mm"),
        _length(envelope, "nearest_wall_mm"),
        _length(tables.get("brief", {}), "hexagon_mm"),
    )


def _length(table: Any, key: str) -> float | None:
    value = table.get(key) if isinstance(table, Mapping) else None
    if isinstance(value, str):
        try:
            return parse_quantity(value, "length")
        except StrikeproofError:  # its field says what is wrong with it
            return None
    if not isinstance(value, int | float) or isinstance(value, bool):
        return None
    return value / 1e3 if 0 < value < 1e4 else None


def draw_room(room: Room, write: Write, outlines: Sequence[Outline] = ()) -> tuple[str, str]:
    """The section as one `<svg>`, and the same in words.

    Parameters
    ----------
    write
        Writes a length in the person's unit.
    outlines
        Of an article that is in it.
    """
    frame = _Frame.around(room, outlines)
    pieces = [
        *_ground(room, frame),
        *_bolt(room, frame),
        *_article(outlines, frame),
        *_figures(room, frame, write),
    ]
    height = frame.height + 2 * _MARGIN[1] + _GROUND
    head = (
        f'<svg viewBox="0 0 {_WIDTH:g} {height:.0f}" role="img" aria-label="{xml_text(_says(room, write))}">'
    )
    return f"{head}{_HATCH}{''.join(pieces)}</svg>", _says(room, write)


_SOLID: Final = 'fill="url(#room-hatch)" stroke="var(--ink)" stroke-width="1.6"'
_HATCH: Final = (
    '<defs><pattern id="room-hatch" width="7" height="7" patternUnits="userSpaceOnUse" '
    'patternTransform="rotate(45)"><path d="M0 0V7" stroke="var(--soft)" stroke-width="1.4"/></pattern>'
    "</defs>"
)


@dataclass(frozen=True, slots=True)
class _Frame:
    """Metres to pixels: the axis is in the middle, heights count from the seat."""

    scale: float
    half: float
    top: float

    @classmethod
    def around(cls, room: Room, outlines: Sequence[Outline]) -> _Frame:
        radii = [width / 2 for _depth, width in room.steps] + [
            radius for o in outlines for radius, _ in o.points
        ]
        radii += [room.wall] if room.wall else []
        half = 1.12 * max(radii or [0.03])
        tall = [room.free_length or 0.0, *(height for o in outlines for _, height in o.points)]
        top = max(1.25 * room.depth, *tall, 0.6 * half, 0.02)
        scale = min((_WIDTH - 2 * _MARGIN[0]) / (2 * half), _HIGHEST / top)
        return cls(scale, half, top)

    @property
    def height(self) -> float:
        return self.top * self.scale

    def x(self, radius: float) -> float:
        """Right of the axis; negative is left."""
        return _WIDTH / 2 + radius * self.scale

    def y(self, above: float) -> float:
        return _MARGIN[1] + (self.top - above) * self.scale


def _path(points: Sequence[tuple[float, float]], more: str) -> str:
    return f'<path d="M{" L".join(f"{x:.1f} {y:.1f}" for x, y in points)}Z" {more}/>'


def _ground(room: Room, frame: _Frame) -> list[str]:
    """Hatched: what the pocket is sunk into, and the nearest wall on the right."""
    low, edge = frame.y(0.0) + _GROUND, frame.half * _BEYOND
    profile = list(_profile(room))
    left = [
        (frame.x(-edge), low),
        *((frame.x(-r), frame.y(above)) for r, above in [(edge, room.depth), *profile]),
    ]
    right = [(frame.x(r), frame.y(above)) for r, above in [*reversed(profile), (edge, room.depth)]]
    pieces = [_path([*left, *right, (frame.x(edge), low)], _SOLID)]
    if room.wall:
        x, top, foot = frame.x(room.wall), frame.y(frame.top), frame.y(room.depth)
        pieces.append(_path([(x, top), (x + 10, top), (x + 10, foot), (x, foot)], _SOLID))
    return pieces


def _profile(room: Room) -> Iterator[tuple[float, float]]:
    """Corners of the pocket from its mouth down to the seat: radius, and height above the seat."""
    top = room.depth
    for depth, width in room.steps:
        yield width / 2, top
        top = room.depth - depth
        yield width / 2, top


def _bolt(room: Room, frame: _Frame) -> list[str]:
    """The head, as high as is usual, and the axis."""
    pieces = []
    if room.hexagon:
        half, high = room.hexagon / 2, 0.625 * room.hexagon
        box = [(frame.x(x), frame.y(y)) for x, y in ((-half, 0), (-half, high), (half, high), (half, 0))]
        pieces.append(_path(box, 'fill="var(--band)" stroke="var(--soft)" stroke-width="1.2"'))
    x, top, low = frame.x(0.0), frame.y(frame.top) - 10, frame.y(0.0) + _GROUND
    pieces.append(
        f'<path d="M{x:.1f} {top:.1f}V{low:.1f}" stroke="var(--soft)" stroke-dasharray="12 3 2 3" '
        'fill="none"/>'
    )
    return pieces


def _article(outlines: Sequence[Outline], frame: _Frame) -> list[str]:
    """Each part as the circle that it sweeps, cut in half; one that touches is drawn thick, and dashed."""
    pieces = []
    for each in outlines:
        right = [(frame.x(radius), frame.y(height)) for radius, height in each.points]
        left = [(frame.x(-radius), frame.y(height)) for radius, height in reversed(each.points)]
        role = "alarm" if each.touches else "accent"
        line = 'stroke-width="3" stroke-dasharray="6 3"' if each.touches else 'stroke-width="1.8"'
        pieces.append(
            _path(right + left, f'fill="var(--{role})" fill-opacity=".16" stroke="var(--{role})" {line}')
        )
    return pieces


def _figures(room: Room, frame: _Frame, write: Write) -> list[str]:
    pieces = []
    top = room.depth
    for depth, width in room.steps:
        y = (frame.y(top) + frame.y(room.depth - depth)) / 2
        pieces.append(_text(frame.x(-frame.half * _BEYOND) - 5, y + 4, f"⌀ {write(width)}", "end"))
        pieces.append(
            _text(frame.x(frame.half * _BEYOND) + 5, frame.y(room.depth - depth) + 4, write(depth), "start")
        )
        top = room.depth - depth
    if room.free_length:
        high = frame.y(room.free_length)
        line = f'<path d="M{frame.x(-frame.half):.1f} {high:.1f}H{frame.x(frame.half):.1f}" '
        pieces.append(f'{line}stroke="var(--accent)" stroke-width="2" stroke-dasharray="7 4"/>')
        pieces.append(_text(frame.x(0.0), high - 7, f"{write(room.free_length)} free", "middle"))
    if room.wall:
        y = frame.y(room.depth + 0.35 * (frame.top - room.depth))
        line = f'<path d="M{frame.x(0.0):.1f} {y:.1f}H{frame.x(room.wall):.1f}" '
        pieces.append(f'{line}stroke="var(--soft)" stroke-width="1"/>')
        pieces.append(_text((frame.x(0.0) + frame.x(room.wall)) / 2, y - 5, write(room.wall), "middle"))
    return pieces


def _text(x: float, y: float, words: str, anchor: str) -> str:
    return (
        f'<text x="{x:.1f}" y="{y:.1f}" text-anchor="{anchor}" fill="var(--ink)" font-size="13" '
        f'paint-order="stroke" stroke="var(--paper)" stroke-width="4">{xml_text(words)}</text>'
    )


def _says(room: Room, write: Write) -> str:
    said = [f"pocket {write(width)} wide down to {write(depth)}" for depth, width in room.steps]
    said = said or ["the space around the bolt's head is free"]
    if room.free_length:
        said.append(f"{write(room.free_length)} free to the anvil")
    if room.wall:
        said.append(f"nearest wall {write(room.wall)} from the axis")
    return "Section of the room: " + ", ".join(said)
