"""Paper, the shelf and replication in the browser: made in the workspace, saved from there."""

from __future__ import annotations

import secrets
import shutil
import zipfile
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from pathlib import Path

from strikeproof.campaign.whole_file import write_whole
from strikeproof.desk.loading.upload import INCOMING
from strikeproof.desk.publishing.made_files import SHELF, bundle_file, paper_file
from strikeproof.desk.publishing.paper import Paper, paper_of
from strikeproof.desk.publishing.replicating import (
    compare_with_bundle,
    expected_lines,
    plan_replication,
    replication_lines,
    replication_sentences,
)
from strikeproof.desk.publishing.shelf.building import build_shelf
from strikeproof.desk.publishing.views import PaperView, ReplicationPlanView, ReplicationView, ShelfView
from strikeproof.desk.workspace.opening import open_campaign
from strikeproof.desk.workspace.places import campaign_place
from strikeproof.errors import BadInput, StoreError
from strikeproof.language import speaking

__all__ = ["paper_to_show", "replication_plan_to_show", "replication_to_show", "shelf_to_show"]

Progress = Callable[..., None]


def paper_to_show(
    workspace: Path, name: str | None, what: Paper, language: str, progress: Progress | None = None
) -> PaperView:
    """Make a document of a campaign as PDF, in a language by its code.

    Raises
    ------
    StrikeproofError
        As `paper_of`, or if it cannot be written.
    """
    campaign = open_campaign(workspace, name)[2].name
    place = paper_file(workspace, campaign, what)
    with speaking(language):
        content = paper_of(workspace, what, campaign, progress)
    with _written(place):
        place.parent.mkdir(exist_ok=True)
        write_whole(place, content)
    return PaperView(what, place.name, len(content) / 1e3)


def shelf_to_show(workspace: Path, title: str = "", progress: Progress | None = None) -> ShelfView:
    """Build the site over the bundles of this workspace, and pack it with them as one file.

    Raises
    ------
    StrikeproofError
        As `build_shelf`, or if there is no bundle yet.
    """
    folder = bundle_file(workspace, "any").parent
    found = sorted(folder.glob("*.zip")) if folder.is_dir() else []
    bundles = [path for path in found if path.is_file() and not path.is_symlink()]
    if not bundles:
        raise BadInput(
            "there is no bundle yet",
            where="shelf",
            allowed="a workspace with a bundle",
            fix="make a bundle first",
        )
    built = build_shelf(folder, title=title.strip() or workspace.resolve().name, progress=progress)
    packed = workspace / SHELF
    new = packed.with_suffix(".part")
    with _written(packed):
        with zipfile.ZipFile(new, "w", zipfile.ZIP_DEFLATED) as archive:
            for path in (*bundles, *sorted(each for each in built.place.rglob("*") if each.is_file())):
                archive.write(path, path.relative_to(folder).as_posix())
        new.replace(packed)
    return ShelfView(built.bundles, built.files, packed.stat().st_size / 1e6, built.problems)


def replication_plan_to_show(
    workspace: Path, came: str, repeats: int | None = None, progress: Progress | None = None
) -> ReplicationPlanView:
    """Make a campaign of this workspace that repeats the campaign of a bundle that came in.

    Raises
    ------
    StrikeproofError
        As `plan_replication`, or if a campaign of that name is here already.
    """
    with _bundle(workspace, came) as bundle:
        made = bundle.with_name(secrets.token_hex(8))
        try:
            plan = plan_replication(bundle, made, repeats=repeats, progress=progress)
            name = plan.plan.campaign.name
            target = campaign_place(workspace, name)
            if target.exists():
                raise StoreError(
                    f"a campaign {name!r} is in this workspace already",
                    "go on with that one, or give it another name first",
                )
            with _written(target):
                target.parent.mkdir(exist_ok=True)
                made.rename(target)
        finally:
            shutil.rmtree(made, ignore_errors=True)
    return ReplicationPlanView(name, len(plan.plan.runs), tuple(expected_lines(plan)), plan.notes)


def replication_to_show(
    workspace: Path, came: str, name: str | None, progress: Progress | None = None
) -> ReplicationView:
    """Set the gains of a campaign against those of a bundle that came in.

    Raises
    ------
    StrikeproofError
        As `compare_with_bundle`.
    """
    with _bundle(workspace, came) as bundle:
        found = compare_with_bundle(bundle, workspace, name=name, progress=progress)
    heads, *rows = replication_lines(found)
    return ReplicationView(heads, tuple(rows), tuple(replication_sentences(found)))


@contextmanager
def _bundle(workspace: Path, came: str) -> Iterator[Path]:
    """A file that came in, as long as it is used."""
    path = workspace / INCOMING / Path(came).name
    if not came or not path.is_file():
        raise BadInput("no file came", where="bundle", allowed="a bundle, .zip", fix="choose the file again")
    try:
        yield path
    finally:
        path.unlink(missing_ok=True)


@contextmanager
def _written(place: Path) -> Iterator[None]:
    try:
        yield
    except OSError as cause:
        raise StoreError(
            f"{place}: cannot be written: {cause.strerror}", "check that the disk has room, then try again"
        ) from cause
