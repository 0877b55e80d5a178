"""Many runs in one call: articles × tools × draws, on as many processes as wanted."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass
from typing import Any, Literal

import numpy as np

from strikeproof.drivetrain.bounds import Range, require
from strikeproof.drivetrain.chain import build_chain
from strikeproof.drivetrain.places import list_joints
from strikeproof.drivetrain.records import ArticleModel, BoltModel, RigModel, ToolModel
from strikeproof.drivetrain.run import draw_scatter, simulate_run
from strikeproof.errors import BadInput
from strikeproof.quantity import BoolArray, FloatArray

__all__ = ["Batch", "Bench", "simulate_batch"]

ANSWER_WITHIN = 10.0  # s, for a Dask scheduler
CHUNK = 128  # runs handed to a worker at once; results do not depend on it


@dataclass(frozen=True, slots=True)
class Bench:
    """What every run of a batch shares."""

    bolt: BoltModel
    rig: RigModel
    duration: float = 10.0
    direction: Literal["tighten", "loosen"] = "tighten"
    start_load: float | None = None


@dataclass(frozen=True, slots=True)
class Batch:
    """Results of a batch, all (articles, tools, draws) and more where it says so.

    Attributes
    ----------
    end_load, torque_equivalent, peak_torque
        Clamp load at the end, its slow-tightening torque, largest torque at the bolt's head. [N, N·m, N·m]
    peaks
        Largest torque at each of the article's joints in the order of `list_joints`, (articles, tools, draws,
        joints); NaN beyond its last. [N·m]
    blows
        Number of blows.
    done
        False where the batch was cancelled before; the other arrays hold NaN or 0 there.
    """

    end_load: FloatArray
    torque_equivalent: FloatArray
    peak_torque: FloatArray
    peaks: FloatArray
    blows: FloatArray
    done: BoolArray


Job = tuple[int, int, int]
Row = tuple[float, float, float, float, FloatArray]
"""End load, its torque, peak at the head, blows, and peaks at the article's joints."""


def _simulate_job(article: ArticleModel, tool: ToolModel, bench: Bench, draw: int, seed: int | None) -> Row:
    """One run; its scatter depends on seed and draw only, so that articles and tools meet the same luck."""
    chain = build_chain(
        tool, article, bench.bolt, bench.rig, direction=bench.direction, start_load=bench.start_load
    )
    scatter = None
    if seed is not None:
        scatter = draw_scatter(tool, bench.duration, np.random.default_rng([seed, draw]))
    run = simulate_run(chain, tool, duration=bench.duration, scatter=scatter)
    peak = float(run.peak_torque.max()) if run.peak_torque.size else 0.0
    return run.end_load, run.torque_equivalent, peak, float(run.clamp_load.size), run.own


def _simulate_chunk(
    jobs: list[Job],
    articles: Sequence[ArticleModel],
    tools: Sequence[ToolModel],
    bench: Bench,
    seed: int | None,
) -> list[tuple[Job, Row]]:
    return [(job, _simulate_job(articles[job[0]], tools[job[1]], bench, job[2], seed)) for job in jobs]


def _chunks(
    shape: Job, articles: Sequence[ArticleModel], tools: Sequence[ToolModel], bench: Bench, seed: int | None
) -> Iterator[Any]:
    """Delayed chunks that carry only the articles they need."""
    from joblib import delayed

    jobs = list(np.ndindex(*shape))
    for start in range(0, len(jobs), CHUNK):
        part = jobs[start : start + CHUNK]
        first, last = part[0][0], part[-1][0] + 1
        local = [(a - first, t, d) for a, t, d in part]
        yield delayed(_shifted)(first, local, articles[first:last], tools, bench, seed)


def _shifted(
    first: int,
    jobs: list[Job],
    articles: Sequence[ArticleModel],
    tools: Sequence[ToolModel],
    bench: Bench,
    seed: int | None,
) -> list[tuple[Job, Row]]:
    """Chunk of a part of the articles, answered with their places in the whole."""
    found = _simulate_chunk(jobs, articles, tools, bench, seed)
    return [((job[0] + first, job[1], job[2]), row) for job, row in found]


def simulate_batch(
    articles: Sequence[ArticleModel],
    tools: Sequence[ToolModel],
    bench: Bench,
    *,
    draws: int = 1,
    seed: int | None = None,
    workers: int = 1,
    scheduler: str | None = None,
    progress: Callable[[int, int], None] | None = None,
    cancelled: Callable[[], bool] | None = None,
) -> Batch:
    """Simulate every article with every tool, `draws` times.

    Parameters
    ----------
    articles, tools
        One or more of each.
    bench
        Bolt, rig, duration and direction, shared by all.
    draws
        Runs of each pair, 1 or more.
    seed
        Of the blow-to-blow scatter; None: no scatter, and one draw says all.
    workers
        Processes on this machine; the results are the same for any number.
    scheduler
        Address of a Dask scheduler to use instead, such as tcp://lab-server:8786.
    progress
        Called with runs done and runs in all.
    cancelled
        Asked after every chunk; True ends the batch, and what is done is stored.

    Raises
    ------
    BadInput
        If there is nothing to simulate, or Dask is named and not installed.
    DidNotConverge
        If the contacts of a blow switch without end.
    """
    shape = (len(articles), len(tools), int(require(draws, Range(1, 1e6, ""), where="draws")))
    require(workers, Range(1, 1024, ""), where="workers")
    if shape[0] * shape[1] == 0:
        raise BadInput("nothing to simulate", where="articles and tools", allowed="one or more of each")
    results = np.full((4, *shape), np.nan)
    peaks = np.full((*shape, max(len(list_joints(each)) for each in articles)), np.nan)
    done = np.zeros(shape, dtype=np.bool_)
    with _workers(workers, scheduler) as parallel:
        for rows in parallel(_chunks(shape, articles, tools, bench, seed)):
            for job, row in rows:
                results[(slice(None), *job)], own = row[:-1], row[-1]
                peaks[(*job, slice(own.size))] = own
                done[job] = True
            if progress is not None:
                progress(int(done.sum()), done.size)
            if cancelled is not None and cancelled():
                break
    return Batch(results[0], results[1], results[2], peaks, np.nan_to_num(results[3]), done)


class _workers:  # noqa: N801 - used as a context, like a function
    """A joblib pool that yields chunks as they come, local or on a Dask cluster."""

    def __init__(self, workers: int, scheduler: str | None) -> None:
        self.workers, self.scheduler = workers, scheduler
        self.results: Iterator[Any] = iter(())

    def __enter__(self) -> Callable[[Iterator[Any]], Iterator[Any]]:
        from joblib import Parallel, parallel_config

        if self.scheduler is None:
            self.config = parallel_config(backend="loky", n_jobs=self.workers)
        else:
            self.client = _connect(self.scheduler)
            self.config = parallel_config(backend="dask")
        self.config.__enter__()
        self.parallel = Parallel(return_as="generator_unordered" if self.scheduler is None else "list")
        return self._call

    def _call(self, chunks: Iterator[Any]) -> Iterator[Any]:
        self.results = iter(self.parallel(chunks))
        return self.results

    def __exit__(self, *failure: object) -> None:
        close = getattr(self.results, "close", None)
        if close is not None:
            close()
        self.config.unregister()
        if self.scheduler is not None:
            self.client.close()


def _connect(address: str) -> Any:
    try:
        from dask.distributed import Client  # type: ignore[import-not-found]
    except ImportError as missing:
        raise BadInput(
            f"{address} cannot be used, Dask is not installed",
            where="scheduler",
            allowed="no scheduler, or Dask's address with the extra `cluster` installed",
            fix="install strikeproof[cluster]",
        ) from missing
    try:
        return Client(address, timeout=ANSWER_WITHIN)
    except OSError as silent:
        raise BadInput(
            f"{address} does not answer",
            where="scheduler",
            allowed="address of a Dask scheduler that runs, such as tcp://lab-server:8786",
            fix="start it, or leave the scheduler out",
        ) from silent
