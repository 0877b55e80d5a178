"""When hammering begins and ends, and which way the reading goes."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from strikeproof.quantity import FloatArray
from strikeproof.trace.blows import FEWEST
from strikeproof.trace.rise import LASTING_S, find_rise, longest_row
from strikeproof.trace.zero import robust_sd

__all__ = [
    "Excursion",
    "begins_hammering",
    "find_excursion",
    "last_activity",
    "main_train",
    "only_knocks",
    "steady_train",
]

LONGEST_PAUSE_S = 1.0  # between blows of one run
BLOCK_S = 0.02  # one turn of 50 Hz mains
FEWEST_QUIET = 3  # blocks before the start that make a zero


@dataclass(frozen=True, slots=True)
class Excursion:
    """Rough facts: last quiet sample, first loaded one, +1 when the reading rises, how far it goes, and
    whether a zero that drifts explains it as well."""

    quiet: int
    loaded: int
    sign: int
    height: float
    maybe_drift: bool = False


def find_excursion(level: FloatArray, step_s: float) -> Excursion | None:
    """Where the level (n,) leaves its first value for good; None when it never does.

    The first block beyond 5 % of the largest excursion, from which on it stays there, is loaded; the last
    quiet one before it lies within five standard deviations of its own kind. A rise may also be slow.

    Parameters
    ----------
    level : (n,)
        In even steps. [reading]
    step_s
        [s]

    References
    ----------
    Derived here (docs/detector.md, step 4).
    """
    each = max(1, round(BLOCK_S / step_s))
    blocks = level[: level.size // each * each].reshape(-1, each).mean(axis=1)
    if blocks.size < 2 * FEWEST_QUIET:
        return None
    base = blocks[: max(FEWEST_QUIET, int(0.2 / (each * step_s)))]
    lasting = max(4, round(LASTING_S / (each * step_s)))
    loaded = _first_beyond(blocks, float(np.median(base)), lasting)
    if loaded >= FEWEST_QUIET:
        loaded = _first_beyond(
            blocks, float(np.median(blocks[:loaded][-max(FEWEST_QUIET, int(2 / (each * step_s))) :])), lasting
        )
    early = blocks[: max(loaded, FEWEST_QUIET)]
    zero, sd = float(np.median(early)), robust_sd(early)
    if early.size < 12:  # too few to show the scatter
        sd = max(sd, robust_sd(np.diff(blocks)) / np.sqrt(2))
    off = blocks - zero
    far = off[np.argmax(np.abs(off))]
    if not _leaps(blocks, loaded, sd):
        rise = find_rise(level, step_s)
        if rise is None:
            return None
        return Excursion(rise.first, rise.first, rise.sign, rise.height, rise.maybe_drift)
    quiet = loaded
    while quiet > 0 and abs(blocks[quiet - 1] - zero) > 5 * sd:
        quiet -= 1
    return Excursion(quiet * each, loaded * each, 1 if far > 0 else -1, abs(float(far)))


def _first_beyond(blocks: FloatArray, zero: float, lasting: int) -> int:
    off = np.abs(blocks - zero)
    second = np.partition(off, -2)[-2]  # one stray block does not set the scale
    beyond = off >= 0.05 * second
    soon = np.convolve(beyond, np.ones(4), mode="full")[3:] >= 3  # of four blocks from here on
    stays = np.convolve(beyond, np.ones(lasting), mode="full")[lasting - 1 :] >= 0.7 * lasting
    return int(np.argmax(beyond & soon & stays))


def _leaps(blocks: FloatArray, loaded: int, sd: float) -> bool:
    """Whether a dozen blocks change far more than the quiet ones scatter; drift does not."""
    before = np.median(blocks[max(loaded - 3, 0) : max(loaded, 1)])
    after = np.median(blocks[loaded : loaded + 12])
    return bool(abs(after - before) > 8 * sd)


def only_knocks(level: FloatArray, step_s: float, excursion: Excursion, longest_s: float) -> bool:
    """Whether a level (n,), rising, ends at its zero and was never half as high for `longest_s`.

    Half of its largest excursion, by blocks; one of a second or longer is no knock however long a run may be.

    Parameters
    ----------
    level : (n,)
        In even steps, rising under load. [reading]
    step_s
        [s]
    excursion
        Of the same level.
    longest_s
        Longest that a knock lasts, 1 s at most. [s]
    """
    each = max(1, round(BLOCK_S / step_s))
    blocks = level[: level.size // each * each].reshape(-1, each).mean(axis=1)
    high = blocks - np.median(level[: excursion.quiet]) > 0.5 * excursion.height
    last = max(3, round(0.2 / (each * step_s)))
    return bool(
        not high[-last:].any() and longest_row(high) * each * step_s < min(longest_s, LASTING_S) - step_s
    )


FEWEST_STEPS = 10
STEP_DEVIATIONS = 6.0  # of the change from sample to sample: noise gives ten of these in no log


def begins_hammering(level: FloatArray) -> bool:
    """Whether a level (n,) that leaves no zero climbs by steps from its first sample on, as blows make it.

    Nearly all of its large changes go one way, and together they go far: a drift has none, knocks and hum go
    both ways.

    Parameters
    ----------
    level : (n,)
        In even steps. [reading]

    References
    ----------
    Derived here (docs/detector.md, step 4).
    """
    change = np.diff(level)
    noise = robust_sd(change)
    steps = change[np.abs(change) > STEP_DEVIATIONS * noise]
    one_way = steps.size >= FEWEST_STEPS and abs(float(np.sign(steps).sum())) > 0.8 * steps.size
    return one_way and noise > 0.0


def main_train(times: FloatArray, longest_pause_s: float) -> tuple[int, int]:
    """First and one-past-last of the longest train of blows (m,) without a pause.

    Parameters
    ----------
    times : (m,)
        Of blows, increasing. [s]
    longest_pause_s
        [s]
    """
    if not times.size:
        return 0, 0
    breaks = np.flatnonzero(np.diff(times) > longest_pause_s) + 1
    begins, ends = np.r_[0, breaks], np.r_[breaks, times.size]
    longest = int(np.argmax(ends - begins))
    return int(begins[longest]), int(ends[longest])


def steady_train(times: FloatArray, interval: float) -> tuple[int, int]:
    """The longest train of one run among blows (m,) an `interval` [s] apart, without strays at either end."""
    a, b = main_train(times, max(LONGEST_PAUSE_S, 6 * interval))
    while b - a > FEWEST and times[a + 1] - times[a] > 3 * interval:
        a += 1
    while b - a > FEWEST and times[b - 1] - times[b - 2] > 3 * interval:
        b -= 1
    return a, b


def last_activity(level: FloatArray, step_s: float, quiet: FloatArray) -> float | None:
    """Seconds from the first sample of `level` until it stops jumping, or None when that is not known.

    Compares the mean square change of quarter seconds with that of the `quiet` samples. An end is found
    only by a sudden stop, from steady and far above the quiet scatter to near it: growth fades.

    Parameters
    ----------
    level : (n,)
        In even steps, from the start on. [reading]
    step_s
        [s]
    quiet : (q,)
        Samples before the start. [reading]

    References
    ----------
    Derived here: ratios of mean squares of quarter seconds, 4, 12 and 3 (docs/detector.md).
    """
    each = max(4, round(0.25 / step_s))
    count = level.size // each
    if quiet.size < 8 or count < 5:
        return None
    change = np.diff(level[: count * each], append=level[count * each - 1])
    rough = np.mean(change.reshape(-1, each) ** 2, axis=1)
    still = max(float(np.mean(np.diff(quiet) ** 2)), 1e-300)
    last = int(np.flatnonzero(rough > 4 * still)[-1]) if (rough > 4 * still).any() else -1
    before, after = rough[max(last - 6, 0) : last], rough[last + 2 :]
    if before.size < 6 or after.size < 2:
        return None
    fading = before[:3].mean() > 2 * before[3:].mean()
    if fading or before.min() < 12 * still or after.mean() > 3 * still:
        return None
    return float((last + 1) * each * step_s)
