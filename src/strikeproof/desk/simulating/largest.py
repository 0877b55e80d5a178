"""The largest loads of runs whose blows scatter as the tool's do, and the scores of these runs."""

from __future__ import annotations

from collections.abc import Callable
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
    """Largest torque at each of an article's joints, either way [N·m], largest clamp load [N], and the
    scores of the runs that scatter [N]."""

    own: FloatArray
    load: float
    scores: FloatArray


def largest_loads(
    chain: Chain, tool: ToolModel, run: Run, duration: float, score: Callable[[Run], float] | None = None
) -> Largest:
    """The largest of `run` and of as many runs with the tool's scatter of speed and gaps as time allows.

    The scatter is the same at every call, so that two articles are judged by the same blows.

    Parameters
    ----------
    chain, tool
        The bench.
    run
        Without scatter.
    duration
        [s]
    score
        Of a run [N]; None takes its end load.

    Raises
    ------
    DidNotConverge
        If a blow's contacts switch without end.
    """
    own, load = run.own.copy(), max(float(run.clamp_load.max(initial=0.0)), run.start_load)
    runs = max(1, min(RUNS, _MOST_BLOWS // max(run.clamp_load.size, 1)))
    scores = np.empty(runs)
    for number in range(runs):
        scatter = draw_scatter(tool, duration, np.random.default_rng([_SEED, number]))
        each = simulate_run(chain, tool, duration=duration, scatter=scatter)
        own = np.maximum(own, each.own)
        load = max(load, float(each.clamp_load.max(initial=0.0)))
        scores[number] = each.end_load if score is None else score(each)
    return Largest(own, load, scores)
