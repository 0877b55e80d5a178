"""Sizes of a film, and what of a picture is safe from being cut off or covered."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from fractions import Fraction
from typing import Final

from strikeproof.errors import BadInput

__all__ = ["FORMATS", "MOST_RATE", "Shape", "find_shape"]

MOST_RATE: Final = 60
SIDES: Final = (360, 2160)
"""Lowest and highest length of a picture's shorter side: below, the small letters cannot be read. [pixels]"""


@dataclass(frozen=True, slots=True)
class _Format:
    """A format: its sides, and the safe margins as shares of width (left and right), top and bottom.

    5 % all round is what EBU R 95 keeps free for graphics (from memory). Programs that show upright films lay
    their buttons over the bottom and the top: more is left free there (common practice, no source).
    """

    across: int
    down: int
    margins: tuple[float, float, float]


FORMATS: Final[Mapping[str, _Format]] = {
    "16:9": _Format(16, 9, (0.05, 0.05, 0.05)),
    "1:1": _Format(1, 1, (0.05, 0.05, 0.05)),
    "9:16": _Format(9, 16, (0.05, 0.10, 0.16)),
}


@dataclass(frozen=True, slots=True)
class Shape:
    """A picture of `width` by `height` pixels, both even, `rate` pictures a second."""

    format: str
    width: int
    height: int
    rate: Fraction

    @property
    def short(self) -> int:
        """Its shorter side. [pixels]"""
        return min(self.width, self.height)

    @property
    def safe(self) -> tuple[int, int, int, int]:
        """Left, top, right and bottom of what is safe. [pixels]"""
        side, top, bottom = FORMATS[self.format].margins
        across, up, down = side * self.width, top * self.height, bottom * self.height
        return _even(across), _even(up), self.width - _even(across), self.height - _even(down)


def find_shape(name: str, short: int, rate: Fraction) -> Shape:
    """The shape of a format by its shorter side.

    Parameters
    ----------
    name
        A key of `FORMATS`.
    short
        [pixels]
    rate
        [1/s]

    Raises
    ------
    BadInput
        If there is no such format, or size or rate is beyond what is made.
    """
    found = FORMATS.get(name)
    if found is None:
        raise BadInput(f"format {name!r}", where="film", allowed=", ".join(FORMATS), key="format")
    low, high = SIDES
    if not low <= short <= high:
        raise BadInput(
            f"size {short}", where="film", allowed=f"{low} to {high} pixels on the shorter side", key="size"
        )
    if not 1 <= rate <= MOST_RATE:
        raise BadInput(
            f"{float(rate):g} pictures a second", where="film", allowed=f"1 to {MOST_RATE}", key="rate"
        )
    least = min(found.across, found.down)
    width, height = short * found.across / least, short * found.down / least
    return Shape(name, _even(width), _even(height), rate)


def _even(pixels: float) -> int:
    return 2 * round(pixels / 2)
