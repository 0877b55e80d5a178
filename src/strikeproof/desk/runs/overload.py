"""Which runs loaded their bolt beyond what it may carry, by their logs or by the scores on the sheet.

An overload does not spoil a score, but the bolt may have yielded: it must not be used again, and what was
made on it afterwards may be off.
"""

from __future__ import annotations

import hashlib
import json
from collections.abc import Collection, Mapping, Sequence
from dataclasses import dataclass
from typing import Final

import numpy as np

from strikeproof.campaign.files import read_trace
from strikeproof.campaign.kept import StoredRun
from strikeproof.campaign.records import Campaign
from strikeproof.campaign.store import Store
from strikeproof.desk.calibrating.worth import Worth, level_in_readings
from strikeproof.desk.runs.facts import TraceTask
from strikeproof.desk.safety.bolt_limit import BoltLimit, find_limit, highest_level
from strikeproof.desk.safety.own_zero import has_own_zero, level_at, own_zero, stands_loaded
from strikeproof.desk.workspace.results_version import SCORES
from strikeproof.errors import StrikeproofError
from strikeproof.quantity import FloatArray, unit_label, write_number
from strikeproof.trace import RunFacts

__all__ = [
    "Overload",
    "bolt_of",
    "find_loaded_starts",
    "find_overloads",
    "later_on_bolt",
    "overload_warnings",
    "suspects",
]

_BUCKET_S: Final = 0.02  # as the live watch averages
_NAMED: Final = 6
_SURE: Final = 3.0  # deviations of one sample


@dataclass(frozen=True, slots=True)
class Overload:
    """How far a run went beyond what its bolt may carry; levels in `unit`, `proof` that of the proof load."""

    level: float
    allowed: float
    proof: float
    unit: str

    def __str__(self) -> str:
        level, allowed, proof = (self._write(each) for each in (self.level, self.allowed, self.proof))
        beyond = f", beyond its proof load of {proof}" if self.level > self.proof else ""
        return f"the bolt was loaded to {level}{beyond}; {allowed} is allowed"

    def _write(self, value: float) -> str:
        return f"{write_number(value, 3)} {unit_label(self.unit)}"


def bolt_of(campaign: Campaign, run: StoredRun) -> str | None:
    """The bolt that a run was made on; None where neither its line nor the campaign names one."""
    return run.row.bolt or campaign.bolt.name


def find_overloads(
    store: Store,
    campaign: Campaign,
    worth: Worth,
    runs: Sequence[StoredRun],
    facts: Mapping[int, RunFacts],
    tasks: Mapping[int, TraceTask],
) -> dict[int, Overload]:
    """The runs that went beyond the limit, by their keys; none where no level can be turned into a load.

    Parameters
    ----------
    worth
        Of the readings, also those beyond the calibrated range: there a load is an estimate all the same.
    facts, tasks
        Of the runs that have a log.
    """
    limit = find_limit(campaign, worth)
    if limit.level is None:
        return {}
    ends = find_ends(store, [tasks[run.key] for run in runs if run.key in tasks])
    found = {}
    for run in runs:
        task = tasks.get(run.key)
        nets = (
            _typed(campaign, worth, run)
            if task is None
            else _logged(
                campaign, facts.get(run.key), ends.get(task.sha256), task.factor, _zeros(campaign, worth, run)
            )
        )
        level = float(worth.levels(nets).max()) if nets.size else -np.inf
        if level > limit.level:
            found[run.key] = Overload(level, limit.level, limit.level / limit.share, limit.unit)
    return found


def find_loaded_starts(
    campaign: Campaign, worth: Worth, runs: Sequence[StoredRun], facts: Mapping[int, RunFacts]
) -> dict[int, str]:
    """The runs whose bolt was under load before they began, by their keys, with how far.

    Runs before which a person said that the bolt was loose are none of them.
    """
    limit = find_limit(campaign, worth)
    found = {}
    for run in runs:
        seen = facts.get(run.key)
        if seen is None or seen.zero is None or has_own_zero(run):
            continue
        off = seen.zero - own_zero(campaign, worth)
        level = level_at(worth, abs(off) if seen.has("backwards") else off)
        if level > 0.0 and stands_loaded(limit, level, level_at(worth, _SURE * (seen.zero_sd or 0.0))):
            shown = f"{write_number(level, 3)} {unit_label(limit.unit)}"
            found[run.key] = (
                f"the rig showed {shown} before the first blow, and the score is only what came on top"
            )
    return found


def suspects(
    store: Store, campaign: Campaign, worth: Worth, tasks: Mapping[int, TraceTask]
) -> tuple[int, ...]:
    """The logs whose reading moved so far that an overload is possible, whatever their zero is."""
    limit: BoltLimit = find_limit(campaign, worth)
    if limit.level is None:
        return ()
    ends = find_ends(store, list(tasks.values()))
    zero = own_zero(campaign, worth)
    moved = {}
    for key, task in tasks.items():
        if task.sha256 in ends:
            low, high = (task.factor * each for each in ends[task.sha256])
            moved[key] = max(high - low, high, abs(high - zero), abs(low - zero))
    return tuple(key for key, far in moved.items() if float(worth.levels(np.array([far]))[0]) > limit.level)


def _typed(campaign: Campaign, worth: Worth, run: StoredRun) -> FloatArray:
    """What a score on the sheet says of the reading: itself, or the level that was reached in that time."""
    if run.row.score is None:
        return np.empty(0)
    if campaign.protocol.score.kind != "time to":
        return np.array([run.row.score])
    level = level_in_readings(worth, campaign.protocol.score)
    return np.empty(0) if level is None else np.array([level])


def _zeros(campaign: Campaign, worth: Worth, run: StoredRun) -> tuple[float, ...]:
    """What a run's load is counted from beside its own zero: a bolt may have been tight before it.

    Nothing where a person said that the bolt was loose.
    """
    return () if has_own_zero(run) else (own_zero(campaign, worth),)


def _logged(
    campaign: Campaign,
    facts: RunFacts | None,
    ends: tuple[float, float] | None,
    factor: float,
    zeros: tuple[float, ...],
) -> FloatArray:
    """Net readings that a log held: its growth, the level after each blow, and the highest at any time.

    The highest counts from the run's own zero and from `zeros`, whichever gives the greater load.
    """
    if facts is None:
        return np.empty(0)
    nets = [facts.growth_level, facts.blow_levels]
    if facts.score is not None and campaign.protocol.score.kind != "time to":
        nets.append(np.array([facts.score]))
    if ends is not None:
        low, high = factor * ends[0], factor * ends[1]
        known = np.array([*zeros, *(() if facts.zero is None else (facts.zero,))])
        nets.append(known - low if facts.has("backwards") else high - known)
    return np.concatenate(nets)


def find_ends(store: Store, tasks: Sequence[TraceTask]) -> dict[str, tuple[float, float]]:
    """Lowest and highest reading that each trace held for a tenth of a second, by hash; saved once found."""
    keys = {task.sha256: _key(task) for task in tasks}
    kept = store.facts(keys.values())
    fresh = {}
    for task in tasks:
        if keys[task.sha256] not in kept and (found := _ends(store, task)) is not None:
            fresh[keys[task.sha256]] = found
    store.keep_facts(fresh)
    known = kept | fresh
    return {sha: (known[key][0], known[key][1]) for sha, key in keys.items() if key in known}


def _key(task: TraceTask) -> str:
    words = json.dumps(["ends of a trace", SCORES, task.sha256, task.channel])
    return hashlib.sha256(words.encode()).hexdigest()


def _ends(store: Store, task: TraceTask) -> list[float] | None:
    """None where the trace is gone or damaged, which is told where it is examined."""
    try:
        time, reading = read_trace(store.traces, task.sha256, task.channel)
    except StrikeproofError:
        return None
    steps = np.diff(time)
    steps = steps[steps > 0.0]
    reading = reading[np.isfinite(reading)]
    each = max(1, round(_BUCKET_S / float(np.median(steps)))) if steps.size else 1
    whole = reading.size // each * each
    if not whole:
        return None
    means = reading[:whole].reshape(-1, each).mean(axis=1)
    low, high = highest_level(-means), highest_level(means)
    return None if low is None or high is None else [-low, high]


def later_on_bolt(
    campaign: Campaign, runs: Sequence[StoredRun], overloads: Collection[int]
) -> dict[int, str]:
    """The runs, given in the order made, whose bolt had been overloaded before, and in which run.

    Parameters
    ----------
    overloads
        The runs, by key, that are beyond the limit or were so by the limit at any time.
    """
    spent: dict[str | None, str] = {}
    later = {}
    for run in runs:
        bolt = bolt_of(campaign, run)
        if bolt in spent:
            later[run.key] = spent[bolt]
        if run.key in overloads:
            spent[bolt] = run.row.run
    return later


def overload_warnings(
    runs: Sequence[StoredRun], overloads: Mapping[int, Overload], later: Mapping[int, str]
) -> tuple[str, ...]:
    """What a reader of results should know of it, the runs by name."""
    over = [run for run in runs if run.key in overloads]
    said = []
    if over:
        worst = max(over, key=lambda run: overloads[run.key].level)
        names = _listed([run.row.run for run in over])
        if len(over) > 1:
            names, them = f"{names}; the worst is {worst.row.run}", "those bolts out of use: they"
        else:
            them = "that bolt out of use: it"
        said.append(f"overload in {names}: {overloads[worst.key]}. Take {them} may have yielded")
    after = [run.row.run for run in runs if run.key in later and run.key not in overloads]
    if after:
        said.append(
            f"{_listed(after)} made on a bolt after its overload: it may have yielded, so compare with care"
        )
    return tuple(said)


def _listed(names: Sequence[str]) -> str:
    more = f" and {len(names) - _NAMED} more" if len(names) > _NAMED else ""
    return f"run{'s' if len(names) > 1 else ''} {', '.join(names[:_NAMED])}{more}"
