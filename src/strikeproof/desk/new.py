"""Start a campaign folder from the commented template."""

from __future__ import annotations

from importlib.resources import files
from pathlib import Path

from strikeproof.campaign.whole_file import write_whole
from strikeproof.errors import StoreError

__all__ = ["start_folder"]

_FILES = ("campaign.toml", "runs.csv", "calibration.csv")


def start_folder(folder: Path) -> tuple[Path, ...]:
    """Make `folder` with a commented campaign.toml, the two sheets and an empty folder for logs.

    Raises
    ------
    StoreError
        If one of the files is there already, or the folder cannot be made. Nothing is overwritten.
    """
    templates = files("strikeproof.campaign") / "templates"
    there = [name for name in _FILES if (folder / name).exists()]
    if there:
        raise StoreError(f"{folder}: holds {', '.join(there)} already", "name another folder")
    try:
        (folder / "logs").mkdir(parents=True, exist_ok=True)
        for name in _FILES:
            write_whole(folder / name, (templates / name).read_bytes())
    except OSError as cause:
        raise StoreError(f"{folder}: cannot be made: {cause.strerror}", "choose another place") from cause
    return tuple(folder / name for name in _FILES)
