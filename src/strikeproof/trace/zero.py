"""The reading before the start, after the run, and how surely both are known."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from strikeproof.quantity import FloatArray

__all__ = ["Zero", "find_zero", "find_zero_after", "middle", "noise_of_mean", "robust_sd"]

LONGEST_S = 2.0  # of quiet looked at: older samples say more about drift than about the zero


@dataclass(frozen=True, slots=True, eq=False)
class Zero:
    """Zero level, scatter of one sample, standard uncertainty, creep before the start [reading/s] and the
    quiet samples (n,) themselves, net of zero."""

    level: float
    sd: float
    uncertainty: float
    creep_per_s: float
    creep_uncertainty: float
    quiet: FloatArray
    step_s: float

    def creep(self, seconds: float) -> float:
        """Standard uncertainty from creep over `seconds`, where creep stands out of the noise.

        How much of it goes on until the score is unknown: rectangular (GUM 4.3.7).

        Parameters
        ----------
        seconds
            From the zero to the score. [s]

        Returns
        -------
        [reading]
        """
        if abs(self.creep_per_s) < 4 * self.creep_uncertainty:
            return 0.0
        return float(abs(self.creep_per_s) * seconds / np.sqrt(3))


def find_zero(level: FloatArray, step_s: float) -> Zero:
    """Zero from the samples (n,) before the start, n >= 2, the last two seconds of them.

    Parameters
    ----------
    level : (n,)
        In even steps. [reading]
    step_s
        [s]
    """
    quiet = level[-max(2, int(LONGEST_S / step_s)) :]
    middle = float(np.median(quiet))
    sd = robust_sd(quiet)
    kept = np.abs(quiet - middle) <= max(5 * sd, 1e-12)
    zero = float(quiet[kept].mean()) if sd > 0 else middle
    creep, creep_u = _slope(level[-int(5 / step_s) :], step_s)
    u = np.sqrt(noise_of_mean(quiet, quiet.size))
    return Zero(zero, sd, float(u), creep, creep_u, quiet - zero, step_s)


def find_zero_after(level: FloatArray, zero: float, largest: float, step_s: float) -> float | None:
    """Reading once the load is off again: the log must end near zero for 0.2 s or three samples.

    Parameters
    ----------
    level : (n,)
        In even steps, after hammering. [reading]
    zero
        Before the run. [reading]
    largest
        Excursion of the run. [reading]
    step_s
        [s]

    Returns
    -------
    None where the load stays on.
    """
    shortest = max(3, int(0.2 / step_s))
    off = np.abs(level - zero) < 0.1 * largest
    loaded = np.flatnonzero(~off)
    begin = int(loaded[-1]) + 1 if loaded.size else 0
    if largest <= 0 or off.size - begin < shortest:
        return None
    tail = level[begin + (off.size - begin) // 4 :]
    return float(np.median(tail))


def noise_of_mean(quiet: FloatArray, length: int) -> float:
    """Variance of the mean of `length` samples, by batch means, so that correlated noise counts.

    Law & Kelton, *Simulation Modeling and Analysis*, ch. 9 (batch means); at least eight batches, larger
    ones taken as independent.

    Parameters
    ----------
    quiet : (n,)
        Samples before the start. [reading]
    length
        Samples to a mean, 1 or more.

    Returns
    -------
    [reading²]; 0 where there are too few to know.
    """
    size = max(1, min(length, quiet.size // 8))
    batches = quiet[: quiet.size // size * size].reshape(-1, size).mean(axis=1)
    if batches.size < 2:
        return 0.0
    return float(np.var(batches, ddof=1) * size / length)


def robust_sd(values: FloatArray) -> float:
    """Standard deviation by the median absolute deviation; the plain one where half the values are alike.

    Parameters
    ----------
    values : (n,)
        Any.

    References
    ----------
    Rousseeuw & Croux, J. Am. Stat. Assoc. 88 (1993) 1273: 1.4826 for a normal (from memory).
    """
    if values.size < 2:
        return 0.0
    spread = 1.4826 * middle(np.abs(values - middle(values)))
    return spread if spread > 0 else float(np.std(values))


def middle(values: FloatArray) -> float:
    """The median, of an even count the upper of the two in the middle: several times faster than NumPy's."""
    half = values.size // 2
    return float(np.partition(values, half)[half])


def _slope(level: FloatArray, step_s: float) -> tuple[float, float]:
    """Slope per second through at most twelve batch means, and its standard uncertainty."""
    size = max(1, level.size // 12)
    means = level[: level.size // size * size].reshape(-1, size).mean(axis=1)
    if means.size < 6:
        return 0.0, 0.0
    at = (np.arange(means.size) - (means.size - 1) / 2) * size * step_s
    slope = float(at @ means / (at @ at))
    rest = means - means.mean() - slope * at
    return slope, float(np.sqrt(rest @ rest / (means.size - 2) / (at @ at)))
