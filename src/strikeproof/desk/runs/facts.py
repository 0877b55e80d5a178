"""What each stored trace shows, worked out once and then stored by everything it depends on."""

from __future__ import annotations

import hashlib
import json
import os
from collections.abc import Callable, Mapping, Sequence
from dataclasses import asdict, dataclass, fields
from pathlib import Path
from typing import Any

import numpy as np
from joblib import Parallel, delayed

from strikeproof.campaign.files import read_trace
from strikeproof.campaign.store import Store
from strikeproof.desk.workspace.parent_watch import end_with_parent
from strikeproof.desk.workspace.results_version import SCORES
from strikeproof.errors import StrikeproofError
from strikeproof.language import from_saved, to_saved
from strikeproof.trace import Flag, RunFacts, TraceSettings, examine_trace

__all__ = ["NotExamined", "TraceTask", "find_facts"]

_FEW = 400  # of some 6 ms each, whatever their length: below, to start processes costs more than it saves
_ARRAYS = ("blow_times", "blow_steps", "blow_levels", "growth_time", "growth_level")


@dataclass(frozen=True, slots=True)
class TraceTask:
    """One trace to be examined: which channel, by how much its unit is to be multiplied, and how."""

    sha256: str
    channel: str
    factor: float
    settings: TraceSettings

    @property
    def key(self) -> str:
        """Hash of all that the facts depend on, how they are worked out included."""
        words = json.dumps(["facts", SCORES, self.sha256, self.channel, self.factor, asdict(self.settings)])
        return hashlib.sha256(words.encode()).hexdigest()


@dataclass(frozen=True, slots=True)
class NotExamined:
    """Why a trace cannot be worked through, and what to do; never stored, since the reason may pass."""

    problem: str
    fix: str

    def __str__(self) -> str:
        return f"{self.problem}; {self.fix}"


def find_facts(
    store: Store, tasks: Sequence[TraceTask], progress: Callable[[int, int], None] | None = None
) -> tuple[RunFacts | NotExamined, ...]:
    """The facts of each trace, in the order of `tasks`; new ones are stored for the next time.

    A trace that cannot be examined, whatever the reason, is in the way of no other.
    """
    keys = [task.key for task in tasks]
    kept = store.facts(keys)
    missing = [(key, task) for key, task in zip(keys, tasks, strict=True) if key not in kept]
    workers = 1 if len(missing) < _FEW else min(os.cpu_count() or 1, len(missing))
    examine = _examine if workers == 1 else _examine_for_parent
    calls = (delayed(examine)(store.traces, task) for _key, task in missing)
    fresh: dict[str, Any] = {}
    results = Parallel(n_jobs=workers, return_as="generator")(calls)
    for done, ((key, _task), facts) in enumerate(zip(missing, results, strict=True), start=1):
        fresh[key] = facts
        if progress:
            progress(done, len(missing))
    store.keep_facts({key: facts for key, facts in fresh.items() if not isinstance(facts, NotExamined)})
    found = kept | fresh
    return tuple(
        found[key] if isinstance(found[key], NotExamined) else _from_json(found[key]) for key in keys
    )


def _examine_for_parent(traces: Path, task: TraceTask) -> dict[str, Any] | NotExamined:
    """In a process started for this alone, which is idle for minutes before it ends by itself."""
    end_with_parent()
    return _examine(traces, task)


def _examine(traces: Path, task: TraceTask) -> dict[str, Any] | NotExamined:
    try:
        time, reading = read_trace(traces, task.sha256, task.channel)
        return _as_json(examine_trace(time, reading * task.factor, settings=task.settings))
    except StrikeproofError as wrong:
        return NotExamined(wrong.problem, wrong.fix)
    except MemoryError:
        return NotExamined("it takes more memory than there is", "log a shorter time, or more slowly")
    except Exception as bug:  # it shows itself by the run's name, and the other runs are still of use
        return NotExamined(f"{type(bug).__name__}: {bug}", "report this as a bug")


def _as_json(facts: RunFacts) -> dict[str, Any]:
    plain = {field.name: getattr(facts, field.name) for field in fields(facts)}
    return (
        plain
        | {name: plain[name].tolist() for name in _ARRAYS}
        | {"flags": [[flag.kind, to_saved(flag.detail)] for flag in facts.flags]}
        | {"score_reason": to_saved(facts.score_reason)}
    )


def _from_json(plain: Mapping[str, Any]) -> RunFacts:
    values = dict(plain)
    values |= {name: np.array(values[name], float) for name in _ARRAYS}
    values["flags"] = tuple(Flag(kind, from_saved(detail)) for kind, detail in values["flags"])
    values["score_reason"] = from_saved(values["score_reason"])
    return RunFacts(**values)
