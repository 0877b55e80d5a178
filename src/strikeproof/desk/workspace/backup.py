"""A whole workspace, copied while others write in it, and brought back; both are verified as `check` does.

The database is copied first, by its own online backup; every trace and original that it names is on the disk
by then, under the hash of its bytes, and never changes. A backup appears under its name when all of it is on
the disk; until then the one before stays.
"""

from __future__ import annotations

import contextlib
import errno
import os
import secrets
import shutil
import sqlite3
import zipfile
import zlib
from collections.abc import Iterator
from dataclasses import dataclass, replace
from datetime import UTC, datetime
from lzma import LZMAError
from pathlib import Path
from typing import Any

import strikeproof
from strikeproof.campaign.database import copy_database
from strikeproof.campaign.files import hash_file, is_whole
from strikeproof.campaign.store import Store, open_store
from strikeproof.campaign.whole_file import (
    make_folder,
    put_back_folder,
    sync_folder,
    whole_folder,
    write_whole,
)
from strikeproof.desk.workspace.backup_files import (
    LIST,
    BackupList,
    Kept,
    LastBackup,
    copy_file,
    is_regular,
    note_backup,
    open_backup,
    own_files,
    write_archive,
)
from strikeproof.desk.workspace.check import CheckOutcome, check_workspace
from strikeproof.errors import Problem, StoreError

__all__ = ["BackupOutcome", "back_up", "restore"]

_ARCHIVE = ".zip"
_NO_ROOM = (errno.ENOSPC, errno.EDQUOT, errno.EFBIG)
# What reading a damaged file or member of an archive raises.
_DAMAGED = (OSError, EOFError, KeyError, ValueError, RuntimeError, zipfile.BadZipFile, zlib.error, LZMAError)


@dataclass(frozen=True, slots=True)
class BackupOutcome:
    """A backup that was made, or brought back: where, what is in it, and what is wrong with that."""

    place: Path
    made_at: str
    runs: int
    files: int
    size: int
    problems: tuple[Problem, ...]


def back_up(workspace: Path, place: Path) -> BackupOutcome:
    """Copy a workspace to a folder, or to one file where `place` ends in .zip.

    What is damaged in the workspace is taken from the backup before, where it is complete there.

    Raises
    ------
    StoreError
        If the workspace cannot be read or its database is damaged, or if `place` holds something else, the
        backup of another workspace, or one with more runs. What was there stays.
    """
    store = open_store(workspace)
    try:
        _refuse_inside(workspace, place)
        before = _before(place)
        if place.suffix == _ARCHIVE:
            with _staging(place) as new:
                outcome = _fill(store, new / "content", place, before, None)
                write_archive(new / "content", new / "archive")
                (new / "archive").replace(place)
                sync_folder(place.parent)
        else:
            with whole_folder(place) as new:
                outcome = _fill(store, new, place, before, place)
    finally:
        store.engine.dispose()
    # A workspace that cannot be written can be backed up all the same.
    with contextlib.suppress(StoreError):
        note_backup(workspace, LastBackup(outcome.made_at, str(place.resolve())))
    return outcome


def _refuse_inside(workspace: Path, place: Path) -> None:
    mine, there = workspace.resolve(), place.resolve()
    if there.is_relative_to(mine) or mine.is_relative_to(there):
        raise StoreError(f"{place}: is within the workspace, or around it", "choose a place on another disk")


def _before(place: Path) -> BackupList | None:
    """The list of the backup that is there; None where nothing is."""
    put_back_folder(place)
    if not place.exists() or (place.is_dir() and not any(place.iterdir())):
        return None
    try:
        with open_backup(place) as (found, _files):
            return found
    except StoreError as wrong:
        raise StoreError(wrong.problem, "move it away, or choose another place for the backup") from wrong


@contextlib.contextmanager
def _staging(place: Path) -> Iterator[Path]:
    new = place.with_name(f".{place.name[:40]}.{secrets.token_hex(4)}.part")
    try:
        make_folder(new)
        yield new
    except OSError as cause:
        raise StoreError(
            f"{place}: cannot be written: {cause.strerror}", "free some disk space or choose another place"
        ) from cause
    finally:
        shutil.rmtree(new, ignore_errors=True)


def _fill(store: Store, new: Path, place: Path, before: BackupList | None, old: Path | None) -> BackupOutcome:
    """Put a whole backup into the new folder `new`; `old` is the folder of the one before."""
    new.mkdir(exist_ok=True)
    copy_database(store.engine, new / "strikeproof.db")
    files: dict[str, Kept] = {}
    for name, digest in _named_by(new / "strikeproof.db"):
        kept = _take(store.folder / name, new / name, digest, None if old is None else old / name)
        if kept is not None:
            files[name] = kept
    problems = _copy_own(store.folder, new, files)
    checked = check_workspace(new)
    if checked.is_unreadable:
        raise StoreError(
            f"{store.folder}: not backed up: {checked.problems[0].problem}",
            "restore it from the backup before",
        )
    campaigns, made_at = _identities(new / "strikeproof.db"), datetime.now(UTC).isoformat(timespec="seconds")
    _refuse_another(place, before, campaigns, checked)
    database = new / "strikeproof.db"
    files["strikeproof.db"] = Kept(hash_file(database), database.stat().st_size)
    listed = BackupList(
        made_at,
        str(store.folder.resolve()),
        strikeproof.__version__,
        campaigns,
        checked.runs,
        dict(sorted(files.items())),
    )
    write_whole(new / LIST, listed.as_bytes())
    moved = (_of_source(each, new, store.folder) for each in checked.problems)
    return _outcome(place, listed, (*problems, *moved))


def _of_source(problem: Problem, new: Path, workspace: Path) -> Problem:
    """What is wrong with the copy, said of the file it was to be copied from."""
    source = _there(problem.file, new, workspace)
    if Path(source).is_file() and not Path(problem.file).exists():
        what = "this file is damaged, so it is not in the backup: its bytes do not match its name"
        return replace(problem, file=source, problem=what)
    return replace(problem, file=source)


def _outcome(place: Path, listed: BackupList, problems: tuple[Problem, ...]) -> BackupOutcome:
    size = sum(each.size for each in listed.files.values())
    return BackupOutcome(place, listed.made_at, listed.runs, len(listed.files), size, problems)


def _there(file: str, new: Path, folder: Path) -> str:
    path = Path(file)
    return str(folder / path.relative_to(new)) if path.is_relative_to(new) else file


def _rows(database: Path, question: str) -> list[tuple[Any, ...]]:
    with contextlib.closing(sqlite3.connect(database)) as raw:
        try:
            return raw.execute(question).fetchall()
        except sqlite3.DatabaseError as cause:
            raise StoreError(f"the database cannot be copied: {cause}", "run `strikeproof check`") from cause


def _named_by(database: Path) -> Iterator[tuple[str, str]]:
    """Path and hash of every trace and original that the database names."""
    for (digest,) in _rows(database, "SELECT sha256 FROM trace"):
        yield f"traces/{digest}.parquet", digest
    for (digest,) in _rows(database, "SELECT sha256 FROM original"):
        yield f"originals/{digest}", digest


def _identities(database: Path) -> tuple[str, ...]:
    return tuple(sorted(str(each) for (each,) in _rows(database, "SELECT identity FROM campaign")))


def _take(source: Path, target: Path, digest: str, old: Path | None) -> Kept | None:
    """A file of the store from the backup before, or the workspace; None where neither has it whole."""
    target.parent.mkdir(exist_ok=True)
    if old is not None and is_whole(old, digest):
        with contextlib.suppress(OSError):  # some file systems have no second names for a file
            os.link(old, target)
            return Kept(digest, target.stat().st_size)
    for path in (source, old):
        if path is None or not path.is_file():
            continue
        with path.open("rb") as stream:
            kept = copy_file(stream, target)
        if kept.sha256 == digest:
            return kept
        target.unlink()
    return None


def _copy_own(workspace: Path, new: Path, files: dict[str, Kept]) -> tuple[Problem, ...]:
    """Copy all that is in no store: campaigns' folders, designs, prices; what cannot be copied is named."""
    problems = []
    for path in own_files(workspace):
        name = path.relative_to(workspace).as_posix()
        try:
            if not is_regular(path):
                fix = "put the file itself there, or back it up by other means"
                problems.append(Problem(str(path), None, "is a link or no regular file: not backed up", fix))
                continue
            with path.open("rb") as stream:
                files[name] = copy_file(stream, new / name)
        except FileNotFoundError:  # written again meanwhile, or moved: the next backup has it
            continue
        except PermissionError:
            problems.append(
                Problem(str(path), None, "may not be read: not backed up", "check its permissions")
            )
    return tuple(problems)


def _refuse_another(
    place: Path, before: BackupList | None, campaigns: tuple[str, ...], checked: CheckOutcome
) -> None:
    """A workspace that was lost, or mistaken for another, must not take the place of a good backup."""
    if before is None:
        return
    if before.campaigns and not set(before.campaigns) & set(campaigns):
        raise StoreError(f"{place}: holds the backup of another workspace", "choose another place")
    if before.runs > checked.runs:
        raise StoreError(
            f"{place}: holds a backup with {before.runs} runs, and the workspace has only {checked.runs}",
            "find out why; to back it up as it is, choose another place",
        )


def restore(place: Path, workspace: Path) -> BackupOutcome:
    """Bring a backup back into a new folder; each file is verified, and then the whole as `check` does.

    A file that is damaged in the backup is named and left out.

    Raises
    ------
    StoreError
        If there is something at `workspace`, no backup at `place`, or its database is damaged or newer.
    """
    if workspace.exists() and (not workspace.is_dir() or any(workspace.iterdir())):
        raise StoreError(f"{workspace}: something is there already", "choose a folder that is new or empty")
    put_back_folder(place)
    with open_backup(place) as (listed, files), whole_folder(workspace) as new:
        problems = []
        for name, kept in listed.files.items():
            try:
                with files.open(name) as stream:
                    found = copy_file(stream, new / name, kept.size)
            except _DAMAGED as cause:
                if isinstance(cause, OSError) and cause.errno in _NO_ROOM:
                    raise
                problems.append(_damaged(place, name, str(cause)))
                (new / name).unlink(missing_ok=True)
                continue
            if found != kept:
                problems.append(_damaged(place, name, "its bytes do not match"))
                (new / name).unlink()
        if not (new / "strikeproof.db").is_file():
            raise StoreError(f"{place}: the database in it is missing or damaged", "use an earlier backup")
        checked = check_workspace(new)
        if checked.is_unreadable:
            raise StoreError(f"{place}: {checked.problems[0].problem}", "use an earlier backup")
        moved = (replace(each, file=_there(each.file, new, workspace)) for each in checked.problems)
        note_backup(new, LastBackup(listed.made_at, str(place.resolve())))
    return _outcome(workspace, listed, (*problems, *moved))


def _damaged(place: Path, name: str, what: str) -> Problem:
    return Problem(
        str(place / name), None, f"damaged in the backup: {what}", "take it from an earlier backup"
    )
