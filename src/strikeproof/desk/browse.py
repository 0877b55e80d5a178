"""What a workspace holds, at a glance: its campaigns, and what to do next with each."""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path

import sqlalchemy as sa

from strikeproof.campaign import schema as tables
from strikeproof.campaign.database import reading
from strikeproof.campaign.store import Store, open_store
from strikeproof.desk.places import campaign_places, planned_simulated

__all__ = ["CampaignGlance", "campaign_names", "glance_at_campaigns", "is_simulated", "loadable"]


@dataclass(frozen=True, slots=True)
class CampaignGlance:
    """One campaign as a list shows it.

    `calibrated` tells whether calibration readings are kept; `loaded_at` is ISO 8601 in UTC.
    """

    name: str
    runs: int
    set_aside: int
    articles: int
    tools: int
    reference: str
    simulated: bool
    calibrated: bool
    loaded_at: str


def campaign_names(workspace: Path) -> tuple[str, ...]:
    """The campaigns of a workspace, in the order loaded; none where there is no workspace yet."""
    if not (workspace / "strikeproof.db").is_file():
        return ()
    return open_workspace(workspace).campaigns()


def is_simulated(workspace: Path, name: str) -> bool:
    """Whether a campaign's runs are simulated, by the workspace or by the file it was set up in."""
    if planned_simulated(workspace, name):
        return True
    if name not in campaign_names(workspace):
        return False
    with reading(open_workspace(workspace).engine) as db:
        record = db.scalar(sa.select(tables.campaign.c.record).where(tables.campaign.c.name == name))
    return bool(record and record.get("simulated"))


def open_workspace(workspace: Path) -> Store:
    """The store of a workspace.

    Raises
    ------
    StoreError
        If there is none, or it cannot be opened.
    """
    return open_store(workspace)


def glance_at_campaigns(workspace: Path) -> tuple[CampaignGlance, ...]:
    """Every campaign with its counts; none where there is no workspace yet.

    Raises
    ------
    StoreError
        If the workspace cannot be opened.
    """
    if not (workspace / "strikeproof.db").is_file():
        return ()
    store = open_workspace(workspace)
    return tuple(_glance(store, name) for name in store.campaigns())


def _glance(store: Store, name: str) -> CampaignGlance:
    key, campaign = store.campaign(name)
    with reading(store.engine) as db:
        count = sa.select(sa.func.count()).select_from(tables.run).where(tables.run.c.campaign_id == key)
        runs = int(db.scalar(count) or 0)
        aside = int(db.scalar(count.where(set_aside_now())) or 0)
        loaded = db.scalar(sa.select(tables.campaign.c.loaded_at).where(tables.campaign.c.id == key))
    return CampaignGlance(
        name=name,
        runs=runs,
        set_aside=aside,
        articles=len(campaign.articles),
        tools=len(campaign.tools),
        reference=campaign.reference,
        simulated=campaign.simulated,
        calibrated=store.calibration_rows(key) is not None,
        loaded_at=str(loaded),
    )


def loadable(workspace: Path) -> tuple[str, ...]:
    """The campaign folders inside the workspace that can be loaded, by name."""
    return tuple(each.name for each in campaign_places(workspace) if (each / "campaign.toml").is_file())


def set_aside_now() -> sa.ColumnElement[bool]:
    """Of a run's row: whether the latest word on it sets it aside."""
    word = (
        sa.select(tables.event.c.kind)
        .where(tables.event.c.run_id == tables.run.c.id, tables.event.c.kind.in_(("set aside", "put back")))
        .order_by(tables.event.c.id.desc())
        .limit(1)
        .scalar_subquery()
    )
    return word == "set aside"
