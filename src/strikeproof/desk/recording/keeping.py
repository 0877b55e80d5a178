"""From a finished recording to a stored run, and what a run is said to be worth at once."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from pathlib import Path

import numpy as np

from strikeproof.campaign.flags import Severity, find_flag, sort_flags
from strikeproof.campaign.gate import read_bounded
from strikeproof.campaign.kept import KeptTrace, StoredRun
from strikeproof.campaign.records import Campaign, RunRow
from strikeproof.campaign.run_rows import Saved
from strikeproof.campaign.run_sheet import row_of
from strikeproof.campaign.store import Store
from strikeproof.capture.keeping import keep_log
from strikeproof.desk.calibrating.worth import Worth
from strikeproof.desk.loading.load import bench_of
from strikeproof.desk.recording.remaining import Cells
from strikeproof.desk.recording.views import Band, Outcome, RunVerdict
from strikeproof.desk.runs.flag_words import list_flags
from strikeproof.desk.runs.judged import JudgedRun, judge_chosen
from strikeproof.desk.runs.judged_first import judge_first
from strikeproof.errors import StoreError
from strikeproof.language import listed, say, write_figures
from strikeproof.quantity import FloatArray
from strikeproof.trace import RunFacts

__all__ = ["as_row", "find_band", "give_verdict", "keep_recording"]

_MOST_IN_BAND = 40
_POINTS = 101


def as_row(cells: Cells, campaign: Campaign) -> RunRow:
    """The line of a run that was just recorded, as a record."""
    return row_of(cells, campaign, block=cells.get("block") or "1")


def keep_recording(
    store: Store,
    key: int,
    campaign: Campaign,
    ordinal: int,
    cells: Cells,
    path: Path,
    sheet: str,
    *,
    found: bool = False,
) -> StoredRun:
    """Keep a recording as a run, the same way that a log is loaded; when this returns it is stored for good.

    `found` says that the file was there before this recorder: anybody may have put it there.

    Raises
    ------
    BadFile, StoreError
        If it holds no samples, or cannot be saved.
    """
    bench = bench_of(store, campaign, as_row(cells, campaign))
    trace: KeptTrace = read_bounded(path, keep_log, path, bench) if found else keep_log(path, bench)
    if store.keep_run(key, ordinal, as_row(cells, campaign), trace, sheet) is Saved.OTHER_LOG:
        raise StoreError(
            say("run {run} is saved already, from another log", run=repr(cells["run"])),
            say("give it another name"),
        )
    return store.find_run(key, cells["run"])


def give_verdict(store: Store, campaign: Campaign, run: StoredRun, worth: Worth) -> RunVerdict:
    """What the flags of a run say of it, and its score."""
    _worth, ((judged, facts),) = judge_first(store, campaign, [run], worth)
    outcome, reason = _find_outcome(judged, facts, campaign.protocol.duration_s)
    return RunVerdict(
        row=run.row_now,
        outcome=outcome,
        reason=reason,
        flags=tuple(flag.kind for flag in judged.flags),
        details=tuple(_details(judged)),
        score=judged.score,
        unit=judged.unit,
        standard_uncertainty=judged.standard_uncertainty,
        clamp_load_n=judged.clamp_load_n,
        torque_n_m=judged.torque_n_m,
        blows=judged.blows,
        overload=str(judged.overload or judged.past_overload or ""),
    )


def _details(run: JudgedRun) -> Iterator[str]:
    """A sentence for each flag, with what to do; what only follows from a cause has no fix of its own."""
    found = [(find_flag(flag.kind), flag.detail) for flag in run.flags]
    broken = any(kind.cause for kind, _detail in found)
    for kind, detail in found:
        fix = kind.fix if kind.cause or not broken else ""
        facts = {"flag": kind.live_words or kind.words, "detail": detail}
        yield say("{flag}: {detail}. {fix}", fix=fix, **facts) if fix else say("{flag}: {detail}.", **facts)


def _find_outcome(run: JudgedRun, facts: RunFacts | None, duration_s: float) -> tuple[Outcome, str]:
    """What came of a run, and why in a few words; no words for one that is plainly good."""
    kinds = sort_flags({flag.kind for flag in run.flags})
    spoiled = [kind for kind in kinds if kind.rig is Severity.SPOILS]
    minor = [kind.code for kind in kinds if kind.rig is Severity.WORTH_SAYING]
    cause = next((kind for kind in kinds if kind.cause), None)
    broke = _broke_after(run.stored, facts)
    if cause is not None and broke is not None and broke >= duration_s:  # the window is complete
        spoiled, minor = [kind for kind in spoiled if not kind.cause], [*minor, cause.code]
    elif cause is not None and broke is not None:
        said = {
            "cause": cause.cause,
            "broke": write_figures(f"{broke:.1f}"),
            "duration": write_figures(f"{duration_s:g}"),
        }
        if any(kind.misses_window for kind in kinds):
            return "repeat", say("cut short: {cause} after {broke} s of {duration} s", **said)
        return "repeat", say("{cause} after {broke} s of {duration} s", **said)
    if spoiled:
        return "repeat", listed([kind.live_words or kind.words for kind in spoiled])
    if run.not_reached_s is None and (run.score is None or run.score <= 0.0):
        return "repeat", say("the load is gone at the end of the timed window")
    return ("doubtful", list_flags(minor)) if minor else ("good", "")


def _broke_after(run: StoredRun, facts: RunFacts | None) -> float | None:
    """How far into the run the line or the recorder first stopped; None where neither did. [s]"""
    if run.trace is None or facts is None or facts.start_s is None:
        return None
    lines = [each["first_line"] for each in run.trace.findings if find_flag(each["kind"]).cause]
    return min(lines) / run.trace.sample_rate_hz - facts.start_s if lines else None


def find_band(store: Store, campaign: Campaign, runs: Sequence[StoredRun], worth: Worth) -> Band | None:
    """The band of the latest runs given that count and have a growth curve; None when none has."""
    chosen = [run for run in runs if run.trace is not None and run.set_aside is None][-_MOST_IN_BAND:]
    judged = [each for each, _facts in judge_chosen(store, campaign, chosen, worth)] if chosen else []
    curves = [each for each in judged if len(each.growth_time) > 1]
    if not curves:
        return None
    time = np.linspace(0.0, campaign.protocol.duration_s, _POINTS)
    levels = np.array([_on(time, each) for each in curves])
    return Band(time, levels.min(axis=0), np.median(levels, axis=0), levels.max(axis=0), len(curves))


def _on(time: FloatArray, run: JudgedRun) -> FloatArray:
    return np.asarray(np.interp(time, run.growth_time, run.growth_level), dtype=np.float64)
