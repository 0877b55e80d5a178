"""Every campaign of a workspace and how far it is; those only set up are copied, or put away."""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path
from typing import Literal

import sqlalchemy as sa

from strikeproof.campaign import schema as tables
from strikeproof.campaign.database import reading
from strikeproof.campaign.store import Store
from strikeproof.desk.setting_up.editor import SetUp, open_set_up, start_set_up
from strikeproof.desk.setting_up.run_rows import read_run_cells, sheet_path
from strikeproof.desk.workspace.opening import campaign_names, is_simulated, open_workspace, set_aside_now
from strikeproof.desk.workspace.places import campaign_places, planned_names
from strikeproof.errors import BadInput, StoreError, StrikeproofError
from strikeproof.quantity import kind_of_unit

__all__ = [
    "CampaignGlance",
    "SetUpGlance",
    "copy_set_up",
    "glance_at_set_up",
    "list_campaigns",
    "list_set_ups",
    "loaded_from_elsewhere",
    "put_away_set_up",
]


@dataclass(frozen=True, slots=True)
class SetUpGlance:
    """One campaign as a list shows it; `word` is its folder, `trouble` why it cannot be opened.

    `simulated` says whether its runs are, `calibrated` whether it has a calibration.
    """

    name: str
    word: str
    tools: int
    articles: int
    faults: int
    planned: int
    made: int
    trouble: str = ""
    simulated: bool = False
    reference: str = ""
    calibrated: bool = False


def list_set_ups(workspace: Path) -> tuple[SetUpGlance, ...]:
    """Every campaign that was set up here; one that cannot be opened is listed with the reason."""
    return tuple(glance_at_set_up(workspace, place.name) for place in campaign_places(workspace))


def glance_at_set_up(workspace: Path, word: str) -> SetUpGlance:
    """The campaign in the folder `word`."""
    try:
        found = open_set_up(workspace, word)
    except StrikeproofError as wrong:
        return SetUpGlance(word, word, 0, 0, 0, 0, 0, str(wrong))
    tables = found.tables
    tools, articles = (len(tables.get(kind, [])) for kind in ("tool", "article"))
    return SetUpGlance(
        found.name,
        word,
        tools,
        articles,
        len(found.faults),
        _planned(found),
        len(found.made),
        simulated=is_simulated(workspace, found.name),
        reference=str(tables.get("campaign", {}).get("reference", "")),
        calibrated="calibration" in tables,
    )


def _planned(found: SetUp) -> int:
    try:
        return len(read_run_cells(sheet_path(found.folder, found.tables)))
    except StrikeproofError:
        return 0


def copy_set_up(workspace: Path, name: str, new_name: str) -> SetUp:
    """Start a campaign from what another one says, without its runs and its readings.

    Raises
    ------
    BadInput, NotFound, StoreError
        If there is no such campaign, or the new one cannot be started.
    """
    tables = open_set_up(workspace, name).tables
    kept = {key: each for key, each in tables.items() if key not in ("calibration", "runs")}
    protocol = {key: each for key, each in kept.get("protocol", {}).items() if key != "seed"}
    return start_set_up(workspace, new_name, {**kept, "protocol": protocol})


def put_away_set_up(workspace: Path, name: str) -> Path:
    """Take a campaign off the list; its folder lies in `campaigns/.put-away` from then on.

    Raises
    ------
    BadInput
        If runs were made: no run is ever deleted.
    StoreError
        If it cannot be moved.
    """
    found = open_set_up(workspace, name)
    if found.made:
        raise BadInput(
            f"{len(found.made)} runs were made",
            where=found.name,
            allowed="a campaign without runs",
            fix="leave it; no run is ever deleted",
        )
    shelf, number = found.folder.parent / ".put-away", 1
    while (target := shelf / f"{found.folder.name}.{number}").exists():
        number += 1
    try:
        shelf.mkdir(exist_ok=True)
        found.folder.rename(target)
    except OSError as cause:
        raise StoreError(
            f"{found.folder}: cannot be moved: {cause.strerror}", "check its permissions"
        ) from cause
    return target


_Stage = Literal["unreadable", "incomplete", "no sheet", "not loaded", "planned", "recording", "recorded"]
"""How far a campaign is.

unreadable: its folder cannot be opened; incomplete: something in it is missing or wrong; no sheet: complete,
its runs are still to be planned; not loaded: its folder has a run sheet that the workspace does not hold;
planned: no run was made; recording: some were; recorded: all that were planned.
"""


@dataclass(frozen=True, slots=True)
class CampaignGlance:
    """One campaign as a list shows it.

    Attributes
    ----------
    folder
        The word of its folder in the workspace; empty where it was loaded from elsewhere.
    runs, excluded
        Runs that were made, and how many of them are excluded from the result.
    planned
        Runs that were planned or made.
    calibrated
        Whether calibration readings are there.
    in_load
        Whether the rig itself reads a force or a torque.
    problems
        How much is missing or wrong in a campaign that is only set up.
    trouble
        Why its folder cannot be opened; empty where it can.
    """

    name: str
    stage: _Stage
    folder: str
    simulated: bool
    articles: int
    tools: int
    reference: str
    calibrated: bool
    runs: int
    planned: int
    excluded: int = 0
    problems: int = 0
    trouble: str = ""
    in_load: bool = False


def list_campaigns(workspace: Path) -> tuple[CampaignGlance, ...]:
    """Those that the workspace holds, in the order loaded, then those that are only set up, by folder.

    Raises
    ------
    StoreError
        If the workspace cannot be opened.
    """
    places = planned_names(workspace)
    held = campaign_names(workspace)
    waiting = (word for name, word in places.items() if name not in held)
    return (
        *(_held(workspace, name, places.get(name, "")) for name in held),
        *(_set_up(glance_at_set_up(workspace, word)) for word in waiting),
    )


def loaded_from_elsewhere(workspace: Path) -> dict[str, Path]:
    """The campaigns that the workspace holds and whose folder does not lie in it: name and folder.

    Raises
    ------
    StoreError
        If the workspace cannot be opened.
    """
    here = planned_names(workspace)
    names = [name for name in campaign_names(workspace) if name not in here]
    store = open_workspace(workspace) if names else None
    return {name: store.campaign_folder(store.campaign(name)[0]) for name in names} if store else {}


def _held(workspace: Path, name: str, word: str) -> CampaignGlance:
    store = open_workspace(workspace)
    key, campaign = store.campaign(name)
    runs, excluded = _count(store, key)
    planned = max(runs, glance_at_set_up(workspace, word).planned if word else 0)
    return CampaignGlance(
        name,
        "planned" if not runs else "recording" if runs < planned else "recorded",
        word,
        campaign.simulated,
        len(campaign.articles),
        len(campaign.tools),
        campaign.reference,
        store.calibration_rows(key) is not None,
        runs,
        planned,
        excluded,
        in_load=kind_of_unit(campaign.rig.unit) is not None,
    )


def _count(store: Store, key: int) -> tuple[int, int]:
    """Runs of a campaign, and those of them that are excluded."""
    count = sa.select(sa.func.count()).select_from(tables.run).where(tables.run.c.campaign_id == key)
    with reading(store.engine) as db:
        return int(db.scalar(count) or 0), int(db.scalar(count.where(set_aside_now())) or 0)


def _set_up(glance: SetUpGlance) -> CampaignGlance:
    return CampaignGlance(
        glance.name,
        _stage(glance),
        glance.word,
        glance.simulated,
        glance.articles,
        glance.tools,
        glance.reference,
        glance.calibrated,
        glance.made,
        glance.planned,
        problems=glance.faults,
        trouble=glance.trouble,
    )


def _stage(glance: SetUpGlance) -> _Stage:
    if glance.trouble:
        return "unreadable"
    if glance.faults:
        return "incomplete"
    return "not loaded" if glance.planned else "no sheet"
