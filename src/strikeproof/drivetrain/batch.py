"""Many runs in one call: articles × tools × draws, on as many processes as wanted."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator, Sequence
from contextlib import ExitStack, contextmanager
from dataclasses import dataclass
from functools import partial
from typing import Literal, cast

import numpy as np

from strikeproof.drivetrain.bounds import Range, require
from strikeproof.drivetrain.chain import build_chain
from strikeproof.drivetrain.places import list_joints
from strikeproof.drivetrain.records import ArticleModel, BoltModel, RigModel, ToolModel
from strikeproof.drivetrain.run import draw_scatter, simulate_run
from strikeproof.errors import BadInput
from strikeproof.quantity import BoolArray, FloatArray
from strikeproof.team import Call, gather_team

__all__ = ["Batch", "Bench", "simulate_batch"]

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


_Part = tuple[int, list[Job], Sequence[ArticleModel], Sequence[ToolModel], Bench, int | None]
"""Place of its first article in the whole, its jobs, and only the articles that they need."""
_Rows = list[tuple[Job, Row]]
_Gather = Callable[[Iterable[_Part]], Iterator[_Rows]]


def _simulate_part(
    first: int,
    jobs: list[Job],
    articles: Sequence[ArticleModel],
    tools: Sequence[ToolModel],
    bench: Bench,
    seed: int | None,
) -> _Rows:
    """Rows of some jobs, answered with their places in the whole."""
    return [((a, t, d), _simulate_job(articles[a - first], tools[t], bench, d, seed)) for a, t, d in jobs]


def _parts(
    shape: Job, articles: Sequence[ArticleModel], tools: Sequence[ToolModel], bench: Bench, seed: int | None
) -> Iterator[_Part]:
    jobs = list(np.ndindex(*shape))
    for start in range(0, len(jobs), CHUNK):
        part = jobs[start : start + CHUNK]
        first, last = part[0][0], part[-1][0] + 1
        yield first, part, articles[first:last], tools, bench, seed


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
        Address of a Dask scheduler whose workers simulate instead, such as tcp://lab-server:8786.
    progress
        Called with runs done and runs in all.
    cancelled
        Asked after every chunk; True ends the batch, and what is done is stored.

    Raises
    ------
    BadInput
        If there is nothing to simulate, or the scheduler cannot be used: see `gather_team`.
    TeamLost
        If the scheduler's workers are gone.
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
    with _gather(workers, scheduler) as gather:
        for rows in gather(_parts(shape, articles, tools, bench, seed)):
            for job, row in rows:
                results[(slice(None), *job)], own = row[:-1], row[-1]
                peaks[(*job, slice(own.size))] = own
                done[job] = True
            if progress is not None:
                progress(int(done.sum()), done.size)
            if cancelled is not None and cancelled():
                break
    return Batch(results[0], results[1], results[2], peaks, np.nan_to_num(results[3]), done)


@contextmanager
def _gather(workers: int, scheduler: str | None) -> Iterator[_Gather]:
    """Results of chunks as they come, from processes of this machine or from a scheduler's workers."""
    from joblib import Parallel, delayed

    with ExitStack() as stack:
        if scheduler is None:
            parallel = Parallel(n_jobs=workers, return_as="generator_unordered")
            call: Call = _simulate_part
        else:
            team = stack.enter_context(gather_team(scheduler))
            parallel = Parallel(n_jobs=team.size, prefer="threads", return_as="generator_unordered")
            call = partial(team.call, _simulate_part)

        def gather(parts: Iterable[_Part]) -> Iterator[_Rows]:
            rows = parallel(delayed(call)(*part) for part in parts)
            stack.callback(rows.close)  # what was cancelled ends here
            return cast("Iterator[_Rows]", rows)

        yield gather
