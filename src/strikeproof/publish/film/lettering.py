"""Letters, lines and shapes as masks: how much of each pixel they cover."""

from __future__ import annotations

from collections.abc import Sequence
from functools import lru_cache
from importlib.util import find_spec
from pathlib import Path
from typing import Any, Final

import numpy as np
import numpy.typing as npt

from strikeproof.plain_text import clean_text

__all__ = [
    "Mask",
    "draw_line",
    "draw_shape",
    "fit_words",
    "letters",
    "line_height",
    "text_width",
    "wrap_words",
]

Mask = npt.NDArray[np.uint8]
_FINE: Final = 4
"""Lines are drawn so much larger and made smaller, which makes their edges smooth."""


@lru_cache(maxsize=64)
def _font(size: int, bold: bool) -> Any:
    from PIL import ImageFont

    found = find_spec("matplotlib")  # it brings the font that all charts have
    assert found is not None and found.origin is not None
    name = "DejaVuSans-Bold.ttf" if bold else "DejaVuSans.ttf"
    place = Path(found.origin).parent / "mpl-data" / "fonts" / "ttf" / name
    return ImageFont.truetype(str(place), size, layout_engine=ImageFont.Layout.BASIC)


def line_height(size: int) -> int:
    """From one line of text to the next. [pixels]"""
    return round(1.28 * size)


def text_width(text: str, size: int, *, bold: bool = False) -> int:
    """[pixels]"""
    return int(np.ceil(_font(size, bold).getlength(text)))


@lru_cache(maxsize=4096)
def letters(text: str, size: int, bold: bool = False) -> Mask:
    """A line of text as a mask (line height, width)."""
    from PIL import Image, ImageDraw

    font = _font(size, bold)
    picture = Image.new("L", (max(text_width(text, size, bold=bold), 1), line_height(size)))
    ImageDraw.Draw(picture).text((0, round(1.0 * size)), text, fill=255, font=font, anchor="ls")
    return np.asarray(picture)


def fit_words(text: str, size: int, room: int, *, bold: bool = False) -> str:
    """The text on one line, with an ellipsis where it was cut to fit into `room` pixels."""
    text = clean_text(text, " ").strip()
    if text_width(text, size, bold=bold) <= room:
        return text
    while text and text_width(text + "…", size, bold=bold) > room:
        text = text[:-1]
    return text.rstrip() + "…"


def wrap_words(text: str, size: int, room: int, *, bold: bool = False) -> list[str]:
    """The text in lines of at most `room` pixels; a word that is longer is cut."""
    lines: list[str] = []
    line = ""
    for word in clean_text(text, " ").split():
        longer = f"{line} {word}".strip()
        if line and text_width(longer, size, bold=bold) > room:
            lines.append(line)
            line = word
        else:
            line = longer
    return [fit_words(each, size, room, bold=bold) for each in (*lines, line) if each]


def draw_line(
    size: tuple[int, int], points: npt.NDArray[np.float64], width: float, *, dash: tuple[float, ...] = ()
) -> Mask:
    """A line through points (n, 2) [pixels, x and y] as a mask of `size` (width, height).

    `dash` are lengths drawn and left out in turn; none makes it solid.
    """
    from PIL import Image, ImageDraw

    picture = Image.new("L", (size[0] * _FINE, size[1] * _FINE))
    pen = ImageDraw.Draw(picture)
    for piece in _dashed(points, dash) if dash else [points]:
        if len(piece) > 1:
            pen.line(
                [tuple(each) for each in (piece * _FINE).tolist()],
                fill=255,
                width=max(round(width * _FINE), 1),
                joint="curve",
            )
    return np.asarray(picture.reduce(_FINE))


def _dashed(points: npt.NDArray[np.float64], dash: tuple[float, ...]) -> list[npt.NDArray[np.float64]]:
    way = np.r_[0.0, np.cumsum(np.hypot(*np.diff(points, axis=0).T))]
    pieces, at, place = [], 0.0, 0
    while at < way[-1]:
        upto = min(at + dash[place % len(dash)], float(way[-1]))
        if place % 2 == 0:
            inside = way[(way > at) & (way < upto)]
            along = np.r_[at, inside, upto]
            pieces.append(
                np.stack([np.interp(along, way, points[:, 0]), np.interp(along, way, points[:, 1])], axis=1)
            )
        at, place = upto, place + 1
    return pieces


def draw_shape(size: tuple[int, int], corners: Sequence[tuple[float, float]], hollow: float = 0.0) -> Mask:
    """A polygon as a mask of `size` (width, height); above 0, `hollow` is its outline's width. [pixels]"""
    from PIL import Image, ImageDraw

    picture = Image.new("L", (size[0] * _FINE, size[1] * _FINE))
    points = [(x * _FINE, y * _FINE) for x, y in corners]
    pen = ImageDraw.Draw(picture)
    if hollow > 0.0:
        pen.line(
            [*points, points[0], points[1]], fill=255, width=max(round(hollow * _FINE), 1), joint="curve"
        )
    else:
        pen.polygon(points, fill=255)
    return np.asarray(picture.reduce(_FINE))
