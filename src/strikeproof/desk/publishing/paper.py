"""Documents of a campaign as PDF: page, results certificate, run sheet, and sheets that a design wrote."""

from __future__ import annotations

import shlex
import tempfile
from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path
from typing import Final, Literal, TypeAlias

from strikeproof.campaign.text import read_file
from strikeproof.campaign.whole_file import write_whole
from strikeproof.desk.planning.printed_sheet import print_sheet
from strikeproof.desk.publishing.report import build_report
from strikeproof.desk.workspace.opening import open_campaign
from strikeproof.desk.workspace.places import campaign_place, campaign_places
from strikeproof.errors import BadInput, StoreError, StrikeproofError
from strikeproof.publish.certificate import write_certificate
from strikeproof.publish.page import write_page
from strikeproof.publish.paper.compiling import write_pdf

__all__ = ["PAPERS", "Paper", "PaperOutcome", "paper_of", "write_paper"]

Progress = Callable[..., None]
Paper: TypeAlias = Literal["page", "certificate", "run-sheet"]
PAPERS: Final[tuple[Paper, ...]] = ("page", "certificate", "run-sheet")
_MOST_BYTES: Final = 1 << 26


@dataclass(frozen=True, slots=True)
class PaperOutcome:
    """A PDF that was written, and its size in bytes."""

    place: Path
    size: int


def paper_of(workspace: Path, what: Paper, name: str | None, progress: Progress | None = None) -> bytes:
    """A document of a campaign as PDF.

    Raises
    ------
    StrikeproofError
        If there is no such campaign, nothing to report on, or no PDF can be made here.
    """
    store, key, campaign = open_campaign(workspace, name)
    if what == "run-sheet":
        return write_pdf(_run_sheet(workspace, campaign.name, store.campaign_folder(key)))
    again = shlex.join(["strikeproof", "paper", what, "-w", workspace.name, "--campaign", campaign.name])
    report, _outcome = build_report(store, key, campaign, again, progress, why=what == "page")
    return write_pdf(write_page(report) if what == "page" else write_certificate(report))


def _run_sheet(workspace: Path, name: str, home: Path) -> str:
    """The sheet of a campaign that was set up in this workspace, or of one whose folder lies elsewhere."""
    if campaign_place(workspace, name) in campaign_places(workspace):
        return print_sheet(workspace, name)
    if not (home / "campaign.toml").is_file():
        raise StoreError(
            f"{home}: the campaign's folder is gone", "move it back there, or load it from its new place"
        )
    with tempfile.TemporaryDirectory(prefix="strikeproof-") as room:
        place = campaign_place(Path(room), name)
        place.parent.mkdir()
        place.symlink_to(home.resolve(), target_is_directory=True)
        try:
            return print_sheet(Path(room), name)
        except StrikeproofError as wrong:
            raise StrikeproofError(wrong.problem.replace(str(place), str(home)), wrong.fix) from wrong


def write_paper(
    what: str,
    out: Path,
    workspace: Path | None,
    *,
    name: str | None = None,
    replace: bool = False,
    progress: Progress | None = None,
) -> PaperOutcome:
    """Write a document of a campaign, or an HTML file that this program wrote, as PDF.

    Parameters
    ----------
    what
        One of `PAPERS`, or the path of such a file.

    Raises
    ------
    BadInput, BadFile
        If `what` is neither, `out` is no .pdf, or no workspace is given where one is needed.
    StoreError
        If a file is at `out`, or it cannot be written.
    StrikeproofError
        As `paper_of`.
    """
    if out.suffix.lower() != ".pdf" or out.is_dir():
        raise BadInput(repr(out.name), where="paper", allowed="a file whose name ends in .pdf")
    if out.exists() and not replace:
        raise StoreError(f"{out}: is there already", "give another name, or add --replace")
    content = _set(what, workspace, name, progress)
    try:
        out.parent.mkdir(parents=True, exist_ok=True)
        write_whole(out, content)
    except OSError as cause:
        raise StoreError(f"{out}: cannot be written: {cause.strerror}", "choose another place") from cause
    return PaperOutcome(out, len(content))


def _set(what: str, workspace: Path | None, name: str | None, progress: Progress | None) -> bytes:
    for paper in PAPERS:
        if what == paper:
            if workspace is None:
                raise BadInput("no workspace is given", where=what, allowed="-w WORKSPACE")
            return paper_of(workspace, paper, name, progress)
    path = Path(what)
    if path.suffix.lower() != ".html" or not path.is_file():
        raise BadInput(
            repr(what), where="paper", allowed=f"{', '.join(PAPERS)}, or an .html file of a design"
        )
    return write_pdf(read_file(path, _MOST_BYTES).decode("utf-8", "replace"))
