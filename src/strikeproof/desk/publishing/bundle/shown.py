"""The bundle of a campaign in the browser: made in the workspace, saved from there, computed again."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path
from typing import Literal

from strikeproof.desk.publishing.bundle.making import BundleWishes, PersonalData, make_bundle
from strikeproof.desk.publishing.bundle.recomputing import recompute_bundle
from strikeproof.desk.publishing.bundle.words import agreement_lines
from strikeproof.desk.publishing.made_files import bundle_file
from strikeproof.desk.publishing.views import AgreementView, BundleView
from strikeproof.desk.workspace.opening import open_campaign

__all__ = ["bundle_to_show", "recompute_to_show"]

Progress = Callable[..., None]


@dataclass(frozen=True, slots=True)
class _Place:
    campaign: str
    path: Path


def _place(workspace: Path, name: str | None) -> _Place:
    campaign = open_campaign(workspace, name)[2].name
    return _Place(campaign, bundle_file(workspace, campaign))


def bundle_to_show(
    workspace: Path,
    name: str | None,
    licence: str,
    author: str,
    personal: Literal["ask", "strip", "keep"],
    progress: Progress | None = None,
) -> BundleView:
    """Make the bundle inside the workspace; what may be personal is given back where nobody chose yet.

    Raises
    ------
    StrikeproofError
        As `make_bundle`.
    """
    place = _place(workspace, name)
    wishes = BundleWishes(licence, tuple(filter(None, [author.strip()])), personal)
    try:
        made = make_bundle(
            workspace, place.path, wishes, name=place.campaign, replace=True, progress=progress
        )
    except PersonalData as found:
        return BundleView("", 0.0, 0, "", tuple(map(str, found.items)), (), "")
    return BundleView(
        place.path.name, made.size / 1e6, made.files, made.sha256, made.personal, made.notes, made.command
    )


def recompute_to_show(workspace: Path, name: str | None, progress: Progress | None = None) -> AgreementView:
    """Compute the bundle that was made last again.

    Raises
    ------
    StrikeproofError
        As `recompute_bundle`.
    """
    found = recompute_bundle(_place(workspace, name).path, progress)
    return AgreementView(found.agrees, tuple(agreement_lines(found)))
