"""What a physical rival says of all gains at any point of its unknowns, with how far it may be off."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass

import numpy as np

from strikeproof.explain.emulator import Emulator, fit_emulator
from strikeproof.explain.engine import Job, simulate_jobs
from strikeproof.explain.parameters import Parameter
from strikeproof.explain.records import ArticleFacts, Evidence
from strikeproof.explain.variants import Properties, vary_article
from strikeproof.quantity import FloatArray, IntArray

__all__ = [
    "Plan",
    "Runs",
    "Surrogate",
    "distinct_jobs",
    "fit_surrogate",
    "plan_jobs",
    "read_gains",
    "run_plan",
]


@dataclass(frozen=True, slots=True)
class Plan:
    """The distinct runs of one rival: for every gain its job and its reference's.

    `of_gain` is -1 where the rival makes the article the reference itself, so that its gain is zero.
    """

    jobs: tuple[Job, ...]
    of_gain: tuple[int, ...]
    reference_of: tuple[int, ...]


def plan_jobs(evidence: Evidence, kept: Properties) -> Plan:
    """The runs that a rival needs, each once."""
    reference = evidence.article(evidence.reference).model
    assert reference is not None  # the caller has looked
    base = vary_article(reference, reference, kept)
    wanted: list[Job] = []
    same = []
    for gain in evidence.gains:
        facts = evidence.article(gain.article)
        assert facts.model is not None
        varied = vary_article(facts.model, reference, kept)
        plain = Job(base, gain.setting)
        own = Job(varied, gain.setting, _own(facts, kept))
        same.append(_key(own) == _key(plain))
        wanted += [plain, own]
    jobs, places = distinct_jobs(wanted)
    of_gain = tuple(-1 if alike else place for alike, place in zip(same, places[1::2], strict=True))
    return Plan(jobs, of_gain, tuple(places[::2]))


def _own(facts: ArticleFacts, kept: Properties) -> tuple[float, float, float]:
    return (
        facts.inertia_percent / 100.0 if kept.inertia else 0.0,
        facts.stiffness_percent / 100.0 if kept.stiffness else 0.0,
        facts.gap_percent / 100.0 if kept.gap else 0.0,
    )


def distinct_jobs(jobs: Sequence[Job]) -> tuple[tuple[Job, ...], list[int]]:
    """Every job once, and the place of each of the given ones among them."""
    found: dict[tuple[object, ...], int] = {}
    places = [found.setdefault(_key(job), len(found)) for job in jobs]
    first = {place: job for job, place in zip(reversed(jobs), reversed(places), strict=True)}
    return tuple(first[place] for place in range(len(found))), places


def _key(job: Job) -> tuple[object, ...]:
    """What makes two jobs the same run: everything but names, inertia to six digits."""
    article = job.article
    lumps = tuple((f"{each.inertia:.6g}", each.stiffness, each.gap, each.damping) for each in article.lumps)
    ends = (article.hexagon_stiffness, article.hexagon_gap, article.hexagon_damping)
    return (lumps, ends, article.riders, job.setting, job.own)


@dataclass(frozen=True, slots=True)
class Runs:
    """Engine runs of a plan: points (k, d), own deviations (k, 3), log scores (k, jobs)."""

    points: FloatArray
    own: FloatArray
    scores: FloatArray

    def __add__(self, other: Runs) -> Runs:
        return Runs(
            np.concatenate([self.points, other.points]),
            np.concatenate([self.own, other.own]),
            np.concatenate([self.scores, other.scores]),
        )


def run_plan(
    evidence: Evidence,
    parameters: Sequence[Parameter],
    plan: Plan,
    points: FloatArray,
    own: FloatArray,
    *,
    workers: int = 1,
    progress: Callable[[int, int], None] | None = None,
) -> Runs:
    """Run the engine at these points."""
    scores = simulate_jobs(evidence, parameters, plan.jobs, points, own, workers=workers, progress=progress)
    return Runs(points, own, scores)


@dataclass(frozen=True, slots=True)
class Surrogate:
    """Emulators by setting: columns of the unknowns, rows of the outputs, emulator.

    Outputs are the n gains, then the reference's log score at each level that was measured.
    `own_variance` (n,) is what the articles' uncertain records add.
    """

    parts: tuple[tuple[IntArray, IntArray, Emulator], ...]
    outputs: int
    gains: int
    own_variance: FloatArray

    def predict(self, points: FloatArray) -> tuple[FloatArray, FloatArray]:
        """Mean and variance (k, outputs) at points (k, d)."""
        mean = np.zeros((len(points), self.outputs))
        variance = np.zeros((len(points), self.outputs))
        for columns, rows, emulator in self.parts:
            mean[:, rows], variance[:, rows] = emulator.predict(points[:, columns])
        variance[:, : self.gains] += self.own_variance
        return mean, variance

    @property
    def error(self) -> float:
        """Root mean square of the emulators' left-out errors of gains, log score."""
        errors = [e.left_out_error[rows < self.gains] for _c, rows, e in self.parts]
        every = np.concatenate(errors) if errors else np.zeros(0)
        return float(np.sqrt(np.mean(every**2))) if every.size else 0.0


def read_gains(plan: Plan, runs: Runs) -> FloatArray:
    """Log gains (k, n) of a plan's runs."""
    base = runs.scores[:, list(plan.reference_of)]
    own = runs.scores[:, list(plan.of_gain)]
    return np.where(np.array(plan.of_gain) >= 0, own - base, 0.0)


def fit_surrogate(
    evidence: Evidence, parameters: Sequence[Parameter], plan: Plan, runs: Runs, *, rounds: int
) -> Surrogate:
    """Emulate the gains of a plan, and the reference's level where one was measured."""
    count = len(evidence.gains)
    outputs = np.concatenate([read_gains(plan, runs), np.zeros((len(runs.points), len(evidence.levels)))], 1)
    settings = [gain.setting for gain in evidence.gains]
    for row, level in enumerate(evidence.levels):
        outputs[:, count + row] = runs.scores[:, plan.reference_of[settings.index(level.setting)]]
    slopes = _own_slopes(runs, outputs)
    outputs = outputs - runs.own @ slopes
    settings += [each.setting for each in evidence.levels]
    moving = outputs.std(axis=0) > 1e-9
    parts = []
    for setting in dict.fromkeys(settings):
        rows = np.array([i for i, at in enumerate(settings) if at == setting and moving[i]], dtype=np.int64)
        columns = np.array(
            [i for i, each in enumerate(parameters) if each.tool in ("", setting.tool)], dtype=np.int64
        )
        if rows.size:
            emulator = fit_emulator(runs.points[:, columns], outputs[:, rows], rounds=rounds)
            parts.append((columns, rows, emulator))
    return Surrogate(tuple(parts), outputs.shape[1], count, np.sum(slopes[:, :count] ** 2, axis=0))


def _own_slopes(runs: Runs, outputs: FloatArray) -> FloatArray:
    """Change (3, m) of every output with one standard deviation of an article's own properties."""
    columns = np.column_stack([np.ones(len(runs.points)), runs.points, runs.own])
    ridge = np.diag(np.r_[0.0, np.full(columns.shape[1] - 1, 1.0)])
    slopes = np.linalg.solve(columns.T @ columns + ridge, columns.T @ outputs)[-3:]
    return np.asarray(slopes * (outputs.std(axis=0) > 1e-9))
