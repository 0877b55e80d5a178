"""Load a campaign that came through the browser: a folder inside the workspace, or an archive of one."""

from __future__ import annotations

import secrets
import shutil
import stat
import zipfile
from collections.abc import Callable
from pathlib import Path, PurePosixPath
from typing import Final

from strikeproof.campaign.folder import read_campaign
from strikeproof.campaign.store import open_store
from strikeproof.desk.load import LoadOutcome, load_campaign
from strikeproof.desk.places import campaign_place, find_campaign_place
from strikeproof.desk.recognise import require_same_campaign
from strikeproof.errors import BadInput, StoreError

__all__ = ["INCOMING", "load_inside", "load_upload"]

Progress = Callable[[int, int, str], None]

INCOMING: Final = "incoming"
"""Folder of the workspace for what is still on its way."""

_MOST_FILES: Final = 50_000
_MOST_BYTES: Final = 8 * 2**30
_MOST_GROWTH: Final = 500  # logs of text shrink to a twentieth at most; a hundredfold more is an attack


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
        folder = _unpack(path, unpacked)
        campaign = read_campaign(folder / "campaign.toml")
        target = campaign_place(workspace, campaign.name)
        if target.exists():
            raise StoreError(
                f"a campaign folder {target.name!r} is in this workspace already",
                "load that one, or give the new one another name in its campaign.toml",
            )
        if (workspace / "strikeproof.db").is_file():
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


def _unpack(path: Path, into: Path) -> Path:
    """The folder with the campaign.toml, unpacked."""
    try:
        with zipfile.ZipFile(path) as archive:
            entries = [entry for entry in archive.infolist() if not entry.is_dir()]
            root = _check(entries, path.stat().st_size)
            for entry in entries:
                place = PurePosixPath(entry.filename)
                if place.is_relative_to(root):
                    _put(archive, entry, into / place.relative_to(root))
    except (zipfile.BadZipFile, NotImplementedError, RuntimeError, EOFError) as cause:
        # The last three: an unknown compression, a password, an end too soon.
        raise BadInput(
            f"it cannot be unpacked ({cause})",
            where="the archive",
            allowed="a ZIP file without a password",
            mend="pack the campaign folder as ZIP and send it again",
        ) from cause
    return into


def _check(entries: list[zipfile.ZipInfo], size: int) -> PurePosixPath:
    """The folder in the archive that holds the campaign.toml, after looking for what could do harm."""
    total = sum(entry.file_size for entry in entries)
    if len(entries) > _MOST_FILES or total > min(_MOST_BYTES, _MOST_GROWTH * max(size, 2**20)):
        raise BadInput(
            f"{len(entries)} files of {total / 1e9:.1f} GB in all",
            where="the archive",
            allowed=f"{_MOST_FILES} files and {_MOST_BYTES / 2**30:.0f} GB",
            mend="load the folder with `strikeproof load` instead",
        )
    for entry in entries:
        place = PurePosixPath(entry.filename)
        kind = stat.S_IFMT(entry.external_attr >> 16)
        odd = place.is_absolute() or ".." in place.parts or "\\" in entry.filename or ":" in entry.filename
        if odd or kind not in (0, stat.S_IFREG):
            raise BadInput(
                f"{entry.filename!r} is no plain file inside it",
                where="the archive",
                allowed="plain files",
                mend="pack the campaign folder alone",
            )
    roots = sorted(
        (
            PurePosixPath(e.filename).parent
            for e in entries
            if PurePosixPath(e.filename).name == "campaign.toml"
        ),
        key=lambda root: len(root.parts),
    )
    if not roots:
        raise BadInput(
            "no campaign.toml is in it",
            where="the archive",
            allowed="one campaign folder",
            mend="pack the folder that holds campaign.toml, run sheet and logs",
        )
    return roots[0]


def _put(archive: zipfile.ZipFile, entry: zipfile.ZipInfo, target: Path) -> None:
    """One file, never longer than it declared."""
    target.parent.mkdir(parents=True, exist_ok=True)
    left = entry.file_size
    with archive.open(entry) as source, target.open("xb") as stream:
        while piece := source.read(2**20):
            left -= len(piece)
            if left < 0:
                raise zipfile.BadZipFile(f"{entry.filename} is longer than it says")
            stream.write(piece)
