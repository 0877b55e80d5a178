"""Time columns that begin again: seconds of the day after midnight, counters of 16 or 32 bits."""

from __future__ import annotations

import numpy as np

from strikeproof.quantity import FloatArray

__all__ = ["find_wraps", "unwrap"]

_COUNTERS = (2.0**16, 2.0**32, 2.0**31)
_OF_THE_DAY_S = (86400.0,)
_OF_THE_HOUR_S = (60.0, 3600.0)
_FACTORS = (1.0, 1e-3, 1e-6, 1e-9)
_MOST_STEPS = 20.0  # samples that may be missing where it begins again


def find_wraps(values: FloatArray, factor: float | None) -> float | None:
    """At what value the column begins again from 0; None where it does not, or nothing clear.

    Parameters
    ----------
    values
        (n,), NaN where unreadable.
    factor
        What one of them is, where known. [s]
    """
    known = values[np.isfinite(values)]
    steps = np.diff(known)
    falls = steps[steps < 0]
    risen = steps[steps > 0]
    if not falls.size or not risen.size or known.min() < 0 or 2 * falls.size > risen.size:
        return None
    usual = float(np.median(risen))
    whole = bool(np.all(known == np.floor(known)))
    begins_at_zero = known[0] <= _MOST_STEPS * usual  # then they are rather runs one after another
    factors = _FACTORS if factor is None else (factor,)
    turns = [turn / each for turn in _OF_THE_DAY_S for each in factors] + (list(_COUNTERS) if whole else [])
    turns += [] if begins_at_zero else [turn / each for turn in _OF_THE_HOUR_S for each in factors]
    for turn in turns:
        lifted = falls + turn
        if known.max() < turn * (1 + 1e-12) and lifted.min() >= 0 and lifted.max() <= _MOST_STEPS * usual:
            return turn
    return None


def unwrap(values: FloatArray, turn: float) -> FloatArray:
    """(n,) the values with `turn` added each time that they have begun again."""
    known = np.flatnonzero(np.isfinite(values))
    rounds = np.zeros(len(values))
    rounds[known[1:]] = np.cumsum(np.diff(values[known]) < 0)
    return np.asarray(values + turn * rounds, dtype=np.float64)
