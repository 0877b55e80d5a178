"""Open a campaign in a workspace."""

from __future__ import annotations

from pathlib import Path

from strikeproof.campaign.records import Campaign
from strikeproof.campaign.store import Store, open_store

__all__ = ["open_campaign"]


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
