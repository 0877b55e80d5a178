"""Load a campaign folder into a workspace: each run whole or not at all, and told at once what is wrong."""

from __future__ import annotations

import hashlib
import os
import shlex
import warnings
from collections.abc import Callable, Collection, Generator, Iterable, Iterator, Mapping
from contextlib import closing, contextmanager
from dataclasses import asdict, dataclass
from pathlib import Path
from typing import Any, Literal

from joblib import Parallel, delayed

from strikeproof.campaign.calibration_sheet import CalibrationRow
from strikeproof.campaign.files import is_whole, keep_bytes, trace_bytes
from strikeproof.campaign.folder import CampaignFolder, read_folder
from strikeproof.campaign.inside import path_inside
from strikeproof.campaign.kept import KeptTrace
from strikeproof.campaign.records import Campaign, RunRow
from strikeproof.campaign.run_rows import Outcome
from strikeproof.campaign.run_sheet import sheet_mark
from strikeproof.campaign.store import Store, open_store
from strikeproof.capture import Log, pick_channel, pick_name, read_log
from strikeproof.desk.bolt_audit import audit_bolts
from strikeproof.desk.recognise import require_same_campaign
from strikeproof.errors import BadFile, BadInput, Problem

__all__ = [
    "LoadOutcome",
    "LogBench",
    "Progress",
    "bench_of",
    "keep_log",
    "load_campaign",
    "read_reason",
    "same_log",
]

Progress = Callable[[int, int, str], None]
"""Called after each run that is kept for good: done, total, the run's name."""

_FEW = 4  # below this many new logs a second process costs more than it saves


@dataclass(frozen=True, slots=True)
class LoadOutcome:
    """What came of loading a folder; `folder` is where the campaign's files are.

    `warnings` are about runs that are in, such as one that overloaded its bolt. `other_logs` are the runs
    that are kept from another log than the folder has.
    """

    folder: Path
    campaign: str | None
    runs_loaded: int
    runs_amended: int
    runs_unchanged: int
    problems: tuple[Problem, ...]
    warnings: tuple[str, ...] = ()
    other_logs: tuple[str, ...] = ()

    @property
    def exit_code(self) -> int:
        """0 all in, 1 some refused, 2 nothing usable."""
        if not self.runs_loaded + self.runs_amended + self.runs_unchanged:
            return 2
        return 1 if self.problems else 0

    def as_json(self) -> dict[str, Any]:
        """As the command line prints it."""
        return {
            "campaign": self.campaign,
            "folder": str(self.folder),
            "runs_loaded": self.runs_loaded,
            "runs_amended": self.runs_amended,
            "runs_unchanged": self.runs_unchanged,
            "problems": [problem.as_json() for problem in self.problems],
            "warnings": list(self.warnings),
        }


def load_campaign(
    path: Path,
    workspace: Path,
    progress: Progress | None = None,
    *,
    replace_logs: Mapping[str, str] | None = None,
) -> LoadOutcome:
    """Load the campaign at `path` (its campaign.toml, or the folder) into `workspace`.

    Loading the same folder again changes nothing; a run that is kept already only takes up what
    its sheet says anew.

    Parameters
    ----------
    replace_logs
        Runs whose log is read again in place of the saved one, each with the reason.

    Raises
    ------
    BadInput, NotFound
        If a reason is empty, or a run to be given another log is not there.
    StoreError
        If the workspace cannot be opened or written, or knows another campaign of this name.
    """
    folder = (path if path.is_dir() else path.parent).resolve()
    try:
        found = read_folder(path)
    except BadFile as wrong:
        return LoadOutcome(folder, None, 0, 0, 0, wrong.problems)
    store = open_store(workspace, make=True)
    require_same_campaign(store, found.folder)
    key = store.keep_campaign(found.campaign, folder)
    if found.calibration_sheet and found.calibration:
        _keep_calibration(store, key, found.calibration_sheet, found.calibration)
    reasons = {run: read_reason(why) for run, why in (replace_logs or {}).items()}
    replaced = {run: store.find_run(key, run) for run in reasons}
    others, remarks = [], []
    counts = {"loaded": 0, "amended": 0, "unchanged": 0}
    sheet = sheet_mark(found.folder, found.campaign)
    problems = list(found.problems)
    with closing(_traces(store, key, found, reasons.keys())) as traces:
        for done, (ordinal, row, trace) in enumerate(traces, start=1):
            if isinstance(trace, tuple):
                problems += trace
                replaced.pop(row.run, None)
                continue
            outcome: Outcome = "another log"
            if trace != "another log":
                new = False
                if trace is not None and row.run in replaced:
                    new = store.replace_log(replaced.pop(row.run), trace, reasons[row.run])
                    remarks += [] if new else [same_log(row.run)]
                outcome = store.keep_run(key, ordinal, row, trace, sheet)
                outcome = "amended" if new else outcome
            if outcome == "another log":
                problems.append(_another_log(found, row))
                others.append(row.run)
                continue
            counts[outcome] += 1
            if progress:
                progress(done, len(found.rows), row.run)
    problems += [_not_replaced(found, run) for run in replaced]
    return LoadOutcome(
        folder,
        found.campaign.name,
        counts["loaded"],
        counts["amended"],
        counts["unchanged"],
        tuple(problems),
        (*audit_bolts(store, key, found.campaign), *remarks),
        tuple(others),
    )


def same_log(run: str) -> str:
    """That a log was read again in vain."""
    return f"run {run!r}: its log reads as before, so nothing was replaced"


def _not_replaced(found: CampaignFolder, run: str) -> Problem:
    sheet = path_inside(found.folder, found.campaign.runs_sheet, key="runs.sheet")
    what = f"no usable line names a log for run {run!r}, so its log was not replaced"
    return Problem(str(sheet), None, what, "name the log on the run's line")


def read_reason(text: str) -> str:
    """Why a log is replaced.

    Raises
    ------
    BadInput
        If it is empty.
    """
    reason = " ".join(text.split())
    if not reason:
        raise BadInput("the reason is empty", where="--because", allowed="a few words", mend="say why")
    return reason


def _keep_calibration(store: Store, key: int, sheet: Path, rows: Iterable[CalibrationRow]) -> None:
    content = sheet.read_bytes()
    original = (store.keep_original(content), sheet.name, len(content))
    store.keep_calibration(key, original, [row.as_json() for row in rows])


_Refused = tuple[Problem, ...] | Literal["another log"]
_Trace = KeptTrace | None | _Refused


def _traces(
    store: Store, key: int, found: CampaignFolder, again: Collection[str]
) -> Generator[tuple[int, RunRow, _Trace], None, None]:
    """Each run of the sheet, in its order, with its trace on disk or why there is none."""
    stored = store.runs(key)
    known = {run.row.run: run.trace for run in stored if run.trace and run.row.run not in again}
    without_log = {run.row.run for run in stored if not run.trace and run.row.run not in again}
    bench = bench_of(store, found.campaign)
    tasks = [
        (path, known.get(row.run))
        for row in found.rows
        if (path := found.log_path(row)) is not None and row.run not in without_log
    ]
    new = sum(1 for _path, kept in tasks if kept is None)
    workers = 1 if new < _FEW else min(os.cpu_count() or 1, new)
    calls = (delayed(keep_log)(path, kept, bench) for path, kept in tasks)
    with _ended_quietly(Parallel(n_jobs=workers, return_as="generator")(calls)) as results:
        for ordinal, row in enumerate(found.rows):
            if row.log is None:
                yield ordinal, row, None
            else:
                yield ordinal, row, "another log" if row.run in without_log else next(results)


@contextmanager
def _ended_quietly(results: Any) -> Iterator[Any]:
    """Let the workers go when keeping a run fails; that they warn of ending early says nothing to anyone."""
    try:
        yield results
    finally:
        with warnings.catch_warnings():
            warnings.simplefilter("ignore")
            results.close()


@dataclass(frozen=True, slots=True)
class LogBench:
    """What is the same for every log of a campaign."""

    originals: Path
    traces: Path
    sample_rate_hz: float | None
    channel: str | None

    def holds(self, kept: KeptTrace) -> bool:
        """Whether a kept trace's files are whole and no rate or channel given since would change it."""
        return (
            self.sample_rate_hz in (None, kept.sample_rate_hz)
            and self._finds_channel(kept)
            and is_whole(self.traces / f"{kept.sha256}.parquet", kept.sha256)
            and is_whole(self.originals / kept.original_sha256, kept.original_sha256)
        )

    def _finds_channel(self, kept: KeptTrace) -> bool:
        """Whether the judged channel is in it; a file with several clocks may hold it all the same."""
        try:
            pick_name([name for name, _unit in kept.channels], self.channel, kept.original_name)
        except BadFile:
            return False
        return True


def bench_of(store: Store, campaign: Campaign) -> LogBench:
    """How the logs of a campaign are read, and where they go."""
    return LogBench(store.originals, store.traces, campaign.rig.sample_rate_hz, campaign.rig.channel)


def keep_log(path: Path, kept: KeptTrace | None, bench: LogBench) -> KeptTrace | _Refused:
    """Put one log's bytes and samples on disk; every problem with it comes back as data, not raised."""
    try:
        content = path.read_bytes()
        if kept and hashlib.sha256(content).hexdigest() != kept.original_sha256:
            return "another log"
        if kept and bench.holds(kept):
            return kept
        log = read_log(path, sample_rate_hz=bench.sample_rate_hz, channel=bench.channel)
        pick_channel(log, bench.channel)
    except BadFile as wrong:
        return wrong.problems
    except FileNotFoundError:
        mend = "put it there, or mend its name in the run sheet"
        return (Problem(str(path), None, "there is no such log", mend),)
    except OSError as wrong:
        return (Problem(str(path), None, f"cannot be read: {wrong.strerror}", "check what it is"),)
    original = keep_bytes(bench.originals, content, "")
    samples = trace_bytes(log.time, _by_name(log), source=original)
    return KeptTrace(
        sha256=keep_bytes(bench.traces, samples, ".parquet"),
        original_sha256=original,
        original_name=path.name,
        original_bytes=len(content),
        samples=len(log.time),
        sample_rate_hz=log.sample_rate_hz,
        started=log.started,
        channels=tuple((channel.name, channel.unit) for channel in log.channels),
        findings=tuple(asdict(finding) for finding in log.findings),
    )


def _by_name(log: Log) -> dict[str, Any]:
    return {channel.name: channel.values for channel in log.channels}


def _another_log(found: CampaignFolder, row: RunRow) -> Problem:
    sheet = path_inside(found.folder, found.campaign.runs_sheet, key="runs.sheet")
    what = f"run {row.run!r} is kept already, from another log or without one"
    mend = (
        f"a new run needs another name; if its file was corrected, load it with "
        f"--replace-log {shlex.quote(row.run)} --because REASON, or on the page of the run"
    )
    return Problem(str(sheet), row.line, what, mend)
