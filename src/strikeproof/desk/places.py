"""Where a campaign that is set up or recorded in the browser lies: a folder inside the workspace."""

from __future__ import annotations

import re
import tomllib
import unicodedata
from functools import lru_cache
from pathlib import Path
from typing import Final

from strikeproof.errors import BadInput, NotFound

__all__ = [
    "DRAFT",
    "campaign_place",
    "campaign_places",
    "find_campaign_place",
    "folder_word",
    "planned_names",
]

DRAFT: Final = "draft.toml"
"""What is not whole yet stands here, beside the last whole campaign.toml."""

_LONGEST: Final = 60


def folder_word(name: str) -> str:
    """A campaign's name as a folder's: small letters and digits of any script, hyphens between them.

    Said of a folder's own name it changes nothing, and it never leads out of the folder it stands in.

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
            mend="give it a name",
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


def _name_in(place: Path) -> str:
    """The name in the draft, which is the newer where there is one, or in the whole campaign."""
    path = next(path for name in (DRAFT, "campaign.toml") if (path := place / name).is_file())
    return _name_of(path, path.stat().st_mtime_ns) or place.name


@lru_cache(maxsize=256)
def _name_of(path: Path, _changed: int) -> str:
    """Empty where the file cannot be read; setting it up tells why."""
    try:
        return str(tomllib.loads(path.read_text(encoding="utf-8")).get("campaign", {}).get("name", ""))
    except (OSError, ValueError, AttributeError):
        return ""


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
