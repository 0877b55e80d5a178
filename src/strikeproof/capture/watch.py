"""When hammering begins and ends, found while the samples come, against the noise before it."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

import numpy as np

from strikeproof.capture.buckets import Buckets, Envelope
from strikeproof.capture.held_start import CELL_S, HELD_LOOK_BACK_S, SlowStart, find_held_start
from strikeproof.quantity import FloatArray

__all__ = ["BLOCK_S", "Calm", "RunWatch", "Seen"]

Seen = Literal["not enough", "quiet", "hammering", "false start", "unloaded", "done", "stopped short"]
"""What a look shows; the last four end a start that was seen. Unloaded: the reading fell and stayed there."""

BLOCK_S = 0.1  # five periods of mains hum
_BEFORE_S = 2.2
_FEWEST_BLOCKS = 8
_SURE = 8.0  # deviations of a block's mean: never by chance in a day of blocks
_PAUSE_S = 3.0  # without a sign of a blow, where blows showed plainly just before
_PLAIN = 12.0  # deviations of a block's scatter by which blows show plainly
_SETTLED_S = 0.7
_AFTER_S = (1.0, 3.0)  # of the timed window: recorded at least and at most
_BACK_S = 1.0


@dataclass(frozen=True, slots=True)
class Calm:
    """The reading before a run.

    Parameters
    ----------
    zero, deviation
        Median of the blocks' means and their standard deviation. [reading]
    scatter, scatter_deviation
        Of the readings within a bucket: mean over the blocks, and its standard deviation; NaN where
        a bucket holds too few readings. [reading]
    """

    zero: float
    deviation: float
    scatter: float
    scatter_deviation: float

    @property
    def bound(self) -> float:
        """How far a block's mean may be from zero by chance."""
        return _SURE * self.deviation


class RunWatch:
    """Looks for the start and the end of one run after another.

    A tool that stops early ends a run only where its blows showed plainly until then: blows that sink
    into noise as the load stops growing must not be taken for an end.

    Parameters
    ----------
    duration_s
        Of the timed window. [s]
    resolution
        Step of the readings, if known. [reading]
    sign
        Which way hammering should move the reading, 1 or -1.
    """

    def __init__(self, duration_s: float, resolution: float | None = None, sign: int = 1) -> None:
        self.duration_s = duration_s
        self._sign = sign
        self._resolution = resolution or 0.0
        self.calm: Calm | None = None
        self.began: float | None = None
        self._seen: float | None = None
        self._looked_at = -1
        self._since: float | None = None
        self.calm_since: float | None = None  # arming does not end it: a longer zero shows a smaller rise

    def reset(self) -> None:
        """Look for a start again; what came before is of another run."""
        if self.began is not None:
            self.calm_since = None
        self.began, self.calm, self._seen, self._since = None, None, None, None

    def look(self, buckets: Buckets, now: float) -> Seen:
        """What the readings up to `now` show. [s]"""
        if self._since is None:
            self._since = now - _BEFORE_S
            if self.calm_since is None or self.calm_since > now:  # also of another line's time
                self.calm_since = self._since
        if self.began is None or self.calm is None:
            seen = self._look_for_start(_blocks(buckets.since(now - _BEFORE_S), now))
            return self._look_for_slow_start(buckets, now) if seen == "quiet" else seen
        first = max(self.began, now - _PAUSE_S - 1.5)
        return self._look_for_end(self.calm, self.began, _blocks(buckets.since(first), now), now)

    def _look_for_start(self, blocks: Envelope) -> Seen:
        if len(blocks.time) < _FEWEST_BLOCKS + 2:
            return "not enough"
        self.calm = calm = _calm(blocks.part(slice(None, -2)), self._resolution)
        off = blocks.mean[-2:] - calm.zero
        if np.all(np.abs(off) > calm.bound) and off[0] * off[1] > 0:
            self.began = float(blocks.time[-2] - BLOCK_S / 2)
            return "hammering"
        return "quiet"

    def _look_for_slow_start(self, buckets: Buckets, now: float) -> Seen:
        """Once a block."""
        block = int(now / BLOCK_S)
        if block == self._looked_at:
            return "quiet"
        self._looked_at = block
        blocks = _blocks(buckets.since(max(now - _LOOK_BACK_S, self._since or 0.0)), now)
        least = (self._resolution or _smallest_step(np.concatenate([blocks.low, blocks.high]))) / 2
        start = _find_slow_start(
            blocks.time, blocks.mean, max(least, 1e-9 * float(np.abs(blocks.mean).max()))
        )
        if start is None and block % round(CELL_S / BLOCK_S) == 0:
            blocks = _blocks(buckets.since(max(now - HELD_LOOK_BACK_S, self.calm_since or 0.0)), now)
            if blocks.time.size and np.isnan(np.median(blocks.variance)):  # a faster line shows a rise sooner
                start = find_held_start(blocks.time, blocks.mean, least)
        if start is None:
            return "quiet"
        self.calm, self.began = _calm(blocks.part(start.calm), self._resolution), start.began
        return "hammering"

    def _look_for_end(self, calm: Calm, began: float, blocks: Envelope, now: float) -> Seen:
        since = now - began
        self._seen = seen = now if self._seen is None else self._seen
        if not len(blocks.time):
            return "hammering"
        if _BACK_S <= now - seen < 2 * _BACK_S:
            if _is_back(blocks, calm, now):
                return "false start"
            if _is_taken_off(blocks, calm, began, self._sign):
                return "unloaded"
        over = since - self.duration_s
        if over < 0:
            return "stopped short" if _has_stopped(blocks, calm, now) else "hammering"
        done = (over >= _AFTER_S[0] and _idle(blocks, calm, now) >= _SETTLED_S) or over >= _AFTER_S[1]
        return "done" if done else "hammering"


def _strength(blocks: Envelope, calm: Calm) -> FloatArray:
    """How far each block's scatter is above the calm one, in deviations; NaN where that is not known."""
    return np.asarray((np.sqrt(blocks.variance) - calm.scatter) / calm.scatter_deviation, dtype=np.float64)


def _is_active(blocks: Envelope, calm: Calm) -> FloatArray:
    moved = np.abs(np.diff(blocks.mean, prepend=blocks.mean[0])) > 0.75 * calm.bound
    return np.asarray(moved | (_strength(blocks, calm) > 4.0))


def _idle(blocks: Envelope, calm: Calm, now: float) -> float:
    """Since the last block that shows a blow or a move of the level. [s]"""
    active = np.flatnonzero(_is_active(blocks, calm))
    return now - float(blocks.time[active[-1]] if active.size else blocks.time[0]) - BLOCK_S / 2


def _has_stopped(blocks: Envelope, calm: Calm, now: float) -> bool:
    """Whether nothing shows for a while, and right before it blows showed plainly."""
    idle = _idle(blocks, calm, now)
    if idle < _PAUSE_S:
        return False
    before = (blocks.time < now - idle) & (blocks.time > now - idle - 1.0)
    strength = _strength(blocks, calm)[before]
    return bool(strength.size >= 5 and np.median(strength) > _PLAIN)  # not so where any is NaN


def _is_back(blocks: Envelope, calm: Calm, now: float) -> bool:
    late = blocks.mean[blocks.time > now - 0.6]
    return bool(late.size >= 3 and np.all(np.abs(late - calm.zero) < 0.5 * calm.bound))


def _is_taken_off(blocks: Envelope, calm: Calm, began: float, sign: int) -> bool:
    """Whether the reading moved the wrong way in one go and then was still: the load was taken off."""
    later = blocks.part(slice(int(np.searchsorted(blocks.time, began + 0.4)), None))
    if len(later.time) < 5 or np.any(sign * (later.mean - calm.zero) > -calm.bound):
        return False
    goes_on = abs(later.mean[-1] - later.mean[0]) > calm.bound
    return not (goes_on or bool(np.any(_is_active(later, calm))))


def _blocks(envelope: Envelope, now: float) -> Envelope:
    """Buckets gathered into whole blocks that ended before `now`; the variance is the mean of theirs."""
    number = np.floor(envelope.time / BLOCK_S)
    whole = envelope.part(slice(0, int(np.searchsorted((number + 1) * BLOCK_S, now, side="right"))))
    number = number[: len(whole.time)]
    if not number.size:
        return Envelope.empty()
    starts = np.flatnonzero(np.diff(number, prepend=np.nan) != 0)
    sizes = np.diff(starts, append=number.size)
    return Envelope(
        (number[starts] + 0.5) * BLOCK_S,
        np.minimum.reduceat(whole.low, starts),
        np.maximum.reduceat(whole.high, starts),
        np.add.reduceat(whole.mean, starts) / sizes,
        np.add.reduceat(whole.variance, starts) / sizes,
    )


def _calm(blocks: Envelope, resolution: float) -> Calm:
    """Zero and scatter of the blocks; their resolution takes its place where a converter's step hides all
    noise."""
    step = resolution or _smallest_step(np.concatenate([blocks.low, blocks.high]))
    zero = float(np.median(blocks.mean))
    scatter = np.sqrt(blocks.variance)
    return Calm(
        zero,
        max(float(np.std(blocks.mean, ddof=1)), step / 2, 1e-9 * abs(zero)),
        float(np.mean(scatter)),
        max(
            float(np.std(scatter, ddof=1)), 1e-3 * float(np.mean(scatter)), step / 20, 1e-9 * abs(zero), 1e-12
        ),
    )


def _smallest_step(values: FloatArray) -> float:
    steps = np.diff(np.unique(values))
    return float(steps.min()) if steps.size else 0.0


_SPANS = ((5, 15), (10, 20), (20, 40), (30, 60))  # blocks that have left a line through so many before them
_LOOK_BACK_S = 9.2
_SURE_SLOW = 8.0  # deviations from the line: never by chance in a day
_LIKELY = 4.0  # deviations from a parabola, and of each of the last two blocks


def _find_slow_start(time: FloatArray, mean: FloatArray, least: float) -> SlowStart | None:
    """Whether the last blocks leave the course of those before; None where they do not.

    Parameters
    ----------
    time, mean : (n,)
        Middle of each block [s] and mean reading in it.
    least
        Deviation of a block that a converter's step leaves. [reading]
    """
    for leaving, before in _SPANS:
        if len(mean) >= leaving + before:
            found = _leaves(time[-leaving - before :], mean[-leaving - before :], leaving, least)
            if found is not None:
                return SlowStart(slice(len(mean) - leaving - before, len(mean) - leaving), found)
    return None


def _leaves(time: FloatArray, mean: FloatArray, leaving: int, least: float) -> float | None:
    at = (time - time[:-leaving].mean()) / np.ptp(time[:-leaving])
    off, deviation, bound = _from_course(at, mean, leaving, 1, least)
    d = float(off.mean())
    if not (abs(d) > _SURE_SLOW * bound and np.all(off[-2:] * np.sign(d) > _LIKELY * deviation)):
        return None
    curved, _, bound = _from_course(at, mean, leaving, 2, least)
    if curved.mean() * np.sign(d) < _LIKELY * bound:
        return None
    late = time[-leaving:]
    slope = float(np.polyfit(late - late.mean(), off, 1)[0])
    began = late.mean() - d / slope if slope * d > 0 else late[0]
    return float(np.clip(began, 2 * late[0] - late[-1], late[-1]))


def _from_course(
    at: FloatArray, mean: FloatArray, leaving: int, degree: int, least: float
) -> tuple[FloatArray, float, float]:
    """How far the last blocks are off a polynomial through those before, and the deviation of one block
    and of the mean of the last from it."""
    design = np.vander(at, degree + 1, increasing=True)
    calm, late = design[:-leaving], design[-leaving:].mean(axis=0)
    weights = np.linalg.lstsq(calm, mean[:-leaving], rcond=None)[0]
    rest = mean[:-leaving] - calm @ weights
    deviation = max(float(np.sqrt(rest @ rest / (len(rest) - degree - 1))), least)
    spread = 1 / leaving + late @ np.linalg.solve(calm.T @ calm, late)
    return mean[-leaving:] - design[-leaving:] @ weights, deviation, deviation * float(np.sqrt(spread))
