"""A run's sound beside its trace: whether the two show the same blows."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

import numpy as np

from strikeproof.quantity import FloatArray, IntArray
from strikeproof.trace.records import RunFacts
from strikeproof.trace.sound import SoundFacts

__all__ = ["SoundCheck", "check_sound"]

GRID_S = 0.001
BLUR_S = 0.003  # of both trains while they are slid along each other
CLOCKS = np.linspace(-0.01, 0.01, 41)  # a small board's clock may be 1 % off (common practice, no source)
ALIKE = 0.97  # of the blows must be in both
RATE_MARGIN = 0.012  # clocks, and a little
SAME_S = 0.005  # the sound and the load of one blow are no further apart
BESIDE = 0.3  # of an interval: no other blow of a train is so near
EVEN = 0.97  # of the best fit: a shift by whole intervals that fits as well cannot be separated from it
MOST_SHIFTS = 300
PACE = 9  # intervals whose median is the pace at their middle
RIVALS = 20  # of them one that fits is enough to say so
FEWEST = 10  # blows of either that make a comparison


@dataclass(frozen=True, slots=True)
class SoundCheck:
    """A trace and a sound of one run.

    Parameters
    ----------
    verdict, reasons
        Whether they agree; why not, or why that is not known.
    remarks
        What they cover of each other, in words.
    offset_s, clock_ratio
        Time on the trace's clock is `offset_s` plus `clock_ratio` times that on the sound's.
    trace_blows, sound_blows
        Blows of each while both were recorded.
    matched
        How many of these are one and the same.
    trace_rate_hz, sound_rate_hz, rate_uncertainty
        Over the stretch that both cover, on either's own clock, and the standard uncertainty of their
        difference. [Hz]
    trace_regularity, sound_regularity
        Scatter of the intervals over their mean there.
    """

    verdict: Literal["agrees", "disagrees", "cannot tell"]
    reasons: tuple[str, ...]
    remarks: tuple[str, ...] = ()
    offset_s: float | None = None
    clock_ratio: float | None = None
    trace_blows: int | None = None
    sound_blows: int | None = None
    matched: int | None = None
    trace_rate_hz: float | None = None
    sound_rate_hz: float | None = None
    rate_uncertainty: float | None = None
    trace_regularity: float | None = None
    sound_regularity: float | None = None

    def __str__(self) -> str:
        return f"{self.verdict}: {'; '.join(self.reasons)}" if self.reasons else self.verdict


def check_sound(trace: RunFacts, sound: SoundFacts) -> SoundCheck:
    """Slide the sound along the trace to where most blows coincide, and compare what both cover.

    The time between the two is free: a phone is started by hand. Their clocks may differ by 1 %.

    Parameters
    ----------
    trace
        Facts of the run.
    sound
        Facts of its recording.

    References
    ----------
    Derived here (docs/detector.md).
    """
    unable = _unable(trace, sound)
    if unable:
        return SoundCheck("cannot tell", unable)
    offset, clock, ambiguous = _align(trace.blow_times, sound)
    ambiguous = ambiguous or _any_run_fits(trace.blow_times)
    common = _common(trace.blow_times, sound, offset, clock)
    if min(common.seen.size, common.heard.size) < FEWEST:
        return SoundCheck("cannot tell", ("sound and trace have too few blows in common",))
    return _judged(trace, sound, common, (offset, clock), ambiguous=ambiguous)


@dataclass(frozen=True, slots=True, eq=False)
class _Common:
    """Blows of the trace and of the sound on the trace's clock, while both were recorded, and their pairs."""

    seen: FloatArray
    heard: FloatArray
    pairs: IntArray

    @property
    def unheard(self) -> FloatArray:
        return np.delete(self.seen, self.pairs[:, 0])

    @property
    def unseen(self) -> FloatArray:
        return np.delete(self.heard, self.pairs[:, 1])

    @property
    def astray(self) -> int:
        """Blows of the sound alone beside one of the trace alone: perhaps the same, found a little off."""
        if not self.unheard.size or not self.unseen.size:
            return 0
        apart = np.abs(self.unseen[:, None] - self.unheard[None, :]).min(axis=1)
        return int(np.count_nonzero(apart < BESIDE * np.median(np.diff(self.seen))))

    @property
    def fit(self) -> int:
        """Blows in both, less those in one alone."""
        return len(self.pairs) - self.unheard.size - self.unseen.size


def _common(seen: FloatArray, sound: SoundFacts, offset: float, clock: float) -> _Common:
    usual = float(np.median(np.diff(seen)))
    heard = offset + clock * sound.blow_times
    begin = max(seen[0], offset) - 0.5 * usual
    end = min(seen[-1], offset + clock * sound.length_s) + 0.5 * usual
    seen, heard = seen[(seen > begin) & (seen < end)], heard[(heard > begin) & (heard < end)]
    within = min(SAME_S, 0.3 * usual)
    few = min(seen.size, heard.size) < 2
    return _Common(seen, heard, np.zeros((0, 2), np.int64) if few else _pairs(seen, heard, within))


def _unable(trace: RunFacts, sound: SoundFacts) -> tuple[str, ...]:
    reasons = []
    if trace.blow_times.size < FEWEST:
        reasons.append("the trace shows no single blows")
    if sound.blow_times.size < FEWEST:
        reasons.append(sound.reason or "the sound holds too few blows")
    return tuple(reasons)


def _align(seen: FloatArray, sound: SoundFacts) -> tuple[float, float, bool]:
    """Offset [s] and clock ratio at which most blows coincide, and whether another offset does as well."""
    heard = sound.blow_times
    ratio = float(max(1 + CLOCKS, key=lambda each: _shifts(seen, each * heard)[0][0]))
    shifts = [shift for height, shift in _shifts(seen, ratio * heard) if height > 0]
    fits = sorted(
        ((_common(seen, sound, shift, ratio).fit, -abs(i), shift) for i, shift in enumerate(shifts)),
        reverse=True,
    )
    best = fits[0]
    usual = float(np.median(np.diff(seen)))
    others = (fit for fit, _rank, shift in fits if abs(shift - best[2]) > 0.5 * usual)
    ambiguous = best[0] > 0 and next(others, 0) >= EVEN * best[0]
    return *_refined(seen, heard, best[2], ratio), ambiguous


def _any_run_fits(seen: FloatArray) -> bool:
    """Whether a run with its pace and scatter, its intervals in another order, strikes in time with it.

    Then a sound that agrees may be another run's.
    """
    gaps = np.diff(seen)
    around = np.lib.stride_tricks.sliding_window_view(np.pad(gaps, PACE // 2, mode="edge"), PACE)
    pace = np.median(around, axis=1)
    rng = np.random.default_rng(0)
    for _ in range(RIVALS):
        rival = np.concatenate([[0.0], np.cumsum(pace * rng.permutation(gaps / pace))])
        shift, ratio = _refined(seen, rival, float(np.mean(seen - rival)), 1.0)
        within = min(SAME_S, 0.3 * float(np.median(gaps)))
        if len(_pairs(seen, shift + ratio * rival, within)) >= ALIKE * seen.size:
            return True
    return False


def _refined(seen: FloatArray, heard: FloatArray, shift: float, ratio: float) -> tuple[float, float]:
    """The least-squares line through the blows that coincide, from wide to narrow."""
    usual = float(np.median(np.diff(seen)))
    for within in (0.3 * usual, min(0.2 * usual, 0.008), min(0.15 * usual, SAME_S)):
        pairs = _pairs(seen, shift + ratio * heard, within)
        if len(pairs) < FEWEST:
            break
        slope, at = np.polyfit(heard[pairs[:, 1]], seen[pairs[:, 0]], 1)
        if abs(slope - 1) > 1.5 * CLOCKS[-1]:
            break
        ratio, shift = float(slope), float(at)
    return shift, ratio


def _shifts(seen: FloatArray, heard: FloatArray) -> list[tuple[float, float]]:
    """Heights and places [s] of the highest tops of the cross-correlation of two blurred trains."""
    from scipy import signal  # it brings scipy.stats: a second that only a sound should pay

    one, other = _train(seen), _train(heard)
    likeness = signal.correlate(one, other, mode="full", method="fft")
    tops, _ = signal.find_peaks(np.pad(likeness, 1), height=0.5 * float(likeness.max()))
    tops = tops[np.argsort(-likeness[tops - 1], kind="stable")][:MOST_SHIFTS] - 1
    origin = float(seen[0] - heard[0])
    return [(float(likeness[top]), (int(top) - other.size + 1) * GRID_S + origin) for top in tops]


def _train(times: FloatArray) -> FloatArray:
    at = np.round((times - times[0]) / GRID_S).astype(np.int64)
    train: FloatArray = np.zeros(int(at[-1]) + 1)
    train[at] = 1.0
    reach = round(4 * BLUR_S / GRID_S)
    bell = np.exp(-0.5 * (np.arange(-reach, reach + 1) * GRID_S / BLUR_S) ** 2)
    return np.asarray(np.convolve(train, bell, mode="same"), dtype=np.float64)


def _pairs(seen: FloatArray, heard: FloatArray, within: float) -> IntArray:
    """(k, 2) indices of blows that are each other's nearest and no further apart than `within`."""
    to_heard, to_seen = _nearest(seen, heard), _nearest(heard, seen)
    mutual = to_seen[to_heard] == np.arange(seen.size)
    close = np.abs(heard[to_heard] - seen) <= within
    kept = np.flatnonzero(mutual & close)
    return np.stack([kept, to_heard[kept]], axis=1)


def _nearest(of: FloatArray, among: FloatArray) -> IntArray:
    right = np.searchsorted(among, of).clip(1, among.size - 1)
    left_closer = of - among[right - 1] < among[right] - of
    return np.asarray(right - left_closer, dtype=np.int64)


def _judged(
    trace: RunFacts,
    sound: SoundFacts,
    common: _Common,
    clock: tuple[float, float],
    *,
    ambiguous: bool,
) -> SoundCheck:
    seen, heard = _pace(common.seen), _pace((common.heard - clock[0]) / clock[1])
    spread = float(np.hypot(seen.uncertainty, heard.uncertainty))
    reasons = _differences(common, (seen.rate_hz, heard.rate_hz), spread, _may_miss(sound))
    verdict: Literal["agrees", "disagrees", "cannot tell"] = "disagrees" if reasons else "agrees"
    if sound.count is None and common.unseen.size <= (1 - ALIKE) * common.heard.size:
        verdict, reasons = "cannot tell", (sound.reason,)  # blows lost in noise say nothing against the trace
    return SoundCheck(
        verdict=verdict,
        reasons=reasons,
        remarks=_remarks(trace, sound, common, ambiguous=ambiguous),
        offset_s=clock[0],
        clock_ratio=clock[1],
        trace_blows=int(common.seen.size),
        sound_blows=int(common.heard.size),
        matched=len(common.pairs),
        trace_rate_hz=seen.rate_hz,
        sound_rate_hz=heard.rate_hz,
        rate_uncertainty=spread,
        trace_regularity=seen.regularity,
        sound_regularity=heard.regularity,
    )


@dataclass(frozen=True, slots=True)
class _Pace:
    """Rate of the regular intervals, its standard uncertainty [Hz], and their scatter over their mean."""

    rate_hz: float
    uncertainty: float
    regularity: float


def _pace(times: FloatArray) -> _Pace:
    gaps = np.diff(times)
    usual = float(np.median(gaps))
    regular = gaps[(gaps > 0.6 * usual) & (gaps < 1.6 * usual)]
    rate, cv = 1 / float(np.mean(regular)), float(np.std(regular) / np.mean(regular))
    return _Pace(rate, cv * rate / float(np.sqrt(regular.size)), cv)


def _may_miss(sound: SoundFacts) -> float:
    """How many blows the sound may have lost, or put elsewhere, by itself: twice the standard uncertainty."""
    return sound.lost if sound.missed_uncertainty is None else 2.0 * sound.missed_uncertainty


def _differences(
    common: _Common, rates: tuple[float, float], spread: float, may_miss: float
) -> tuple[str, ...]:
    reasons = []
    if abs(rates[0] - rates[1]) > 2 * spread + RATE_MARGIN * rates[0]:
        reasons.append(f"{rates[1]:.2f} blows a second in the sound, {rates[0]:.2f} in the trace")
    unheard, unseen = common.unheard, common.unseen
    most = max(2.0, (1 - ALIKE) * common.seen.size)
    if unheard.size > most + may_miss:
        text = f"{unheard.size} of the trace's {common.seen.size} blows are not in the sound"
        reasons.append(f"{text}, the first at {unheard[0]:.2f} s")
    if unseen.size > most + min(may_miss, common.astray):
        text = f"{unseen.size} of the sound's {common.heard.size} blows are not in the trace"
        reasons.append(f"{text}, the first at {unseen[0]:.2f} s")
    return tuple(reasons)


def _remarks(trace: RunFacts, sound: SoundFacts, common: _Common, *, ambiguous: bool) -> tuple[str, ...]:
    remarks = [str(flag) for flag in sound.flags]
    outside = trace.blow_times.size - common.seen.size
    if outside:
        remarks.append(f"{outside} of the trace's {trace.blow_times.size} blows lie outside the recording")
    more = sound.blow_times.size - common.heard.size
    if more and trace.has("blows-faint"):
        remarks.append(f"the sound has {more} blows where the trace's sink into noise")
    elif more:
        remarks.append(f"the sound has {more} blows before the trace's first or after its last")
    if ambiguous:
        remarks.append("the blows are so even that another shift, or another run's sound, fits as well")
    return tuple(remarks)
