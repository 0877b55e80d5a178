"""The explanations with physics: engine runs, emulator, posterior, particles."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, replace

import numpy as np
from scipy.special import logsumexp

from strikeproof.explain.clue_model import NO_CLUES, ClueModel, clue_misfit, model_clues
from strikeproof.explain.crew import ALONE, Crew
from strikeproof.explain.kinds import KEPT
from strikeproof.explain.own_part import FARTHEST, own_size, pattern_at
from strikeproof.explain.parameters import OWN, Parameter, draw_design, list_parameters
from strikeproof.explain.particles import Particles, log_density, posterior_weights
from strikeproof.explain.records import Evidence, RivalName
from strikeproof.explain.sampling import (
    Chains,
    Effort,
    Mixture,
    cover,
    pack_chains,
    sample,
    unpack_chains,
)
from strikeproof.explain.statistical import Table, curve_covariance
from strikeproof.explain.surrogate import Plan, Runs, Surrogate, fit_surrogate, plan_jobs, run_plan
from strikeproof.quantity import FloatArray

__all__ = ["Budget", "Physical", "discrepancy", "fit_physical", "folds", "particle_size"]

DISCREPANCY = 0.01
"""Log score by which the chain may be off at a factor of 2.7 in inertia (Kennedy & O'Hagan 2001; tight, as
Brynjarsdóttir & O'Hagan, Inverse Problems 30 (2014) 114007, ask for)."""

LEVEL_SLACK = 0.35
"""Log score by which the chain's absolute level may be off: losses in clutch, hose and joint that it does
not know (engineering estimate). They cancel in a gain."""


@dataclass(frozen=True, slots=True)
class Physical:
    """A fitted explanation: its unknowns, runs, surrogate, posterior draws, particles.

    `own` goes with the draws, (walkers · steps, 1 + settings): the size of the articles' own parts, then the
    reference's part in each setting of the evidence, log score.
    `clue_p` is the share of repeated campaigns whose extra readings would lie farther from it; 1 without
    extra readings.
    """

    name: RivalName
    parameters: tuple[Parameter, ...]
    plan: Plan
    runs: Runs
    surrogate: Surrogate
    chains: Chains
    particles: Particles
    own: FloatArray
    clue_p: float = 1.0


def discrepancy(table: Table) -> FloatArray:
    """Covariance (n, n) of what the physics leaves out: smooth in log inertia, zero at the reference.

    References
    ----------
    Kennedy & O'Hagan 2001; tight, as Brynjarsdóttir & O'Hagan 2014 ask for (`DISCREPANCY`).
    """
    return curve_covariance(table.inertia, DISCREPANCY, 1.0) * table.together()


@dataclass(frozen=True, slots=True)
class Budget:
    """How much work an explanation may be.

    Parameters
    ----------
    first, second
        Engine runs of every job over the prior, then over a first posterior.
    effort
        Of the sampler.
    rounds
        Most iterations of an emulator's fit.
    workers
        Threads of the engine.
    quick
        Whether the answer should be called quick.
    splits, tests, check
        Posterior draws for the splits of gains, for the next tests, for the check of the emulator.
    """

    first: int
    second: int
    effort: Effort
    rounds: int
    workers: int
    quick: bool = False
    splits: int = 6
    tests: int = 64
    check: int = 12


def fit_physical(
    evidence: Evidence,
    table: Table,
    name: RivalName,
    budget: Budget,
    rng: np.random.Generator,
    crew: Crew = ALONE,
) -> Physical:
    """Fit one explanation: runs over the prior, a first posterior by the gains, runs there, the posterior.

    Every step draws from a generator of its own, so that a step which is stored changes none of the others.

    Parameters
    ----------
    evidence
        Every article's inertia is known.
    table
        Of the same gains.
    name
        Of an explanation with physics.
    budget
        How many runs and draws.
    rng
        The only source of chance.
    crew
        Threads, and what keeps finished pieces.

    References
    ----------
    docs/explain.md; Kennedy & O'Hagan, J. R. Stat. Soc. B 63 (2001) 425, for emulator and discrepancy (from
    memory).
    """
    parameters = list_parameters(evidence, bonds=KEPT[name].bond)
    plan = plan_jobs(evidence, KEPT[name])
    d = len(parameters)
    first, rough, choice, second, final, last, parting = rng.spawn(7)

    def run(points: FloatArray, own: FloatArray, task: str) -> Runs:
        return run_plan(evidence, parameters, plan, points, own, crew=crew.at(task))

    def explore(clues: ClueModel, effort: Effort, chance: np.random.Generator, task: str) -> Chains:
        target = _target(evidence, table, surrogate, clues)
        return unpack_chains(crew.finish(task, lambda: pack_chains(sample(target, d + 1, effort, chance))))

    design = draw_design(budget.first, d + len(OWN), first)
    near = design[:, :d]
    runs = run(near, design[:, d:], "first")
    surrogate = fit_surrogate(evidence, parameters, plan, runs, rounds=budget.rounds)
    wider: list[FloatArray] = []
    if budget.second:
        hasty = replace(budget.effort, kept=budget.effort.search // 2)
        flat = explore(NO_CLUES, hasty, rough, "rough").flat
        near = flat[choice.choice(len(flat), budget.second, replace=False), :d]
        runs = runs + run(near, draw_design(budget.second, len(OWN), second), "second")
        surrogate = fit_surrogate(evidence, parameters, plan, runs, rounds=budget.rounds)
        wider = [flat] if evidence.clues else []
    clues = model_clues(evidence, surrogate, near)
    chains = explore(clues, budget.effort, final, "draws")
    mixture = cover(chains.flat, _fold_slopes(evidence, table, surrogate, chains.flat), wider)
    points = np.clip(mixture.draw(budget.effort.particles, last), -FARTHEST, FARTHEST)
    particles = _make_particles(evidence, table, name, surrogate, clues, points, mixture)
    own = _draw_own(evidence, table, surrogate, chains.flat, parting)
    chains = replace(chains, draws=chains.draws[:, :, :d])
    clue_p = clue_misfit(clues, surrogate, chains.flat)
    return Physical(name, parameters, plan, runs, surrogate, chains, particles, own, clue_p)


def _target(
    evidence: Evidence, table: Table, surrogate: Surrogate, clues: ClueModel
) -> Callable[[FloatArray], FloatArray]:
    """Log posterior density, up to a constant, of the unknowns; the last is that of the own parts' size."""
    gains = np.array([each.log_gain for each in evidence.gains])
    fixed, patterns = evidence.covariance + discrepancy(table), table.own()

    def log_posterior(points: FloatArray) -> FloatArray:
        mean, variance = surrogate.predict(points[:, :-1])
        count = len(gains)
        whole = fixed + surrogate.gain_covariance(variance) + pattern_at(patterns, own_size(points[:, -1]))
        logs = log_density(gains - mean[:, :count], whole) - 0.5 * np.sum(points**2, axis=1)
        logs += clues.log_density(mean) + _log_levels(evidence, mean[:, count:], variance[:, count:])
        return np.where(np.abs(points).max(axis=1) < FARTHEST, logs, -np.inf)

    return log_posterior


def _log_levels(evidence: Evidence, mean: FloatArray, variance: FloatArray) -> FloatArray:
    """Log density (k,) of the reference's measured levels."""
    logs = np.zeros(len(mean))
    for i, level in enumerate(evidence.levels):
        spread = variance[:, i] + (level.percent / 100.0) ** 2 + LEVEL_SLACK**2
        logs += -0.5 * (np.log(level.torque) - mean[:, i]) ** 2 / spread - 0.5 * np.log(2.0 * np.pi * spread)
    return logs


def _make_particles(
    evidence: Evidence,
    table: Table,
    name: RivalName,
    surrogate: Surrogate,
    clues: ClueModel,
    points: FloatArray,
    mixture: Mixture,
) -> Particles:
    count = len(evidence.gains)
    mean, variance = surrogate.predict(points[:, :-1])
    logs = -0.5 * np.sum(points**2, axis=1) - mixture.log_density(points)
    logs += _log_levels(evidence, mean[:, count:], variance[:, count:])
    sizes = own_size(points[:, -1])
    covariance = discrepancy(table) + surrogate.gain_covariance(variance) + pattern_at(table.own(), sizes)
    names = [evidence.gains[rows[0]].article for rows in folds(evidence)]
    seen = [clues.log_density(mean, without) for without in (*names, None)] if clues.articles else []
    return Particles(
        name,
        logs - logsumexp(logs),
        mean[:, :count],
        covariance,
        points,
        np.column_stack(seen) if seen else np.zeros((0, 0)),
        sizes,
    )


def _draw_own(
    evidence: Evidence, table: Table, surrogate: Surrogate, flat: FloatArray, rng: np.random.Generator
) -> FloatArray:
    """Size of the own parts and the reference's part in each setting, at draws (k, d + 1): (k, 1 + settings).

    References
    ----------
    Conditional normal distributions, as in `foresee`.
    """
    count, patterns = len(evidence.gains), table.own()
    place = [evidence.settings.index(each.setting) for each in evidence.gains]
    one = [place.index(i) for i in range(len(evidence.settings))]  # a gain of each setting
    mean, variance = surrogate.predict(flat[:, :-1])
    size = own_size(flat[:, -1])
    whole = evidence.covariance + discrepancy(table) + surrogate.gain_covariance(variance)
    whole = whole + pattern_at(patterns, size)
    rest = np.array([each.log_gain for each in evidence.gains]) - mean[:, :count]
    across = -(size[:, None, None] ** 2) * patterns[1][one]
    solved = np.linalg.solve(whole, np.concatenate([rest[..., None], across.transpose(0, 2, 1)], axis=2))
    middle = np.einsum("ski,si->sk", across, solved[:, :, 0])
    spread = size[:, None, None] ** 2 * patterns[1][np.ix_(one, one)] - across @ solved[:, :, 1:]
    factor = np.linalg.cholesky(spread + 1e-14 * np.eye(len(one)))
    normal = rng.standard_normal((len(flat), len(one)))
    return np.column_stack([size, middle + np.einsum("sij,sj->si", factor, normal)])


def _fold_slopes(
    evidence: Evidence, table: Table, surrogate: Surrogate, draws: FloatArray
) -> list[FloatArray]:
    """What each article says of the unknowns, near the posterior."""
    some = draws[:: max(1, len(draws) // 400)]
    mean, variance = surrogate.predict(some[:, :-1])
    count = len(evidence.gains)
    own = np.mean(own_size(some[:, -1]) ** 2) * np.diag(sum(table.own()))
    centred = some - some.mean(axis=0)
    ridge = np.cov(centred.T) * len(some) + 1e-3 * np.eye(some.shape[1])
    slopes = np.linalg.solve(ridge, centred.T @ (mean[:, :count] - mean[:, :count].mean(axis=0))).T
    off = variance[:, :count].mean(axis=0) + np.diag(evidence.covariance) + own
    slopes = slopes / np.sqrt(off)[:, None]
    return [slopes[list(rows)] for rows in folds(evidence)]


def folds(evidence: Evidence) -> list[tuple[int, ...]]:
    """Rows of the gains that belong to the same article, article by article."""
    names = [each.article for each in evidence.gains]
    return [tuple(i for i, name in enumerate(names) if name == one) for one in dict.fromkeys(names)]


def particle_size(rival: Particles, evidence: Evidence) -> float:
    """Smallest effective number of particles once all gains but one article's are seen.

    References
    ----------
    Kish's effective sample size 1/Σw² of weights that sum to 1 (from memory).
    """
    gains = np.array([each.log_gain for each in evidence.gains])
    sizes = []
    for fold, rows in enumerate(folds(evidence)):
        left = np.setdiff1d(np.arange(len(gains)), rows)
        logs, _evidence = posterior_weights(rival.seeing(fold), gains, evidence.covariance, left)
        sizes.append(float(np.exp(-logsumexp(2.0 * logs))))
    return min(sizes)
