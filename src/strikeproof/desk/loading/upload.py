"""Load a campaign that came through the browser: a folder inside the workspace, or an archive of one."""

from __future__ import annotations

import secrets
import shutil
from collections.abc import Callable
from pathlib import Path
from typing import Final

from strikeproof.campaign.archive import unpack_campaign
from strikeproof.campaign.folder import read_campaign
from strikeproof.campaign.store import open_store
from strikeproof.desk.loading.load import LoadOutcome, load_campaign
from strikeproof.desk.workspace.places import campaign_place, find_campaign_place
from strikeproof.desk.workspace.recognise import require_same_campaign
from strikeproof.errors import StoreError

__all__ = ["INCOMING", "load_inside", "load_upload"]

Progress = Callable[[int, int, str], None]

INCOMING: Final = "incoming"
"""Folder of the workspace for what is still on its way."""


def load_inside(workspace: Path, name: str, progress: Progress | None = None) -> LoadOutcome:
    """Load the campaign folder of that name inside the workspace.

    Raises
    ------
    NotFound, StoreError
        If there is no such folder, or the workspace cannot be written.
    """
    return load_campaign(find_campaign_place(workspace, name), workspace, progress)


def load_upload(workspace: Path, archive: str, progress: Progress | None = None) -> LoadOutcome:
    """Unpack an archive that has come in and load what it holds; the archive goes.

    Raises
    ------
    BadInput, BadFile, StoreError
        If it is no ZIP file of one campaign folder, or one of its name is there already.
    """
    incoming = workspace / INCOMING
    path = incoming / Path(archive).name
    unpacked = incoming / secrets.token_hex(8)
    try:
        folder = unpack_campaign(path, unpacked)
        campaign = read_campaign(folder / "campaign.toml")
        target = campaign_place(workspace, campaign.name)
        if target.exists():
            raise StoreError(
                f"a campaign folder {target.name!r} is in this workspace already",
                "load that one, or give the new one another name in its campaign.toml",
            )
        if (workspace / "strikeproof.db").is_file():
            require_same_campaign(open_store(workspace), folder)
        target.parent.mkdir(exist_ok=True)
        folder.rename(target)
        return load_campaign(target, workspace, progress)
    except OSError as cause:
        raise StoreError(
            f"{cause.filename or path}: {cause.strerror}", "check that the disk has room, then try again"
        ) from cause
    finally:
        shutil.rmtree(unpacked, ignore_errors=True)
        path.unlink(missing_ok=True)
