"""Where things stand in the frame of the film, wide or narrow, for any number of bodies."""

from __future__ import annotations

import textwrap
from dataclasses import dataclass

__all__ = ["Box", "Layout", "lay_out"]


@dataclass(frozen=True, slots=True)
class Box:
    """A rectangle of the frame."""

    left: float
    top: float
    width: float
    height: float

    @property
    def right(self) -> float:
        """Its right edge."""
        return self.left + self.width

    @property
    def bottom(self) -> float:
        """Its lower edge."""
        return self.top + self.height


@dataclass(frozen=True, slots=True)
class Layout:
    """Places in pixels, y downward.

    Attributes
    ----------
    frame
        Width and height, both even.
    heading, small
        Lines under the title, in ordinary and in small letters.
    centres
        Of the discs.
    pitch, largest
        Distance between neighbouring discs, radius of the largest.
    letters
        Size of the names.
    caption
        Baseline of what has just happened.
    torque_strip, load_strip
        The two strip charts.
    """

    frame: tuple[int, int]
    heading: tuple[str, ...]
    small: tuple[str, ...]
    centres: tuple[tuple[float, float], ...]
    pitch: float
    largest: float
    letters: float
    caption: float
    torque_strip: Box
    load_strip: Box

    @property
    def narrow(self) -> bool:
        """Whether it is held upright in one hand."""
        return self.frame[0] < 500

    def fitting(self, width: float, size: float) -> int:
        """How many letters of a size fit into a width, by 0.6 of the size for each."""
        return max(int(width / (0.6 * size)), 4)


def lay_out(count: int, names: int, heading: str, small: str, *, narrow: bool) -> Layout:
    """Places for so many bodies and names beside the torques: one or two rows on a wide
    frame, two or three columns on a narrow one.
    """
    width = 400 if narrow else 960
    wrapped = tuple(textwrap.wrap(heading, 51 if narrow else 126))
    read = tuple(textwrap.wrap(small, 58 if narrow else 140))
    head = 30.0 + 17.0 * len(wrapped) + 15.0 * len(read)
    row = count if count <= 7 else -(-count // 2)
    columns = row if not narrow else 2 if count <= 8 else 3
    rows = -(-count // columns)
    crowded = columns == 3 or (not narrow and rows > 1)
    pitch = (width - 24.0) / columns
    largest = min(0.40 * pitch, (40.0 if crowded else 60.0) if narrow else (36.0 if crowded else 74.0))
    step = 2.0 * largest + (76.0 if crowded else 84.0)
    first = head + 32.0 + largest + 8.0
    centres = tuple(
        (12.0 + (place % columns + 0.5) * pitch, first + step * (place // columns)) for place in range(count)
    )
    caption = first + step * rows - largest - 2.0
    left, right = (50.0, 108.0) if narrow else (78.0, 150.0 if crowded else 126.0)
    across = width - left - right
    torque = Box(left, caption + 12.0, across, max(112.0 if narrow else 96.0, 13.0 * names))
    load = Box(left, torque.bottom + 10.0, across, 36.0)
    height = int(load.bottom + 42.0)
    return Layout(
        (width, height + height % 2),
        wrapped,
        read,
        centres,
        pitch,
        largest,
        10.5 if crowded else 13.0,
        caption,
        torque,
        load,
    )
