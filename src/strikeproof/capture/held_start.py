"""The start of a run that only shows once its load is held: ten deviations of the noise, on a slow line.

Until it is held, a slow rise looks like a zero that begins to drift. With the level held for a second at its
end a zero, a rise and a level explain the readings better than anything smooth does.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import lru_cache

import numpy as np

from strikeproof.quantity import FloatArray, IntArray

__all__ = ["CELL_S", "EARLIEST_S", "HELD_LOOK_BACK_S", "SlowStart", "find_held_start"]

CELL_S = 0.5
HELD_LOOK_BACK_S = 30.0
EARLIEST_S = 16.0  # before now, that a start is looked for
_QUIET_S = 2.0  # before the start, at the least
_HELD_S = 1.0  # at the end, at the least
_RISES_S = (1, 2, 3, 4, 5, 6, 7, 8, 9, 10, 12)
_FEWEST_BLOCKS = 2  # in a cell
_FEWEST_CELLS = 12
_HIGH = 8.0  # deviations of a block: noise alone never gets there
_CURVED = 20.0  # variances by which a rise must fit better than any parabola
_LONG_S = 18.0  # of readings: a quiet zero this long differs from a cubic or a swing by so many variances
_SMOOTHER = 8.0  # with 12 it found 0.08 fewer after 8 s of quiet, and started as often by itself
_ROUGH = 2.0  # times the noise that a rise may leave: more is no rise either
_CREEP = 0.5  # of the height, that the zero may drift by during the rise


@dataclass(frozen=True, slots=True)
class SlowStart:
    """Which of the blocks are calm, and when the reading left them. [s]"""

    calm: slice
    began: float


@dataclass(frozen=True, slots=True, eq=False)
class _Courses:
    """Courses of `n` cells: `smooth` (4, n) and `swings` (k, 3, n) orthonormal, `rises` (m, n).

    `pure` (m, n) is what no line says of a rise, brought from its `size` (m,) to length 1; `span` (m, 2) is
    when a rise begins and ends, in cells.
    """

    smooth: FloatArray
    swings: FloatArray
    rises: FloatArray
    pure: FloatArray
    size: FloatArray
    span: IntArray


def find_held_start(time: FloatArray, mean: FloatArray, least: float) -> SlowStart | None:
    """Whether the blocks end with a rise that is held; None where they do not, or do not surely.

    A line for the zero, a steady rise and a level must fit better than any parabola, and no worse than a
    cubic or a swing: better where the zero was long enough to say. What is left must be noise, the rise high
    above it, also without the line, and the drift of the zero small against the rise.

    Parameters
    ----------
    time, mean : (n,)
        Middle of each block [s] and mean reading in it.
    least
        Deviation of a block that a converter's step leaves. [reading]
    """
    found = _cells(time, mean)
    if found is None:
        return None
    first, level, count, within = found
    n = level.size
    courses = _courses(n)
    noise = max(within, least)
    of_cell = noise**2 / float(count.mean())
    level = level - level.mean()
    parts, total = courses.smooth @ level, float(level @ level)
    line = total - float(parts[:2] @ parts[:2])
    parabola = line - float(parts[2] ** 2)
    smooth = min(parabola - float(parts[3] ** 2), total - float(((courses.swings @ level) ** 2).sum(1).max()))
    along = courses.pure @ level
    best = int(np.argmax(np.abs(along)))
    left = line - float(along[best] ** 2)
    height = float(along[best] / courses.size[best])
    variance = max(of_cell, left / (n - 5))
    begins, ends = courses.span[best]
    slope = float((courses.smooth[1] @ (level - height * courses.rises[best])) * courses.smooth[1, -1])
    creep = abs(slope) * 2.0 * (ends - begins) / (n - 1)
    net = float(level[ends:].mean() - level[:begins].mean()) * np.sign(height)
    if (
        min(abs(height), net) < _HIGH * noise
        or parabola - left < _CURVED * variance
        or smooth - left < (_SMOOTHER if n * CELL_S >= _LONG_S else 0.0) * variance
        or left / (n - 5) > _ROUGH * of_cell
        or creep > _CREEP * abs(height)
    ):
        return None
    began = (first + int(begins)) * CELL_S
    return SlowStart(slice(0, int(np.searchsorted(time, began))), began)


def _cells(time: FloatArray, mean: FloatArray) -> tuple[int, FloatArray, IntArray, float] | None:
    """Number of the first complete cell after any gap, mean (n,) and blocks (n,) of each from there on, and
    the deviation of a block within its cell; None where there are too few cells."""
    number = np.floor(time / CELL_S + 1e-6).astype(np.int64)
    first, end = int(number[0]), int(number[-1])
    first += time[0] - first * CELL_S > 0.5 * CELL_S
    end += (end + 1) * CELL_S - time[-1] < 0.5 * CELL_S
    inside = (number >= first) & (number < end)
    if end - first < _FEWEST_CELLS:
        return None
    number, mean = number[inside] - first, mean[inside]
    count = np.bincount(number, minlength=end - first)
    gaps = np.flatnonzero(count < _FEWEST_BLOCKS)
    if gaps.size:
        after = int(gaps[-1]) + 1
        later = number >= after
        first, number, mean, count = first + after, number[later] - after, mean[later], count[after:]
    if count.size < _FEWEST_CELLS:
        return None
    level = np.bincount(number, mean) / count
    within = float(((mean - level[number]) ** 2).sum() / (count - 1).sum())
    return first, level, count, float(np.sqrt(within))


@lru_cache(maxsize=16)
def _courses(n: int) -> _Courses:
    at = (np.arange(n) + 0.5) * CELL_S
    smooth = np.linalg.qr(np.polynomial.legendre.legvander(np.linspace(-1, 1, n), 3))[0].T
    cells = int(1 / CELL_S)
    quiet, held, earliest = (round(each / CELL_S) for each in (_QUIET_S, _HELD_S, EARLIEST_S))
    span = np.array(
        [
            (begin, begin + long * cells)
            for begin in range(max(quiet, n - earliest), n)
            for long in _RISES_S
            if begin + long * cells <= n - held
        ]
    )
    begins, ends = (span * CELL_S).T[:, :, None]
    rises = np.clip((at - begins) / (ends - begins), 0.0, 1.0)
    apart = rises - (rises @ smooth[:2].T) @ smooth[:2]
    size = np.linalg.norm(apart, axis=1)
    turns = 2 * np.pi * np.arange(0.25, n * CELL_S / 6, 0.1)[:, None] * np.arange(n) / n
    swings = np.linalg.qr(np.stack([np.ones_like(turns), np.cos(turns), np.sin(turns)], axis=2))[0]
    return _Courses(smooth, np.swapaxes(swings, 1, 2), rises, apart / size[:, None], size, span)
