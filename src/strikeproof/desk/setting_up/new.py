"""Start a campaign folder from the commented template."""

from __future__ import annotations

import json
from importlib.resources import files
from importlib.resources.abc import Traversable
from pathlib import Path

from strikeproof.campaign.identity import new_identity
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
    name = "".join(each if each.isprintable() else "_" for each in folder.resolve().name)
    try:
        (folder / "logs").mkdir(parents=True, exist_ok=True)
        for file in _FILES:
            write_whole(folder / file, _named(templates / file, name))
    except OSError as cause:
        raise StoreError(f"{folder}: cannot be made: {cause.strerror}", "choose another place") from cause
    return tuple(folder / file for file in _FILES)


def _named(template: Traversable, name: str) -> str:
    """A template, with the campaign's name and an identity of its own."""
    text = template.read_text(encoding="utf-8")
    text = text.replace('"NAME"', json.dumps(name or "campaign", ensure_ascii=False))
    return text.replace("IDENTITY", new_identity())
