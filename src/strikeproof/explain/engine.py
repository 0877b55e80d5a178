"""Log scores of articles at given points of the unknowns, by the real engine."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass

import numpy as np
from joblib import Parallel, delayed

from strikeproof.drivetrain import ArticleModel, simulate_run
from strikeproof.drivetrain.chain import build_chain
from strikeproof.explain.parameters import Parameter, build_bench, build_tool, read_spread, read_values
from strikeproof.explain.records import Evidence, Setting
from strikeproof.explain.variants import spread_article
from strikeproof.quantity import FloatArray

__all__ = ["Job", "simulate_jobs"]

TOLERANCE = 0.005
"""Of F² in one leap of the blow map: 0.04 % in the end load on average, far below the emulator's error. A
coarser one is no faster: the map then gives up more often and simulates every blow."""


@dataclass(frozen=True, slots=True)
class Job:
    """An article in a setting, and the log spreads (3,) of its own inertia, stiffness and gap."""

    article: ArticleModel
    setting: Setting
    own: tuple[float, float, float] = (0.0, 0.0, 0.0)


def simulate_jobs(
    evidence: Evidence,
    parameters: Sequence[Parameter],
    jobs: Sequence[Job],
    points: FloatArray,
    own: FloatArray,
    *,
    workers: int = 1,
    progress: Callable[[int, int], None] | None = None,
) -> FloatArray:
    """Log torque equivalent of every job at every point, (points, jobs).

    Parameters
    ----------
    points : (n, d)
        In prior standard deviations.
    own : (n, 3)
        Deviations of each article from its record, in its own standard deviations.
    workers
        Threads: the engine's kernels run side by side, and no process has to start.
    """
    pieces = np.array_split(np.arange(len(points)), max(1, min(len(points), 4 * workers)))
    tasks = (
        delayed(_simulate_piece)(evidence, parameters, jobs, points[i], own[i]) for i in pieces if len(i)
    )
    done, rows = 0, []
    for row in Parallel(n_jobs=workers, return_as="generator", prefer="threads")(tasks):
        rows.append(row)
        done += len(row)
        if progress is not None:
            progress(done, len(points))
    return np.concatenate(rows)


def _simulate_piece(
    evidence: Evidence,
    parameters: Sequence[Parameter],
    jobs: Sequence[Job],
    points: FloatArray,
    own: FloatArray,
) -> FloatArray:
    facts = {each.name: each for each in evidence.tools}
    result = np.empty((len(points), len(jobs)))
    for row, (z, deviation) in enumerate(zip(points, own, strict=True)):
        values = read_values(parameters, z)
        bolt, rig = build_bench(evidence, values)
        tools = {at: build_tool(facts[at.tool], at, values) for at in {job.setting for job in jobs}}
        for column, job in enumerate(jobs):
            spread = read_spread(evidence, values, deviation * np.asarray(job.own))
            article = spread_article(job.article, spread)
            tool = tools[job.setting]
            chain = build_chain(tool, article, bolt, rig, direction=evidence.direction)
            run = simulate_run(chain, tool, duration=job.setting.duration, tolerance=TOLERANCE)
            result[row, column] = np.log(max(run.end_load, 1.0)) + np.log(chain.torque_per_load)
    return result
