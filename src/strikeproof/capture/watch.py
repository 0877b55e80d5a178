"""When hammering begins and ends, told while the samples come, against the noise before it."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

import numpy as np

from strikeproof.capture.buckets import Buckets, Envelope
from strikeproof.quantity import FloatArray

__all__ = ["Calm", "RunWatch", "Seen"]

Seen = Literal["not enough", "quiet", "hammering", "false start", "done", "stopped short"]
"""What a look tells; the last three end a start that was seen."""

BLOCK_S = 0.1  # five periods of mains hum
_BEFORE_S = 2.2
_FEWEST_BLOCKS = 8
_SURE = 8.0  # deviations of a block's mean: never by chance in a day of blocks
_PAUSE_S = 3.0  # without a sign of a blow, before a run counts as stopped short
_SETTLED_S = 0.7
_LONGEST_AFTER_S = 3.0
_LET_GO_S = 0.3
_BACK_S = 1.0


@dataclass(frozen=True, slots=True)
class Calm:
    """The reading before a run: zero, deviation of a block's mean, and how far a block spreads. [reading]"""

    zero: float
    deviation: float
    spread: float

    @property
    def bound(self) -> float:
        """How far a block's mean may be from zero by chance."""
        return _SURE * self.deviation


class RunWatch:
    """Looks for the start and the end of one run after another.

    Parameters
    ----------
    duration_s
        Of the timed window. [s]
    resolution
        Step of the readings, if known. [reading]
    """

    def __init__(self, duration_s: float, resolution: float | None = None) -> None:
        self.duration_s = duration_s
        self._resolution = resolution or 0.0
        self.calm: Calm | None = None
        self.began: float | None = None
        self._active = 0.0

    def reset(self) -> None:
        """Look for a start again."""
        self.began, self.calm = None, None

    def look(self, buckets: Buckets, now: float) -> Seen:
        """What the readings up to `now` show. [s]"""
        if self.began is None:
            return self._look_for_start(_blocks(buckets.since(now - _BEFORE_S), now))
        return self._look_for_end(
            _blocks(buckets.since(max(self.began - BLOCK_S, now - 2 * _PAUSE_S)), now), now
        )

    def _look_for_start(self, blocks: Envelope) -> Seen:
        if len(blocks.time) < _FEWEST_BLOCKS + 2:
            return "not enough"
        before = Envelope(*(each[:-2] for each in (blocks.time, blocks.low, blocks.high, blocks.mean)))
        self.calm = calm = _calm(before, self._resolution)
        off = blocks.mean[-2:] - calm.zero
        if np.all(np.abs(off) > calm.bound) and off[0] * off[1] > 0:
            self.began = self._active = float(blocks.time[-2] - BLOCK_S / 2)
            return "hammering"
        return "quiet"

    def _look_for_end(self, blocks: Envelope, now: float) -> Seen:
        began, calm = self.began, self.calm
        if began is None or calm is None or not len(blocks.time):
            return "not enough"
        self._note_activity(blocks, calm)
        since, idle = now - began, now - self._active
        if _BACK_S <= since < 2 * _BACK_S and self._is_back(blocks, calm, now):
            return "false start"
        if since < self.duration_s:
            return "stopped short" if idle >= _PAUSE_S else "hammering"
        over = since - self.duration_s
        done = (over >= _LET_GO_S and idle >= _SETTLED_S) or over >= _LONGEST_AFTER_S
        return "done" if done else "hammering"

    def _note_activity(self, blocks: Envelope, calm: Calm) -> None:
        """A block is active where it spreads wider than calm ones, or where the level went on."""
        wide = blocks.high - blocks.low > 1.5 * calm.spread + 2 * self._resolution
        moved = np.abs(np.diff(blocks.mean, prepend=blocks.mean[0])) > 0.75 * calm.bound
        active = np.flatnonzero(wide | moved)
        if active.size:
            self._active = max(self._active, float(blocks.time[active[-1]]) + BLOCK_S / 2)

    def _is_back(self, blocks: Envelope, calm: Calm, now: float) -> bool:
        late = blocks.mean[blocks.time > now - 0.6]
        return bool(late.size >= 3 and np.all(np.abs(late - calm.zero) < 0.5 * calm.bound))


def _blocks(envelope: Envelope, now: float) -> Envelope:
    """Buckets gathered into whole blocks that ended before `now`."""
    number = np.floor(envelope.time / BLOCK_S)
    keep = (number + 1) * BLOCK_S <= now
    number = number[keep]
    if not number.size:
        return Envelope(*(np.empty(0) for _ in range(4)))
    starts = np.flatnonzero(np.diff(number, prepend=np.nan) != 0)
    sizes = np.diff(starts, append=number.size)
    return Envelope(
        (number[starts] + 0.5) * BLOCK_S,
        np.minimum.reduceat(envelope.low[keep], starts),
        np.maximum.reduceat(envelope.high[keep], starts),
        np.add.reduceat(envelope.mean[keep], starts) / sizes,
    )


def _calm(blocks: Envelope, resolution: float) -> Calm:
    """Zero and scatter of the blocks; their resolution stands in where a converter's step hides all noise."""
    step = resolution or _smallest_step(np.concatenate([blocks.low, blocks.high]))
    deviation = max(float(np.std(blocks.mean, ddof=1)), step / 2, 1e-9 * abs(float(np.median(blocks.mean))))
    return Calm(float(np.median(blocks.mean)), deviation, float(np.max(blocks.high - blocks.low)))


def _smallest_step(values: FloatArray) -> float:
    steps = np.diff(np.unique(values))
    return float(steps.min()) if steps.size else 0.0
