"""A plain piece of work, no part of the project, that says how fast this machine is just now.

What takes 1 s on the machine where the limits were set takes 1.1 s on the next one, and 5 s on one that is
busy. So a wanted time is compared with this piece of the same run, and the time itself is printed.
"""

from __future__ import annotations

import json
import time

import numpy as np

__all__ = ["slowness", "within"]

USUAL = 1.05e-3
"""Seconds of one piece with a core of its own, on the 2-core machine where the limits were set."""
SLACK = 1.5
LASTS = 0.5  # s, over which the pieces are timed

_VALUES = np.random.default_rng(1).normal(size=20_000)
_TEXT = json.dumps(_VALUES[:4000].tolist())


def _do_a_piece() -> float:
    """Sorting, transforming, parsing and counting in a plain loop."""
    total = float(np.sort(_VALUES)[0] + np.abs(np.fft.rfft(_VALUES)).sum())
    for value in json.loads(_TEXT):
        total += value * value
    return total


def slowness() -> float:
    """How many times as long as usual plain work takes now; 1 on the machine where the limits were set."""
    _do_a_piece()
    begun, pieces = time.perf_counter(), 0
    while time.perf_counter() - begun < LASTS:
        _do_a_piece()
        pieces += 1
    return (time.perf_counter() - begun) / pieces / USUAL


def within(limit: float) -> float:
    """The limit as it is on this machine just now, with slack; printed, beside the limit itself."""
    now = limit * SLACK * max(slowness(), 1.0)
    print(f"wanted: {limit:g} where plain work takes its usual time; {now:.3g} here and now, with slack")
    return now
