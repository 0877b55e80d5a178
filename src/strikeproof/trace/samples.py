"""From a log as it came to an even grid fit for analysis; what is wrong is counted, never invented."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from strikeproof.errors import BadInput
from strikeproof.kernels import kernel
from strikeproof.quantity import BoolArray, FloatArray, IntArray

__all__ = ["Grid", "Samples", "clean_samples", "even_grid"]

GRID_RATE_HZ = 2500.0  # blows ring for milliseconds; a finer grid costs time and shows no more
MOST_BINS = 5_000_000  # over half an hour on the finest grid; some 0.3 GB while it is worked on
WIDE_STEPS = 2.5  # a step this many sample intervals long is a gap


@dataclass(frozen=True, slots=True, eq=False)
class Samples:
    """Finite samples in order of time, with what had to be left out.

    `step_s` is the median interval, `even` whether all intervals are alike, `resolution` the smallest step
    between readings, 0 when there is none.
    """

    time: FloatArray
    reading: FloatArray
    step_s: float
    even: bool
    without_value: int
    out_of_order: int
    repeated: int
    gaps: tuple[tuple[float, float], ...]
    frozen: tuple[tuple[float, float], ...]
    spikes: int
    spiky: BoolArray
    resolution: float

    @property
    def rate_hz(self) -> float:
        """Samples a second; 0 where there are too few to know. [Hz]"""
        return 1.0 / self.step_s if self.step_s > 0 else 0.0


@dataclass(frozen=True, slots=True, eq=False)
class Grid:
    """Readings (n,) averaged over even bins; `good` is False where no sample fell."""

    begin_s: float
    step_s: float
    level: FloatArray
    good: BoolArray

    def time(self) -> FloatArray:
        """Middle of each bin (n,). [s]"""
        return self.begin_s + self.step_s * np.arange(self.level.size, dtype=np.float64)

    def index(self, time: float) -> int:
        """The bin at or just after `time`, within the grid."""
        return int(np.clip(np.ceil((time - self.begin_s) / self.step_s - 1e-9), 0, self.level.size))

    def clear_by(self, seconds: float) -> BoolArray:
        """Bins (n,) with no empty one so near."""
        if self.good.all():
            return self.good
        reach = round(seconds / self.step_s) + 1
        near = np.convolve(~self.good, np.ones(2 * reach + 1), mode="same")
        return np.asarray(near < 0.5, dtype=np.bool_)

    def with_level(self, level: FloatArray) -> Grid:
        """The same bins with other readings."""
        return Grid(self.begin_s, self.step_s, level, self.good)


def clean_samples(time: FloatArray, reading: FloatArray) -> Samples:
    """Leave out what has no value or no place in time, mark spikes and frozen stretches.

    Parameters
    ----------
    time, reading : (n,)
        As logged: may hold NaN, gaps, repeated or backward times.

    Raises
    ------
    BadInput
        If the two differ in length or are not one-dimensional.
    """
    time, reading = np.asarray(time, dtype=np.float64), np.asarray(reading, dtype=np.float64)
    if time.shape != reading.shape or time.ndim != 1:
        raise BadInput(
            f"times {time.shape} and readings {reading.shape} differ",
            where="trace",
            allowed="two columns of one length",
        )
    step = (time[-1] - time[0]) / (time.size - 1) if time.size > 1 else 0.0
    if step > 0 and np.isfinite(step) and count_faults(time, reading, step) == 0:
        return _inspect(time, reading, step, True, (0, 0, 0))
    return _sort_out(time, reading)


def _sort_out(time: FloatArray, reading: FloatArray) -> Samples:
    kept = np.isfinite(time) & np.isfinite(reading)
    time, reading = time[kept], reading[kept]
    backward = int((np.diff(time) < 0).sum())
    if backward:
        order = np.argsort(time, kind="stable")
        time, reading = time[order], reading[order]
    new = np.r_[True, np.diff(time) > 0] if time.size else np.zeros(0, bool)
    counts = (int((~kept).sum()), backward, int((~new).sum()))
    time, reading = time[new], reading[new]
    step = float(np.median(np.diff(time))) if time.size > 1 else 0.0
    return _inspect(time, reading, step, False, counts)


def _inspect(
    time: FloatArray, reading: FloatArray, step: float, even: bool, counts: tuple[int, int, int]
) -> Samples:
    gaps = () if even else _gaps(time, step)
    resolution = _resolution(reading)
    spiky = np.zeros(reading.size, bool)
    spikes = mark_spikes(reading, _spike_height(reading, resolution), spiky) if reading.size > 8 else 0
    frozen = _frozen(time, reading, step)
    return Samples(time, reading, step, even, *counts, gaps, frozen, spikes, spiky, resolution)


def _gaps(time: FloatArray, step: float) -> tuple[tuple[float, float], ...]:
    wide = np.flatnonzero(np.diff(time) > WIDE_STEPS * step)
    return tuple((float(time[i]), float(time[i + 1])) for i in wide)


def _resolution(reading: FloatArray) -> float:
    """Smallest step between the readings seen, 0 when all are alike."""
    some = np.unique(reading[:: max(1, reading.size // 4096)])
    apart = np.diff(some)
    apart = apart[apart > 1e-12 * np.abs(some).max(initial=0.0)]
    return float(apart.min()) if apart.size else 0.0


def _spike_height(reading: FloatArray, resolution: float) -> float:
    """Deviation from the running median of five beyond which a sample is no signal.

    Six times the deviation that a tenth of the samples exceed: nine standard deviations of white noise.
    """
    middle = np.linspace(2, reading.size - 3, min(4000, reading.size - 4)).astype(np.int64)
    around = np.sort(reading[middle + np.arange(-2, 3)[:, None]], axis=0)
    off = np.abs(reading[middle] - around[2])
    return max(6.0 * float(np.quantile(off, 0.9)), 10.0 * resolution)


def _frozen(time: FloatArray, reading: FloatArray, step: float) -> tuple[tuple[float, float], ...]:
    """Stretches of one repeated reading that noise, or the jump into and out of it, rules out as real."""
    if reading.size < 16 or step <= 0:
        return ()
    shortest = max(3, round(0.005 / step))
    starts, lengths, equal = equal_runs(reading, shortest)
    share = equal / (reading.size - 1)
    if not starts.size:
        return ()
    # The longest run by chance among n samples is about ln n / -ln(share) (Schilling 1990); four times
    # that is safe.
    by_chance = 4 * np.log(reading.size) / -np.log(np.clip(share, 1e-3, 0.999))
    alive = np.ptp(reading[:20]) > 0  # else there is no noise to miss
    noisy = alive & (share < 0.6) & (lengths >= max(8.0, by_chance))
    jumpy = _jumps(reading, starts, lengths)
    top = np.isin(reading[starts], (reading.max(), reading.min())) & ~jumpy
    at_edge = (starts == 0) | (starts + lengths == reading.size)
    found = (noisy | jumpy) & ~top & ~(at_edge & ~noisy)
    ends = np.minimum(starts + lengths - 1, reading.size - 1)
    return tuple((float(time[a]), float(time[b])) for a, b in zip(starts[found], ends[found], strict=True))


def _jumps(reading: FloatArray, starts: IntArray, lengths: IntArray) -> BoolArray:
    """Runs entered and left by a large jump back and forth."""
    high, low = np.quantile(reading[:: max(1, reading.size // 4096)], (0.99, 0.01))
    before = reading[starts] - reading[np.maximum(starts - 2, 0)]
    after = reading[starts] - reading[np.minimum(starts + lengths + 1, reading.size - 1)]
    large = np.minimum(np.abs(before), np.abs(after)) > 0.1 * (high - low)
    return np.asarray(large & (before * after > 0), dtype=np.bool_)


def even_grid(samples: Samples) -> Grid:
    """Average the samples over even bins, spikes and frozen stretches left out.

    Bins hold one sample up to 3.7 kS/s, more above. Empty bins are bridged by a straight line and marked,
    but for lone ones, which jittering time stamps leave.

    Parameters
    ----------
    samples
        At least two of different times.

    Raises
    ------
    BadInput
        If the times reach over far more bins than there are samples, as one jump of the clock makes them.
    """
    each = max(1, round(samples.rate_hz / GRID_RATE_HZ))
    step = each * samples.step_s
    span = samples.time[-1] - samples.time[0]
    if not span / step < max(MOST_BINS, 2 * samples.time.size):
        raise _too_far_apart(samples, span)
    size = int(span / step + 0.5 / each) + 1
    left_out = samples.spiky.copy()
    for begin, end in samples.frozen:
        left_out[np.searchsorted(samples.time, begin) : np.searchsorted(samples.time, end, side="right")] = (
            True
        )
    total, count = bin_sums(samples.time, samples.reading, left_out, 1 / step, 0.5 / each, size)
    filled = count > 0
    with np.errstate(invalid="ignore"):
        level = total / count
    begin_s = float(samples.time[0] + (each - 1) / 2 * samples.step_s)
    if filled.all():
        return Grid(begin_s, step, level, filled)
    where = np.arange(size)
    level[~filled] = np.interp(where[~filled], where[filled], level[filled])
    lone = ~filled & np.r_[True, filled[:-1]] & np.r_[filled[1:], True]
    return Grid(begin_s, step, level, filled | lone)


def _too_far_apart(samples: Samples, span: float) -> BadInput:
    steps = np.diff(samples.time)
    at = int(steps.argmax())
    return BadInput(
        f"{samples.time.size} samples reach over {span:.4g} s: after {samples.time[at]:.4g} s "
        f"the time jumps by {steps[at]:.4g} s",
        where="time",
        allowed="samples that follow each other, with pauses of minutes at most",
        fix="correct the times of the log from there on and load it again, or exclude the run",
    )


@kernel()
def count_faults(time, reading, step):  # type: ignore[no-untyped-def]
    """Samples without a value and intervals that are not close to `step`.

    Parameters
    ----------
    time, reading : (n,)
        As logged. [s, reading]
    step
        Mean interval, > 0. [s]
    """
    faults = 0
    for i in range(time.size):
        if not np.isfinite(reading[i]):
            faults += 1
        if i > 0 and not abs(time[i] - time[i - 1] - step) <= 0.5 * step:
            faults += 1
    return faults


@kernel()
def mark_spikes(reading, height, spiky):  # type: ignore[no-untyped-def]
    """Mark samples that leave the trace by more than `height` and are back within two samples.

    The samples around, but for the highest and lowest, must be calm, within a third of the jump: a blow
    that rings is no spike. Nor is what leaves a stop: there the rest of the signal is cut off.

    Parameters
    ----------
    reading : (n,)
        Without NaN.
    height
        > 0. [reading]
    spiky : (n,)
        Written to.

    Returns
    -------
    How many.
    """
    top, bottom = reading.max(), reading.min()
    count = 0
    for i in range(2, reading.size - 2):
        up, down = reading[i] - reading[i - 2], reading[i] - reading[i + 2]
        if (up > height and down > height) or (up < -height and down < -height):
            lowest, low, high, highest = np.inf, np.inf, -np.inf, -np.inf
            for j in range(max(0, i - 8), min(reading.size, i + 9)):
                if abs(j - i) >= 2:
                    value = reading[j]
                    low, lowest = min(low, max(lowest, value)), min(lowest, value)
                    high, highest = max(high, min(highest, value)), max(highest, value)
            at_stop = (up < 0 and high == top) or (up > 0 and low == bottom)
            if high - low < min(abs(up), abs(down)) / 3 and not at_stop:
                spiky[i] = True
                count += 1
    return count


@kernel()
def equal_runs(reading, shortest):  # type: ignore[no-untyped-def]
    """Start and length of each run of one reading at least `shortest` long, and count of equal neighbours.

    Parameters
    ----------
    reading : (n,)
        Without NaN.
    shortest
        Samples, 2 or more.
    """
    starts = np.empty(reading.size // shortest + 1, np.int64)
    lengths = np.empty_like(starts)
    found, equal, begin = 0, 0, 0
    for i in range(1, reading.size + 1):
        if i < reading.size and reading[i] == reading[i - 1]:
            equal += 1
            continue
        if i - begin >= shortest:
            starts[found], lengths[found] = begin, i - begin
            found += 1
        begin = i
    return starts[:found], lengths[:found], equal


@kernel()
def bin_sums(time, reading, left_out, per_second, shift, size):  # type: ignore[no-untyped-def]
    """Sum and count of the samples in each of `size` even bins from the first time on.

    Parameters
    ----------
    time, reading : (n,)
        Increasing. [s, reading]
    left_out : (n,)
        Samples that do not count.
    per_second
        Bins a second.
    shift
        Share of a bin by which the first begins earlier.
    size
        Bins.

    Returns
    -------
    (size,) each.
    """
    total, count = np.zeros(size), np.zeros(size)
    for i in range(time.size):
        if not left_out[i]:
            bin_ = min(int((time[i] - time[0]) * per_second + shift), size - 1)
            total[bin_] += reading[i]
            count[bin_] += 1.0
    return total, count
