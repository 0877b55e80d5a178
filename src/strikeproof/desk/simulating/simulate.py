"""Hammer on a simulated bench: one run, or a score against one parameter."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Any, Final

import numpy as np

from strikeproof.desk.articles.life_words import tell_static
from strikeproof.desk.safety.supply import excess_words
from strikeproof.desk.simulating.bench import ASSUMED_SOURCES, Setup, override
from strikeproof.desk.simulating.bench_file import build_setup, read_tables
from strikeproof.desk.simulating.largest import Largest, largest_loads
from strikeproof.desk.simulating.past_yield import (
    PastYield,
    find_past_yield,
    load_at_yield,
    scattered_yield_words,
)
from strikeproof.desk.simulating.stated import stated_words
from strikeproof.drivetrain import (
    Blow,
    Chain,
    Optimum,
    Run,
    RunLedger,
    account_blow,
    account_run,
    blow_of_run,
    build_chain,
    find_optimum,
    place_peaks,
    simulate_run,
    spread_values,
)
from strikeproof.errors import BadInput
from strikeproof.quantity import FloatArray
from strikeproof.team import gather_team

__all__ = [
    "Margin",
    "Simulation",
    "Sweep",
    "simulate_file",
    "simulate_setup",
    "simulate_tables",
    "sweep_file",
    "sweep_tables",
]

_CLEAR = 2.0
"""A margin of one run without scatter that no scatter brings below 1; engineering estimate, no source."""
_UNITS = {"n": "N", "nm": "N·m"}
_IN_REVERSE = (
    "The tool's values are those of forward; in reverse many tools hit differently "
    "(common practice, no source)."
)
_STATIC = (
    "Margins are static, of the hardest blow: how many such blows a part withstands, "
    "`strikeproof article FILE --peak-torque TORQUE` says."
)
_APART: Final = 0.05
_CAUTION = (
    "A simulated figure is an estimate and no instruction for tightening: local codes, the makers' values "
    "and licensed practice come first."
)


@dataclass(frozen=True, slots=True)
class Margin:
    """The largest load in a place's own joint against what it withstands, both in `unit`."""

    what: str
    load: float
    limit: float
    unit: str
    uncertainty: float | None = None

    @property
    def factor(self) -> float:
        """Limit over load; below 1 is a stop."""
        return self.limit / self.load if self.load > 0.0 else float("inf")

    @property
    def near(self) -> str:
        """A sentence where the limit may be below the load, though it is above; empty elsewhere."""
        if not self.uncertainty or not 1.0 <= self.factor < 1.0 / (1.0 - self.uncertainty):
            return ""
        return (
            f"{self.what} may give: its limit is {tell_static(self.factor, self.uncertainty)} the "
            f"{self.load:.4g} {_UNITS[self.unit]} it would see; shorten the run, lower the supply or take a "
            "stronger part."
        )

    def as_json(self) -> dict[str, Any]:
        """Load, limit and factor, which is null without a load."""
        return {
            "what": self.what,
            f"load_{self.unit}": self.load,
            f"limit_{self.unit}": self.limit,
            "factor": self.factor,
            "static_uncertainty": self.uncertainty,
        }


@dataclass(frozen=True, slots=True)
class Simulation:
    """One simulated run with all that is shown of it.

    Attributes
    ----------
    score
        Clamp load by the protocol's rule [N]; for `time to` the clamp load at the end.
    time_to
        Seconds until the rule's level, None where the rule is another or the level is not reached.
    margins
        By the largest loads of runs with the tool's scatter.
    scattered : (runs,)
        Scores of these runs [N]; all else is of one run without scatter.
    blow
        The blow whose motion was asked for.
    priors
        What was taken from the priors of the tool's class, then what was assumed of bolt and rig:
        (name, value, SI unit).
    """

    setup: Setup
    chain: Chain
    run: Run
    score: float
    time_to: float | None
    ledger: RunLedger
    margins: tuple[Margin, ...]
    scattered: FloatArray
    blow: Blow | None
    priors: tuple[tuple[str, float, str], ...]

    @property
    def past_yield(self) -> PastYield | None:
        """From which blow on the bolt would have yielded; None where it does not."""
        return find_past_yield(self.run, self.setup.bolt, self.setup.yields)

    @property
    def _scattered(self) -> list[str]:
        largest = max((each.load for each in self.margins if each.unit == "n"), default=0.0)
        said = scattered_yield_words(self.run, self.setup.bolt, self.setup.yields, largest)
        return [said] if said else []

    @property
    def cautions(self) -> tuple[str, ...]:
        """Warnings; a predicted overstress comes first and is a stop."""
        over = [each for each in self.margins if each.factor < 1.0]
        stops = [
            f"STOP: {each.what} would be loaded by {each.load:.4g} {_UNITS[each.unit]}, limit "
            f"{each.limit:.4g} {_UNITS[each.unit]}; shorten the run, lower the supply or take a stronger "
            f"part."
            for each in over
        ]
        near = [each.near for each in self.margins if each.near]
        excess = excess_words(self.setup.supply)
        turned = [_IN_REVERSE] if self.setup.turning.rotation == "reverse" else []
        above = [f"{excess[:1].upper()}{excess[1:]}"] if excess else []
        other = stated_words(self.setup.tool.name, self.setup.stated, self.run)
        past = [self.past_yield.words] if self.past_yield else self._scattered
        static = [_STATIC] if any(each.unit == "nm" for each in self.margins) else []
        apart = [self._scatter_words] if self._scatter_words else []
        last = (*above, *turned, *([other] if other else []), *static, _CAUTION)
        return (*stops, *near, *past, *apart, *last)

    @property
    def margin_runs(self) -> int:
        """How many runs with scatter stand behind margins and `scattered`."""
        return self.scattered.size

    @property
    def _scatter_words(self) -> str:
        """That a run without scatter is no usual one here; "" where it is."""
        median = float(np.median(self.scattered))
        if abs(median - self.score) <= _APART * self.score:
            return ""
        apart = 100.0 * (median / self.score - 1.0)
        return (
            "The score is that of a run in which every blow is alike. With the tool's scatter the middle "
            f"one of {self.margin_runs} runs gives {median / 1e3:.4g} kN, {abs(apart):.0f} % "
            f"{'more' if apart > 0 else 'less'}: near a stall only the harder blows turn the bolt. "
            "Expect that one."
        )

    def as_json(self) -> dict[str, Any]:
        """Keys carry their unit; one row a blow."""
        run = self.run
        rows = zip(run.time, run.clamp_load, run.peak_torque, strict=True)
        return {
            "score_n": self.score,
            "torque_equivalent_nm": self.chain.torque_per_load * self.score,
            "time_to_s": self.time_to,
            "blows": [
                {"n": n, "t": float(t), "clamp_load_n": float(load), "peak_torque_nm": float(peak)}
                for n, (t, load, peak) in enumerate(rows, start=1)
            ],
            "peak_torques_nm": dict(zip(run.joints, run.peaks.tolist(), strict=True)),
            "energy_j": self.ledger.total,
            "margins": self.margins,
            "margins_of": {"runs": self.margin_runs, "scatter": True},
            "scattered": {
                "runs": self.margin_runs,
                "median_score_n": float(np.median(self.scattered)),
                "lowest_score_n": float(self.scattered.min()),
                "highest_score_n": float(self.scattered.max()),
            },
            "past_yield": self.past_yield,
            "blow_rate_hz": run.blow_rate,
            "rebound_rad_s": float(run.rebound[-1]) if run.rebound.size else None,
            "pulse_width_s": float(run.pulse_width[-1]) if run.pulse_width.size else None,
            "blow": self._blow_json(),
            "priors": [
                {"name": name, "value": value, "unit": unit, "from": ASSUMED_SOURCES[name]}
                for name, value, unit in self.priors
            ],
            "cautions": self.cautions,
        }

    def _blow_json(self) -> dict[str, Any] | None:
        if self.blow is None:
            return None
        motion = self.blow.motion
        return {
            "bodies": self.chain.bodies,
            "joints": self.chain.joints,
            "t": motion.time,
            "angles_rad": motion.angles,
            "speeds_rad_s": motion.speeds,
            "torques_nm": motion.torques,
            "clamp_load_n": motion.clamp_load,
            "energy_j": account_blow(self.chain, self.blow),
        }


@dataclass(frozen=True, slots=True)
class Sweep:
    """A score against one parameter. Values are in the unit of the setup's key."""

    over: str
    values: tuple[float, ...]
    scores: tuple[float, ...]
    torques: tuple[float, ...]
    beyond: tuple[bool, ...]
    optimum: Optimum

    def as_json(self) -> dict[str, Any]:
        """Points and where the score is best; `at_end` says that it may be beyond the ends."""
        rows = zip(self.values, self.scores, self.torques, self.beyond, strict=True)
        return {
            "over": self.over,
            "points": [
                {"value": v, "score_n": s, "torque_equivalent_nm": t, "beyond_limit": b}
                for v, s, t, b in rows
            ],
            "optimum": {
                "value": self.optimum.value,
                "score_n": self.optimum.score,
                "at_end": self.optimum.at_end,
            },
        }


def _score(setup: Setup, chain: Chain, run: Run) -> tuple[float, float | None]:
    """Score by the protocol's rule, and the time to its level."""
    rule, end = setup.score, run.end_load
    if rule.kind == "peak":
        return float(max(run.clamp_load.max(initial=run.start_load), run.start_load)), None
    if rule.kind == "at" and rule.at_s is not None:
        before = np.flatnonzero(run.time <= rule.at_s)
        return (float(run.clamp_load[before[-1]]) if before.size else run.start_load), None
    if rule.kind == "time to" and setup.level is not None:
        level = setup.level / chain.torque_per_load if setup.level_is_torque else setup.level
        reached = np.flatnonzero(run.clamp_load >= level)
        return end, float(run.time[reached[0]]) if reached.size else None
    return end, None


def _margins(setup: Setup, chain: Chain, run: Run, largest: Largest) -> tuple[Margin, ...]:
    rows = []
    yields = load_at_yield(run, setup.bolt, setup.yields)
    least, what = min((chain.proof_load, "its proof load"), (yields, "yield, with its twist"))
    if np.isfinite(least):
        rows.append(Margin(f"bolt against {what}", largest.load, least, "n"))
    loads = place_peaks(setup.article, setup.article, largest.own).tolist()
    worst: dict[str, Margin] = {}
    for limit, load in zip(setup.article.torque_limits, loads, strict=True):
        margin = Margin(limit.name, load, limit.torque, "nm", limit.uncertainty)
        worst[limit.name] = min(worst.get(limit.name, margin), margin, key=lambda each: each.factor)
    return (*rows, *worst.values())


def _simulate(setup: Setup, every: bool) -> tuple[Chain, Run]:
    chain = build_chain(
        setup.tool,
        setup.article,
        setup.bolt,
        setup.rig,
        direction=setup.direction,
        start_load=setup.start_load,
    )
    run = simulate_run(chain, setup.tool, duration=setup.duration, method="every" if every else "map")
    return chain, run


def _is_beyond(setup: Setup, chain: Chain, run: Run) -> bool:
    """Whether a margin is below 1; runs that scatter are asked only where they can decide it."""
    plain = Largest(run.own, max(float(run.clamp_load.max(initial=0.0)), run.start_load), np.zeros(0))
    least = min((each.factor for each in _margins(setup, chain, run, plain)), default=np.inf)
    if not 1.0 <= least < _CLEAR:
        return least < 1.0
    largest = largest_loads(chain, setup.tool, run, setup.duration)
    return any(each.factor < 1.0 for each in _margins(setup, chain, run, largest))


def simulate_setup(setup: Setup, *, blow: int | None = None, every: bool = False) -> Simulation:
    """One run of a setup.

    Parameters
    ----------
    blow
        Number of the blow to show in full, from 1.
    every
        Simulate every blow instead of carrying on from a few.

    Raises
    ------
    BadInput
        If the setup cannot be hammered, or the run has no such blow.
    """
    chain, run = _simulate(setup, every)
    score, time_to = _score(setup, chain, run)
    shown = None if blow is None else blow_of_run(chain, setup.tool, run, blow, keep_motion=True)
    ledger = account_run(chain, setup.tool, run)
    largest = largest_loads(
        chain, setup.tool, run, setup.duration, lambda each: _score(setup, chain, each)[0]
    )
    margins = _margins(setup, chain, run, largest)
    return Simulation(
        setup,
        chain,
        run,
        score,
        time_to,
        ledger,
        margins,
        largest.scores,
        shown,
        (*setup.priors, *setup.assumed),
    )


def simulate_tables(
    tables: Mapping[str, Mapping[str, Any]],
    changes: Sequence[tuple[str, str]] = (),
    *,
    blow: int | None = None,
    every: bool = False,
) -> Simulation:
    """One run of a setup as it is in a file, with changes such as `("article.polar_inertia", "3e-4")`."""
    return simulate_setup(build_setup(override(tables, changes)), blow=blow, every=every)


def simulate_file(
    path: Path, changes: Sequence[tuple[str, str]] = (), *, blow: int | None = None, every: bool = False
) -> Simulation:
    """One run of the setup in a file.

    Raises
    ------
    StrikeproofError
        If the file, a change, or a value in them cannot be used.
    """
    return simulate_tables(read_tables(path), changes, blow=blow, every=every)


def sweep_file(
    path: Path,
    over: str,
    span: tuple[float, float, int],
    changes: Sequence[tuple[str, str]] = (),
    *,
    progress: Callable[[int, int], None] | None = None,
    scheduler: str | None = None,
) -> Sweep:
    """Score of the setup in a file over a span (first value, last value, how many) of one key.

    Raises
    ------
    StrikeproofError
        If the file, a change, or a value in them cannot be used, or the scheduler cannot.
    """
    values = spread_values(*span).tolist()
    return sweep_tables(read_tables(path), over, values, changes, progress=progress, scheduler=scheduler)


def sweep_tables(
    tables: Mapping[str, Mapping[str, Any]],
    over: str,
    values: Sequence[float],
    changes: Sequence[tuple[str, str]] = (),
    *,
    progress: Callable[[int, int], None] | None = None,
    scheduler: str | None = None,
) -> Sweep:
    """Score of a setup at every value of one key.

    Parameters
    ----------
    scheduler
        Address of a Dask scheduler whose workers simulate, with the same scores; None: this process.

    Raises
    ------
    BadInput
        If there are no values, or one of them cannot be used.
    """
    from joblib import Parallel, delayed

    if not len(values):
        raise BadInput("no values", where="sweep", allowed="one or more")
    plain = tuple(float(value) for value in values)
    setups = [build_setup(override(tables, [*changes, (over, repr(value))])) for value in plain]
    points: list[_Point] = []
    with gather_team(scheduler) as team:
        tasks = (delayed(team.call)(_sweep_point, setup) for setup in setups)
        for point in Parallel(n_jobs=team.size, prefer="threads", return_as="generator")(tasks):
            points.append(point)
            if progress is not None:
                progress(len(points), len(plain))
    scores, torques, beyond = zip(*points, strict=True)
    return Sweep(over, plain, scores, torques, beyond, find_optimum(plain, scores))


_Point = tuple[float, float, bool]
"""Score, its torque, and whether something would be overloaded."""


def _sweep_point(setup: Setup) -> _Point:
    chain, run = _simulate(setup, every=False)
    score, _time_to = _score(setup, chain, run)
    return score, chain.torque_per_load * score, _is_beyond(setup, chain, run)
