"""A proposal of a design becomes an article of its campaign: appended to campaign.toml, ready to be run.

A material that only the brief knows goes with it, to `materials.toml` beside that file.
"""

from __future__ import annotations

from pathlib import Path

from strikeproof.campaign.toml_reader import read_toml
from strikeproof.desk.articles.materials import carry_materials
from strikeproof.desk.designing.brief_draft import design_folder
from strikeproof.desk.setting_up.editor import change_set_up, open_set_up
from strikeproof.desk.setting_up.edits import Tables, add_entry
from strikeproof.desk.workspace.opening import open_campaign
from strikeproof.desk.workspace.places import campaign_place, planned_names
from strikeproof.errors import BadInput, NotFound, StoreError

__all__ = ["adopt_proposal"]


def adopt_proposal(workspace: Path, name: str | None, proposal: str) -> str:
    """Add a proposal to the campaign it was designed for; returns the folder's name of the campaign.

    Parameters
    ----------
    proposal
        Folder of it in the design.

    Raises
    ------
    NotFound, BadInput, StoreError
        If there is no such proposal, the campaign has an article of that name, its folder does not lie in the
        workspace, or it cannot be written.
    """
    campaign = open_campaign(workspace, name)[2]
    word = planned_names(workspace).get(campaign.name)
    file = _file(workspace, name, proposal)
    article = file["article"][0]
    if word is None:
        raise BadInput(
            "its folder does not lie in this workspace",
            where=f"campaign {campaign.name!r}",
            allowed="a campaign set up or loaded here",
            fix="save the article file, append it to that campaign.toml, and load the campaign again",
        )
    if any(
        each.get("name") == article["name"] for each in open_set_up(workspace, word).tables.get("article", [])
    ):
        raise BadInput(
            "is in the campaign already",
            where=f"article {article['name']!r}",
            allowed="an article that is not",
            fix="plan its runs",
        )
    carry_materials(campaign_place(workspace, word), file.get("material", {}))
    made = change_set_up(workspace, word, add_entry("article", article))
    if not made.done:
        raise StoreError("the campaign was not changed", "; ".join(each.says for each in made.effects))
    return word


def _file(workspace: Path, name: str | None, proposal: str) -> Tables:
    folders = {each.parent.name: each for each in design_folder(workspace, name).glob("*/article.toml")}
    if proposal not in folders:
        raise NotFound("proposal", proposal, folders)
    return read_toml(folders[proposal])[0]
