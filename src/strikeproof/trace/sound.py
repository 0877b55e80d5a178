"""What the sound of a run says: how many blows, how fast, how regular; or why it cannot tell."""

from __future__ import annotations

import itertools
from dataclasses import dataclass

import numpy as np
from scipy import special

from strikeproof.errors import BadInput
from strikeproof.language import say, say_many, write_figures
from strikeproof.quantity import FloatArray
from strikeproof.trace.blows import (
    FEWEST,
    LIKELY,
    SURE,
    between_samples,
    fill_train,
    move_to_first,
    pick_strong,
    usual_interval,
    usual_profile,
)
from strikeproof.trace.flags import odd_intervals
from strikeproof.trace.hammering import steady_train
from strikeproof.trace.records import Flag
from strikeproof.trace.zero import robust_sd

__all__ = ["STEP_S", "SoundFacts", "front_strength", "hear_blows"]

SLOWEST_RATE_HZ = 4000.0
SHORTEST_S = 1.0
STEP_S = 0.00025
BEFORE_S, AFTER_S = 0.006, 0.003  # sound is averaged so long before and after a front
BANDS_HZ = (700.0, 1100.0, 1700.0, 2600.0, 4000.0, 6200.0, 9500.0, 15_000.0)
ENDS = 0.5  # blows of doubt at the two ends of the train
LOUD = 2.0  # times what makes a blow sure: no blow between such neighbours could have been missed
MOST_LOST = 0.1  # of the blows: more and the count means nothing


@dataclass(frozen=True, slots=True, eq=False)
class SoundFacts:
    """What one recording says of a run.

    Parameters
    ----------
    blow_times : (m,)
        When each blow is found, on the recording's clock. [s]
    count, count_uncertainty
        Blows found, with the standard uncertainty from holes, extras and faint ones; None where the sound
        cannot tell.
    rate_hz, rate_uncertainty
        Reciprocal of the mean regular interval and its standard uncertainty. [Hz]
    missed_uncertainty
        The part of that from holes and faint ones alone, None likewise.
    lost
        Blows that are due where they could have been missed; a hole between loud blows is none.
    regularity
        Scatter of the regular intervals over their mean; errors of hearing are in it.
    reason
        Why something is not known; empty where all is.
    flags
        What to know before trusting it; `kind` is a code of `campaign.flags.FLAGS`.
    length_s, sample_rate_hz
        Of the recording.
    """

    blow_times: FloatArray
    count: int | None
    count_uncertainty: float | None
    missed_uncertainty: float | None
    lost: int
    rate_hz: float | None
    rate_uncertainty: float | None
    regularity: float | None
    reason: str
    flags: tuple[Flag, ...]
    length_s: float
    sample_rate_hz: float

    def has(self, kind: str) -> bool:
        """Whether a flag of this kind is set.

        Parameters
        ----------
        kind
            A code of `campaign.flags.FLAGS`.
        """
        return any(flag.kind == kind for flag in self.flags)


def hear_blows(samples: FloatArray, sample_rate_hz: float) -> SoundFacts:
    """The blows in a recording.

    Every blow makes the sound of several bands rise at once, however loud it is and whatever the gain: so
    fronts are rises of the level in decibels, summed over bands, over what steady noise of their bandwidth
    does by chance (Bello et al., A tutorial on onset detection in music signals, *IEEE Trans. Speech Audio
    Process.* 13, 2005, sec. III; Klapuri, Sound onset detection by applying psychoacoustic knowledge,
    *ICASSP* 1999). The train is then found as in a trace.

    Parameters
    ----------
    samples : (n,) or (n, microphones)
        As recorded, full scale 1; the microphones' powers are added.
    sample_rate_hz
        Of the recording. [Hz]

    Raises
    ------
    BadInput
        If the samples have neither of these shapes or the rate is not above zero.
    """
    if samples.ndim not in (1, 2) or not np.isfinite(sample_rate_hz) or sample_rate_hz <= 0:
        raise BadInput(f"samples of shape {samples.shape}", where="sound", allowed="(n,) or (n, k), rate > 0")
    sound = samples.reshape(len(samples), -1)
    length = len(sound) / sample_rate_hz
    if sample_rate_hz < SLOWEST_RATE_HZ:
        return _nothing(length, sample_rate_hz, f"{sample_rate_hz:g} samples a second are too few for sound")
    if length < SHORTEST_S:
        return _nothing(length, sample_rate_hz, f"the recording is only {length:.2f} s long")
    flags = [*_flag_clipping(sound)]
    strength = front_strength(sound, sample_rate_hz)
    found = _find_train(strength)
    if found is None:
        return _nothing(length, sample_rate_hz, "no train of blows stands out of the other sound", flags)
    return _facts(*found, length, sample_rate_hz, flags)


def _nothing(length: float, rate: float, reason: str, flags: list[Flag] | None = None) -> SoundFacts:
    return SoundFacts(
        np.zeros(0), None, None, None, 0, None, None, None, reason, tuple(flags or ()), length, rate
    )


def front_strength(sound: FloatArray, rate: float) -> FloatArray:
    """(n,) rise of the level in all bands, every `STEP_S`, in deviations of steady noise.

    Parameters
    ----------
    sound : (n, microphones)
        As recorded, full scale 1.
    rate
        Of the recording. [Hz]
    """
    from scipy import signal  # it brings scipy.stats: a second that only a sound should pay

    each = max(1, round(rate * STEP_S))
    before, after = round(BEFORE_S / STEP_S), round(AFTER_S / STEP_S)
    highest = 0.45 * rate
    edges = [*(hz for hz in BANDS_HZ if hz < 0.8 * highest), min(highest, 1.5 * BANDS_HZ[-1])]
    rise, variance = np.zeros(len(sound) // each), 0.0
    for low, high in itertools.pairwise(edges):
        stages = signal.butter(2, (low, high), "bandpass", fs=rate, output="sos")
        power = _power(sound, stages, each)
        power += max(0.1 * float(np.quantile(power, 0.1)), 1e-14)
        total = np.r_[0.0, np.cumsum(power)]
        mid = np.arange(before, power.size - after)
        ratio = (total[mid + after] - total[mid]) / (total[mid] - total[mid - before]) * before / after
        rise[before : power.size - after] += np.log(ratio)
        # the mean power of noise of bandwidth B over a time T scatters by 1 / (B T) in variance
        variance += 1 / ((high - low) * BEFORE_S) + 1 / ((high - low) * AFTER_S)
    return np.asarray(rise / np.sqrt(variance), dtype=np.float64)


def _power(sound: FloatArray, stages: FloatArray, each: int) -> FloatArray:
    """Mean power of a band in each step, all microphones together; one microphone at a time saves memory."""
    from scipy import signal

    count = len(sound) // each
    power = np.zeros(count)
    for microphone in range(sound.shape[1]):
        band = signal.sosfilt(stages, sound[:, microphone])[: count * each]
        power += np.mean(np.square(band, out=band).reshape(count, each), axis=1)
    return power


def _find_train(strength: FloatArray) -> tuple[FloatArray, FloatArray] | None:
    """Times (m,) and strengths (m,) of the longest train of blows, None where there is none."""
    strength = strength / _unrest(strength)
    interval = usual_interval(strength, STEP_S, None)
    if interval is None:
        return None
    span = max(1, round(interval / STEP_S))
    peaks = pick_strong(strength, span)
    if peaks.size < FEWEST:
        return None
    reach = round(min(0.25 * interval, 0.008) / STEP_S)
    peaks = np.unique(move_to_first(strength, peaks, reach, SURE))
    peaks = fill_train(strength, peaks, usual_profile(strength, peaks, span), span, SURE, LIKELY)
    times = (peaks + between_samples(strength, peaks)) * STEP_S
    a, b = steady_train(times, interval)
    gaps = np.diff(times[a:b])
    if b - a < 2 * FEWEST or np.median(np.abs(gaps / np.median(gaps) - 1)) > 0.25:
        return None
    return times[a:b], strength[peaks[a:b]]


def _unrest(strength: FloatArray) -> float:
    """How much more than steady noise the quietest parts scatter, 1 to 2; more than that is hammering."""
    each = round(0.25 / STEP_S)
    parts = strength[: strength.size // each * each].reshape(-1, each)
    return float(np.clip(np.quantile([robust_sd(part) for part in parts], 0.1), 1.0, 2.0))


def _facts(
    times: FloatArray, strength: FloatArray, length: float, sample_rate_hz: float, flags: list[Flag]
) -> SoundFacts:
    gaps = np.diff(times)
    usual = float(np.median(gaps))
    double, hole = odd_intervals(times)
    regular = gaps[~(double | hole | np.r_[False, double[:-1]])]
    missing = np.where(hole, np.round(gaps / usual) - 1, 0)
    lost = int(missing[np.minimum(strength[:-1], strength[1:]) < LOUD * SURE].sum())
    flags = [*flags, *_flag_train(times, (int(missing.sum()), lost), int(double.sum()), length, usual)]
    cv = float(np.std(regular, ddof=1) / np.mean(regular)) if regular.size > 2 else None
    few = lost > MOST_LOST * times.size or cv is None
    rate = 1 / float(np.mean(regular)) if regular.size else 0.0
    # What is due and not found, or found too soon, counts by chance or not: rectangular (GUM 4.3.7). Of
    # faint blows some are lost unseen: as many as a normal spread of strengths leaves below the bound.
    faint = times.size * float(special.ndtr((SURE - strength.mean()) / max(float(strength.std()), 1e-9)))
    missed = ENDS**2 + lost**2 / 3 + faint
    return SoundFacts(
        blow_times=times,
        count=None if few else int(times.size),
        count_uncertainty=None if few else float(np.sqrt(missed + int(double.sum()) ** 2 / 3)),
        missed_uncertainty=None if few else float(np.sqrt(missed)),
        lost=lost,
        rate_hz=None if cv is None else rate,
        rate_uncertainty=None if cv is None else float(cv * rate / np.sqrt(regular.size)),
        regularity=cv,
        reason=f"{lost} blows are lost in other sound, {times.size} are found" if few else "",
        flags=tuple(flags),
        length_s=length,
        sample_rate_hz=sample_rate_hz,
    )


def _flag_clipping(sound: FloatArray) -> list[Flag]:
    """Samples that stand at the largest value, several in a row, more than once."""
    largest = float(np.abs(sound).max(initial=0.0))
    at = np.abs(sound) >= largest * (1 - 1e-4)
    pairs = int(np.count_nonzero(at[1:] & at[:-1])) if largest > 0 else 0
    if pairs < 20:
        return []
    text = say(
        "{samples} samples are at {largest} of full scale",
        samples=int(at.sum()),
        largest=write_figures(f"{largest:.3g}"),
    )
    return [Flag("overdriven", text)]


def _flag_train(
    times: FloatArray, missing: tuple[int, int], double: int, length: float, usual: float
) -> list[Flag]:
    flags = []
    if times[0] < 1.5 * usual + BEFORE_S:
        first = write_figures(f"{times[0]:.3f}")
        flags.append(Flag("starts-late", say("the first blow is {first} s into the recording", first=first)))
    if length - times[-1] < 1.5 * usual + AFTER_S:
        left = write_figures(f"{length - times[-1]:.3f}")
        flags.append(Flag("ends-early", say("the last blow is {left} s before its end", left=left)))
    if missing[0]:
        text = say_many(
            "{count} expected blow is missing in the sound",
            "{count} expected blows are missing in the sound",
            missing[0],
        )
        if missing[1]:
            text += say(", {lost} of them perhaps lost in other sound", lost=missing[1])
        flags.append(Flag("holes", text))
    if double:
        text = say_many(
            "{count} sound follows the one before far too soon",
            "{count} sounds follow the one before far too soon",
            double,
        )
        flags.append(Flag("extra", text))
    return flags
