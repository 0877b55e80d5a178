"""Dimensions on a drawing sheet that keep out of each other's way, in millimetres of paper."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
from itertools import pairwise
from typing import Final

from strikeproof.parts import Stroke, Words
from strikeproof.parts.sheet import Point, arrow, dimension

__all__ = ["Diameter", "Length", "draw_diameters", "draw_lengths", "words_width"]

_FIRST: Final = 7.0
_ROW: Final = 6.5
_COLUMN: Final = 7.5
_LETTERS: Final = 2.8
_NARROW: Final = 7.0
"""A dimension line too short for two arrow heads: they stand outside and point in. [mm]"""


def words_width(text: str, height: float = _LETTERS) -> float:
    """About what a text takes in a plain sans face. [mm]"""
    return 0.6 * height * len(text)


@dataclass(frozen=True, slots=True)
class Length:
    """A distance along the axis between two points of the view, `one` on the left."""

    one: Point
    other: Point
    text: str

    @property
    def span(self) -> float:
        """On paper. [mm]"""
        return self.other[0] - self.one[0]

    @property
    def narrow(self) -> bool:
        """Whether its arrows stand outside."""
        return self.span < _NARROW

    @property
    def reach(self) -> tuple[float, float]:
        """From where to where its line and words go."""
        wide = words_width(self.text)
        if self.narrow:
            return self.one[0] - 6.0, self.other[0] + 6.0 + wide
        over = max(0.0, (wide - self.span) / 2)
        return self.one[0] - over, self.other[0] + over


def draw_lengths(lengths: Iterable[Length], edge: float, way: int) -> Iterator[Stroke | Words]:
    """Lengths in rows above (`way` 1) or below (−1) the height `edge`, the short ones next to the view."""
    rows: list[list[tuple[float, float]]] = []
    for each in sorted(lengths, key=lambda each: (each.span, each.one[0])):
        row = next((i for i, taken in enumerate(rows) if _free(each.reach, taken)), len(rows))
        if row == len(rows):
            rows.append([])
        rows[row].append(each.reach)
        yield from _length(each, edge + way * (_FIRST + _ROW * row))


def _free(reach: tuple[float, float], taken: Sequence[tuple[float, float]]) -> bool:
    return all(reach[1] <= left + 0.1 or reach[0] >= right - 0.1 for left, right in taken)


def _length(each: Length, y: float) -> Iterator[Stroke | Words]:
    start, end = (each.one[0], y), (each.other[0], y)
    if not each.narrow:
        yield from _small(dimension(each.one, each.other, (start, end), each.text))
        return
    for point, foot in ((each.one, start), (each.other, end)):
        yield Stroke((point, foot), "thin")
    left, right = (start[0] - 6.0, y), (end[0] + 6.0, y)
    yield Stroke((left, right), "thin")
    yield arrow(start, left)
    yield arrow(end, right)
    yield Words((right[0] + 0.8, y - 1.0), each.text, _LETTERS, "start")


@dataclass(frozen=True, slots=True)
class Diameter:
    """An outside: its radius, and the places along the axis where it begins and ends."""

    radius: float
    start: float
    end: float
    text: str


def draw_diameters(
    diameters: Sequence[Diameter], ends: tuple[float, float]
) -> tuple[list[Stroke | Words], float, float]:
    """Diameters at the side from which nothing wider hides them, else across their own body.

    One that is hidden all along is left to the part list.

    Parameters
    ----------
    ends
        Left and right end of the view.

    Returns
    -------
    drawn, left, right
        And how far they reach to either side.
    """
    left, right = ends[0] - 3.0, ends[1] + 3.0
    drawn: list[Stroke | Words] = []
    for each in sorted(diameters, key=lambda each: each.radius):
        wider = [other for other in diameters if other.radius > each.radius + 1e-6]
        if all(other.end <= each.end + 1e-6 for other in wider):
            right += _COLUMN
            drawn += _diameter(each, each.end, right)
        elif all(other.start >= each.start - 1e-6 for other in wider):
            left -= _COLUMN
            drawn += _diameter(each, each.start, left)
        elif (clear := _clear(each, wider)) is not None:
            drawn += _diameter(each, each.start, clear)
    return drawn, left, right


def _clear(each: Diameter, wider: Sequence[Diameter]) -> float | None:
    """The middle of the longest stretch that no wider body covers; None where there is none."""
    inside = (at for other in wider for at in (other.start, other.end) if each.start < at < each.end)
    stretches = pairwise(sorted({each.start, each.end, *inside}))
    seen = [
        (b - a, (a + b) / 2)
        for a, b in stretches
        if not any(other.start <= (a + b) / 2 <= other.end for other in wider)
    ]
    return max(seen)[1] if seen else None


def _diameter(each: Diameter, at: float, x: float) -> Iterator[Stroke | Words]:
    top, foot = (x, each.radius), (x, -each.radius)
    return _small(dimension((at, each.radius), (at, -each.radius), (top, foot), each.text))


def _small(items: Iterable[Stroke | Words]) -> Iterator[Stroke | Words]:
    for item in items:
        yield (
            Words(item.at, item.text, _LETTERS, item.anchor, item.turned) if isinstance(item, Words) else item
        )
