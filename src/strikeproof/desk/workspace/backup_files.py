"""What a backup consists of: files with hash and size, a list that proves itself; the last backup."""

from __future__ import annotations

import hashlib
import json
import os
import shutil
import stat
import zipfile
from collections.abc import Iterator, Mapping
from contextlib import ExitStack, contextmanager
from dataclasses import asdict, dataclass
from datetime import UTC, datetime
from pathlib import Path, PurePosixPath
from typing import IO, Any, Final

from strikeproof.campaign.whole_file import write_whole
from strikeproof.campaign.zip_file import DAMAGED_ZIP
from strikeproof.errors import StoreError

__all__ = [
    "LIST",
    "BackupList",
    "Kept",
    "LastBackup",
    "copy_file",
    "is_regular",
    "last_backup",
    "note_backup",
    "open_backup",
    "own_files",
    "read_list",
    "write_archive",
]

LIST: Final = "backup.json"
_FORM: Final = 1
_CHUNK: Final = 1 << 20
_STORE_FOLDERS: Final = ("traces", "originals")
_PACKED: Final = (".parquet", ".zip", ".png", ".xlsx", ".jpg", ".jpeg", ".webp", ".gz")
_EPOCH: Final = (1980, 1, 1, 0, 0, 0)  # the first that a ZIP file can name
_UNIX: Final = 3
_DATABASE: Final = ("strikeproof.db", "database.url")  # a backup has the database itself, as a file


@dataclass(frozen=True, slots=True)
class Kept:
    """One file of a backup."""

    sha256: str
    size: int


@dataclass(frozen=True, slots=True)
class BackupList:
    """What a backup holds: of which workspace, when, its campaigns by identity, runs, and files by path."""

    made_at: str
    workspace: str
    version: str
    campaigns: tuple[str, ...]
    runs: int
    files: Mapping[str, Kept]

    def as_bytes(self) -> bytes:
        """As it is written, with a hash of itself."""
        body = {"form": _FORM, **asdict(self)}
        return json.dumps({**body, "sha256": _hash_of(body)}, indent=1).encode()


def _hash_of(body: Mapping[str, Any]) -> str:
    return hashlib.sha256(json.dumps(body, sort_keys=True).encode()).hexdigest()


def read_list(content: bytes, place: Path) -> BackupList:
    """The list of a backup at `place`.

    Raises
    ------
    StoreError
        If it is damaged, of a newer program, or names a file outside the backup.
    """
    try:
        body = json.loads(content)
        said = body.pop("sha256")
        if body["form"] > _FORM:
            raise StoreError(f"{place}: backed up by a newer Strikeproof", "update Strikeproof")
        if said != _hash_of(body):
            raise ValueError(said)
        files = {name: Kept(**each) for name, each in body["files"].items()}
        found = BackupList(
            body["made_at"],
            body["workspace"],
            body["version"],
            tuple(body["campaigns"]),
            body["runs"],
            files,
        )
    except (ValueError, TypeError, KeyError, AttributeError, RecursionError) as cause:
        raise StoreError(f"{place}: its {LIST} is damaged", "use an earlier backup") from cause
    for name in files:
        parts = PurePosixPath(name).parts
        if PurePosixPath(name).is_absolute() or ".." in parts or "\\" in name or not parts:
            raise StoreError(f"{place}: names a file outside it: {name!r}", "use another backup")
    return found


@contextmanager
def open_backup(place: Path) -> Iterator[tuple[BackupList, _Opened]]:
    """The list of a backup, folder or archive, and what opens its files.

    Raises
    ------
    StoreError
        If there is no backup there, or its list is damaged.
    """
    with ExitStack() as stack:
        try:
            source = place if place.is_dir() else stack.enter_context(zipfile.ZipFile(place))
            content = (source / LIST).read_bytes() if isinstance(source, Path) else source.read(LIST)
        except (FileNotFoundError, KeyError, zipfile.BadZipFile) as cause:
            raise StoreError(f"{place}: no backup is there", "name the folder or file of a backup") from cause
        except OSError as cause:
            raise StoreError(f"{place}: cannot be read: {cause.strerror}", "check the disk") from cause
        except DAMAGED_ZIP as cause:
            raise StoreError(f"{place}: its list is damaged: {cause}", "use another backup") from cause
        yield read_list(content, place), _Opened(source)


@dataclass(frozen=True, slots=True)
class _Opened:
    source: Path | zipfile.ZipFile

    def open(self, name: str) -> IO[bytes]:
        """One file of the backup, to be read."""
        if isinstance(self.source, Path):
            return (self.source / name).open("rb")
        return self.source.open(name)


def copy_file(stream: IO[bytes], target: Path, most: int | None = None) -> Kept:
    """Put what is read on the disk, synced; no more than `most` bytes of it."""
    target.parent.mkdir(parents=True, exist_ok=True)
    digest, size = hashlib.sha256(), 0
    with target.open("xb") as out:
        while chunk := stream.read(_CHUNK if most is None else min(_CHUNK, most + 1 - size)):
            digest.update(chunk)
            size += len(chunk)
            if most is not None and size > most:
                break
            out.write(chunk)
        out.flush()
        os.fsync(out.fileno())
    return Kept(digest.hexdigest(), size)


def own_files(workspace: Path) -> Iterator[Path]:
    """All regular files of a workspace beside its database, traces and originals; links are not followed.

    The files of a folder come before those in the folders within it: the sheet before the logs that it names.
    """
    for folder, folders, names in os.walk(workspace):
        here = Path(folder)
        if here == workspace:
            folders[:] = [each for each in folders if each not in _STORE_FOLDERS]
        folders.sort()
        for name in sorted(names):
            is_own = not name.endswith((".part", ".lock")) and name not in (LIST, _NOTE)
            if is_own and not (here == workspace and name.startswith(_DATABASE)):
                yield here / name


def is_regular(path: Path) -> bool:
    """Whether it is a file of its own: no link, no pipe, no device."""
    return stat.S_ISREG(path.lstat().st_mode)


def write_archive(folder: Path, target: Path) -> None:
    """All files of a folder as one archive, synced; what is packed already is not packed again.

    The same files give the same bytes, whenever they were written.
    """
    with target.open("xb") as out:
        with zipfile.ZipFile(out, "w") as archive:
            for path in sorted(each for each in folder.rglob("*") if each.is_file()):
                entry = zipfile.ZipInfo(path.relative_to(folder).as_posix(), _EPOCH)
                is_packed = path.suffix.lower() in _PACKED
                entry.compress_type = zipfile.ZIP_STORED if is_packed else zipfile.ZIP_DEFLATED
                entry.external_attr, entry.create_system = 0o644 << 16, _UNIX
                entry.file_size = path.stat().st_size  # so that a long file is known to be one
                with path.open("rb") as source, archive.open(entry, "w") as packed:
                    shutil.copyfileobj(source, packed, _CHUNK)
        out.flush()
        os.fsync(out.fileno())
    with zipfile.ZipFile(target) as archive:
        if (damaged := archive.testzip()) is not None:
            raise StoreError(f"{target}: {damaged} came out damaged", "check the disk, and use another one")


_NOTE: Final = "last-backup.json"


@dataclass(frozen=True, slots=True)
class LastBackup:
    """When the last backup was made (ISO 8601), and where it is."""

    made_at: str
    place: str

    @property
    def age_s(self) -> float:
        """How long ago that was. [s]"""
        return max((datetime.now(UTC) - datetime.fromisoformat(self.made_at)).total_seconds(), 0.0)

    @property
    def is_there(self) -> bool:
        """Whether something is at its place now; a disk may be unplugged."""
        try:
            return Path(self.place).exists()
        except OSError:
            return False

    def as_json(self) -> dict[str, Any]:
        """As the command line prints it."""
        return asdict(self) | {"age_s": round(self.age_s), "is_there": self.is_there}

    def __str__(self) -> str:
        away = "" if self.is_there else ", which is not there now"
        return f"last backup: {_ago(self.age_s)} ago, in {self.place}{away}"


def _ago(seconds: float) -> str:
    for unit, length in (("days", 86_400), ("hours", 3600), ("minutes", 60)):
        if seconds >= 2 * length:
            return f"{seconds // length:.0f} {unit}"
    return "a minute or less" if seconds < 60 else "one minute"


def note_backup(workspace: Path, made: LastBackup) -> None:
    """Remember it.

    Raises
    ------
    StoreError
        If the workspace cannot be written.
    """
    write_whole(workspace / _NOTE, json.dumps(asdict(made)))


def last_backup(workspace: Path) -> LastBackup | None:
    """The last one; None where there was none, or what is noted cannot be read."""
    try:
        found = LastBackup(**json.loads((workspace / _NOTE).read_bytes()))
        return found if found.age_s >= 0.0 and isinstance(found.place, str) else None
    except (OSError, ValueError, TypeError, RecursionError):
        return None
