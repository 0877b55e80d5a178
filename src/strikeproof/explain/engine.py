"""Log scores of articles at given points of the unknowns, by the real engine."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass

import numpy as np
from joblib import Parallel, delayed

from strikeproof.drivetrain import ArticleModel, Chain, Run, build_chain, simulate_run
from strikeproof.explain.crew import ALONE, Arrays, Crew
from strikeproof.explain.parameters import Parameter, build_bench, build_tool, read_spread, read_values
from strikeproof.explain.records import Evidence, Reading, Setting
from strikeproof.explain.variants import spread_article
from strikeproof.quantity import FloatArray

__all__ = ["Job", "simulate_jobs", "simulate_readings"]

TOLERANCE = 0.005
"""Of F² in one leap of the blow map: 0.04 % in the end load on average, far below the emulator's error. A
coarser one is no faster: the map then gives up more often and simulates every blow."""

PIECE = 8  # points that are simulated, and stored, together


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
    crew: Crew = ALONE,
) -> FloatArray:
    """Log torque equivalent of every job at every point, (n, jobs). [log N·m]

    Parameters
    ----------
    evidence
        Bolt, rig, tools and direction.
    parameters
        Of the d unknowns.
    jobs
        Articles in their settings.
    points : (n, d)
        In prior standard deviations.
    own : (n, 3)
        Deviations of each article from its record, in its own standard deviations.
    crew
        Who simulates, and what keeps finished pieces.

    Raises
    ------
    BadInput, DidNotConverge
        As `simulate_readings`.
    """
    return simulate_readings(evidence, parameters, jobs, points, own, (), crew=crew)[:, :, 0]


def simulate_readings(
    evidence: Evidence,
    parameters: Sequence[Parameter],
    jobs: Sequence[Job],
    points: FloatArray,
    own: FloatArray,
    readings: Sequence[Reading],
    *,
    crew: Crew = ALONE,
    progress: Callable[[int, int], None] | None = None,
) -> FloatArray:
    """Log torque equivalent at the end, then the log of every reading, (n, jobs, 1 + readings). [log N·m]

    Parameters
    ----------
    evidence
        Bolt, rig, tools and direction.
    parameters
        Of the d unknowns.
    jobs
        Articles in their settings.
    points : (n, d)
        In prior standard deviations.
    own : (n, 3)
        Deviations of each article from its record, in its own standard deviations.
    readings
        What else is read of every run.
    crew
        Who simulates, and what keeps finished pieces. In threads of this process the engine's kernels run
        side by side, and no process has to start.
    progress
        Called with (done, all) points.

    Raises
    ------
    BadInput
        If a value drawn is out of the engine's range.
    DidNotConverge
        If the contacts of a blow switch without end.

    References
    ----------
    `simulate_run`; score as torque equivalent c F, ISO 16047:2005, clause 9 (from memory).
    """
    pieces = [slice(at, at + PIECE) for at in range(0, len(points), PIECE)]

    def finish(number: int, rows: slice) -> FloatArray:
        def work() -> Arrays:
            at, deviations = points[rows], own[rows]
            return (crew.team.call(_simulate_piece, evidence, parameters, jobs, at, deviations, readings),)

        return crew.finish(str(number), work)[0]

    tasks = (delayed(finish)(number, rows) for number, rows in enumerate(pieces))
    done = 0
    found = [np.empty((0, len(jobs), 1 + len(readings)))]
    for part in Parallel(n_jobs=crew.team.size, return_as="generator", prefer="threads")(tasks):
        found.append(part)
        done += len(part)
        if progress is not None:
            progress(done, len(points))
    return np.concatenate(found)


def _simulate_piece(
    evidence: Evidence,
    parameters: Sequence[Parameter],
    jobs: Sequence[Job],
    points: FloatArray,
    own: FloatArray,
    readings: Sequence[Reading],
) -> FloatArray:
    facts = {each.name: each for each in evidence.tools}
    result = np.empty((len(points), len(jobs), 1 + len(readings)))
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
            result[row, column, 0] = np.log(max(run.end_load, 1.0)) + np.log(chain.torque_per_load)
            for layer, reading in enumerate(readings, start=1):
                result[row, column, layer] = _read(run, chain, reading, job.setting.duration)
    return result


def _read(run: Run, chain: Chain, reading: Reading, duration: float) -> float:
    """Log torque equivalent at a share of the duration, or log of the usual peak torque of late blows."""
    if not run.time.size:
        return float(np.log(run.start_load * chain.torque_per_load))
    if reading == "peak":
        late = run.peak_torque[run.time.size // 2 :]
        return float(np.log(max(np.median(late), 1e-3)))
    load = float(np.interp(run.time[0] + reading * duration, run.time, run.clamp_load))
    return float(np.log(max(load, 1.0) * chain.torque_per_load))
