"""Plates laid over pictures: over the planes of a film (YUV 4:2:0), or alone on a transparent ground."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any, Final

import numpy as np
import numpy.typing as npt

from strikeproof.publish.film.looks import Look, Rgb
from strikeproof.publish.film.plates import Box, Change, Pixels, Plate

__all__ = ["Layer", "Mixer", "from_yuv", "to_yuv"]

_TO_YUV: Final = np.array(
    [
        [0.2126, 0.7152, 0.0722],
        [-0.2126 / 1.8556, -0.7152 / 1.8556, 0.5],
        [0.5, -0.7152 / 1.5748, -0.0722 / 1.5748],
    ],
    np.float32,
)
"""From R'G'B' to Y'CbCr: ITU-R BT.709-6, table 3, items 3.2 and 3.3."""
_SPAN: Final = np.array([219.0, 224.0, 224.0], np.float32) / np.float32(255.0)
"""Of narrow range: ITU-R BT.709-6, item 3.4."""
_ZERO: Final = np.array([16.0, 128.0, 128.0], np.float32)
_ONE: Final = 256
Numbers = npt.NDArray[np.uint16]


def to_yuv(rgb: npt.ArrayLike) -> npt.NDArray[np.float32]:
    """Colours (..., 3) of 0 to 255 as Y'CbCr of BT.709 in narrow range."""
    return np.asarray(np.asarray(rgb, np.float32) @ _TO_YUV.T * _SPAN + _ZERO, np.float32)


def from_yuv(yuv: npt.ArrayLike) -> npt.NDArray[np.float64]:
    """The way back, cut to 0 to 255."""
    back = (np.asarray(yuv, np.float64) - _ZERO) / _SPAN @ np.linalg.inv(_TO_YUV).T
    return np.asarray(np.clip(back, 0.0, 255.0), np.float64)


class _Weights:
    """What a plate makes of the footage: `footage * share + added`, in parts of 256, whole and half size."""

    def __init__(self, plate: Plate) -> None:
        high, wide = plate.place.height, plate.place.width
        self.share: Numbers = np.full((high, wide), _ONE, np.uint16)
        self.added: Numbers = np.zeros((high, wide), np.uint16)
        self.half_share: Numbers = np.full((high // 2, wide // 2), _ONE, np.uint16)
        self.half_added: Numbers = np.zeros((2, high // 2, wide // 2), np.uint16)

    def refresh(self, plate: Plate, box: Box, ground: Rgb, opacity: float) -> None:
        """Work out a part again from the plate's ink."""
        ink = plate.ink[box.top : box.bottom, box.left : box.right]
        alpha = ink[..., 3] * np.float32(_ONE / 255.0)
        below = (_ONE - alpha) * np.float32(opacity)
        under = to_yuv(ground)
        added = [alpha * each + below * zero for each, zero in zip(_planes(ink), under, strict=True)]
        kept = _ONE - alpha - below
        part = np.s_[box.top : box.bottom, box.left : box.right]
        self.share[part] = kept  # what is cut off keeps the sum of both below 2 ** 16
        self.added[part] = added[0]
        half = np.s_[box.top // 2 : box.bottom // 2, box.left // 2 : box.right // 2]
        self.half_share[half] = _halved(kept)
        for place in (0, 1):
            self.half_added[(place, *half)] = _halved(added[place + 1])


def _planes(ink: Pixels) -> list[npt.NDArray[np.float32]]:
    """Y, Cb and Cr of the colours of ink (h, w, 4)."""
    red, green, blue = (ink[..., place].astype(np.float32) for place in range(3))
    matrix = _TO_YUV * _SPAN[:, None]
    return [
        red * row[0] + green * row[1] + blue * row[2] + zero for row, zero in zip(matrix, _ZERO, strict=True)
    ]


def _halved(values: npt.NDArray[np.float32]) -> npt.NDArray[np.float32]:
    down = values[::2] + values[1::2]
    return np.asarray((down[:, ::2] + down[:, 1::2]) * np.float32(0.25))


class Mixer:
    """Lays plates over the planes of one film, a picture after the other.

    Parameters
    ----------
    plates
        As `overlay.Overlay` has them.
    look
        Of the film.
    opacity
        Of the plates' ground, 0 to 1.
    """

    def __init__(self, plates: Sequence[Plate], look: Look, opacity: float) -> None:
        self._plates, self._ground = plates, look["paper"]
        self._opacity = opacity
        self._weights = [_Weights(plate) for plate in plates]

    def mix(
        self, planes: npt.NDArray[np.uint8], width: int, changes: Sequence[Change], opacity: float
    ) -> None:
        """Lay the plates over a picture, in place.

        Parameters
        ----------
        planes : (height * 3 / 2, width)
            Luma, then both chromas, each row after row.
        changes
            Of the plates since the last picture.
        opacity
            Of the ground in this picture.
        """
        if opacity != self._opacity:
            self._opacity = opacity
            changes = [
                Change(place, Box(0, 0, each.place.width, each.place.height))
                for place, each in enumerate(self._plates)
            ]
        for change in changes:
            self._weights[change.plate].refresh(
                self._plates[change.plate], change.box, self._ground, self._opacity
            )
        high = planes.shape[0] * 2 // 3
        chroma = planes[high:].reshape(2, high // 2, width // 2)
        for plate, weights in zip(self._plates, self._weights, strict=True):
            if not plate.shown:
                continue
            at = plate.place
            _blend(planes[at.top : at.bottom, at.left : at.right], weights.share, weights.added)
            part = chroma[:, at.top // 2 : at.bottom // 2, at.left // 2 : at.right // 2]
            for place in (0, 1):
                _blend(part[place], weights.half_share, weights.half_added[place])


def _blend(part: npt.NDArray[np.uint8], kept: Numbers, added: Numbers) -> None:
    mixed = part * kept
    mixed += added
    mixed >>= 8
    part[...] = mixed


class Layer:
    """The plates alone, on a transparent ground: (height, width, 4), straight alpha."""

    def __init__(self, plates: Sequence[Plate], look: Look, size: tuple[int, int], opacity: float) -> None:
        self._plates, self._ground, self._opacity = plates, look["paper"], opacity
        self._own: list[Pixels] = [np.zeros_like(plate.ink) for plate in plates]
        self.picture: Pixels = np.zeros((size[1], size[0], 4), np.uint8)
        self._shown = [False] * len(plates)

    def advance(self, changes: Sequence[Change]) -> Pixels:
        """The picture after these changes; the same array each time."""
        for change in changes:
            plate, box = self._plates[change.plate], change.box
            part = np.s_[box.top : box.bottom, box.left : box.right]
            self._own[change.plate][part] = self._over(plate.ink[part])
        for plate, own in zip(self._plates, self._own, strict=True):
            at = plate.place
            self.picture[at.top : at.bottom, at.left : at.right] = own if plate.shown else 0
        return self.picture

    def _over(self, ink: Pixels) -> Any:
        alpha = ink[..., 3:].astype(np.float32) / 255.0
        below = (1.0 - alpha) * self._opacity
        total = alpha + below
        colour = (ink[..., :3] * alpha + np.asarray(self._ground, np.float32) * below) / np.maximum(
            total, 1e-6
        )
        return np.rint(np.concatenate([colour, total * 255.0], axis=-1)).astype(np.uint8)
