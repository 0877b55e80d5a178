"""What a physical explanation says of all gains at any point of its unknowns, with how far it may be off."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass

import numpy as np

from strikeproof.explain.crew import ALONE, Crew
from strikeproof.explain.emulator import Emulator, fit_emulator
from strikeproof.explain.engine import Job, simulate_readings
from strikeproof.explain.parameters import Parameter
from strikeproof.explain.records import ArticleFacts, Evidence, Reading, Setting
from strikeproof.explain.variants import Properties, vary_article
from strikeproof.quantity import FloatArray, IntArray

__all__ = [
    "Plan",
    "Runs",
    "Surrogate",
    "distinct_jobs",
    "fit_surrogate",
    "plan_jobs",
    "read_clues",
    "read_gains",
    "run_plan",
]


@dataclass(frozen=True, slots=True)
class Plan:
    """The distinct runs of one explanation: for every gain its job and its reference's, and what else is
    read.

    `of_gain` is -1 where the explanation makes the article the reference itself, so that its gain is zero.
    """

    jobs: tuple[Job, ...]
    of_gain: tuple[int, ...]
    reference_of: tuple[int, ...]
    readings: tuple[Reading, ...] = ()


def plan_jobs(evidence: Evidence, kept: Properties) -> Plan:
    """The runs that an explanation needs, each once.

    References
    ----------
    docs/explain.md.
    """
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
    readings = tuple(dict.fromkeys(each.reading for each in evidence.clues))
    return Plan(jobs, of_gain, tuple(places[::2]), readings)


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
    """Engine runs of a plan: points (k, d), own deviations (k, 3), log scores (k, jobs), log readings
    (k, jobs, readings)."""

    points: FloatArray
    own: FloatArray
    scores: FloatArray
    readings: FloatArray

    def __add__(self, other: Runs) -> Runs:
        return Runs(
            np.concatenate([self.points, other.points]),
            np.concatenate([self.own, other.own]),
            np.concatenate([self.scores, other.scores]),
            np.concatenate([self.readings, other.readings]),
        )


def run_plan(
    evidence: Evidence,
    parameters: Sequence[Parameter],
    plan: Plan,
    points: FloatArray,
    own: FloatArray,
    *,
    crew: Crew = ALONE,
    progress: Callable[[int, int], None] | None = None,
) -> Runs:
    """Run the engine at these points.

    Parameters
    ----------
    evidence
        Bolt, rig, tools and direction.
    parameters
        Of the d unknowns.
    plan
        What to run and read.
    points : (k, d)
        In prior standard deviations.
    own : (k, 3)
        Deviations of each article from its record, in its own standard deviations.
    crew
        Threads, and what keeps finished pieces.
    progress
        Called with (done, all) points.
    """
    found = simulate_readings(
        evidence, parameters, plan.jobs, points, own, plan.readings, crew=crew, progress=progress
    )
    return Runs(points, own, found[:, :, 0], found[:, :, 1:])


@dataclass(frozen=True, slots=True)
class Surrogate:
    """Emulators by setting: columns of the unknowns, rows of the outputs, emulator.

    Outputs are the n gains, then the reference's log score at each level that was measured, then the extra
    readings. `slopes` (3, outputs) are what one standard deviation of an article's uncertain record adds.
    """

    parts: tuple[tuple[IntArray, IntArray, Emulator], ...]
    outputs: int
    gains: int
    slopes: FloatArray

    def predict(self, points: FloatArray) -> tuple[FloatArray, FloatArray]:
        """Mean and variance (k, outputs) at points (k, d)."""
        mean = np.zeros((len(points), self.outputs))
        variance = np.zeros((len(points), self.outputs))
        for columns, rows, emulator in self.parts:
            mean[:, rows], variance[:, rows] = emulator.predict(points[:, columns])
        variance[:, : self.gains] += np.sum(self.slopes[:, : self.gains] ** 2, axis=0)
        return mean, variance

    def gain_covariance(self, variance: FloatArray) -> FloatArray:
        """Covariance (k, n, n) of the gains around the mean: emulators that share runs of the reference err
        alike, the articles' records each by themselves.

        Parameters
        ----------
        variance : (k, outputs)
            As `predict` gives it.
        """
        own = np.sum(self.slopes[:, : self.gains] ** 2, axis=0)
        spread = np.sqrt(np.maximum(variance[:, : self.gains] - own, 0.0))
        together = self._together(0, self.gains)
        return np.asarray(spread[:, :, None] * spread[:, None, :] * together + np.diag(own))

    def _together(self, first: int, last: int) -> FloatArray:
        """Correlations of the emulators' errors of a stretch of outputs."""
        found = np.eye(self.outputs)
        for _columns, rows, emulator in self.parts:
            found[np.ix_(rows, rows)] = emulator.left_out_together
        return np.asarray(found[first:last, first:last])

    def clue_error(self, near: FloatArray, clues: int) -> FloatArray:
        """Covariance of the emulators' errors of the extra readings, the last outputs, averaged over points
        (k, d)."""
        first = self.outputs - clues
        spread = np.sqrt(self.predict(near)[1].mean(axis=0))[first:]
        return np.asarray(self._together(first, self.outputs) * np.outer(spread, spread))

    @property
    def error(self) -> float:
        """Root mean square of the emulators' left-out errors of gains, log score."""
        errors = [e.left_out_error[rows < self.gains] for _c, rows, e in self.parts]
        every = np.concatenate(errors) if errors else np.zeros(0)
        return float(np.sqrt(np.mean(every**2))) if every.size else 0.0


def read_gains(plan: Plan, runs: Runs) -> FloatArray:
    """Log gains (k, n) of a plan's runs.

    References
    ----------
    Derived here: the reference is run at the same point, so that what both share cancels.
    """
    base = runs.scores[:, list(plan.reference_of)]
    own = runs.scores[:, list(plan.of_gain)]
    return np.where(np.array(plan.of_gain) >= 0, own - base, 0.0)


def read_clues(evidence: Evidence, plan: Plan, runs: Runs) -> FloatArray:
    """What a plan's runs say of every extra reading, (k, m).

    Parameters
    ----------
    evidence
        Its m extra readings.
    plan
        Of the same evidence.
    runs
        k of them.
    """
    found = np.zeros((len(runs.points), len(evidence.clues)))
    place = {(each.article, each.setting): i for i, each in enumerate(evidence.gains)}
    base_of = {gain.setting: job for gain, job in zip(evidence.gains, plan.reference_of, strict=True)}

    def read(job: int, layer: int, carry: float) -> FloatArray:
        return np.asarray(runs.readings[:, job, layer] - carry * runs.scores[:, job])

    for column, clue in enumerate(evidence.clues):
        layer, base = plan.readings.index(clue.reading), base_of[clue.setting]
        if clue.article == evidence.reference:
            found[:, column] = read(base, layer, clue.carry)
        elif (job := plan.of_gain[place[clue.article, clue.setting]]) >= 0:
            found[:, column] = read(job, layer, clue.carry) - read(base, layer, clue.carry)
    return found


def fit_surrogate(
    evidence: Evidence, parameters: Sequence[Parameter], plan: Plan, runs: Runs, *, rounds: int
) -> Surrogate:
    """Emulate the gains of a plan, the reference's level where one was measured, and the extra readings.

    The extra readings have emulators of their own, so that the gains' are the same with and without them.

    Parameters
    ----------
    evidence
        Its gains, levels and extra readings.
    parameters
        Of the unknowns.
    plan
        Of the same evidence.
    runs
        At points that spread over the prior.
    rounds
        Most iterations of an emulator's fit.

    References
    ----------
    `fit_emulator`; slopes of an article's own record by ridge regression, derived here.
    """
    settings = [gain.setting for gain in evidence.gains]
    bases = [plan.reference_of[settings.index(level.setting)] for level in evidence.levels]
    clues = read_clues(evidence, plan, runs)
    outputs = np.concatenate([read_gains(plan, runs), runs.scores[:, bases], clues], 1)
    slopes = _own_slopes(runs, outputs)
    outputs = outputs - runs.own @ slopes
    settings += [each.setting for each in evidence.levels]
    groups = [(at, False) for at in settings] + [(each.setting, True) for each in evidence.clues]
    moving = outputs.std(axis=0) > 1e-9
    parts = []
    for group in dict.fromkeys(groups):
        rows = np.array([i for i, at in enumerate(groups) if at == group and moving[i]], dtype=np.int64)
        columns = _columns(parameters, group[0])
        if rows.size:
            emulator = fit_emulator(runs.points[:, columns], outputs[:, rows], rounds=rounds)
            parts.append((columns, rows, emulator))
    return Surrogate(tuple(parts), outputs.shape[1], len(evidence.gains), slopes)


def _columns(parameters: Sequence[Parameter], setting: Setting) -> IntArray:
    """The unknowns that matter in a setting."""
    tools = ("", setting.tool)
    return np.array([i for i, each in enumerate(parameters) if each.tool in tools], dtype=np.int64)


def _own_slopes(runs: Runs, outputs: FloatArray) -> FloatArray:
    """Change (3, m) of every output with one standard deviation of an article's own properties."""
    columns = np.column_stack([np.ones(len(runs.points)), runs.points, runs.own])
    ridge = np.diag(np.r_[0.0, np.full(columns.shape[1] - 1, 1.0)])
    slopes = np.linalg.solve(columns.T @ columns + ridge, columns.T @ outputs)[-3:]
    return np.asarray(slopes * (outputs.std(axis=0) > 1e-9))
