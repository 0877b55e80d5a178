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
from strikeproof.campaign.kept import PastOverload, StoredRun
from strikeproof.campaign.records import Campaign
from strikeproof.campaign.store import Store
from strikeproof.desk.calibrating.worth import Worth, level_in_readings, level_of_load, own_zero
from strikeproof.desk.runs.facts import TraceTask
from strikeproof.desk.safety.bolt_limit import BoltLimit, find_limit, highest_level
from strikeproof.desk.safety.own_zero import has_own_zero, is_off_zero, level_at
from strikeproof.desk.workspace.results_version import SCORES
from strikeproof.errors import StrikeproofError
from strikeproof.joint import REUSED_SHARE
from strikeproof.language import say
from strikeproof.quantity import FloatArray, from_si, unit_label, write_number
from strikeproof.trace import Flag, RunFacts

__all__ = [
    "Overload",
    "Strains",
    "bolt_of",
    "find_off_zero",
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
    """How far a run went beyond what its bolt may carry.

    Levels are in `unit`, `proof` is that of the proof load, `allowed_n` the clamp load that is allowed. [N]
    """

    level: float
    allowed: float
    proof: float
    unit: str
    allowed_n: float

    def __str__(self) -> str:
        facts = {
            "level": write_number(self.level, 3),
            "allowed": write_number(self.allowed, 3),
            "unit": unit_label(self.unit),
        }
        if self.level <= self.proof:
            return say("the bolt was loaded to {level} {unit}; {allowed} {unit} is allowed", **facts)
        return say(
            "the bolt was loaded to {level} {unit}, beyond its proof load of {proof} {unit}; "
            "{allowed} {unit} is allowed",
            proof=write_number(self.proof, 3),
            **facts,
        )


@dataclass(frozen=True, slots=True)
class Strains:
    """The overloads among some runs, by their keys.

    Parameters
    ----------
    now
        By the campaign's limit as it is.
    past
        By an earlier limit, in words; without those that another zero, calibration or score has since shown
        to be none.
    """

    now: dict[int, Overload]
    past: dict[int, str]

    @property
    def keys(self) -> frozenset[int]:
        """The runs whose bolt is spent."""
        return frozenset(self.now.keys() | self.past.keys())

    def history(self, share: float) -> dict[int, PastOverload]:
        """What the history of the runs must say.

        A bolt stays spent by a limit that was in force, but by none below what a bolt that is used again may
        usually carry: such a limit may be mistyped, and no bolt has yielded by it.

        Parameters
        ----------
        share
            Of the proof load that is allowed.
        """
        least = max(1.0, REUSED_SHARE / share)
        return {key: PastOverload(str(each), least * each.allowed_n) for key, each in self.now.items()}


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
) -> Strains:
    """The runs that went beyond the limit as it is, and those that did so by an earlier one.

    None by the limit as it is where no level can be turned into a load.

    Parameters
    ----------
    worth
        Of the readings, also those beyond the calibrated range: there a load is an estimate all the same.
    facts, tasks
        Of the runs that have a log.
    """
    limit = find_limit(campaign, worth)
    past = store.overloads([run.key for run in runs])
    if limit.level is None and not past:
        return Strains({}, {})
    wanted = runs if limit.level is not None else [run for run in runs if run.key in past]
    levels = _find_levels(store, campaign, worth, wanted, facts, tasks)
    found = {}
    if limit.level is not None and limit.load is not None:
        found = {
            key: _overload(worth, limit.share, level, limit.level, limit.load)
            for key, level in levels.items()
            if level > limit.level
        }
    held = {key: each.words for key, each in past.items() if _holds(worth, each, levels.get(key))}
    return Strains(found, held)


def _overload(worth: Worth, share: float, level: float, allowed: float, load: float) -> Overload:
    """A level beyond the allowed one; in the cell's own unit where it is its own reading that says so."""
    cell = worth.calibration
    own = None if cell is None else cell.own_load_at(level)
    if cell is not None and own is not None and own > load:
        unit = cell.reading_unit
        shown, most, proof = (from_si(each, unit, "force") for each in (own, load, load / share))
        return Overload(shown, most, proof, unit, load)
    at_proof = level_of_load(worth, load / share)
    return Overload(level, allowed, at_proof or allowed / share, worth.unit, load)


def _find_levels(
    store: Store,
    campaign: Campaign,
    worth: Worth,
    runs: Sequence[StoredRun],
    facts: Mapping[int, RunFacts],
    tasks: Mapping[int, TraceTask],
) -> dict[int, float]:
    """The highest level of each run of which one is known, by its key."""
    ends = find_ends(store, [tasks[run.key] for run in runs if run.key in tasks])
    found = {}
    for run in runs:
        task = tasks.get(run.key)
        nets = (
            _typed(campaign, worth, run)
            if task is None
            else _logged(
                campaign,
                worth,
                facts.get(run.key),
                _turned(worth, task, ends.get(task.sha256)),
                _zeros(campaign, worth, run),
            )
        )
        if nets.size:
            found[run.key] = float(worth.levels(nets).max())
    return found


def _holds(worth: Worth, past: PastOverload, level: float | None) -> bool:
    """Whether an overload by an earlier limit is still one by what a reading is known to be worth now."""
    allowed = None if past.allowed_n is None else level_of_load(worth, past.allowed_n)
    return level is None or allowed is None or level > allowed


def find_off_zero(
    campaign: Campaign, worth: Worth, runs: Sequence[StoredRun], facts: Mapping[int, RunFacts]
) -> dict[int, Flag]:
    """The runs whose bolt was under load before they began, or less than loose, by their keys.

    Runs before which a person said that the bolt was loose are none of them. A bolt that is loosened is under
    load before, and at least loose after it.
    """
    limit = find_limit(campaign, worth)
    found = {}
    for run in runs:
        seen = facts.get(run.key)
        if seen is None or seen.zero is None or has_own_zero(run):
            continue
        off = float(worth.nets(seen.zero, own_zero(campaign, worth)))
        side = -1.0 if seen.has("backwards") else 1.0
        net = side * off - (float(seen.growth_level.max(initial=0.0)) if limit.loosens else 0.0)
        load, noise = level_at(worth, net), level_at(worth, _SURE * (seen.zero_sd or 0.0))
        if not is_off_zero(limit, load, noise) or (limit.loosens and load > 0.0):
            continue
        if limit.loosens:
            found[run.key] = Flag(
                "off-zero", say("after the last blow it is {level}", level=_level(limit, load))
            )
            continue
        shown = _level(limit, level_at(worth, off))
        if load < 0.0:
            found[run.key] = Flag("off-zero", _say_below(shown, falls=_falls(worth, seen)))
        elif seen.has("backwards"):
            text = say(
                "the rig showed {level} before the first blow: the cell reads reversed, and that is a load "
                "of {load}, and the score is only what came on top",
                level=shown,
                load=_level(limit, load),
            )
            found[run.key] = Flag("begins-loaded", text)
        else:
            text = say(
                "the rig showed {level} before the first blow, and the score is only what came on top",
                level=shown,
            )
            found[run.key] = Flag("begins-loaded", text)
    return found


def _say_below(shown: str, *, falls: bool) -> str:
    if falls:
        return say(
            "the rig showed {level} before the first blow, and the reading falls under load", level=shown
        )
    return say("the rig showed {level} before the first blow, and the reading rises under load", level=shown)


def _level(limit: BoltLimit, value: float) -> str:
    return say("{level} {unit}", level=write_number(value, 3), unit=unit_label(limit.unit))


def _falls(worth: Worth, seen: RunFacts) -> bool:
    return seen.has("backwards") == (worth.sign > 0.0)


def suspects(
    store: Store, campaign: Campaign, worth: Worth, tasks: Mapping[int, TraceTask]
) -> tuple[int, ...]:
    """The logs whose reading moved so far that an overload is possible, whatever their zero is."""
    limit: BoltLimit = find_limit(campaign, worth)
    if limit.level is None:
        return ()
    ends = find_ends(store, list(tasks.values()))
    zero = worth.sign * own_zero(campaign, worth)
    moved = {}
    for key, task in tasks.items():
        if (found := _turned(worth, task, ends.get(task.sha256))) is not None:
            low, high = found
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
    worth: Worth,
    facts: RunFacts | None,
    ends: tuple[float, float] | None,
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
        low, high = ends
        known = worth.nets(np.array([*zeros, *(() if facts.zero is None else (facts.zero,))]))
        nets.append(known - low if facts.has("backwards") else high - known)
    return np.concatenate(nets)


def _turned(worth: Worth, task: TraceTask, ends: tuple[float, float] | None) -> tuple[float, float] | None:
    """The ends of a trace as readings that rise under load, the lower one first. [reading]"""
    if ends is None:
        return None
    one, other = (worth.sign * task.factor * each for each in ends)
    return min(one, other), max(one, other)


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
    """None where the trace is gone or damaged, which is reported where it is examined."""
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
