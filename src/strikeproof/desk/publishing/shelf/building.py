"""Build the site of a shelf: read every bundle of a folder, include other shelves, write plain files."""

from __future__ import annotations

import os
import tempfile
from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from pathlib import Path
from typing import Final
from urllib.parse import urlsplit

from strikeproof.campaign.files import hash_file
from strikeproof.campaign.gate import Job, read_bounded, read_each
from strikeproof.campaign.text import read_file
from strikeproof.campaign.whole_file import whole_folder
from strikeproof.desk.publishing.bundle.signing import BadSignature, signature_of, verify_bundle
from strikeproof.desk.publishing.shelf.fetching import fetch_index, fetch_shelf, is_address
from strikeproof.desk.publishing.shelf.reading import read_bundle, read_index
from strikeproof.errors import BadInput, StoreError, StrikeproofError
from strikeproof.plain_text import TextKind, accept_text
from strikeproof.publish.shelf.records import ShelfEntry
from strikeproof.publish.shelf.site import write_site

__all__ = ["ShelfOutcome", "build_shelf"]

Progress = Callable[..., None]
FILES: Final = "files.sha256"
"""In a site: every file of it with its SHA-256, so that the next one replaces these and nothing else."""
_MOST_LIST: Final = 1 << 26
_AT_ONCE: Final = max(1, min(8, (os.cpu_count() or 2) - 1))


@dataclass(frozen=True, slots=True)
class ShelfOutcome:
    """A shelf that was built.

    Parameters
    ----------
    problems
        The bundles that are not on it, and the signatures that do not fit, with the reason.
    fetched
        Every address that was asked for.
    """

    place: Path
    bundles: int
    included: int
    files: int
    size: int
    problems: tuple[str, ...]
    fetched: tuple[str, ...] = ()


def build_shelf(
    source: Path | str,
    out: Path | None = None,
    *,
    title: str = "",
    include: Sequence[str | Path] = (),
    signed_by: Path | None = None,
    progress: Progress | None = None,
) -> ShelfOutcome:
    """Build the site over all bundles in a folder and the folders in it, or over those at an address.

    The pages link to the bundles where `out` is inside the folder, so that both are published together.

    Parameters
    ----------
    source
        Folder with the bundles, *.zip; or an http(s) address of a shelf or of a listing of bundles.
    out
        Folder of the site, which is replaced whole; `source`/shelf when None. An address needs one.
    title
        Of the shelf; the name of the folder or host when empty.
    include
        `index.json` of other shelves, as files or as addresses that begin with http:// or https://. A bundle
        that is on both is on this one once.
    signed_by
        Public key or list of signers by which the signatures beside the bundles are verified.

    Raises
    ------
    BadInput, BadFile
        If there is no such folder, or an index to include is none.
    StoreError
        If something cannot be fetched, `out` holds something else than a shelf, or it cannot be written.
    """
    with tempfile.TemporaryDirectory(prefix="strikeproof-") as room:
        if not is_address(source):
            return _build(Path(source), out, title, include, signed_by, progress)
        if out is None:
            raise BadInput(
                "a shelf at an address has no folder here",
                where="shelf",
                allowed="a folder for the site",
                fix="add --out FOLDER",
            )
        _check_place(out, Path(room))
        got = fetch_shelf(str(source), Path(room))
        also = (*include, got.index) if got.index is not None else include
        title = title or urlsplit(str(source)).hostname or ""
        built = _build(got.folder, out, title, also, signed_by, progress)
        return replace(built, fetched=(*got.addresses, *built.fetched))


def _build(
    folder: Path,
    out: Path | None,
    title: str,
    include: Sequence[str | Path],
    signed_by: Path | None,
    progress: Progress | None,
) -> ShelfOutcome:
    if not folder.is_dir():
        raise BadInput(f"{folder} is no folder", where="shelf", allowed="a folder with bundles")
    out = out or folder / "shelf"
    _check_place(out, folder)
    title = accept_text(title or folder.resolve().name, TextKind.NAME, "title", key="title")
    own, problems = _read_own(folder, out, progress)
    own, unsigned = _signatures(own, folder, signed_by)
    with tempfile.TemporaryDirectory(prefix="strikeproof-") as room:
        places = [fetch_index(each, Path(room) / f"{i}.json") for i, each in enumerate(include)]
        others = [entry for path in places for entry in read_bounded(path, read_index, path)]
    entries = {each.sha256: each for each in (*others, *own)}
    size, listed = 0, list[str]()
    with whole_folder(out) as new:
        for address, content in write_site(title, list(entries.values()), _way_back(out, folder)):
            place = new / address
            place.parent.mkdir(exist_ok=True)
            size += place.write_bytes(content.encode())
            listed.append(f"{hash_file(place)}  {address}")
        (new / FILES).write_text("\n".join([*listed, ""]), encoding="utf-8")
        _check_place(out, folder)  # what came there meanwhile stays
    included = sum(bool(each.shelf) for each in entries.values())
    fetched = tuple(str(each) for each in include if is_address(each))
    said = (*problems, *unsigned)
    return ShelfOutcome(out, len(entries) - included, included, len(listed) + 1, size, said, fetched)


def _signatures(
    entries: Sequence[ShelfEntry], folder: Path, keys: Path | None
) -> tuple[list[ShelfEntry], list[str]]:
    """The entries with what is known of their signatures, and which signatures do not fit the keys."""
    seen, problems = [], []
    for entry in entries:
        bundle = folder / entry.file
        signed = signature_of(bundle).is_file()
        signer = ""
        if signed and keys is not None:
            try:
                found = verify_bundle(bundle, keys)
                signer = f"{found.name}, key {found.fingerprint}"
            except BadSignature as wrong:
                problems.append(f"{wrong.problem}; {wrong.fix}")
        seen.append(replace(entry, signed=signed, signed_by=signer))
    return seen, problems


def _way_back(out: Path, folder: Path) -> str:
    """From the site to the bundles; nothing where both are not in one folder that can be published."""
    place = out.resolve()
    if folder.resolve() not in place.parents:
        return ""
    return "../" * len(place.relative_to(folder.resolve()).parts)


def _check_place(out: Path, folder: Path) -> None:
    if out.resolve() in (folder.resolve(), *folder.resolve().parents):
        raise StoreError(f"{out}: holds the bundles", "name a folder for the site alone")
    if not out.exists():
        return
    foreign = _foreign(out) if out.is_dir() and not out.is_symlink() else out.name
    if foreign:
        raise StoreError(
            f"{out}: holds something else than a shelf: {foreign}", "name another folder, or move that away"
        )


def _foreign(out: Path) -> str:
    """A file in a folder that is not as the list of the shelf there says; "" where there is none."""
    known: dict[str, str] = {}
    if (out / FILES).is_file() and not (out / FILES).is_symlink():
        for line in read_file(out / FILES, _MOST_LIST).decode("utf-8", "replace").splitlines():
            digest, _, address = line.partition("  ")
            known[address] = digest
    for path in sorted(out.rglob("*")):
        address = path.relative_to(out).as_posix()
        if address == FILES or (path.is_dir() and not path.is_symlink()):
            continue
        if path.is_symlink() or not path.is_file() or known.get(address) != hash_file(path):
            return address
    return ""


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
