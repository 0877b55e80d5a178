"""The largest loads of several runs whose blows scatter: what a margin is judged by."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

import numpy as np

from strikeproof.drivetrain import Chain, Run, ToolModel, draw_scatter, simulate_run
from strikeproof.quantity import FloatArray

__all__ = ["Largest", "largest_loads"]

RUNS: Final = 16
_SEED: Final = 16
_MOST_BLOWS: Final = 40_000
"""In all runs together; runs of many blows are fewer, for each has met its scatter often."""


@dataclass(frozen=True, slots=True)
class Largest:
    """Largest torque at each of an article's joints, either way [N·m], largest clamp load [N], and of how
    many runs that scatter."""

    own: FloatArray
    load: float
    runs: int


def largest_loads(chain: Chain, tool: ToolModel, run: Run, duration: float) -> Largest:
    """The largest of `run` and of as many runs with the tool's scatter of speed and gaps as time allows.

    The scatter is the same at every call, so that two articles are judged by the same blows.

    Raises
    ------
    DidNotConverge
        If a blow's contacts switch without end.
    """
    own, load = run.own.copy(), max(float(run.clamp_load.max(initial=0.0)), run.start_load)
    runs = max(1, min(RUNS, _MOST_BLOWS // max(run.clamp_load.size, 1)))
    for number in range(runs):
        scatter = draw_scatter(tool, duration, np.random.default_rng([_SEED, number]))
        each = simulate_run(chain, tool, duration=duration, scatter=scatter)
        own = np.maximum(own, each.own)
        load = max(load, float(each.clamp_load.max(initial=0.0)))
    return Largest(own, load, runs)
