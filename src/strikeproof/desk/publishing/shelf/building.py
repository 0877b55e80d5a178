"""Build the site of a shelf: read every bundle of a folder, include other shelves, write plain files."""

from __future__ import annotations

import os
import tempfile
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Final

from strikeproof.campaign.gate import Job, read_bounded, read_each
from strikeproof.campaign.whole_file import whole_folder
from strikeproof.desk.publishing.shelf.fetching import fetch_index
from strikeproof.desk.publishing.shelf.reading import read_bundle, read_index
from strikeproof.errors import BadInput, StoreError, StrikeproofError
from strikeproof.plain_text import TextKind, accept_text
from strikeproof.publish.shelf.records import ShelfEntry
from strikeproof.publish.shelf.site import INDEX, write_site

__all__ = ["ShelfOutcome", "build_shelf"]

Progress = Callable[..., None]
_AT_ONCE: Final = max(1, min(8, (os.cpu_count() or 2) - 1))


@dataclass(frozen=True, slots=True)
class ShelfOutcome:
    """A shelf that was built; `problems` are the bundles that are not on it."""

    place: Path
    bundles: int
    included: int
    files: int
    size: int
    problems: tuple[str, ...]


def build_shelf(
    folder: Path,
    out: Path | None = None,
    *,
    title: str = "",
    include: Sequence[str | Path] = (),
    progress: Progress | None = None,
) -> ShelfOutcome:
    """Build the site over all bundles in a folder and the folders in it.

    The pages link to the bundles where `out` is inside `folder`, so that both are published together.

    Parameters
    ----------
    folder
        With the bundles, *.zip.
    out
        Folder of the site, which is replaced whole; `folder`/shelf when None.
    title
        Of the shelf; the name of the folder when empty.
    include
        `index.json` of other shelves, as files or as addresses that begin with http:// or https://. A bundle
        that is on both is on this one once.

    Raises
    ------
    BadInput, BadFile
        If there is no such folder, or an index to include is none.
    StoreError
        If an index cannot be fetched, `out` holds something else than a shelf, or it cannot be written.
    """
    if not folder.is_dir():
        raise BadInput(f"{folder} is no folder", where="shelf", allowed="a folder with bundles")
    out = out or folder / "shelf"
    _check_place(out, folder)
    title = accept_text(title or folder.resolve().name, TextKind.NAME, "title", key="title")
    own, problems = _read_own(folder, out, progress)
    with tempfile.TemporaryDirectory(prefix="strikeproof-") as room:
        places = [fetch_index(each, Path(room) / f"{i}.json") for i, each in enumerate(include)]
        others = [entry for path in places for entry in read_bounded(path, read_index, path)]
    entries = {each.sha256: each for each in (*others, *own)}
    size = files = 0
    with whole_folder(out) as new:
        for address, content in write_site(title, list(entries.values()), _way_back(out, folder)):
            place = new / address
            place.parent.mkdir(exist_ok=True)
            size += place.write_bytes(content.encode())
            files += 1
    included = sum(bool(each.shelf) for each in entries.values())
    return ShelfOutcome(out, len(entries) - included, included, files, size, tuple(problems))


def _way_back(out: Path, folder: Path) -> str:
    """From the site to the bundles; nothing where both are not in one folder that can be published."""
    place = out.resolve()
    if folder.resolve() not in place.parents:
        return ""
    return "../" * len(place.relative_to(folder.resolve()).parts)


def _check_place(out: Path, folder: Path) -> None:
    if out.resolve() in (folder.resolve(), *folder.resolve().parents):
        raise StoreError(f"{out}: holds the bundles", "name a folder for the site alone")
    if out.exists() and not (out / INDEX).is_file() and (not out.is_dir() or any(out.iterdir())):
        raise StoreError(f"{out}: holds something else than a shelf", "name another folder")


def _read_own(folder: Path, out: Path, progress: Progress | None) -> tuple[list[ShelfEntry], list[str]]:
    """The entries of the folder's bundles, each hash once, and why others are left out."""
    named = sorted(path for path in folder.rglob("*.zip") if out not in path.parents)
    found = [path for path in named if path.is_file() and not path.is_symlink()]
    jobs = (Job(path, read_bundle, (path, path.relative_to(folder).as_posix())) for path in found)
    entries: list[ShelfEntry] = []
    problems = [
        f"{path}: is no file but a link, folder or pipe; copy the bundle here"
        for path in named
        if path not in found
    ]
    for number, outcome in enumerate(read_each(jobs, _AT_ONCE), start=1):
        if isinstance(outcome, StrikeproofError):
            problems.append(str(outcome))
        else:
            entries.append(outcome)
        if progress is not None:
            progress(number, len(found))
    return entries, problems
