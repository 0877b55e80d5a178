"""Courses fitted to a level: a zero and a rise out of it, and the smooth ones of a zero that drifts."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from strikeproof.quantity import FloatArray, IntArray

__all__ = [
    "HeldRise",
    "fit_held_rise",
    "fit_rise",
    "fit_rises",
    "least_rise",
    "polynomial_misfits",
    "sigmoid_misfit",
    "swing_misfit",
]

MOST_PLACES = 40  # of the start and of the end of a rise that are tried
MOST_SAMPLES = 2000  # of a log that are worked with where its shape alone counts
DRIFT_DEGREE = 2  # of the drift that a rise must stand out of
QUANTILES = 2.054 + 1.645  # of the normal: 2 % of drifts taken for a rise, 95 % of rises found


@dataclass(frozen=True, slots=True)
class HeldRise:
    """A zero, a parabola from `first` and a level held from `last` on; the sum of squares they leave."""

    misfit: float
    first: int
    last: int
    zero: float


def fit_rise(level: FloatArray, quiet: int) -> tuple[float, int, float]:
    """Least squares of a zero, then a parabola: sum of squares left, where the rise starts, and the zero.

    The first `quiet` of the level (n,) and a few more belong to the zero.

    Parameters
    ----------
    level : (n,)
        In even steps. [reading]
    quiet
        Samples, n > quiet + 2.
    """
    starts = np.arange(quiet, level.size - 2, dtype=np.float64)
    misfit, zero = fit_rises(level, starts)
    best = int(np.argmin(misfit))
    return float(misfit[best]), int(starts[best]), float(zero[best])


def fit_rises(level: FloatArray, starts: FloatArray) -> tuple[FloatArray, FloatArray]:
    """For a rise from each of the starts (k,): sum of squares left (k,) and the zero before it (k,).

    Parameters
    ----------
    level : (n,)
        In even steps. [reading]
    starts : (k,)
        In samples, not only integers.
    """
    return _fit(level, (np.arange(level.size) - starts[:, None]).clip(min=0))


def _fit(level: FloatArray, since: FloatArray) -> tuple[FloatArray, FloatArray]:
    """Zero and parabola in each of the times since the start (k, n): sums of squares left and zeros (k,)."""
    after = since / level.size
    design = np.stack([np.ones_like(after), after, after**2], axis=2)
    gram = np.swapaxes(design, 1, 2) @ design
    gram += 1e-12 * np.trace(gram, axis1=1, axis2=2)[:, None, None] * np.eye(3)
    weights = np.linalg.solve(gram, (level @ design)[:, :, None])
    misfit: FloatArray = ((level - (design @ weights)[:, :, 0]) ** 2).sum(axis=1)
    return misfit, np.asarray(weights[:, 0, 0], dtype=np.float64)


def fit_held_rise(level: FloatArray, quiet: int, lasting: int) -> HeldRise | None:
    """The rise that fits a level (n,) best when it may be held to the end; None where the level is too short.

    At least `quiet` samples belong to the zero and `lasting` to the rise.

    Parameters
    ----------
    level : (n,)
        In even steps. [reading]
    quiet, lasting
        Samples.

    References
    ----------
    Least squares over two corners: derived here (docs/detector.md, step 4).
    """
    n = level.size
    if n < quiet + lasting + 3:
        return None
    step = max(1, -(-n // MOST_PLACES))
    firsts = np.arange(quiet, n - lasting, step)
    lasts = np.r_[np.arange(quiet + lasting, n - 1, step), n - 1]
    best = _best_of(level, firsts, lasts, lasting)
    near = np.arange(-step + 1, step)
    firsts = np.unique((best.first + near).clip(quiet, n - lasting - 1))
    lasts = np.unique((best.last + near).clip(quiet + lasting, n - 1))
    return _best_of(level, firsts, lasts, lasting)


def _best_of(level: FloatArray, firsts: IntArray, lasts: IntArray, lasting: int) -> HeldRise:
    first, last = (each.ravel() for each in np.meshgrid(firsts, lasts))
    long = last - first >= lasting
    first, last = first[long], last[long]
    since = np.clip(np.arange(level.size), first[:, None], last[:, None]) - first[:, None]
    misfit, zero = _fit(level, since.astype(np.float64))
    best = int(np.argmin(misfit))
    return HeldRise(float(misfit[best]), int(first[best]), int(last[best]), float(zero[best]))


def polynomial_misfits(level: FloatArray) -> tuple[float, float, float]:
    """Sums of squares that a straight line, a parabola and a cubic leave of a level (n,)."""
    at = np.linspace(-1, 1, level.size)
    line, parabola, cubic = (_left(_polynomials(at, n), level) for n in (1, 2, 3))
    return line, parabola, cubic


def sigmoid_misfit(level: FloatArray) -> float:
    """Sum of squares that the best of many logistic curves leaves of a level (n,)."""
    at = np.arange(level.size) / level.size
    middle, width = (each.reshape(-1, 1) for each in np.meshgrid(np.arange(0, 1.05, 0.05), SIGMOID_WIDTHS))
    curve = 1 / (1 + np.exp(np.clip((middle - at) / width, -40, 40)))
    curve -= curve.mean(axis=1, keepdims=True)
    off = level - level.mean()
    return float(off @ off - np.max((curve @ off) ** 2 / (curve**2).sum(axis=1)))


def swing_misfit(level: FloatArray, fewest: float) -> float:
    """Sum of squares that the best swing leaves of a level.

    Parameters
    ----------
    level : (n,)
        At even steps. [reading]
    fewest
        Turns that it has in all of the level; the most are a dozen.
    """
    off = level - level.mean()
    turns = np.arange(fewest, 12, 0.1)
    best = float(turns[int(_swings_of(off, turns).argmax())])
    near = np.arange(max(best - 0.1, fewest), best + 0.1, 0.01)
    return float(off @ off - _swings_of(off, near).max())


def _swings_of(off: FloatArray, turns: FloatArray) -> FloatArray:
    """Sum of squares of a level net of its mean (n,) that a swing of so many turns (k,) explains; (k,)."""
    phase = 2 * np.pi * turns[:, None] * np.arange(off.size) / off.size
    swings = np.linalg.qr(np.stack([np.ones_like(phase), np.cos(phase), np.sin(phase)], axis=2))[0]
    return np.asarray(((off @ swings) ** 2).sum(axis=1), dtype=np.float64)


SIGMOID_WIDTHS = np.geomspace(0.03, 0.5, 12)  # of the log's length; a narrower one is a step


def _polynomials(at: FloatArray, degree: int) -> FloatArray:
    return np.asarray(np.polynomial.legendre.legvander(at, degree), dtype=np.float64)


def _left(design: FloatArray, level: FloatArray) -> float:
    return float(((level - design @ np.linalg.lstsq(design, level, rcond=None)[0]) ** 2).sum())


def least_rise(length_s: float, step_s: float, window_s: float) -> float:
    """The smallest steady rise that any test could find in a log of this shape [noise of a sample].

    Of a rise in `window_s` with as much of the log before it as after it, beside a zero that drifts as any
    parabola: the most powerful test looks at what the parabola does not explain of the rise, whose length
    over the noise is the shift of a normal (Lehmann & Romano, *Testing Statistical Hypotheses*, 3rd ed.,
    ch. 7, from memory).

    Parameters
    ----------
    length_s
        Of the log. [s]
    step_s
        Between samples. [s]
    window_s
        Length of the timed window. [s]

    Returns
    -------
    Infinite where nothing is left of a rise.
    """
    each = max(step_s, length_s / MOST_SAMPLES)
    time = np.arange(max(int(length_s / each), 8)) * each
    ramp = np.clip((time - max(length_s - window_s, 0.0) / 2) / window_s, 0, 1)
    left = _left(_polynomials(np.linspace(-1, 1, time.size), DRIFT_DEGREE), ramp)
    return float(QUANTILES / np.sqrt(left * each / step_s)) if left > 0 else np.inf
