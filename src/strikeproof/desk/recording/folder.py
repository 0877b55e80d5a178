"""The folder of a campaign that is recorded live: an ordinary campaign folder inside the workspace.

Whoever records in it holds its lock, so that a recording that grows is never taken for one that was cut.
"""

from __future__ import annotations

import fcntl
from collections.abc import Iterable, Iterator
from contextlib import contextmanager
from dataclasses import asdict, replace
from pathlib import Path
from typing import Any, Final

from strikeproof.campaign.files import read_original
from strikeproof.campaign.folder import read_campaign
from strikeproof.campaign.inside import path_inside
from strikeproof.campaign.kept import KeptTrace, StoredRun
from strikeproof.campaign.records import Campaign
from strikeproof.campaign.run_sheet import read_run_sheet
from strikeproof.campaign.store import Store
from strikeproof.campaign.toml_document import merge_document
from strikeproof.campaign.toml_reader import read_toml
from strikeproof.campaign.whole_file import make_folder, sync_folder, write_whole
from strikeproof.desk.planning.plan import as_cells, plan_campaign
from strikeproof.desk.recording.remaining import Cells
from strikeproof.desk.setting_up.run_rows import hold_sheet, read_head, read_run_cells, write_run_cells
from strikeproof.desk.workspace.places import campaign_place
from strikeproof.desk.workspace.recognise import is_same_campaign, require_own_place
from strikeproof.errors import BadFile, BadInput, InUse, StoreError

__all__ = ["BESIDE", "RecordFolder", "open_record_folder", "take_sheet"]

BESIDE: Final = "not-runs"
"""Folder of a campaign for recordings that are no runs; nothing reads it, a person may."""

_COPIED = ("campaign.toml", "materials.toml")


class RecordFolder:
    """Sheet and logs of one campaign, held by one recorder at a time.

    `problems` are what a person should know of logs that could not be copied into it.

    Raises
    ------
    InUse
        If another program records in it.
    StoreError
        If it cannot be written.
    BadFile
        If the campaign names a sheet or logs outside the folder.
    """

    def __init__(self, path: Path, campaign: Campaign) -> None:
        self.path, self._logs_name = path, campaign.logs_folder
        self.logs = path_inside(path, campaign.logs_folder, key="runs.logs")
        self._sheet = path_inside(path, campaign.runs_sheet, key="runs.sheet")
        try:
            make_folder(self.logs)
            self._lock = (path / ".recording.lock").open("w")
        except OSError as cause:
            raise StoreError(
                f"{path}: cannot be written: {cause.strerror}", "check its permissions"
            ) from cause
        try:
            fcntl.flock(self._lock, fcntl.LOCK_EX | fcntl.LOCK_NB)
        except OSError as cause:
            self._lock.close()
            raise InUse(f"{path}: another program records in it", "end the other recorder first") from cause
        self._is_held = False
        self._seen, self._head = b"", ""
        self.lines: list[Cells] = []
        self.problems: list[str] = []

    def close(self) -> None:
        """Let another recorder in."""
        self._lock.close()

    @property
    def sheet_mark(self) -> str:
        """What separates its sheet from any other."""
        return str(self._sheet.resolve())

    def copy_words(self, run: StoredRun) -> None:
        """Let a run's line say what the store does of it, in the cells that a person may change."""
        line = next(each for each in self.lines if each["run"] == run.row.run)
        said = _line_of(run)
        for name in ("tool", "article", "block", "bolt", "started", "set_aside", "note"):
            if name in said:
                line[name] = said[name]
            else:
                line.pop(name, None)

    @contextmanager
    def hold(self) -> Iterator[None]:
        """Let nobody else rewrite the sheet meanwhile; holds within one another are one.

        Raises
        ------
        InUse
            If somebody else rewrites it and does not end.
        """
        if self._is_held:
            yield
            return
        with hold_sheet(self.path):
            self._is_held = True
            try:
                yield
            finally:
                self._is_held = False

    @property
    def is_changed(self) -> bool:
        """Whether somebody else has written the sheet; one that is gone is written again."""
        return _bytes_of(self._sheet) not in (b"", self._seen)

    def read(self) -> None:
        """Take the sheet as it is on the disk.

        Raises
        ------
        BadFile
            If it cannot be read; the lines stay as they were.
        """
        self.lines, self._head, self._seen = (
            read_run_cells(self._sheet),
            read_head(self._sheet),
            _bytes_of(self._sheet),
        )

    def write(self) -> Path | None:
        """Put the lines on disk, whole or not at all; returns where a sheet changed by hand was saved."""
        changed = _bytes_of(self._sheet) != self._seen
        saved = write_run_cells(self._sheet, self.lines, self._head, filled_by_hand=changed)
        self._seen = _bytes_of(self._sheet)
        return saved

    def mark_simulated(self) -> Campaign:
        """Let campaign.toml say that its runs are invented; the campaign as it then is."""
        path = self.path / "campaign.toml"
        tables, text = read_toml(path)
        tables.setdefault("campaign", {})["simulated"] = True
        write_whole(path, merge_document(text, tables))
        return read_campaign(path)

    def made_by_file(self) -> set[str]:
        """Runs whose log lies in the folder."""
        found = {line["run"]: self.log_path(line.get("log")) for line in self.lines}
        return {run for run, path in found.items() if path is not None and path.is_file()}

    def log_path(self, log: str | None) -> Path | None:
        """Where a log is; None where a run names none, or one outside the campaign's folder."""
        try:
            return path_inside(self.path, self._logs_name, log, key="log") if log else None
        except BadFile:
            return None

    def orphans(self, known: Iterable[str]) -> list[Path]:
        """Recordings that belong to no run: what a killed recorder left."""
        names = set(known)
        return sorted(path for path in self.logs.glob("*.arrows") if path.name not in names)

    def set_beside(self, path: Path) -> str:
        """Move a recording that is no run to a folder of its own; returns where, from the campaign's folder.

        Raises
        ------
        StoreError
            If it cannot be moved.
        """
        place = self.path / BESIDE
        try:
            make_folder(place)
            target, number = place / path.name, 1
            while target.exists():
                number += 1
                target = place / f"{path.stem}.{number}{path.suffix}"
            path.rename(target)
            sync_folder(place)
            sync_folder(path.parent)
        except OSError as cause:
            raise StoreError(
                f"{path}: cannot be moved to {place}: {cause.strerror}", "check the folder's permissions"
            ) from cause
        return f"{BESIDE}/{target.name}"

    def new_log(self, run: str) -> Path:
        """A name for a recording that no file has yet."""
        word = "".join(each if each.isalnum() or each in "-_." else "_" for each in run)
        path, number = self.logs / f"{word}.arrows", 1
        while path.exists():
            number += 1
            path = self.logs / f"{word}.{number}.arrows"
        return path


def _bytes_of(sheet: Path) -> bytes:
    return sheet.read_bytes() if sheet.is_file() else b""


def open_record_folder(store: Store, key: int, campaign: Campaign) -> RecordFolder:
    """The campaign's folder in the workspace, made on the first recording of one loaded from elsewhere.

    It is given the plan where the sheet holds none, and a copy of every log that was loaded before.

    Raises
    ------
    StoreError, BadInput, BadFile
        If the folder the campaign came from is gone, or the folder cannot be used for recording or holds
        another campaign.
    """
    if not campaign.runs_sheet.lower().endswith(".csv"):
        raise BadInput(
            repr(campaign.runs_sheet),
            where="runs.sheet",
            allowed="a CSV file",
            fix="live runs are written as CSV: save the sheet as runs.csv and name it in campaign.toml",
        )
    place = campaign_place(store.folder, campaign.name)
    if not (place / "campaign.toml").is_file():
        _make(store, key, campaign, place)
    require_own_place(store, place, campaign)
    folder = RecordFolder(place, campaign)
    try:
        take_sheet(store, key, campaign, folder)
    except BaseException:
        folder.close()
        raise
    return folder


def take_sheet(store: Store, key: int, campaign: Campaign, folder: RecordFolder) -> Path | None:
    """Take the sheet as it is on the disk, and let it say of every stored run what the store says.

    Returns
    -------
    Path or None
        Where the sheet that was there is saved, if it said more.

    Raises
    ------
    InUse, BadFile, StoreError
        If somebody else is writing it, or it cannot be read or written.
    """
    with folder.hold():
        folder.read()
        _take_up(store, key, campaign, folder)
        runs = store.runs(key)
        _bring_in(store, folder, runs)
        if not folder.lines:
            folder.lines = _planned(folder.path)
        saved = folder.write()
        store.know_sheet(folder.sheet_mark, runs)
        return saved


def _make(store: Store, key: int, campaign: Campaign, place: Path) -> None:
    source = store.campaign_folder(key)
    if not (source / "campaign.toml").is_file():
        raise StoreError(
            f"{source}: the campaign's folder is gone",
            "move it back, or load the campaign from where it is now",
        )
    now = read_campaign(source / "campaign.toml")
    if now.name != campaign.name or not is_same_campaign(store, source, now):
        raise StoreError(f"{source}: holds another campaign now", "load the campaign from where it is now")
    rigs = [campaign.on_rig(name) for name in campaign.rig_names]
    sheets = [each.calibration.sheet for each in rigs if each.calibration is not None]
    names = [*_COPIED, campaign.runs_sheet, *sheets]
    try:
        make_folder(place)
        for name in reversed(names):  # campaign.toml last: with it the folder is there
            there = path_inside(source, name, key=name)
            if there.is_file():
                target, content = path_inside(place, name, key=name), there.read_bytes()
                write_whole(target, _identified(store, campaign, there) if name == _COPIED[0] else content)
    except OSError as cause:
        raise StoreError(f"{place}: cannot be made: {cause.strerror}", "free some disk space") from cause


def _identified(store: Store, campaign: Campaign, path: Path) -> str:
    """The text of a campaign.toml, with the identity that the workspace knows the campaign by."""
    tables, text = read_toml(path)
    known = store.known_campaign(campaign.name)
    if known is None or "id" in tables["campaign"]:
        return text
    tables["campaign"]["id"] = known.identity
    return merge_document(text, tables)


def _take_up(store: Store, key: int, campaign: Campaign, folder: RecordFolder) -> None:
    """What a person wrote on the sheet of stored runs since it was last read or written."""
    kept = {run.row.run: run for run in store.runs(key)}
    if not kept.keys() & {line.get("run") for line in folder.lines}:
        return
    rows, _problems = read_run_sheet(folder.path / campaign.runs_sheet, campaign)
    for row in rows:
        run = kept.get(row.run)
        if run is not None:  # its log is that of the store, however the sheet's copy calls it
            known = replace(row, log=run.row.log)
            store.keep_run(key, run.ordinal, known, run.trace, folder.sheet_mark)


def _bring_in(store: Store, folder: RecordFolder, kept: Iterable[StoredRun]) -> None:
    """A line and a log for every stored run, so that the folder alone holds the whole campaign."""
    lines = {line["run"]: line for line in folder.lines}
    for run in kept:
        line = lines.get(run.row.run)
        if line is None:
            folder.lines.append(_line_of(run))
        else:
            folder.copy_words(run)
            if run.row.log:
                line["log"] = run.row.log
        if run.trace is not None and run.row.log:
            target = folder.log_path(run.row.log)
            if target is not None and not target.exists():
                _copy(store, run.trace, target, folder)


def _copy(store: Store, trace: KeptTrace, target: Path, folder: RecordFolder) -> None:
    try:
        content = read_original(store.originals, trace.original_sha256, trace.original_name)
    except StoreError as wrong:  # a log that is damaged must not keep the next run from being recorded
        folder.problems.append(str(wrong))
        return
    try:
        make_folder(target.parent)
        write_whole(target, content)
    except OSError as cause:
        raise StoreError(f"{target}: cannot be written: {cause.strerror}", "free some disk space") from cause


def _line_of(run: StoredRun) -> Cells:
    told: dict[str, Any] = {**asdict(run.row), "set_aside": run.set_aside}
    return {name: str(value) for name, value in told.items() if value is not None and name != "line"}


def _planned(place: Path) -> list[Cells]:
    """The plan that the campaign file asks for; none where it does not say how many repeats."""
    try:
        return [as_cells(run) for run in plan_campaign(place).runs]
    except BadInput:
        return []
