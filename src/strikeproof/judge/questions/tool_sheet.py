"""One tool's result sheet: what it reaches with each article, and how far its runs scatter.

The figures are those that ISO 5393 asks of a rotary tool: mean, standard deviation, range, and six standard
deviations as a share of the mean. Its joints, its 25 runs of each and its speeds are not what a
campaign runs (from memory).
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass

import numpy as np

from strikeproof.judge.records import ScoredRun

__all__ = ["SheetLine", "sheet_lines"]


@dataclass(frozen=True, slots=True)
class SheetLine:
    """The scores of one group of runs: of an article, or at a supply.

    `deviation` and `scatter_percent`, six deviations as a share of the mean, are None of one run.
    """

    name: str
    runs: int
    mean: float
    deviation: float | None
    lowest: float
    highest: float
    scatter_percent: float | None


def sheet_lines(runs: Sequence[ScoredRun], group: Callable[[ScoredRun], str | None]) -> tuple[SheetLine, ...]:
    """A line for each group, in the order of its first run.

    Parameters
    ----------
    runs
        Of one tool; excluded ones, and those that never reached their level, do not count.
    group
        Name of a run's group; None for none.

    References
    ----------
    ISO 5393:2017, *Rotary tools for threaded fasteners, performance test method*: mean, standard deviation
    and 6 s over the mean (from memory).
    """
    groups: dict[str, list[float]] = {}
    for each in sorted(runs, key=lambda run: run.order):
        name = group(each)
        if name is not None and not each.set_aside and not each.not_reached:
            groups.setdefault(name, []).append(each.score)
    return tuple(_line(name, np.asarray(scores)) for name, scores in groups.items())


def _line(name: str, scores: np.ndarray) -> SheetLine:
    mean = float(scores.mean())
    deviation = float(scores.std(ddof=1)) if len(scores) > 1 else None
    wide = None if deviation is None else 600.0 * deviation / mean
    return SheetLine(name, len(scores), mean, deviation, float(scores.min()), float(scores.max()), wide)
