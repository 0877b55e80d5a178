"""The two looks of a film, and how opaque a panel must be so that its letters can be read over the footage.

References
----------
WCAG 2.2, definitions "relative luminance" and "contrast ratio", success criterion 1.4.3 (4.5 to 1).
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any, Final

import numpy as np
import numpy.typing as npt

from strikeproof.publish.colours import COLOURS
from strikeproof.quantity import FloatArray

__all__ = ["LOOKS", "Look", "contrast", "luminance", "needed_opacity"]

ENOUGH: Final = 4.9
"""4.5 of the standard, and what an encoder may spoil (common practice, no source)."""
_LEAST: Final = 0.4
_STEPS: Final = np.linspace(0.0, 1.0, 101)
Rgb = tuple[int, int, int]


@dataclass(frozen=True, slots=True)
class Look:
    """Colours of a film by role, as the page has them on light or on dark ground."""

    name: str
    colours: Mapping[str, Rgb]

    def __getitem__(self, role: str) -> Rgb:
        return self.colours[role]

    @property
    def worst(self) -> Rgb:
        """The footage over which its letters are hardest to read."""
        return (255, 255, 255) if self.name == "dark" else (0, 0, 0)


def _rgb(code: str) -> Rgb:
    return int(code[1:3], 16), int(code[3:5], 16), int(code[5:7], 16)


LOOKS: Final[Mapping[str, Look]] = {
    "dark": Look("dark", {role: _rgb(each.dark) for role, each in COLOURS.items()}),
    "light": Look("light", {role: _rgb(each.light) for role, each in COLOURS.items()}),
}


def luminance(rgb: npt.ArrayLike) -> FloatArray:
    """Relative luminance (...) of sRGB colours (..., 3), 0 to 255."""
    share = np.asarray(rgb, np.float64) / 255.0
    linear = np.where(share <= 0.04045, share / 12.92, ((share + 0.055) / 1.055) ** 2.4)
    return np.asarray(linear @ [0.2126, 0.7152, 0.0722], np.float64)


def contrast(one: npt.ArrayLike, other: npt.ArrayLike) -> Any:
    """Contrast ratio of two sRGB colours, 1 to 21."""
    a, b = luminance(one), luminance(other)
    return (np.maximum(a, b) + 0.05) / (np.minimum(a, b) + 0.05)


def needed_opacity(look: Look, footage: npt.ArrayLike) -> float:
    """The least opacity of the panel at which its letters stand out from every one of these pixels.

    Parameters
    ----------
    footage : (n, 3)
        sRGB below the panel, 0 to 255.
    """
    pixels = np.asarray(footage, np.float64).reshape(-1, 3)
    if not len(pixels):
        return _LEAST
    bright = luminance(pixels)
    worst = pixels[int(bright.argmax() if look.name == "dark" else bright.argmin())]
    blended = worst + _STEPS[:, None] * (np.asarray(look["paper"], np.float64) - worst)
    fits = contrast(np.asarray(look["ink"]), blended) >= ENOUGH
    # From the first step on from which all fit: a mid grey may fit on the wrong side of the letters.
    bad = np.flatnonzero(~fits)
    first = 0 if not bad.size else int(bad[-1]) + 1
    return max(_LEAST, float(_STEPS[min(first, _STEPS.size - 1)]))
