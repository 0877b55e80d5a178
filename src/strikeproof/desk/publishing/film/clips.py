"""The clips of a workspace: what came in through the browser, by its name."""

from __future__ import annotations

import re
from pathlib import Path
from typing import Final

from strikeproof.desk.workspace.opening import open_campaign
from strikeproof.errors import StoreError

__all__ = ["CLIPS", "FILMS", "clip_names", "keep_clip", "traced_runs"]

CLIPS: Final = "clips"
FILMS: Final = "published/films"
_INCOMING: Final = "incoming"  # as desk/loading/upload.py has it, which imports far more than a page needs
_MOST_NAME: Final = 80


def traced_runs(workspace: Path, campaign: str | None) -> tuple[tuple[str, str], ...]:
    """Runs that have a log, each with what it is: article and tool.

    Raises
    ------
    StrikeproofError
        If there is no such campaign.
    """
    store, key, _campaign = open_campaign(workspace, campaign)
    return tuple(
        (run.row.run, f"{run.row.run}: {run.row.article}, {run.row.tool}")
        for run in store.runs(key)
        if run.trace is not None
    )


def clip_names(workspace: Path) -> tuple[str, ...]:
    """Files in the workspace's folder of clips, the newest first."""
    folder = workspace / CLIPS
    found = [each for each in folder.iterdir() if each.is_file()] if folder.is_dir() else []
    shown = [each for each in found if not each.name.startswith(".")]
    return tuple(each.name for each in sorted(shown, key=lambda each: -each.stat().st_mtime))


def keep_clip(workspace: Path, came: str, called: str) -> str:
    """Put a file that came in among the clips; its name there, which no other has.

    Parameters
    ----------
    came, called
        Under which name it came in, and what the person's file is to be called.

    Raises
    ------
    StoreError
        If it did not come, or cannot be stored.
    """
    path = workspace / _INCOMING / Path(came).name
    word = re.sub(r"[^\w.-]+", "-", Path(called).name).strip(".-")[:_MOST_NAME] or "clip"
    folder = workspace / CLIPS
    try:
        folder.mkdir(exist_ok=True)
        number, name = 1, word
        while (folder / name).exists():
            number += 1
            name = f"{number}-{word}"
        path.rename(folder / name)
    except OSError as cause:
        raise StoreError("the clip did not come in", "send it again") from cause
    return name
