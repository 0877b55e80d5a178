"""Samples in buckets of time: lowest, highest and mean of each, for a chart and for finding the hammering.

Nothing of a blow is lost to the eye: the extremes of every bucket stay.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from strikeproof.quantity import FloatArray

__all__ = ["Buckets", "Envelope"]


@dataclass(frozen=True, slots=True, eq=False)
class Envelope:
    """(n,) middle of each filled bucket [s], lowest, highest and mean reading in it, and their variance.

    The variance of fewer than three readings is NaN.
    """

    time: FloatArray
    low: FloatArray
    high: FloatArray
    mean: FloatArray
    variance: FloatArray

    def part(self, which: slice) -> Envelope:
        """Some of the buckets."""
        return Envelope(
            self.time[which], self.low[which], self.high[which], self.mean[which], self.variance[which]
        )

    @staticmethod
    def empty() -> Envelope:
        """No buckets."""
        return Envelope(*(np.empty(0) for _ in range(5)))


_MOST = 1e30  # of no unit can there be more; its square and the sum of many are still numbers


def _variance(squares: FloatArray, sizes: FloatArray) -> FloatArray:
    return np.where(sizes > 2, squares / np.maximum(sizes - 1.0, 1.0), np.nan)


class Buckets:
    """The last `seconds` in buckets `width_s` wide, in bounded memory."""

    def __init__(self, width_s: float = 0.02, seconds: float = 120.0) -> None:
        self.width_s = width_s
        self._most = int(seconds / width_s)
        # number of the bucket, low, high, sum, count, sum of squares; the sums about the first reading
        self._rows = np.empty((2 * self._most, 6))
        self._used = 0
        self._origin = 0.0

    def add(self, time: FloatArray, reading: FloatArray) -> None:
        """Samples in order of time; those without a value are left out, as is what no rig can read."""
        good = np.abs(reading) < _MOST
        if not good.all():
            time, reading = time[good], reading[good]
        if not len(time):
            return
        if not self._used:
            self._origin = float(reading[0])
        number, off = np.floor(time / self.width_s), reading - self._origin
        starts = np.flatnonzero(np.diff(number, prepend=np.nan) != 0)
        fresh = np.column_stack(
            [
                number[starts],
                np.minimum.reduceat(reading, starts),
                np.maximum.reduceat(reading, starts),
                np.add.reduceat(off, starts),
                np.diff(starts, append=len(reading)),
                np.add.reduceat(off * off, starts),
            ]
        )
        if self._used and self._rows[self._used - 1, 0] == fresh[0, 0]:
            last = self._rows[self._used - 1]
            last[1], last[2] = min(last[1], fresh[0, 1]), max(last[2], fresh[0, 2])
            last[3:] += fresh[0, 3:]
            fresh = fresh[1:]
        self._append(fresh[-self._most :])

    def _append(self, fresh: FloatArray) -> None:
        if self._used + len(fresh) > len(self._rows):
            keep = self._most - len(fresh)
            self._rows[:keep] = self._rows[self._used - keep : self._used]
            self._used = keep
        self._rows[self._used : self._used + len(fresh)] = fresh
        self._used += len(fresh)

    def since(self, time: float = -np.inf) -> Envelope:
        """All buckets from the one that holds an instant on."""
        rows = self._rows[max(0, self._used - self._most) : self._used]
        if time > -np.inf:
            rows = rows[np.searchsorted(rows[:, 0], np.floor(time / self.width_s)) :]
        middle = (rows[:, 0] + 0.5) * self.width_s
        mean = rows[:, 3] / rows[:, 4]
        squares = np.maximum(rows[:, 5] - rows[:, 3] * mean, 0.0)
        return Envelope(
            middle, rows[:, 1].copy(), rows[:, 2].copy(), mean + self._origin, _variance(squares, rows[:, 4])
        )
