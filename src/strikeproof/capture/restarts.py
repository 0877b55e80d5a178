"""Where the time of a log begins again, since it holds several runs one after another."""

from __future__ import annotations

import numpy as np

from strikeproof.quantity import FloatArray, IntArray

__all__ = ["find_restarts"]

_NEAR = 0.05  # of the run so far: so near to its beginning the next one begins
_FEWEST = 5  # samples of a run
_FEW_STEPS = 3.0


def find_restarts(time: FloatArray) -> IntArray:
    """(m,) the samples at which a further run begins; a clock that is set back, or rows swapped, are none.

    Parameters
    ----------
    time
        (n,), finite. [s]
    """
    steps = np.diff(time)
    falls = np.flatnonzero(steps < 0) + 1
    rises = steps[steps > 0]
    if not falls.size or not rises.size:
        return np.zeros(0, dtype=np.int64)
    usual = float(np.median(rises))
    found, begin = [], 0
    for at in map(int, falls):
        length = time[at - 1] - time[begin]
        near = time[at] - time[begin] <= max(_FEW_STEPS * usual, _NEAR * length)
        if near and at - begin >= _FEWEST and length > _FEW_STEPS * usual:
            found.append(at)
            begin = at
    return np.asarray(found, dtype=np.int64)
