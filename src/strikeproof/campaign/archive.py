"""A folder that comes packed: all that the archive claims is checked before anything is written."""

from __future__ import annotations

import stat
import struct
import unicodedata
import zipfile
from collections.abc import Sequence
from pathlib import Path, PurePosixPath
from typing import Final

from strikeproof.campaign.gate import read_bounded
from strikeproof.campaign.zip_file import DAMAGED_ZIP
from strikeproof.errors import BadInput, StoreError

__all__ = ["refuse_many", "unpack_campaign", "unpack_holding"]

_MOST_FILES: Final = 50_000
_MOST_BYTES: Final = 8 * 2**30
_MOST_GROWTH: Final = 500  # logs of text shrink to a twentieth at most; a hundredfold more is an attack
_SMALL_BYTES: Final = 2**20  # what may grow by more than that: a few kB of zeros harm nobody
_LONGEST_PART: Final = 255  # bytes, of the usual file systems
_DEEPEST: Final = 16
_LOCKED: Final = 0x1
_ENTRY_BYTES: Final = 1024  # of a usual name in the archive's list, and more
_END, _END_64 = b"PK\x05\x06", b"PK\x06\x06"  # APPNOTE.TXT 6.3.10, sections 4.3.16 and 4.3.14
_LONGEST_END: Final = (1 << 16) + 256


def unpack_campaign(path: Path, into: Path) -> Path:
    """Unpack the campaign folder in the archive at `path`; returns `into`, which holds its campaign.toml.

    Raises
    ------
    BadInput
        If it is no ZIP file of one campaign folder, is damaged, or holds what could do harm.
    BadFile
        If it takes too much memory or time.
    StoreError
        If it cannot be written.
    """
    fix = "pack the folder that holds campaign.toml, run sheet and logs"
    return unpack_holding(path, into, "campaign.toml", ("one campaign folder", fix))


def unpack_holding(path: Path, into: Path, name: str, wanted: tuple[str, str]) -> Path:
    """Unpack the folder of the archive that holds a file `name`; returns `into`.

    Parameters
    ----------
    wanted
        What the archive should hold, and how to make it so: said where no such file is in it.

    Raises
    ------
    BadInput, BadFile, StoreError
        As `unpack_campaign`.
    """
    folder: Path = read_bounded(path, _unpack, path, into, name, wanted)
    return folder


def _unpack(path: Path, into: Path, name: str, wanted: tuple[str, str]) -> Path:
    try:
        refuse_many(path)
        with zipfile.ZipFile(path) as archive:
            entries = archive.infolist()
            _refuse_size(entries, path.stat().st_size)
            files = [entry for entry in entries if not entry.is_dir()]
            places = _find_places(files)
            root = _find_root(list(places), name, wanted)
            for place, entry in places.items():
                if place.is_relative_to(root):
                    _put(archive, entry, into / place.relative_to(root))
    except DAMAGED_ZIP as cause:
        said = " ".join(str(cause).split())[:120] or type(cause).__name__
        raise BadInput(
            f"it cannot be unpacked ({said})",
            where="the archive",
            allowed="a ZIP file without a password",
            fix="pack the folder as ZIP and send it again",
        ) from cause
    return into


def refuse_many(path: Path) -> None:
    """Refuse a list of a million members by what the archive's end says of it, before the list is read.

    Raises
    ------
    BadInput
        If there are too many.
    """
    with path.open("rb") as stream:
        stream.seek(max(path.stat().st_size - _LONGEST_END, 0))
        end = stream.read()
    at = end.rfind(_END)
    if at < 0 or len(end) < at + 22:
        return
    count, size = struct.unpack_from("<HI", end, at + 10)
    at = end.rfind(_END_64, 0, at)
    if at >= 0 and len(end) >= at + 48:
        count, size = max((count, size), struct.unpack_from("<QQ", end, at + 32))
    if count > _MOST_FILES or size > _MOST_FILES * _ENTRY_BYTES:
        raise _too_many(f"{count} files, their list of {size / 1e6:.1f} MB")


def _too_many(what: str) -> BadInput:
    return BadInput(
        what,
        where="the archive",
        allowed=f"{_MOST_FILES} files, {_MOST_BYTES >> 30} GiB, {_MOST_GROWTH} times its size packed",
        fix="load the folder with `strikeproof load` instead",
    )


def _refuse_size(entries: Sequence[zipfile.ZipInfo], size: int) -> None:
    total = sum(entry.file_size for entry in entries)
    swells = any(entry.file_size > _MOST_GROWTH * max(entry.compress_size, _SMALL_BYTES) for entry in entries)
    if (
        len(entries) > _MOST_FILES
        or total > min(_MOST_BYTES, _MOST_GROWTH * max(size, _SMALL_BYTES))
        or swells
    ):
        raise _too_many(f"{len(entries)} files of {total / 1e9:.1f} GB in all")


def _find_places(files: Sequence[zipfile.ZipInfo]) -> dict[PurePosixPath, zipfile.ZipInfo]:
    """Where each file goes: inside, under names that any disk can hold, none of them twice."""
    places: dict[PurePosixPath, zipfile.ZipInfo] = {}
    taken: set[str] = set()
    folders: set[str] = set()
    for entry in files:
        place = PurePosixPath(entry.filename)
        if _is_odd(entry, place):
            raise _refused(f"{entry.filename[:80]!r} is no plain file inside it", "plain files")
        name = _plain(place)
        if name in taken:
            raise _refused(f"{entry.filename[:80]!r} is in it twice", "each name once, whatever its case")
        taken.add(name)
        folders.update(_plain(parent) for parent in place.parents)
        places[place] = entry
    if both := sorted(taken & folders):
        raise _refused(f"{both[0][:80]!r} is both a file and a folder", "one of them")
    return places


def _is_odd(entry: zipfile.ZipInfo, place: PurePosixPath) -> bool:
    name = entry.filename
    return (
        stat.S_IFMT(entry.external_attr >> 16) not in (0, stat.S_IFREG)  # such as a link
        or bool(entry.flag_bits & _LOCKED)
        or place.is_absolute()
        or not 0 < len(place.parts) <= _DEEPEST
        or ".." in place.parts
        or any(len(part.encode("utf-8", "replace")) > _LONGEST_PART for part in place.parts)
        or any(sign in "\\:" or unicodedata.category(sign).startswith("C") for sign in name)
        or name != entry.orig_filename  # cut off at a NUL
    )


def _plain(place: PurePosixPath) -> str:
    """A path as a disk that knows no case sees it."""
    return unicodedata.normalize("NFC", str(place)).casefold()


def _refused(what: str, allowed: str) -> BadInput:
    return BadInput(what, where="the archive", allowed=allowed, fix="pack the campaign folder alone")


def _find_root(places: Sequence[PurePosixPath], name: str, wanted: tuple[str, str]) -> PurePosixPath:
    """The folder in the archive that holds the file."""
    roots = [place.parent for place in places if place.name == name]
    if not roots:
        raise BadInput(f"no {name} is in it", where="the archive", allowed=wanted[0], fix=wanted[1])
    return min(roots, key=lambda root: len(root.parts))


def _put(archive: zipfile.ZipFile, entry: zipfile.ZipInfo, target: Path) -> None:
    """One file, never longer than it declared."""
    left = entry.file_size
    with archive.open(entry) as source:
        try:
            target.parent.mkdir(parents=True, exist_ok=True)
            stream = target.open("xb")
        except OSError as cause:
            raise _no_room(target, cause) from cause
        with stream:
            while piece := source.read(2**20):
                left -= len(piece)
                if left < 0:
                    raise zipfile.BadZipFile(f"{entry.filename} is longer than it says")
                try:
                    stream.write(piece)
                    stream.flush()
                except OSError as cause:
                    raise _no_room(target, cause) from cause


def _no_room(target: Path, cause: OSError) -> StoreError:
    return StoreError(f"{target}: {cause.strerror}", "check that the disk has room, then try again")
