"""Whether a campaign folder is the campaign that a workspace knows by its name.

It is by the `id` in its campaign.toml. A folder without one is recognised where it was before, by the
readings of a run that both have, or, before there are runs, because it says the same. Any other is refused:
it would take the place of articles, unit, reference and calibration.
"""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

from strikeproof.campaign.files import hash_file
from strikeproof.campaign.folder import CampaignFolder, read_campaign, read_folder
from strikeproof.campaign.kept import KnownCampaign, StoredRun
from strikeproof.campaign.records import Campaign, RunRow
from strikeproof.campaign.store import Store
from strikeproof.desk.workspace.places import campaign_place, campaign_places, planned_names
from strikeproof.errors import BadFile, StoreError

__all__ = ["is_free_name", "is_same_campaign", "own_place", "require_own_place", "require_same_campaign"]


def require_same_campaign(store: Store, folder: Path) -> None:
    """That no other campaign of this name is known, or set up in the workspace and not loaded yet.

    A folder whose identity is known under another name is that campaign renamed, unless both
    names are in use.

    Raises
    ------
    StoreError
        If one is.
    BadFile
        If campaign.toml cannot be read.
    """
    campaign = read_campaign(folder / "campaign.toml")
    known = store.known_campaign(campaign.name)
    before = store.identified_campaign(campaign.id) if campaign.id is not None else None
    if before is not None and before.campaign.name != campaign.name:
        _require_rename(folder, campaign, before, is_taken=known is not None)
    if known is None:
        _require_not_set_up(store.folder, folder, campaign)
        return
    if is_same_campaign(store, folder, campaign):
        return
    raise StoreError(
        f"{folder}: this workspace knows another campaign {campaign.name!r}, from {known.folder}",
        f"give this one another name in its campaign.toml; if it is the same one, write "
        f'id = "{known.identity}" under [campaign]',
    )


def _require_rename(folder: Path, campaign: Campaign, before: KnownCampaign, *, is_taken: bool) -> None:
    if not is_taken and (folder.resolve() == before.folder or not _still_called(before)):
        return
    raise StoreError(
        f"{folder}: campaign {campaign.name!r} has the id of another campaign, {before.campaign.name!r}, "
        f"from {before.folder}, and both names are in use",
        f"if it is a campaign of its own, delete the line id from its campaign.toml; if it is "
        f"{before.campaign.name!r} renamed, choose a name that is free and rename it in {before.folder} too",
    )


def _still_called(known: KnownCampaign) -> bool:
    """Whether the folder that a campaign was loaded from is there and has its name and identity."""
    try:
        there = read_campaign(known.folder / "campaign.toml")
    except BadFile:
        return False
    return (there.name, there.id) == (known.campaign.name, known.identity)


def _require_not_set_up(workspace: Path, folder: Path, campaign: Campaign) -> None:
    names = planned_names(workspace)
    places = [workspace / "campaigns" / word for name, word in names.items() if name == campaign.name]
    for place in places:
        if place.resolve() == folder.resolve() or _says_the_same(place, campaign):
            continue
        raise StoreError(
            f"{folder}: another campaign {campaign.name!r} is set up in this workspace, in {place}",
            "give one of the two another name in its campaign.toml; if they are the same one, give both "
            "the same id under [campaign]",
        )


def _says_the_same(place: Path, campaign: Campaign) -> bool:
    """Whether a folder that was never loaded is a campaign, by its identity or by all that it says."""
    try:
        there = read_campaign(place / "campaign.toml")
    except BadFile:  # a draft that is not complete yet
        return False
    if campaign.id is not None and there.id is not None:
        return campaign.id == there.id
    return replace(campaign, id=None) == replace(there, id=None)


def is_same_campaign(store: Store, folder: Path, campaign: Campaign) -> bool:
    """Whether the workspace knows no campaign of its name, or just this one."""
    known = store.known_campaign(campaign.name)
    if known is None or campaign.id == known.identity or _is_forgotten(store, known):
        return True
    if campaign.id is not None and known.campaign.id is not None:
        return False
    if _same_place(store.folder, known.folder, folder.resolve()):
        return True
    runs = {run.row.run: run for run in store.runs(known.key)}
    if not runs:
        return replace(campaign, id=None) == replace(known.campaign, id=None)
    try:
        found = read_folder(folder)
    except BadFile:
        return False
    return any(row.run in runs and _same_run(found, row, runs[row.run]) for row in found.rows)


def require_own_place(store: Store, place: Path, campaign: Campaign) -> None:
    """That a campaign's folder in the workspace, which is there, holds that campaign and no other.

    Two names may give one folder's name, and a folder may hold a campaign that was set up but never loaded.

    Raises
    ------
    StoreError
        If it holds another.
    BadFile
        If its campaign.toml cannot be read.
    """
    there = read_campaign(place / "campaign.toml")
    known = store.known_campaign(campaign.name)
    if known is not None and there.id == known.identity:
        return
    if there.name == campaign.name and is_same_campaign(store, place, there):
        return
    raise _held_by(there.name, place, campaign)


def _held_by(name: str, place: Path, campaign: Campaign) -> StoreError:
    return StoreError(
        f"{place}: holds another campaign, {name!r}, so that {campaign.name!r} cannot use it",
        f"give {campaign.name!r} another name in its campaign.toml, one that differs in more than capitals, "
        f"spaces and signs within its first 60 characters, and load it; or move {place} elsewhere",
    )


def own_place(store: Store, campaign: Campaign) -> Path:
    """A campaign's folder in the workspace, where its brief and its design lie; it need not be there.

    Raises
    ------
    StoreError
        If it holds another campaign.
    """
    place = campaign_place(store.folder, campaign.name)
    if place in campaign_places(store.folder):
        try:
            require_own_place(store, place, campaign)
        except BadFile as cause:  # it is being changed, or wrong; its heading can be read all the same
            called = {word: name for name, word in planned_names(store.folder).items()}
            if called.get(place.name) != campaign.name:
                raise _held_by(called.get(place.name, "?"), place, campaign) from cause
    return place


def is_free_name(store: Store, name: str) -> bool:
    """Whether a new campaign may take a name."""
    known = store.known_campaign(name)
    return known is None or _is_forgotten(store, known)


def _is_forgotten(store: Store, known: KnownCampaign) -> bool:
    """Whether no run of a campaign was made, and its folder is gone: nothing of it can be lost."""
    return not (known.folder / "campaign.toml").is_file() and not store.runs(known.key)


def _same_place(workspace: Path, before: Path, now: Path) -> bool:
    """Where it was, or in the same folder of a workspace that was itself moved."""
    return now == before or (
        now.parent == (workspace / "campaigns").resolve() and before.parts[-2:] == now.parts[-2:]
    )


def _same_run(found: CampaignFolder, row: RunRow, run: StoredRun) -> bool:
    if row.log is None or run.trace is None:
        alike = (row.score, row.article, row.tool) == (run.row.score, run.row.article, run.row.tool)
        return alike and row.log is None and run.trace is None
    path = found.log_path(row)
    return path is not None and path.is_file() and hash_file(path) == run.trace.original_sha256
