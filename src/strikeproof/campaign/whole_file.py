"""The one writer of files that a person keeps: what was there stays until all of the new is on disk."""

from __future__ import annotations

import errno
import glob
import os
import re
import secrets
import shutil
from collections.abc import Iterator
from contextlib import contextmanager, suppress
from datetime import datetime
from pathlib import Path
from typing import Final

from strikeproof.errors import StoreError

__all__ = [
    "FULL",
    "is_waiting",
    "make_folder",
    "name_new",
    "put_back_folder",
    "sync_folder",
    "whole_folder",
    "write_beside",
    "write_whole",
]


def write_whole(path: Path, content: str | bytes) -> None:
    """Put `content` in place of the file at `path`, whatever instant the machine stops at.

    It is written under a temporary name in the same folder, synced, renamed, and the folder synced.
    Permissions stay, a link stays a link, and what is no file (a pipe) is written straight.

    Raises
    ------
    StoreError
        If the disk is full or the folder cannot be written.
    """
    data = content.encode() if isinstance(content, str) else content
    try:
        if path.exists() and not path.is_file() and not path.is_dir():
            path.write_bytes(data)
        else:
            _put(path.resolve(), data)
    except OSError as cause:
        raise StoreError(
            f"{path}: cannot be written: {cause.strerror}", "free some disk space or check the permissions"
        ) from cause


FULL: Final = (errno.ENOSPC, errno.EDQUOT, errno.EFBIG)
"""Error numbers of a disk that is full, for this person or this file."""


def name_new(waiting: Path, path: Path) -> None:
    """Give a file that is on the disk its name, unless something has that name: nobody's file is replaced.

    Raises
    ------
    FileExistsError
        If there is something at `path`.
    OSError
        If the folder cannot be written.
    """
    try:
        os.link(waiting, path)
    except FileExistsError:
        raise
    except OSError:  # some file systems have no second names for a file
        if path.exists():
            raise FileExistsError(errno.EEXIST, os.strerror(errno.EEXIST), str(path)) from None
        waiting.rename(path)
    waiting.unlink(missing_ok=True)
    sync_folder(path.parent)


def _put(path: Path, data: bytes) -> None:
    waiting = path.with_name(f".{path.name[:40]}.{secrets.token_hex(4)}.part")  # as `is_waiting` knows it
    try:
        with waiting.open("xb") as stream:
            stream.write(data)
            stream.flush()
            os.fsync(stream.fileno())
        if path.exists():
            shutil.copymode(path, waiting)
        waiting.replace(path)
    except BaseException:
        waiting.unlink(missing_ok=True)
        raise
    sync_folder(path.parent)


_WAITING = re.compile(r"\..*\.[0-9a-f]{8}\.part", re.DOTALL)


def is_waiting(path: Path) -> bool:
    """Whether this is a file under the temporary name of the writer, whose writing may have been cut off."""
    return _WAITING.fullmatch(path.name) is not None and path.is_file() and not path.is_symlink()


def write_beside(path: Path, content: str | bytes) -> Path | None:
    """The same, and the version before is saved beside it, with its date in its name.

    For files that a person may have filled by hand.

    Returns
    -------
    Path or None
        Where the version before is; None when there was none, or it says the same.

    Raises
    ------
    StoreError
        If the disk is full or the folder cannot be written.
    """
    data = content.encode() if isinstance(content, str) else content
    try:
        before = path.read_bytes() if path.is_file() else b""
    except OSError as cause:
        raise StoreError(f"{path}: cannot be read: {cause.strerror}", "check its permissions") from cause
    saved = None
    if before.strip() and before != data:
        saved = _free_name(path, datetime.now())
        write_whole(saved, before)
    write_whole(path, data)
    return saved


def _free_name(path: Path, at: datetime) -> Path:
    stem, number = f"{path.stem}.before-{at:%Y-%m-%d-%H%M%S}", 1
    name = path.with_name(f"{stem}{path.suffix}")
    while name.exists():
        number += 1
        name = path.with_name(f"{stem}-{number}{path.suffix}")
    return name


@contextmanager
def whole_folder(folder: Path) -> Iterator[Path]:
    """A folder to fill; filled, it takes the place of `folder` and of all that was in it.

    Raises
    ------
    StoreError
        If it cannot be made or put in place.
    """
    mark = secrets.token_hex(4)
    new, old = (folder.with_name(f".{folder.name[:40]}.{mark}.{word}") for word in ("part", "old"))
    try:
        try:
            new.mkdir(parents=True)
            yield new
            for path in (*new.rglob("*"), new):
                if path.is_dir():
                    sync_folder(path)
            if folder.exists():
                folder.rename(old)
            new.rename(folder)
            sync_folder(folder.parent)
        except BaseException:
            shutil.rmtree(new, ignore_errors=True)
            if old.exists() and not folder.exists():
                old.rename(folder)
            raise
    except OSError as cause:
        raise StoreError(
            f"{folder}: cannot be written: {cause.strerror}", "free some disk space or choose another place"
        ) from cause
    shutil.rmtree(old, ignore_errors=True)


def put_back_folder(folder: Path) -> None:
    """Restore what `whole_folder` had moved away when it was killed between its two renames."""
    if folder.exists():
        return
    moved = list(folder.parent.glob(f".{glob.escape(folder.name[:40])}.*.old"))
    if len(moved) == 1:
        with suppress(OSError):  # such as on a disk that is read-only
            moved[0].rename(folder)
            sync_folder(folder.parent)


def make_folder(folder: Path) -> None:
    """Make a folder and those above it, where they are not there yet, so that they outlast a power cut.

    Raises
    ------
    OSError
        If it cannot be made.
    """
    missing = [each for each in (folder, *folder.parents) if not each.exists()]
    folder.mkdir(parents=True, exist_ok=True)
    for each in missing:
        sync_folder(each.parent)


def sync_folder(folder: Path) -> None:
    """Make what was made or renamed in a folder last: that takes a sync of the folder itself."""
    handle = os.open(folder, os.O_RDONLY)
    try:
        os.fsync(handle)
    finally:
        os.close(handle)
