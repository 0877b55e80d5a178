"""Where a run lies in the sound of a film: its known blows slid along the rises of the sound.

A sound check (`witness`) finds blows in the sound by itself first, and a second tool or music can spoil that.
Here the train is known: every blow adds what the sound rises at its moment, so that other noise averages out.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

import numpy as np

from strikeproof.quantity import BoolArray, FloatArray
from strikeproof.trace.blows import LIKELY, SURE
from strikeproof.trace.sound import STEP_S

__all__ = ["ClipSync", "sync_clip"]

CLOCK: Final = 0.01
"""A small board's clock may be so far off a camera's (common practice, no source)."""
COARSE: Final = 4  # steps of the sound that a coarse step has: 1 ms
ALONG_S: Final = 0.0025  # two ratios that are tried put the last blow so far apart
CANDIDATES: Final = 40
APART_S: Final = 0.008  # nearer than that two places are the same, far below one picture
REACH_S: Final = (0.004, 0.0025, 0.0015)  # in which a blow's own rise is looked for, round by round
FEWEST: Final = 10
PROVEN: Final = 5.0  # standard errors by which a place must beat every other
HEARD: Final = 0.6  # of the blows inside the film must stand out there
SCATTER_S: Final = 0.002
SHARP_S: Final = (0.0002, 0.001)
"""The bounds were set on made films of the study (tests/film_study.py)."""


@dataclass(frozen=True, slots=True)
class ClipSync:
    """Where a run's first blow is in a film.

    Parameters
    ----------
    first_blow_s
        On the film's clock; None where nothing was found. [s]
    clock_ratio
        Seconds of the run's trace for one second of the film.
    sure
        Whether no other place comes near.
    reason
        Why it is not sure; empty where it is.
    heard
        Share of the blows inside the film whose sound stands out there.
    lead
        By how many standard errors this place beats the next best one.
    """

    first_blow_s: float | None
    clock_ratio: float
    sure: bool
    reason: str
    heard: float
    lead: float


def sync_clip(blows: FloatArray, strength: FloatArray) -> ClipSync:
    """Find a run in the sound of a film.

    Parameters
    ----------
    blows : (m,)
        When each blow struck, on the trace's clock, increasing. [s]
    strength : (n,)
        How much the sound rises, every `sound.STEP_S`, in deviations of steady noise
        (`sound.front_strength`).

    References
    ----------
    Derived here: a matched filter over shift and clock ratio, and a paired comparison of the places it finds,
    blow by blow.
    """
    if blows.size < FEWEST:
        return ClipSync(None, 1.0, False, "the trace shows too few single blows", 0.0, 0.0)
    train = blows - blows[0]
    tried = _coarse(train, np.clip(strength, 0.0, 2.0 * SURE))
    smooth = np.convolve(np.maximum(strength, 0.0), [0.25, 0.5, 0.25], mode="same")
    places = [_refined(train, smooth, shift, ratio) for shift, ratio in tried]
    sharp = float(np.clip(1.5 * min(each.scatter for each in places), *SHARP_S))
    best, *rivals = _distinct(places, sharp, float(train[-1]) / 2)
    count = int(np.count_nonzero(best.inside))
    fits = best.fits(sharp)
    heard = float(np.mean(best.loud[best.inside])) if count else 0.0
    lead = min((_lead(fits, each.fits(sharp)) for each in rivals), default=PROVEN)
    reason = _doubt(count, heard, lead, best.scatter)
    return ClipSync(best.shift, best.ratio, not reason, reason, heard, lead)


def _doubt(count: int, heard: float, lead: float, scatter: float) -> str:
    if count < FEWEST:
        return f"only {count} blows of the run lie inside the film"
    if heard < HEARD:
        return f"only {100 * heard:.0f} % of the run's blows stand out of the sound at the best place"
    if lead < PROVEN:
        return "another place in the film fits nearly as well"
    if scatter > SCATTER_S:
        return f"the sound scatters by {1e3 * scatter:.1f} ms about the blows"
    return ""


@dataclass(frozen=True, slots=True, eq=False)
class _Place:
    """A line from the trace's clock to the film's, and what the sound does beside each blow.

    Parameters
    ----------
    off : (m,)
        From the moment on the line to the highest rise beside it. [s]
    loud, inside : (m,)
        Whether that rise stands out, and whether the moment lies inside the film.
    scatter
        Of the rises about the line. [s]
    """

    shift: float
    ratio: float
    off: FloatArray
    loud: BoolArray
    inside: BoolArray
    scatter: float

    def fits(self, sharp: float) -> FloatArray:
        """How well each blow is met, 0 to 1, by a bell so wide. [s]"""
        return np.asarray(np.exp(-0.5 * (self.off / sharp) ** 2) * self.loud)

    def moment(self, middle: float) -> float:
        """Where the middle of the run is, on the film's clock. [s]"""
        return self.shift + middle / self.ratio


def _lead(best: FloatArray, other: FloatArray) -> float:
    """By how many standard errors one place beats another: the mean of the differences, blow by blow."""
    ahead = best - other
    spread = float(np.std(ahead, ddof=1) / np.sqrt(ahead.size))
    return float(np.mean(ahead)) / max(spread, 1e-9)


def _coarse(train: FloatArray, rises: FloatArray) -> list[tuple[float, float]]:
    """Shifts [s] and clock ratios at which the train meets most of the sound, the best first."""
    from scipy import fft  # it is loaded with the sound's filters anyway

    step = COARSE * STEP_S
    count = rises.size // COARSE
    pooled = rises[: count * COARSE].reshape(-1, COARSE).max(axis=1)
    wide = np.maximum(pooled, np.maximum(np.roll(pooled, 1), np.roll(pooled, -1)))
    wide = wide - float(np.mean(wide))
    length = float(train[-1])
    tries = int(np.clip(np.ceil(2 * CLOCK * length / ALONG_S), 8, 400))
    size = fft.next_fast_len(count + int(length * (1 + 2 * CLOCK) / step) + 2, real=True)
    sound = fft.rfft(wide, size)
    found: list[tuple[float, float, float]] = []
    for ratio in np.linspace(1 - CLOCK, 1 + CLOCK, tries + 1):
        at = np.round(train / ratio / step).astype(np.int64)
        comb = np.bincount(at, minlength=1).astype(np.float64)
        likeness: FloatArray = fft.irfft(sound * np.conj(fft.rfft(comb, size)), size)
        for top in _tops(likeness, 12, round(APART_S / step)):
            shift = (top if top < count else top - size) * step
            found.append((float(likeness[top]), shift, float(ratio)))
    found.sort(reverse=True)
    return _thinned(found, length / 2)


def _tops(values: FloatArray, most: int, apart: int) -> list[int]:
    """The highest places, each the highest within `apart` on both sides."""
    rest, tops = values.copy(), []
    for _ in range(most):
        top = int(np.argmax(rest))
        tops.append(top)
        rest[max(top - apart, 0) : top + apart + 1] = -np.inf
    return tops


def _thinned(found: list[tuple[float, float, float]], middle: float) -> list[tuple[float, float]]:
    """The best of those that put the middle of the run at the same moment."""
    kept: list[tuple[float, float]] = []
    moments: list[float] = []
    for _height, shift, ratio in found:
        moment = shift + middle / ratio
        if all(abs(moment - each) > APART_S for each in moments):
            kept.append((shift, ratio))
            moments.append(moment)
            if len(kept) == CANDIDATES:
                break
    return kept


def _refined(train: FloatArray, smooth: FloatArray, shift: float, ratio: float) -> _Place:
    """The line through the rises beside the blows, from wide to narrow."""
    for reach in REACH_S:
        where, rise = _beside(train / ratio + shift, smooth, reach)
        good = rise >= LIKELY
        if np.count_nonzero(good) < FEWEST:
            break
        slope, at = np.polyfit(train[good], where[good], 1)
        if abs(slope - 1.0) > 1.5 * CLOCK:
            break
        ratio, shift = 1.0 / float(slope), float(at)
    expected = train / ratio + shift
    where, rise = _beside(expected, smooth, REACH_S[-1])
    inside = (expected > 0) & (expected < smooth.size * STEP_S)
    loud = rise >= LIKELY
    off = where - expected
    scatter = 1.4826 * float(np.median(np.abs(off[loud]))) if np.count_nonzero(loud) >= FEWEST else REACH_S[0]
    return _Place(shift, ratio, off, loud & inside, inside, scatter)


def _beside(times: FloatArray, smooth: FloatArray, reach: float) -> tuple[FloatArray, FloatArray]:
    """Time [s] and strength of the highest rise within `reach` [s] of each time; 0 outside the sound."""
    span = np.arange(-round(reach / STEP_S), round(reach / STEP_S) + 1)
    at = np.round(times / STEP_S).astype(np.int64)[:, None] + span
    inside = (at >= 0) & (at < smooth.size)
    values = np.where(inside, smooth[at.clip(0, smooth.size - 1)], 0.0)
    top = np.argmax(values, axis=1)
    rows = np.arange(times.size)
    return at[rows, top] * STEP_S, values[rows, top]


def _distinct(places: list[_Place], sharp: float, middle: float) -> list[_Place]:
    """Places by how well they fit, the best first; of those at one moment the best."""
    kept: list[_Place] = []
    for each in sorted(places, key=lambda each: -float(np.sum(each.fits(sharp)))):
        if all(abs(each.moment(middle) - other.moment(middle)) > APART_S for other in kept):
            kept.append(each)
    return kept
