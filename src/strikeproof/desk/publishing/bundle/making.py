"""Make a bundle: gather, take out what is personal, compute everything from what will be in it, and pack it.

The results in a bundle are those of its own campaign folder, loaded into an empty workspace. They must be
those that the workspace shows: a bundle that would not compute again as stated is not made.
"""

from __future__ import annotations

import shlex
import tempfile
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from datetime import UTC, date, datetime
from pathlib import Path
from typing import Final

import strikeproof
from strikeproof.campaign.files import hash_file
from strikeproof.campaign.whole_file import sync_folder, write_whole
from strikeproof.desk.publishing.bundle.computing import compute_checked
from strikeproof.desk.publishing.bundle.form import (
    ABOUT,
    CAMPAIGN,
    CHARTS,
    PAGE,
    RESULTS,
    SUMS,
    About,
    versions,
    write_about,
    write_sums,
)
from strikeproof.desk.publishing.bundle.gathering import BundleWishes, PersonalData, gather
from strikeproof.desk.workspace.backup_files import write_archive
from strikeproof.desk.workspace.opening import open_campaign
from strikeproof.errors import BadInput, StoreError
from strikeproof.plain_text import TextKind, accept_text
from strikeproof.publish.data.agreement import tolerances_of
from strikeproof.publish.data.licences import find_licence
from strikeproof.publish.data.papers import (
    BundleFile,
    Papers,
    write_citation,
    write_crate,
    write_datapackage,
    write_readme,
)
from strikeproof.publish.data.tables import DataTable, result_tables, write_csv, write_json
from strikeproof.publish.gallery import write_charts
from strikeproof.publish.page import write_page
from strikeproof.publish.report import Report

__all__ = ["BundleOutcome", "BundleWishes", "PersonalData", "make_bundle"]

Progress = Callable[..., None]
_SHOWN: Final = 12
_FOLDERS: Final = (
    (PAGE, "the page, which needs nothing else"),
    (f"{RESULTS}/", "results as tables, each as CSV and as JSON; units are in the heads"),
    (f"{CHARTS}/", "charts as SVG and PNG"),
    (f"{CAMPAIGN}/", "what everything is computed from: campaign, run sheet, calibration, logs"),
    ("articles/", "drawings of the articles"),
    ("photos/", "photos"),
    ("sounds/", "sound recordings of runs"),
    (ABOUT, "versions, seed, and how far a number may be off when it is computed again"),
    ("CITATION.cff", "how to cite this"),
    ("datapackage.json", "the same files for programs: a Data Package (Frictionless)"),
    ("ro-crate-metadata.json", "the same files for programs: an RO-Crate"),
)


@dataclass(frozen=True, slots=True)
class BundleOutcome:
    """A bundle that was made: where, how large, what is in it, and what to know of it."""

    place: Path
    sha256: str
    size: int
    files: int
    tables: tuple[str, ...]
    personal: tuple[str, ...]
    stripped: bool
    notes: tuple[str, ...]
    command: str


def make_bundle(
    workspace: Path,
    out: Path,
    wishes: BundleWishes,
    *,
    name: str | None = None,
    replace: bool = False,
    progress: Progress | None = None,
) -> BundleOutcome:
    """Make the bundle of one campaign; a file at `out` is replaced only on demand, and last.

    Raises
    ------
    PersonalData
        If something personal is in it and nobody said what becomes of that.
    BadInput
        If no licence is chosen, `out` is a folder or no .zip, or a photo is none.
    StoreError
        If a file is at `out`, an original is missing, the logs do not give what the workspace shows, or
        nothing can be written.
    StrikeproofError
        If there is nothing to report on.
    """
    licence = find_licence(wishes.licence)
    authors = tuple(accept_text(each, TextKind.NAME, "author", key="author") for each in wishes.authors)
    made = _read_day(wishes.made)
    _check_place(out, replace=replace)
    store, key, campaign = open_campaign(workspace, name)
    try:
        out.parent.mkdir(parents=True, exist_ok=True)
        with tempfile.TemporaryDirectory(prefix=".strikeproof-", dir=out.parent) as room:
            folder = Path(room) / "bundle"
            found = gather(store, key, campaign, wishes, folder)
            command = shlex.join(["strikeproof", "recompute", out.name])
            report = compute_checked(
                store, key, campaign, folder, Path(room) / "lab", command, made, progress
            )
            tables = _write_results(folder, report)
            about = About(
                campaign=found.files.campaign.name,
                made=made,
                simulated=report.simulated,
                runs=len(report.runs),
                seed=report.seed,
                licence=licence.spdx,
                authors=authors,
                command=command,
                versions=versions(),
                tolerances={each.name: tolerances_of(each) for each in tables},
                stripped=wishes.personal == "strip",
                changed=found.changed,
                notes=found.notes,
                explained=report.why is not None,
            )
            papers = Papers(
                title=about.campaign,
                description=_describe(report),
                made=made,
                licence=licence,
                authors=authors,
                version=strikeproof.__version__,
                command=command,
                simulated=report.simulated,
            )
            write_whole(folder / ABOUT, write_about(about))
            files = _write_papers(folder, papers, tables)
            archive = Path(room) / "archive"
            write_archive(folder, archive)
            archive.replace(out)
            sync_folder(out.parent)
    except OSError as cause:
        raise StoreError(
            f"{cause.filename or out}: cannot be written: {cause.strerror}",
            "free some disk space or choose another place",
        ) from cause
    return BundleOutcome(
        place=out,
        sha256=hash_file(out),
        size=out.stat().st_size,
        files=files,
        tables=tuple(each.name for each in tables),
        personal=tuple(map(str, found.items)),
        stripped=about.stripped,
        notes=found.notes,
        command=command,
    )


def _check_place(out: Path, *, replace: bool) -> None:
    allowed = "a file whose name ends in .zip"
    if out.is_dir():
        raise BadInput(f"{out} is a folder", where="bundle", allowed=allowed, fix="add a name for the file")
    if out.suffix.lower() != ".zip":
        raise BadInput(f"{out.name!r} ends otherwise", where="bundle", allowed=allowed)
    if (out.exists() or out.is_symlink()) and not replace:
        raise StoreError(f"{out}: is there already", "give another name, or add --replace")


def _read_day(text: str | None) -> str:
    if text is None:
        return datetime.now(UTC).date().isoformat()
    try:
        return date.fromisoformat(text).isoformat()
    except ValueError as cause:
        raise BadInput(f"{text!r} is no day", where="date", allowed="a day such as 2026-05-04") from cause


def _describe(report: Report) -> str:
    articles = len({run.row.article for run in report.runs})
    of = "simulated runs" if report.simulated else "timed runs"
    return (
        f"{len(report.runs)} {of} of impact wrenches with {articles} articles between wrench and "
        f"bolt, judged by {report.quantity} in {report.unit}: logs, calibration, results, and all it "
        "takes to compute them again."
    )


def _write_results(folder: Path, report: Report) -> tuple[DataTable, ...]:
    (folder / RESULTS).mkdir(exist_ok=True)
    tables = result_tables(report)
    for table in tables:
        write_whole(folder / RESULTS / f"{table.name}.csv", write_csv(table))
        write_whole(folder / RESULTS / f"{table.name}.json", write_json(table) + "\n")
    write_whole(folder / PAGE, write_page(report))
    write_charts(report, folder / CHARTS)
    return tables


def _write_papers(folder: Path, papers: Papers, tables: Sequence[DataTable]) -> int:
    there = [(place, says) for place, says in _FOLDERS if "." in place or (folder / place).is_dir()]
    write_whole(folder / "README.md", write_readme(papers, there))
    write_whole(folder / "CITATION.cff", write_citation(papers))
    by_path = {f"{RESULTS}/{each.name}.csv": each for each in tables}
    files = [_file(path, folder, by_path) for path in _all_files(folder)]
    write_whole(folder / "datapackage.json", write_datapackage(papers, files))
    write_whole(folder / "ro-crate-metadata.json", write_crate(papers, files))
    listed = _all_files(folder)
    write_whole(folder / SUMS, write_sums(listed, folder))
    return len(listed) + 1


def _all_files(folder: Path) -> list[Path]:
    return sorted(path for path in folder.rglob("*") if path.is_file())


def _file(path: Path, folder: Path, tables: dict[str, DataTable]) -> BundleFile:
    place = path.relative_to(folder).as_posix()
    table = tables.get(place)
    title = place if table is None else table.title
    return BundleFile(place, hash_file(path), path.stat().st_size, title, table)
