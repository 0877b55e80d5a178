"""Where a campaign that is set up or recorded in the browser lies: a folder inside the workspace."""

from __future__ import annotations

import re
import unicodedata
from functools import lru_cache
from pathlib import Path
from typing import Final

from strikeproof.campaign.toml_reader import read_toml
from strikeproof.errors import BadFile, BadInput, NotFound

__all__ = [
    "DRAFT",
    "campaign_place",
    "campaign_places",
    "find_campaign_place",
    "folder_word",
    "planned_names",
    "planned_simulated",
]

DRAFT: Final = "draft.toml"
"""What is not complete yet is here, beside the last whole campaign.toml."""

_LONGEST: Final = 60


def folder_word(name: str) -> str:
    """A campaign's name as a folder's: small letters and digits of any script, hyphens between them.

    Said of a folder's own name it changes nothing, and it never leads out of the folder it is in.

    Raises
    ------
    BadInput
        If no letter or digit is in it.
    """
    plain = unicodedata.normalize("NFC", name).casefold()
    word = re.sub(r"[\W_]+", "-", plain).strip("-")[:_LONGEST].strip("-")
    if not word:
        raise BadInput(
            f"{name!r} has no letter or digit",
            where="campaign.name",
            allowed="a name with a letter or a digit",
            fix="give it a name",
        )
    return word


def campaign_place(workspace: Path, name: str) -> Path:
    """The folder of the campaign called `name`, whether it is there or not."""
    return workspace / "campaigns" / folder_word(name)


def campaign_places(workspace: Path) -> tuple[Path, ...]:
    """The folders of all campaigns that were set up in this workspace, by name."""
    folder = workspace / "campaigns"
    if not folder.is_dir():
        return ()
    return tuple(
        sorted(
            each for each in folder.iterdir() if any((each / n).is_file() for n in ("campaign.toml", DRAFT))
        )
    )


def planned_names(workspace: Path) -> dict[str, str]:
    """The campaigns that were set up in this workspace: name, as a person calls it, and folder."""
    return {_name_in(place): place.name for place in campaign_places(workspace)}


def planned_simulated(workspace: Path, name: str) -> bool:
    """Whether a campaign that was set up here says in its file that its runs are simulated."""
    headings = map(_heading_in, campaign_places(workspace))
    return any(simulated for called, simulated in headings if called == name)


def _name_in(place: Path) -> str:
    return _heading_in(place)[0]


def _heading_in(place: Path) -> tuple[str, bool]:
    """Name, and whether simulated, by the draft, which is the newer where there is one, or the campaign."""
    path = next(path for name in (DRAFT, "campaign.toml") if (path := place / name).is_file())
    name, simulated = _heading_of(path, path.stat().st_mtime_ns)
    return name or place.name, simulated


@lru_cache(maxsize=256)
def _heading_of(path: Path, _changed: int) -> tuple[str, bool]:
    """No name where the file cannot be read; setting it up shows why."""
    try:
        told = read_toml(path)[0].get("campaign", {})
        return str(told.get("name", "")), told.get("simulated") is True
    except (BadFile, OSError, AttributeError):
        return "", False


def find_campaign_place(workspace: Path, name: str) -> Path:
    """The folder of the campaign called `name`, or of that folder's name, which must be there.

    Raises
    ------
    NotFound
        If there is none, with the nearest one that is.
    """
    known = campaign_places(workspace)
    if not name.strip() or (place := campaign_place(workspace, name)) not in known:
        raise NotFound("campaign set up here", name, [each.name for each in known])
    return place
