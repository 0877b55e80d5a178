"""A workspace opened: one campaign of it, or the names of all, and which of them are simulated."""

from __future__ import annotations

from pathlib import Path

import sqlalchemy as sa

from strikeproof.campaign import schema as tables
from strikeproof.campaign.database import reading
from strikeproof.campaign.database_server import holds_store
from strikeproof.campaign.records import Campaign
from strikeproof.campaign.run_rows import PUT_BACK, SET_ASIDE
from strikeproof.campaign.store import Store, open_store
from strikeproof.desk.workspace.places import campaign_places, planned_simulated

__all__ = ["campaign_names", "is_simulated", "loadable", "open_campaign", "open_workspace", "set_aside_now"]


def open_campaign(workspace: Path, name: str | None) -> tuple[Store, int, Campaign]:
    """The store and one campaign in it.

    Raises
    ------
    StoreError, NotFound, BadInput
        If there is no workspace, no such campaign, or several and none is named.
    """
    store = open_store(workspace)
    key, campaign = store.campaign(name)
    return store, key, campaign


def campaign_names(workspace: Path) -> tuple[str, ...]:
    """The campaigns of a workspace, in the order loaded; none where there is no workspace yet."""
    if not holds_store(workspace):
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


def loadable(workspace: Path) -> tuple[str, ...]:
    """The campaign folders inside the workspace that can be loaded, by name."""
    return tuple(each.name for each in campaign_places(workspace) if (each / "campaign.toml").is_file())


def set_aside_now() -> sa.ColumnElement[bool]:
    """Of a run's row: whether the latest word on it excludes it."""
    word = (
        sa.select(tables.event.c.kind)
        .where(tables.event.c.run_id == tables.run.c.id, tables.event.c.kind.in_((SET_ASIDE, PUT_BACK)))
        .order_by(tables.event.c.id.desc())
        .limit(1)
        .scalar_subquery()
    )
    return word == SET_ASIDE
