"""Materials that a campaign's articles may be made of: of the workspace, and beside the campaign."""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import astuple
from pathlib import Path
from typing import Any, Final

from strikeproof.campaign.inside import path_inside
from strikeproof.campaign.text import read_text
from strikeproof.campaign.toml_document import merge_document
from strikeproof.campaign.whole_file import write_whole
from strikeproof.desk.articles.article import material_tables
from strikeproof.desk.workspace.opening import open_campaign
from strikeproof.desk.workspace.recognise import own_place
from strikeproof.errors import BadInput, StoreError
from strikeproof.parts import Material, read_materials

__all__ = ["campaign_material_tables", "campaign_materials", "carry_materials"]

_HEAD: Final = "# Your own materials, for all articles of this campaign: docs/articles.md.\n"


def campaign_material_tables(workspace: Path, name: str) -> dict[str, Any]:
    """Every material as its table; those beside the campaign win.

    Raises
    ------
    BadFile
        If a file is no TOML.
    """
    store, key, campaign = open_campaign(workspace, name)
    found = material_tables(workspace) | material_tables(store.campaign_folder(key))
    try:
        return found | material_tables(own_place(store, campaign))
    except StoreError:  # a folder of another campaign, whose materials are none of its own
        return found


def campaign_materials(workspace: Path, name: str) -> dict[str, Material]:
    """The same, read.

    Raises
    ------
    BadFile, BadInput, NotFound
        If they cannot be used.
    """
    return read_materials(campaign_material_tables(workspace, name))


def carry_materials(folder: Path, tables: Mapping[str, Any]) -> None:
    """Put materials into `materials.toml` beside a campaign; what is there stays.

    Raises
    ------
    BadInput
        If one of that name is there and another material.
    StoreError
        If it cannot be written.
    """
    known = material_tables(folder)
    there, new = read_materials(known), read_materials(tables)
    for name, material in new.items():
        if name in there and not _same(material, there[name]):
            raise BadInput(
                "is another material in the campaign",
                where=f"material {name!r}",
                allowed="the same values under one name",
                fix=f"rename it in brief.toml, or make both the same in {folder / 'materials.toml'}",
            )
    missing = {name: dict(table) for name, table in tables.items() if name not in known}
    if missing:
        path = path_inside(folder, "materials.toml", key="materials", file=folder / "materials.toml")
        before = read_text(path) if path.is_file() else _HEAD
        write_whole(path, merge_document(before, {"material": {**known, **missing}}))


def _same(one: Material, other: Material) -> bool:
    """Whether they are alike in all that is reckoned with, but for rounding."""
    pairs = zip(astuple(one), astuple(other), strict=True)
    return all(math.isclose(a, b, rel_tol=1e-6) for a, b in pairs if isinstance(a, float))
