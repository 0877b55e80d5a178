"""Plates: rectangles of the picture with a ground of their own and ink on it."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from strikeproof.publish.film.lettering import Mask, letters, text_width
from strikeproof.publish.film.looks import Rgb

__all__ = ["Box", "Change", "Pixels", "Plate"]

Pixels = npt.NDArray[np.uint8]


@dataclass(frozen=True, slots=True)
class Box:
    """A rectangle in whole pixels, y downwards."""

    left: int
    top: int
    width: int
    height: int

    @property
    def right(self) -> int:
        """Where it ends."""
        return self.left + self.width

    @property
    def bottom(self) -> int:
        """Where it ends."""
        return self.top + self.height

    def even(self) -> Box:
        """The least box around it whose corners are even, as the colours of a film need."""
        left, top = self.left // 2 * 2, self.top // 2 * 2
        return Box(left, top, -(-(self.right - left) // 2) * 2, -(-(self.bottom - top) // 2) * 2)

    def within(self, width: int, height: int) -> Box:
        """The part of it inside a plate."""
        left, top = max(self.left, 0), max(self.top, 0)
        return Box(left, top, max(min(self.right, width) - left, 0), max(min(self.bottom, height) - top, 0))


@dataclass(frozen=True, slots=True)
class Change:
    """A part of a plate that looks otherwise than before; the box is the plate's own, and even."""

    plate: int
    box: Box


class Plate:
    """A part of the picture: its ink (height, width, 4), straight alpha, and whether it is shown."""

    def __init__(self, place: Box, *, shown: bool = True) -> None:
        self.place = place.even()
        self.ink: Pixels = np.zeros((self.place.height, self.place.width, 4), np.uint8)
        self.shown = shown

    def clear(self, box: Box) -> None:
        """Clear the ink of a part of it."""
        box = box.within(self.place.width, self.place.height)
        self.ink[box.top : box.bottom, box.left : box.right] = 0

    def paint(self, mask: Mask, colour: Rgb, left: int, top: int, strength: float = 1.0) -> None:
        """Lay ink of one colour over what is there, where the mask is."""
        whole = Box(left, top, mask.shape[1], mask.shape[0])
        part = whole.within(self.place.width, self.place.height)
        if part.width <= 0 or part.height <= 0:
            return
        cut = mask[part.top - top : part.bottom - top, part.left - left : part.right - left]
        over = cut[..., None].astype(np.float32) * (strength / 255.0)
        under = self.ink[part.top : part.bottom, part.left : part.right]
        alpha = under[..., 3:].astype(np.float32) / 255.0 * (1.0 - over)
        total = over + alpha
        mixed = (np.asarray(colour, np.float32) * over + under[..., :3] * alpha) / np.maximum(total, 1e-6)
        under[..., :3] = np.rint(mixed)
        under[..., 3:] = np.rint(total * 255.0)

    def write(
        self, text: str, size: int, colour: Rgb, left: int, top: int, *, bold: bool = False, end: bool = False
    ) -> None:
        """A line of text with its upper left corner there, or its upper right one (`end`)."""
        left = left - text_width(text, size, bold=bold) if end else left
        self.paint(letters(text, size, bold), colour, left, top)
