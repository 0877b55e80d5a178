"""The frame of a workshop sheet: title block, part list, column of notes, in millimetres of paper."""

from __future__ import annotations

import textwrap
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
from typing import Final

from strikeproof.parts import Stroke, Words
from strikeproof.parts.sheet import Point

__all__ = ["Box", "Cell", "draw_box", "draw_notes", "draw_table", "draw_title"]

_LABEL: Final = 2.0
_VALUE: Final = 3.1
_HEAD: Final = 5.4
_ROW: Final = 5.0
_HANG: Final = 3.5
"""By which the second line of a note is indented. [mm]"""
_RULE: Final = 1.2
"""Thickness of the bar that opens a part of the sheet. [mm]"""


@dataclass(frozen=True, slots=True)
class Box:
    """A rectangle on the sheet."""

    left: float
    bottom: float
    right: float
    top: float

    @property
    def width(self) -> float:
        """[mm]"""
        return self.right - self.left

    @property
    def height(self) -> float:
        """[mm]"""
        return self.top - self.bottom


@dataclass(frozen=True, slots=True)
class Cell:
    """One cell of the title block: what it says, under which small heading, and its share of the width."""

    label: str
    value: str
    share: float = 1.0


def draw_box(box: Box) -> Iterator[Stroke]:
    """Its outline."""
    corners = ((box.left, box.bottom), (box.right, box.bottom), (box.right, box.top), (box.left, box.top))
    yield Stroke(corners, "outline", closed=True)


def _bar(left: float, right: float, top: float) -> Stroke:
    corners = ((left, top), (right, top), (right, top - _RULE), (left, top - _RULE))
    return Stroke(corners, "arrow", closed=True)


def draw_title(box: Box, name: str, under: str, rows: Sequence[Sequence[Cell]]) -> Iterator[Stroke | Words]:
    """The title block: name and one line under it at the left, cells at the right, a bar on top."""
    yield _bar(box.left, box.right, box.top)
    middle = box.left + 0.36 * box.width
    fits = min(_HEAD, (middle - box.left - 8.0) / (0.62 * max(len(name), 1)))
    yield Words((box.left + 4.0, box.top - 10.5), name, fits, "start")
    for place, line in enumerate(textwrap.wrap(under, 58)[:3]):
        yield Words((box.left + 4.0, box.top - 16.0 - 3.8 * place), line, 2.5, "start")
    yield Stroke(((middle, box.bottom), (middle, box.top)), "thin")
    high = (box.height - _RULE) / len(rows)
    for row, cells in enumerate(rows):
        top = box.top - _RULE - row * high
        if row:
            yield Stroke(((middle, top), (box.right, top)), "thin")
        yield from _cells(cells, Box(middle, top - high, box.right, top))


def _cells(cells: Sequence[Cell], box: Box) -> Iterator[Stroke | Words]:
    whole, x = sum(each.share for each in cells), box.left
    for place, each in enumerate(cells):
        if place:
            yield Stroke(((x, box.bottom), (x, box.top)), "thin")
        width = box.width * each.share / whole
        fits = min(_VALUE, (width - 3.0) / (0.6 * max(len(each.value), 1)))
        yield Words((x + 1.5, box.top - 3.2), each.label, _LABEL, "start")
        yield Words((x + 1.5, box.bottom + 2.2), each.value, fits, "start")
        x += width


def draw_table(
    corner: Point, columns: Sequence[float], width: float, rows: Sequence[Sequence[str]]
) -> Iterator[Stroke | Words]:
    """Rows of words from the corner upwards: the last at the foot, the heads on top.

    Parameters
    ----------
    columns
        Where each begins, from the corner.
    """
    left, bottom = corner
    for up, cells in enumerate(reversed(rows)):
        y = bottom + up * _ROW
        yield Stroke(((left, y + _ROW), (left + width, y + _ROW)), "thin")
        for x, end, cell in zip(columns, (*columns[1:], width), cells, strict=True):
            most = max(4, int((end - x - 1.0) / (0.58 * 2.6)))
            said = cell if len(cell) <= most else cell[: most - 1] + "…"
            yield Words((left + x + 1.5, y + 1.5), said, 2.6, "start")
    yield _bar(left, left + width, bottom + _ROW * len(rows) + _RULE)


def draw_notes(box: Box, parts: Iterable[tuple[str, Sequence[str]]]) -> Iterator[Stroke | Words]:
    """Headed groups of lines from the top of a box, smaller where there are many."""
    groups = [(head, lines) for head, lines in parts if lines]
    height = next((h for h in (2.6, 2.4, 2.2, 2.0) if _needed(groups, box.width, h) <= box.height), 1.8)
    y = box.top
    for head, lines in groups:
        yield _bar(box.left, box.right, y)
        y -= 1.9 * height + _RULE
        yield Words((box.left, y), head, 1.15 * height, "start")
        for line in lines:
            for n, piece in enumerate(_wrapped(line, box.width, height)):
                y -= 1.55 * height + (0.4 if n == 0 else 0.0)
                yield Words((box.left + (_HANG if n else 0.0), y), piece, height, "start")
        y -= 2.2 * height


def _wrapped(line: str, width: float, height: float) -> list[str]:
    return textwrap.wrap(line, int((width - _HANG) / (0.55 * height)))


def _needed(groups: Sequence[tuple[str, Sequence[str]]], width: float, height: float) -> float:
    total = 0.0
    for _head, lines in groups:
        total += 4.1 * height + _RULE
        total += sum(1.55 * height * len(_wrapped(line, width, height)) + 0.4 for line in lines)
    return total
