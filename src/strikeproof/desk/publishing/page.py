"""The published page of a campaign in the browser, and the package that goes with it."""

from __future__ import annotations

import shlex
import zipfile
from collections.abc import Callable
from pathlib import Path
from typing import Final

from strikeproof.campaign.files import read_original
from strikeproof.campaign.store import Store
from strikeproof.desk.explaining.explain import explain_workspace
from strikeproof.desk.publishing.report import build_report, tell_why
from strikeproof.desk.workspace.opening import open_campaign
from strikeproof.desk.workspace.places import folder_word
from strikeproof.errors import NotFound, StoreError
from strikeproof.plain_text import write_csv_text
from strikeproof.publish.blow import film_page, set_scene
from strikeproof.publish.gallery import draw_charts
from strikeproof.publish.page import write_page
from strikeproof.publish.report import Report

__all__ = ["FILMED", "film_to_show", "page_to_show", "write_package"]

Progress = Callable[[int, int], None]

FILMED: Final = ("reference", "winner")
"""Whose blow can be watched."""

_EPOCH = (1980, 1, 1, 0, 0, 0)  # the same content makes the same package, whenever it is made


def page_to_show(workspace: Path, name: str | None, progress: Progress | None = None) -> str:
    """The page as one self-contained document.

    Raises
    ------
    StrikeproofError
        If there is nothing to report on.
    """
    return write_page(_report(workspace, name, progress)[0])


def film_to_show(workspace: Path, name: str | None, whose: str, *, quick: bool) -> str:
    """One blow in slow motion, as a document that runs by itself.

    Raises
    ------
    NotFound
        If the explanation has no such blow.
    """
    why = tell_why(explain_workspace(workspace, name, quick=quick))
    if whose not in FILMED or len(why.blows) < len(FILMED):
        raise NotFound("film", whose, FILMED if why.blows else ())
    view = why.blows[FILMED.index(whose)]
    said = f"{view.article}, simulated with {why.blows_with}"
    return film_page(set_scene(view.story, said), set_scene(view.story, said, narrow=True))


def write_package(workspace: Path, name: str | None, progress: Progress | None = None) -> Path:
    """Write page, charts, scores, originals and how to check them into one ZIP file inside the workspace.

    Raises
    ------
    StrikeproofError
        If there is nothing to report on, an original is missing, or the file cannot be written.
    """
    report, store = _report(workspace, name, progress)
    folder = workspace / "published"
    target = folder / f"{folder_word(report.campaign.name)}.zip"
    part = target.with_suffix(".part")
    try:
        folder.mkdir(exist_ok=True)
        with zipfile.ZipFile(part, "w", zipfile.ZIP_DEFLATED) as package:
            _fill(package, report, store)
        part.replace(target)
    except OSError as cause:
        raise StoreError(
            f"{cause.filename or target}: {cause.strerror}", "check the workspace: strikeproof check"
        ) from cause
    return target


def _report(workspace: Path, name: str | None, progress: Progress | None) -> tuple[Report, Store]:
    store, key, campaign = open_campaign(workspace, name)
    place, title = shlex.quote(workspace.name), shlex.quote(campaign.name)
    command = (
        f"strikeproof load CAMPAIGN_FOLDER -w {place}\n"
        f"strikeproof report -w {place} --campaign {title} -o page.html"
    )
    return build_report(store, key, campaign, command, progress)[0], store


def _fill(package: zipfile.ZipFile, report: Report, store: Store) -> None:
    _put(package, "page.html", write_page(report).encode())
    for name, content in draw_charts(report).items():
        _put(package, f"charts/{name}", content if isinstance(content, bytes) else content.encode())
    _put(package, "scores.csv", _scores(report).encode())
    names: dict[str, str] = {}
    for shown, digest in report.hashes:
        path = f"originals/{Path(shown.replace(chr(92), '/')).name or digest}"
        path = path if names.get(path, digest) == digest else f"originals/{digest}-{Path(path).name}"
        if path not in names:
            names[path] = digest
            _put(package, path, read_original(store.originals, digest, shown))
    _put(package, "SHA256SUMS", "".join(f"{digest}  {path}\n" for path, digest in names.items()).encode())


def _put(package: zipfile.ZipFile, path: str, content: bytes) -> None:
    entry = zipfile.ZipInfo(path, _EPOCH)
    entry.compress_type = zipfile.ZIP_DEFLATED
    entry.external_attr = 0o644 << 16
    package.writestr(entry, content)


def _scores(report: Report) -> str:
    head = ("order", "run", "tool", "article", "block", f"score [{report.unit}]", "flags", "set_aside", "log")
    rows = [
        (
            *(run.order, run.row.run, run.row.tool, run.row.article, run.row.block, run.score),
            *(" ".join(kind for kind, _detail in run.flags), run.row.set_aside or "", run.row.log or ""),
        )
        for run in sorted(report.runs, key=lambda each: each.order)
    ]
    return write_csv_text([head, *rows])
