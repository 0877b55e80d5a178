"""Load a campaign folder into a workspace: each run whole or not at all, with what is wrong said at once."""

from __future__ import annotations

import os
import shlex
from collections import Counter
from collections.abc import Callable, Collection, Generator, Iterator, Mapping, Sequence
from contextlib import closing
from dataclasses import dataclass, field
from pathlib import Path
from typing import ClassVar, Final, Literal

from strikeproof.campaign.bounds import bounds_for
from strikeproof.campaign.folder import CampaignFolder, keep_calibration, read_folder
from strikeproof.campaign.gate import Job, read_each
from strikeproof.campaign.inside import path_inside
from strikeproof.campaign.kept import KeptTrace, StoredRun
from strikeproof.campaign.records import Campaign, RunRow
from strikeproof.campaign.run_rows import Saved
from strikeproof.campaign.run_sheet import says_only_plan, sheet_mark
from strikeproof.campaign.store import Store, open_store
from strikeproof.capture.keeping import LogBench, is_same_log, keep_log
from strikeproof.desk.loading.bolt_audit import BoltAudit, audit_bolts
from strikeproof.desk.runs.standing import read_reason
from strikeproof.desk.workspace.recognise import require_same_campaign
from strikeproof.errors import BadFile, BadInput, Problem, StrikeproofError
from strikeproof.plain_json import UNSHOWN
from strikeproof.quantity import same_unit

__all__ = [
    "LoadOutcome",
    "Progress",
    "RunChange",
    "bench_of",
    "load_campaign",
    "same_log",
]

Progress = Callable[[int, int, str], None]
"""Called after each run that is stored for good: done, total, the run's name."""

_FEW = 4  # below this many new logs a second process costs more than it saves
_MOST_READERS = 8  # each may take more than a gigabyte


@dataclass(frozen=True, slots=True)
class LoadOutcome:
    """What came of loading a folder; `folder` is where the campaign's files are.

    `warnings` are about runs that are in, such as one that overloaded its bolt. `other_logs` are the runs
    that are stored from another log than the folder has. `changes` are those of stored runs that a result
    depends on. `not_made` are the runs that the sheet only plans: they have no log yet.
    """

    folder: Path
    campaign: str | None
    runs_loaded: int
    runs_amended: int
    runs_unchanged: int
    problems: tuple[Problem, ...]
    warnings: tuple[str, ...] = ()
    other_logs: tuple[str, ...] = field(default=(), metadata=UNSHOWN)
    changes: tuple[RunChange, ...] = ()
    not_made: tuple[str, ...] = field(default=(), metadata=UNSHOWN)
    JSON_ALSO: ClassVar = ("runs_not_made",)

    @property
    def runs_not_made(self) -> int:
        """How many runs are planned only."""
        return len(self.not_made)

    @property
    def exit_code(self) -> int:
        """0 all in, 1 some refused, 2 nothing usable."""
        if not self.runs_loaded + self.runs_amended + self.runs_unchanged + len(self.not_made):
            return 2
        return 1 if self.problems else 0

    @property
    def left_to_make(self) -> str:
        """How many planned runs are not made yet, and which is the first; empty where all are."""
        count = len(self.not_made)
        if count < 2:
            return f"{self.not_made[0]} is planned and not made yet" if count else ""
        return f"{count} planned runs are not made yet, the first of them {self.not_made[0]}"


def load_campaign(
    path: Path,
    workspace: Path,
    progress: Progress | None = None,
    *,
    replace_logs: Mapping[str, str] | None = None,
    relabel: bool = False,
) -> LoadOutcome:
    """Load the campaign at `path` (its campaign.toml, or the folder) into `workspace`.

    Loading the same folder again changes nothing; a run that is stored already only takes up what
    its sheet says again.

    Parameters
    ----------
    replace_logs
        Runs whose log is read again in place of the saved one, each with the reason.
    relabel
        Whether a unit or a rotation that differs from that of the stored runs only corrects what was said
        of them.

    Raises
    ------
    BadInput, NotFound
        If a reason is empty, a run to be given another log is not there, or the folder's path is not UTF-8.
    StoreError
        If the workspace cannot be opened or written, or knows another campaign of this name.
    """
    folder = (path if path.is_dir() else path.parent).resolve()
    _require_text(folder)
    try:
        found = read_folder(path)
    except BadFile as wrong:
        return LoadOutcome(folder, None, 0, 0, 0, wrong.problems)
    store = open_store(workspace, make=True)
    require_same_campaign(store, found.folder)
    if not relabel:
        _require_same_labels(store, found.campaign)
    overloads = _audit_before(store, found.campaign)
    key = store.keep_campaign(found.campaign, folder)
    for calibration in found.calibrations:
        if calibration.rows:
            keep_calibration(store, key, found.campaign, calibration)
    reasons = {run: read_reason(why, "--because") for run, why in (replace_logs or {}).items()}
    replaced = {run: store.find_run(key, run) for run in reasons}
    others, remarks, amended, not_made = [], [], [], []
    before = _by_name(store, key)
    counts = Counter[Saved]()
    sheet = sheet_mark(found.folder, found.campaign)
    problems = list(found.problems)
    with closing(_traces(store, key, found, reasons.keys())) as traces:
        for done, (ordinal, row, trace) in enumerate(traces, start=1):
            if isinstance(trace, BadFile):
                problems += trace.problems
                replaced.pop(row.run, None)
                continue
            if trace is Saved.NOT_MADE:
                not_made.append(row.run)
                continue
            outcome = Saved.OTHER_LOG
            if trace is not Saved.OTHER_LOG:
                new = False
                if trace is not None and row.run in replaced:
                    new = store.replace_log(replaced.pop(row.run), trace, reasons[row.run])
                    remarks += [] if new else [same_log(row.run)]
                outcome = store.keep_run(key, ordinal, row, trace, sheet)
                outcome = Saved.AMENDED if new else outcome
            if outcome is Saved.OTHER_LOG:
                problems.append(_another_log(found, row))
                others.append(row.run)
                continue
            counts[outcome] += 1
            amended += [row.run] if outcome is Saved.AMENDED else []
            if progress:
                progress(done, len(found.rows), row.run)
    problems += [_not_replaced(found, run) for run in replaced]
    return LoadOutcome(
        folder,
        found.campaign.name,
        counts[Saved.LOADED],
        counts[Saved.AMENDED],
        counts[Saved.UNCHANGED],
        tuple(problems),
        (*_say_overloads(store, key, found.campaign, overloads), *remarks),
        tuple(others),
        tuple(_find_changes(before, _by_name(store, key), amended)) if amended else (),
        tuple(not_made),
    )


def _require_same_labels(store: Store, campaign: Campaign) -> None:
    """That the stored runs would not get another unit, or count as made in another rotation, unasked."""
    if campaign.name not in store.campaigns():
        return
    key, before = store.campaign(campaign.name)
    if not store.runs(key):
        return
    was, now = before.turning.rotation, campaign.turning.rotation
    if was != now:
        raise _other_label("protocol.rotation", was, now, "runs of both are never compared")
    made = {before.rig_of(run.row) for run in store.runs(key)}
    if before.rig.name in made:
        _require_same_units(before.on_rig(None), campaign.on_rig(None), is_own=True)
    known = {each.rig.name for each in before.other_rigs} & {each.rig.name for each in campaign.other_rigs}
    for name in sorted(made & known):
        _require_same_units(before.on_rig(name), campaign.on_rig(name), is_own=False)


def _require_same_units(before: Campaign, campaign: Campaign, *, is_own: bool) -> None:
    """The same of one rig's unit, and that of its calibration."""
    rig = "rig" if is_own else f"other_rig {campaign.rig.name!r}"
    pairs = [(f"{rig}.unit", before.rig.unit, campaign.rig.unit)]
    if before.calibration and campaign.calibration:
        units = (before.calibration.applied_unit, campaign.calibration.applied_unit)
        pairs.append(("calibration.applied_unit" if is_own else f"{rig}.calibration.applied_unit", *units))
    for where, old, new in pairs:
        if not same_unit(old, new):
            raise _other_label(where, old, new, "numbers without a unit would be relabelled, not converted")


def _other_label(where: str, was: str, now: str, why: str) -> BadInput:
    return BadInput(
        f"the stored runs were made with {was}, the file says {now}: {why}",
        where=where,
        allowed=was,
        fix=f"make a new campaign for runs with {now}; if {was} was wrong, load with --relabel; to convert "
        "numbers in sheets, write their unit behind them first"
        if "unit" in where
        else f"make a new campaign for runs in {now}; if {was} was wrong, load with --relabel",
    )


def _by_name(store: Store, key: int) -> dict[str, StoredRun]:
    return {run.row.run: run for run in store.runs(key)}


def _require_text(folder: Path) -> None:
    """That a folder's path can be saved as text: a file system takes names that are none."""
    try:
        str(folder).encode()
    except UnicodeEncodeError as cause:
        raise BadInput(
            f"{str(folder)!a} has bytes that are no UTF-8 text",
            where="campaign folder",
            allowed="a path that is text in UTF-8",
            fix="rename the folder, then load it",
        ) from cause


def same_log(run: str) -> str:
    """That a log was read again in vain."""
    return f"run {run!r}: its log reads as before, so nothing was replaced"


def _not_replaced(found: CampaignFolder, run: str) -> Problem:
    sheet = path_inside(found.folder, found.campaign.runs_sheet, key="runs.sheet")
    what = f"no usable line names a log for run {run!r}, so its log was not replaced"
    return Problem(str(sheet), None, what, "name the log on the run's line")


_Trace = KeptTrace | BadFile | Literal[Saved.OTHER_LOG, Saved.NOT_MADE] | None


def _traces(
    store: Store, key: int, found: CampaignFolder, again: Collection[str]
) -> Generator[tuple[int, RunRow, _Trace], None, None]:
    """Each run of the sheet, in its order, with its trace on disk or why there is none."""
    stored = {run.row.run: run.trace for run in store.runs(key) if run.row.run not in again}
    sorted_out = [_sort_out(found, row, stored, bench_of(store, found.campaign, row)) for row in found.rows]
    jobs = [each for each in sorted_out if isinstance(each, Job)]
    most = 1 if len(jobs) < _FEW else min(os.cpu_count() or 1, _MOST_READERS)
    with closing(read_each(jobs, most)) as outcomes:
        for ordinal, (row, each) in enumerate(zip(found.rows, sorted_out, strict=True)):
            trace = next(outcomes) if isinstance(each, Job) else each
            if isinstance(trace, StrikeproofError) and not isinstance(trace, BadFile):
                raise trace
            yield ordinal, row, trace


def _sort_out(
    found: CampaignFolder, row: RunRow, stored: Mapping[str, KeptTrace | None], bench: LogBench
) -> Job | _Trace:
    """What is known of a run's log without reading it as one, or the job to do that."""
    path, files = found.log_path(row), found.log_files(row)
    if path is None or not files:
        return None
    if row.run in stored:
        kept = stored[row.run]
        try:
            if kept is None or not is_same_log(files, kept):
                return Saved.OTHER_LOG
        except BadFile as wrong:
            return wrong
        if bench.holds(kept):
            return kept
    elif says_only_plan(row) and not os.path.lexists(path):
        return Saved.NOT_MADE
    return _job(path, files, bench)


def _job(path: Path, files: Sequence[Path], bench: LogBench) -> Job:
    if len(files) == 1:
        return Job(files[0], keep_log, (files[0], bench))
    bounds = bounds_for(sum(each.stat().st_size for each in files if each.is_file()))
    return Job(path, keep_log, (path, bench, files), bounds)


def _another_log(found: CampaignFolder, row: RunRow) -> Problem:
    sheet = path_inside(found.folder, found.campaign.runs_sheet, key="runs.sheet")
    what = f"run {row.run!r} is saved already, from another log or without one"
    fix = (
        f"a new run needs another name; if its file was corrected, load it with "
        f"--replace-log {shlex.quote(row.run)} --because REASON, or on the page of the run"
    )
    return Problem(str(sheet), row.line, what, fix)


def bench_of(store: Store, campaign: Campaign, row: RunRow) -> LogBench:
    """How the log of a run of the campaign is read, and where it goes."""
    rig = campaign.on_rig(row.rig).rig
    channel = row.judged_channel(rig)
    return LogBench(store.originals, store.traces, rig.sample_rate_hz, channel, row.channel is not None)


def _audit_before(store: Store, campaign: Campaign) -> BoltAudit | str | None:
    """The overloads among the stored runs by the campaign as it was; None where it was not known."""
    if campaign.name not in store.campaigns():
        return None
    key, before = store.campaign(campaign.name)
    return audit_bolts(store, key, before)


def _say_overloads(
    store: Store, key: int, campaign: Campaign, before: BoltAudit | str | None
) -> tuple[str, ...]:
    after = audit_bolts(store, key, campaign)
    if isinstance(after, str):
        return (after,)
    changed = after.since(before) if isinstance(before, BoltAudit) and before.runs else ()
    return (*changed, *after.warnings(campaign))


_LABELS: Final = ("article", "tool", "block", "rig")


@dataclass(frozen=True, slots=True)
class RunChange:
    """One stored run that loading changed.

    `before` and `after` are its article, tool, block or rig; of `set_aside` the reason, None while it counts.
    """

    run: str
    what: Literal["article", "tool", "block", "rig", "set_aside"]
    before: str | None
    after: str | None

    def __str__(self) -> str:
        if self.what != "set_aside":
            return f"run {self.run!r}: {self.what} is {self.after!r} now, was {self.before!r}"
        if self.after is None:
            return f"run {self.run!r}: included again, was excluded: {self.before}"
        if self.before is None:
            return f"run {self.run!r}: excluded now: {self.after}"
        return f"run {self.run!r}: still excluded, the reason is now: {self.after}; it was: {self.before}"


def _find_changes(
    before: Mapping[str, StoredRun], after: Mapping[str, StoredRun], amended: Collection[str]
) -> Iterator[RunChange]:
    """The changes of the `amended` runs, by name before and after, that a result depends on."""
    for name in (each for each in amended if each in before):  # another process may have loaded it first
        old, new = before[name], after[name]
        for what in _LABELS:
            was, now = getattr(old.row, what), getattr(new.row, what)
            if was != now:
                yield RunChange(name, what, was, now)
        if old.set_aside != new.set_aside:
            yield RunChange(name, "set_aside", old.set_aside, new.set_aside)
