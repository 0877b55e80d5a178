"""Kills a worker of a cluster while it simulates; what comes back is compared with that of one process."""

from __future__ import annotations

import os
import signal
from pathlib import Path
from typing import Any

import numpy as np
from tests.faults.siege.attack import Tally

from strikeproof.drivetrain import (
    Batch,
    Bench,
    BoltModel,
    RigModel,
    batch,
    complete_tool,
    plain_article,
    simulate_batch,
)

__all__ = ["play_workers"]

_BENCH = Bench(BoltModel(2.5e-3, 9.19e-3, 13e-3), RigModel(), duration=1.0)
_TOOLS = [complete_tool(name, name, 0.0127).tool for name in ("air", "spring-and-cam")]
_ARTICLES = [plain_article(f"a{place}", value) for place, value in enumerate((3e-5, 1e-4, 4e-4))]
_DRAWS = 20


def play_workers(first: int, count: int, _folder: Path) -> Tally:
    """As many batches, each on two workers of which one dies with work in its hands."""
    from distributed import LocalCluster

    tally, usual = Tally(), batch.CHUNK
    batch.CHUNK = 2
    try:
        with LocalCluster(
            n_workers=2, threads_per_worker=1, host="127.0.0.1", dashboard_address="127.0.0.1:0"
        ) as cluster:
            for number in range(first, first + count):
                _play_one(cluster, number, tally)
    finally:
        batch.CHUNK = usual
    return tally


def _play_one(cluster: Any, number: int, tally: Tally) -> None:
    here, killed = _run(number), []

    def kill(done: int, _all: int) -> None:
        """Once, a worker that has work, after a few answers."""
        busy = [each for each in list(cluster.scheduler.workers.values()) if each.processing]
        if done > 2 * (number % 20) and busy and not killed:
            killed.append(cluster.workers[busy[0].name].pid)
            os.kill(killed[0], signal.SIGKILL)

    there = _run(number, scheduler=cluster.scheduler_address, progress=kill)
    tally.count("killed workers", len(killed))
    same = all(np.array_equal(getattr(here, name), getattr(there, name)) for name in Batch.__slots__)
    if not same:
        tally.fail("results that differ", f"batch {number}")


def _run(seed: int, **more: Any) -> Batch:
    return simulate_batch(_ARTICLES, _TOOLS, _BENCH, draws=_DRAWS, seed=seed, **more)
