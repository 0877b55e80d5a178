"""How far a level wanders by itself, as a zero that is carried along by chance does."""

from __future__ import annotations

import numpy as np

from strikeproof.quantity import FloatArray
from strikeproof.trace.zero import robust_sd

__all__ = ["wandering"]

MOST_BLOCKS = 240
SPANS = (1, 2, 3, 4, 6, 8, 12, 16)  # blocks
FEWEST_SPANS = 18  # of a length, in the log
NEIGHBOURS = 7
STRAY = 3.0  # deviations from the median of the neighbours
USUAL = 0.4549  # median of the square of a standard normal


def wandering(level: FloatArray, step_s: float, time_s: float) -> float:
    """Standard deviation by which the level wanders in a time, beside its noise. [reading]

    Of the means over three neighbouring spans, the second difference is zero for a straight course. Noise of
    one sample leaves it a variance that falls as the span grows, a random walk of rate q one of q times the
    span. Both are fitted to the median square at several spans, which neither a rise nor its corners set:
    only what goes on all the time counts. With too few blocks for that it is 0.

    Parameters
    ----------
    level : (n,)
        At even steps. [reading]
    step_s, time_s
        Between samples, and during which it wanders. [s]

    References
    ----------
    D. W. Allan, Proc. IEEE 54 (1966) 221, for noise separated from a walk by its variance over spans (from
    memory); of white and random-walk noise the second difference of means over T has the variances 6 σ²/T
    and q T.
    """
    each = max(1, level.size // MOST_BLOCKS)
    blocks = level[: level.size // each * each].reshape(-1, each).mean(axis=1)
    blocks = _without_strays(blocks)
    spans = np.array([span for span in SPANS if FEWEST_SPANS * span <= blocks.size])
    if spans.size < 2:
        return 0.0
    sums = np.r_[0.0, np.cumsum(blocks - blocks[0])]
    seen = np.array([_median_square(sums, int(span)) for span in spans])
    if not seen.min() > 0.0:
        return 0.0
    weight = 1.0 / (seen * np.sqrt(spans))
    design = np.stack([6.0 / spans, spans * each * step_s], axis=1) * weight[:, None]
    rates = np.linalg.lstsq(design, seen * weight, rcond=None)[0]
    if rates[0] < 0.0:  # no noise beside the walk
        rates[1] = float(design[:, 1] @ (seen * weight) / (design[:, 1] @ design[:, 1]))
    return float(np.sqrt(max(rates[1], 0.0) * time_s))


def _without_strays(blocks: FloatArray) -> FloatArray:
    """The blocks (n,), those that stand out of their neighbours brought back to them."""
    padded = np.pad(blocks, NEIGHBOURS // 2, mode="edge")
    course = np.median(np.lib.stride_tricks.sliding_window_view(padded, NEIGHBOURS), axis=1)
    reach = STRAY * robust_sd(blocks - course)
    return np.clip(blocks, course - reach, course + reach)


def _median_square(sums: FloatArray, span: int) -> float:
    """Variance of the second difference of means over `span` blocks, from their running sums (n + 1,)."""
    mean = (sums[span:] - sums[:-span]) / span
    second = mean[2 * span :] - 2 * mean[span:-span] + mean[: -2 * span]
    return float(np.median(second**2)) / USUAL
