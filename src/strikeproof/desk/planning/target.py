"""Where a planned run sheet may be written: never over runs that were made, nor over another file."""

from __future__ import annotations

from pathlib import Path
from typing import Final

from strikeproof.campaign.folder import other_file_at
from strikeproof.campaign.inside import path_inside
from strikeproof.campaign.records import Campaign
from strikeproof.campaign.run_sheet import NEW_BOLT
from strikeproof.campaign.table import read_table
from strikeproof.campaign.text import read_text
from strikeproof.errors import BadFile, StoreError

__all__ = ["check_target"]

_SAID_OF_A_RUN: Final = ("score", "set_aside", "started")
_PLANNED_NOTES: Final = ("", NEW_BOLT)
_ELSEWHERE: Final = "plan to another file with -o, or move the sheet away by hand first"


def check_target(target: Path, path: Path, campaign: Campaign) -> None:
    """Refuse a target that is no place for the run sheet of the campaign at `path`, a campaign.toml.

    Raises
    ------
    StoreError
        If `target` is a folder, another file of the campaign, or a sheet with runs that were made, or of
        which nobody can tell.
    """
    if target.is_dir():
        raise StoreError(f"{target}: is a folder", f"name a file, such as {target / 'runs.csv'}")
    other = other_file_at(target, path, campaign)
    if other is not None:
        raise StoreError(f"{target}: is {other}, not a run sheet", "name another file, such as runs.csv")
    if not target.is_file() or _is_blank(target):
        return
    try:
        rows = read_table(target).rows
    except BadFile as wrong:
        raise StoreError(f"{wrong.problem}; whether its runs were made cannot be seen", _ELSEWHERE) from wrong
    made = sum(_is_made(row.cells, path.parent, campaign) for row in rows)
    if made:
        were = "1 run on it was" if made == 1 else f"{made} runs on it were"
        raise StoreError(f"{target}: {were} made already, and a new plan would relabel them", _ELSEWHERE)


def _is_blank(target: Path) -> bool:
    try:
        lines = read_text(target, is_sheet=True).splitlines()
    except BadFile:
        return False
    return not any(line.strip() and not line.startswith("#") for line in lines)


def _is_made(cells: dict[str, str], folder: Path, campaign: Campaign) -> bool:
    told = any(cells.get(name) for name in _SAID_OF_A_RUN)
    return told or cells.get("note", "") not in _PLANNED_NOTES or _has_log(cells.get("log"), folder, campaign)


def _has_log(log: str | None, folder: Path, campaign: Campaign) -> bool:
    try:
        return bool(log) and path_inside(folder, campaign.logs_folder, log or "", key="log").is_file()
    except BadFile:
        return False
