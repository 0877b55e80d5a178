"""How strongly each sample looks like the front of a blow, over the noise."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from strikeproof.quantity import BoolArray, FloatArray, IntArray
from strikeproof.trace.zero import middle, robust_sd

__all__ = ["RINGING_S", "Rising", "front_strength", "matched_strength"]

FRONTS_S = (0.0005, 0.001, 0.002, 0.004, 0.008)  # averaging times tried on either side of a front
RINGING_S = 0.012  # of a blow's course that separates it from noise


@dataclass(frozen=True, slots=True, eq=False)
class Rising:
    """A rising level (n,) in even steps; the first `quiet` samples lie before the start and show the noise.

    `clear` (n,) is False near missing samples; `rounding` is the standard uncertainty that the
    converter's step leaves in a sample.
    """

    level: FloatArray
    step_s: float
    quiet: int
    clear: BoolArray
    rounding: float


def front_strength(rising: Rising) -> FloatArray:
    """Mean after each sample less mean before it, over its noise (n,).

    Of several averaging times the best is that whose usual strongest front in 50 ms is largest.

    Parameters
    ----------
    rising
        The level with its noise.

    References
    ----------
    Derived here (docs/detector.md, step 5).
    """
    total = np.r_[0.0, np.cumsum(rising.level - rising.level[0])]
    best, most = np.zeros_like(rising.level), -1.0
    block = max(2, round(0.05 / rising.step_s))
    for width in _widths(rising.step_s):
        rise = _rise(total, width)
        noise = _noise(rise, rising, width, np.sqrt(2.0))
        loud = rise[rising.quiet :]
        usual = middle(loud[: loud.size // block * block].reshape(-1, block).max(axis=1)) / noise
        # Short means have more chances in 50 ms to be high by noise alone.
        contrast = float(usual / np.sqrt(1 + np.log(block / min(width, block)) / 4))
        if contrast > most:
            best, most = rise / noise, contrast
    best[~rising.clear] = 0.0
    return best


def _widths(step_s: float) -> list[int]:
    return sorted({max(1, round(seconds / step_s)) for seconds in FRONTS_S if seconds > 0.6 * step_s} or {1})


def _rise(total: FloatArray, width: int) -> FloatArray:
    out = np.zeros(total.size - 1)
    inner = (total[2 * width :] - 2 * total[width:-width] + total[: -2 * width]) / width
    out[width : width + inner.size] = inner
    return out


def _noise(filtered: FloatArray, rising: Rising, margin: int, gain: float) -> float:
    """Scatter of a filtered level before the start, with what rounding may add, never quite nothing."""
    quiet = filtered[margin : max(rising.quiet - margin, margin + 2)]
    least = max(1e-3 * float(np.abs(filtered).max()), 1e-300)
    return max(float(np.hypot(robust_sd(quiet), gain * rising.rounding)), least)


def matched_strength(rising: Rising, strength: FloatArray, peaks: IntArray, span: int) -> FloatArray | None:
    """Likeness (n,) to the usual shape of the blows found so far, where that shows them better; else None.

    A filter matched to a shape finds it in white noise as surely as any can (North, *Proc. IEEE* 51, 1963,
    from memory).

    Parameters
    ----------
    rising
        The level with its noise.
    strength : (n,)
        Of the fronts, over the noise.
    peaks : (m,)
        Samples of the blows found so far.
    span
        Samples to a usual interval.
    """
    before, after = max(2, span // 8), max(3, min(int(0.4 * span), round(RINGING_S / rising.step_s)))
    some = peaks[(peaks >= before) & (peaks + after < strength.size)]
    some = some[some.size // 3 :]  # the first blows lift the level more than they make it ring
    if some.size < 5:
        return None
    around = rising.level[some[:, None] + np.arange(-before, after)] / strength[some][:, None]
    shape = (around - around.mean(axis=1, keepdims=True)).mean(axis=0)
    matched = np.zeros_like(strength)
    likeness = np.correlate(rising.level, shape, mode="valid")
    matched[before : before + likeness.size] = likeness
    matched /= _noise(matched, rising, shape.size, float(np.linalg.norm(shape)))
    matched[~rising.clear] = 0.0
    return matched if middle(matched[peaks]) > middle(strength[peaks]) else None
