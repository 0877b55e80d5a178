"""Every campaign of a workspace and how far it is: those that it holds, and those that are only set up."""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path
from typing import Literal

import sqlalchemy as sa

from strikeproof.campaign import schema as tables
from strikeproof.campaign.database import reading
from strikeproof.campaign.store import Store
from strikeproof.desk.setting_up.shelf import SetUpGlance, glance_at_set_up
from strikeproof.desk.workspace.contents import campaign_names, open_workspace, set_aside_now
from strikeproof.desk.workspace.places import planned_names
from strikeproof.quantity import kind_of_unit

__all__ = ["CampaignGlance", "Stage", "list_campaigns", "loaded_from_elsewhere"]

Stage = Literal["unreadable", "incomplete", "no sheet", "not loaded", "planned", "recording", "recorded"]
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
    stage: Stage
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
    """Runs of a campaign, and those of them that are set aside."""
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


def _stage(glance: SetUpGlance) -> Stage:
    if glance.trouble:
        return "unreadable"
    if glance.faults:
        return "incomplete"
    return "not loaded" if glance.planned else "no sheet"
