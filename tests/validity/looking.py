"""Who looks before all runs are made: false differences with looks that were planned, and with none."""

from __future__ import annotations

import numpy as np
from joblib import Parallel, delayed
from tests.validity.campaigns import Truth, simulate_campaign

from strikeproof.judge.comparison import compare_runs
from strikeproof.judge.looks import Looks
from strikeproof.judge.records import Comparison, ScoredRun

__all__ = ["LOOKERS", "look_often"]

EQUAL = Truth(missing=0.0, blocks=(12, 12))
FIRST, MOST, TIMES = 4, 12, 5


def look_often(looker: str, campaigns: int, seed: np.random.SeedSequence) -> np.ndarray:
    """Whether each campaign of equal articles ever showed a difference."""
    jobs = (delayed(_look)(looker, each) for each in seed.spawn(campaigns))
    return np.asarray(Parallel(n_jobs=2, batch_size=10)(jobs), dtype=np.float64)


def _look(looker: str, seed: np.random.SeedSequence) -> bool:
    runs = simulate_campaign(EQUAL, np.random.default_rng(seed))
    return LOOKERS[looker](runs)


def _after(runs: list[ScoredRun], blocks: int, planned: int | None = None) -> Comparison:
    return compare_runs(
        [run for run in runs if int(run.block) < blocks],
        reference="plain",
        margin_percent=1.0,
        rng=np.random.default_rng(0),
        draws=0,
        looks=None if planned is None else Looks(planned, blocks, MOST),
    )


def _wrong(result: Comparison) -> bool:
    return any(row.verdict in ("higher", "lower") for row in result.results)


def _as_advised(runs: list[ScoredRun]) -> bool:
    """Four blocks, then as many more as the article needs that needs fewest, until all have a verdict."""
    blocks = FIRST
    for _ in range(TIMES):
        result = _after(runs, blocks)
        more = [row.more_runs for row in result.results if row.more_runs]
        if _wrong(result):
            return True
        if not more or blocks == MOST:
            return False
        blocks = min(blocks + min(more), MOST)
    return False


def _each_block(runs: list[ScoredRun]) -> bool:
    return any(_wrong(_after(runs, blocks)) for blocks in range(3, MOST + 1))


def _as_planned(runs: list[ScoredRun]) -> bool:
    return any(_wrong(_after(runs, blocks, planned=4)) for blocks in (3, 6, 9, 12))


def _whenever(runs: list[ScoredRun]) -> bool:
    return any(_wrong(_after(runs, blocks, planned=0)) for blocks in range(3, MOST + 1))


LOOKERS = {
    "looks at 4 blocks, then after as many more as are advised": _as_advised,
    "looks after each of 12 blocks": _each_block,
    "four planned looks at 12 blocks": _as_planned,
    "looks after each of 12 blocks, planned as any look": _whenever,
}
