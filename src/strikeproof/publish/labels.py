"""Where to write the name of a point so that it hides neither another name nor another point."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

__all__ = ["Box", "Spot", "place_labels"]


@dataclass(frozen=True, slots=True)
class Box:
    """A rectangle in pixels, y upwards."""

    left: float
    bottom: float
    right: float
    top: float

    def shared(self, other: Box) -> float:
        """Area that both cover."""
        across = min(self.right, other.right) - max(self.left, other.left)
        up = min(self.top, other.top) - max(self.bottom, other.bottom)
        return across * up if across > 0 and up > 0 else 0.0

    def outside(self, frame: Box) -> float:
        """Area of this box that lies beyond a frame."""
        return (self.right - self.left) * (self.top - self.bottom) - self.shared(frame)


@dataclass(frozen=True, slots=True)
class Spot:
    """Where a label is, relative to its point, and the box it takes.

    `side` is -1 for a label that ends left of its point, 1 for one that begins right of it, 0 for one
    above or below; `across` is where it ends, begins or has its middle.
    """

    side: int
    across: float
    up: float
    box: Box


def place_labels(
    points: Sequence[tuple[float, float]],
    sizes: Sequence[tuple[float, float]],
    taken: Sequence[Box],
    frame: Box,
) -> list[Spot]:
    """A spot for each point's label: the nearest of a ring of spots that hides least.

    Parameters
    ----------
    points, sizes
        Pixels of the points, and width and height of their labels.
    taken
        What no label should hide: markers and interval bars, those of its own point too.
    frame
        Where labels should stay.
    """
    placed: list[Spot] = []
    hidden = list(taken)
    for (x, y), (wide, high) in zip(points, sizes, strict=True):
        spots = [_spot(x, y, wide, high, *way) for way in _WAYS]
        best = min(spots, key=lambda each: _cost(each, hidden, frame))
        placed.append(best)
        hidden.append(best.box)
    return placed


# Side (-1 left, 0 middle, 1 right) and height in label heights, the dearest to the eye first.
_WAYS = [(1, 0.0), (-1, 0.0), (1, 0.7), (1, -0.7), (-1, 0.7), (-1, -0.7), (0, 1.1), (0, -1.1)]
_WAYS += [(side, up) for up in (1.4, -1.4, 2.2, -2.2, 3.0, -3.0) for side in (1, -1, 0)]
_GAP = 8.0


def _spot(x: float, y: float, wide: float, high: float, side: int, up: float) -> Spot:
    lift = up * high
    middle = (x + side * (wide / 2 + _GAP), y + lift)
    box = Box(middle[0] - wide / 2, middle[1] - high / 2, middle[0] + wide / 2, middle[1] + high / 2)
    return Spot(side, side * _GAP, lift, box)


def _cost(spot: Spot, hidden: Sequence[Box], frame: Box) -> float:
    """Hidden area; labels that leave the frame count it thrice."""
    return sum(spot.box.shared(box) for box in hidden) + 3 * spot.box.outside(frame)
