"""Load what came through the browser: a folder, an archive, or the log of one run again."""

from __future__ import annotations

import secrets
import shlex
import shutil
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import Final

from strikeproof.campaign.archive import unpack_campaign
from strikeproof.campaign.database_server import holds_store
from strikeproof.campaign.files import hash_file
from strikeproof.campaign.folder import read_campaign
from strikeproof.campaign.gate import read_bounded
from strikeproof.campaign.inside import path_inside
from strikeproof.campaign.kept import KeptTrace, StoredRun
from strikeproof.campaign.records import Campaign
from strikeproof.campaign.store import Store, open_store
from strikeproof.campaign.whole_file import write_beside
from strikeproof.capture.keeping import keep_log
from strikeproof.desk.loading.load import LoadOutcome, bench_of, load_campaign
from strikeproof.desk.runs.standing import read_reason
from strikeproof.desk.workspace.opening import open_campaign
from strikeproof.desk.workspace.places import campaign_place, find_campaign_place
from strikeproof.desk.workspace.recognise import require_own_place, require_same_campaign
from strikeproof.errors import BadInput, StoreError, StrikeproofError

__all__ = ["INCOMING", "load_inside", "load_log_again", "load_upload"]

Progress = Callable[[int, int, str], None]

INCOMING: Final = "incoming"
"""Folder of the workspace for what is still on its way."""


def load_inside(workspace: Path, name: str, progress: Progress | None = None) -> LoadOutcome:
    """Load the campaign folder of that name inside the workspace.

    Raises
    ------
    NotFound, StoreError
        If there is no such folder, or the workspace cannot be written.
    """
    return load_campaign(find_campaign_place(workspace, name), workspace, progress)


def load_upload(workspace: Path, archive: str, progress: Progress | None = None) -> LoadOutcome:
    """Unpack an archive that has come in and load what it holds; the archive goes.

    Raises
    ------
    BadInput, BadFile, StoreError
        If it is no ZIP file of one campaign folder, or one of its name is there already.
    """
    incoming = workspace / INCOMING
    path = incoming / Path(archive).name
    unpacked = incoming / secrets.token_hex(8)
    try:
        folder = unpack_campaign(path, unpacked)
        campaign = read_campaign(folder / "campaign.toml")
        target = campaign_place(workspace, campaign.name)
        if target.exists():
            raise StoreError(
                f"a campaign folder {target.name!r} is in this workspace already",
                "load that one, or give the new one another name in its campaign.toml",
            )
        if holds_store(workspace):
            require_same_campaign(open_store(workspace), folder)
        target.parent.mkdir(exist_ok=True)
        folder.rename(target)
        return load_campaign(target, workspace, progress)
    except OSError as cause:
        raise StoreError(
            f"{cause.filename or path}: {cause.strerror}", "check that the disk has room, then try again"
        ) from cause
    finally:
        shutil.rmtree(unpacked, ignore_errors=True)
        path.unlink(missing_ok=True)


def load_log_again(workspace: Path, campaign: str | None, name: str, because: str, *, came: str = "") -> str:
    """Load a run's log again, whatever its bytes, in place of the saved one; returns a sentence that says so.

    Where the campaign's folder is in this workspace, a corrected file that came in replaces the one there
    too, which is saved beside.

    Parameters
    ----------
    because
        Why; it stays in the run's history with the log before.
    came
        Under which name a corrected file came in; without one, the log in the campaign's folder is read.

    Raises
    ------
    BadInput, NotFound
        If the reason is empty, there is no such run, its line names no log, or the log reads as before.
    BadFile
        If the file cannot be read as a log.
    StoreError
        If the file is gone, or the workspace cannot be written.
    """
    incoming = workspace / INCOMING / Path(came).name if came else None
    try:
        reason = read_reason(because, "why")
        store, key, found = open_campaign(workspace, campaign)
        run = store.find_run(key, name)
        home = store.campaign_folder(key)
        if run.row.log is None:
            again = ["strikeproof", "load", str(home), "-w", str(workspace), "--replace-log", name]
            again += ["--because", reason]
            raise BadInput(
                "its line names no log",
                where=f"run {name!r}",
                allowed="a run with a log",
                fix=f"name the log in the run sheet, then: {shlex.join(again)}",
            )
        if incoming is None:
            path = path_inside(home, found.logs_folder, run.row.log, key="log")
            return _replace(store, found, run, path, reason)
        with _named(incoming, run.row.log) as path:
            said = _replace(store, found, run, path, reason)
            for place in {home, *_own_place(store, found)}:
                said += _put(path, place, workspace, found, run)
        return said
    finally:
        if incoming is not None:
            incoming.unlink(missing_ok=True)


def _own_place(store: Store, campaign: Campaign) -> tuple[Path, ...]:
    """The campaign's folder in the workspace, where it is there and not that of another campaign."""
    place = campaign_place(store.folder, campaign.name)
    try:
        require_own_place(store, place, campaign)
    except StrikeproofError:
        return ()
    return (place,)


@contextmanager
def _named(incoming: Path, log: str) -> Iterator[Path]:
    """A file that came in, under the name of the log that it replaces."""
    folder = incoming.with_name(f"{incoming.name}.again")
    try:
        folder.mkdir()
        yield incoming.rename(folder / Path(log).name)
    except FileNotFoundError as cause:
        raise StoreError("the file did not come in", "send it again") from cause
    finally:
        shutil.rmtree(folder, ignore_errors=True)


def _replace(store: Store, campaign: Campaign, run: StoredRun, path: Path, reason: str) -> str:
    if not path.is_file():
        raise StoreError(f"{path}: is gone", "put the file there, or send the corrected one")
    trace: KeptTrace = read_bounded(path, keep_log, path, bench_of(store, campaign, run.row))
    if not store.replace_log(run, trace, reason):
        raise BadInput(
            "its log reads as before, so nothing was replaced",
            where=f"run {run.row.run!r}",
            allowed="a corrected file, or one that is read in another way now",
            fix="correct the file, or the rig's channel and rate in campaign.toml",
        )
    return f"run {run.row.run} has its new log; the one before stays in its history"


def _put(path: Path, place: Path, workspace: Path, campaign: Campaign, run: StoredRun) -> str:
    """Put a corrected log where a folder of the campaign has the one that it replaces; what to say of it."""
    target = path_inside(place, campaign.logs_folder, str(run.row.log), key="log")
    if not target.is_file() or run.trace is None or hash_file(target) != run.trace.original_sha256:
        return ""
    if not target.resolve().is_relative_to(workspace.resolve()):
        return f". Put the corrected file into {target.parent} too"
    write_beside(target, path.read_bytes())
    return ""
