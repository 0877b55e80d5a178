"""A proposal becomes an article of its campaign, with the material that only the brief knew."""

from __future__ import annotations

import tomllib
from pathlib import Path
from typing import Any

import pytest
from tests.unit.desk.scores import Bench, write_folder

from strikeproof.campaign.folder import read_campaign
from strikeproof.campaign.store import open_store
from strikeproof.campaign.toml_document import write_document
from strikeproof.desk.articles.starting_shapes import start_article
from strikeproof.desk.designing.adopt import adopt_proposal
from strikeproof.desk.designing.brief_draft import design_folder, open_brief, start_brief
from strikeproof.desk.explaining.evidence import gather_evidence
from strikeproof.desk.loading.load import load_campaign
from strikeproof.desk.workspace.places import campaign_place
from strikeproof.errors import BadInput

NAME = "simulated rings"
STEEL = {
    "density_kg_m3": 7900.0,
    "shear_modulus_gpa": 80.0,
    "elastic_modulus_gpa": 208.0,
    "yield_mpa": 640.0,
    "tensile_mpa": 800.0,
    "endurance_mpa": 400.0,
}


@pytest.fixture
def workspace(tmp_path: Path) -> Path:
    """With a campaign in it that knows no material of its own."""
    load_campaign(write_folder(campaign_place(tmp_path, NAME), Bench(blocks=1)), tmp_path)
    return tmp_path


def keep_proposal(workspace: Path, name: str, steel: dict[str, Any], title: str = "own steel") -> str:
    """As a design keeps it: an article file that holds the material it is made of."""
    table = start_article("plain", name, 30, 12.7)
    table["part"][0]["material"] = title
    folder = design_folder(workspace, None) / f"01-{name}"
    folder.mkdir(parents=True)
    (folder / "article.toml").write_text(write_document({"article": [table], "material": {title: steel}}))
    return folder.name


def materials_of(workspace: Path) -> Path:
    return campaign_place(workspace, NAME) / "materials.toml"


def test_its_material_goes_with_it(workspace: Path) -> None:
    adopt_proposal(workspace, None, keep_proposal(workspace, "thick", STEEL))
    campaign = read_campaign(campaign_place(workspace, NAME) / "campaign.toml")  # which checks its geometry
    assert campaign.articles[-1].name == "thick"
    assert tomllib.loads(materials_of(workspace).read_text())["material"] == {"own steel": STEEL}


def test_the_explanation_and_the_next_brief_know_it_then(workspace: Path) -> None:
    adopt_proposal(workspace, None, keep_proposal(workspace, "thick", STEEL))
    store = open_store(workspace)
    known = gather_evidence(store, *store.campaign(None)).articles["thick"]
    assert known.caveats == () and known.properties is not None and known.properties.mass > 0.1
    start_brief(workspace, None)
    draft = open_brief(workspace, None)
    assert "own steel" in draft.shelf.materials
    assert draft.tables is not None and "thick" in draft.tables["brief"]["start_from"]
    assert not draft.faults


def test_what_a_person_wrote_stays_and_the_same_material_is_no_clash(workspace: Path) -> None:
    materials_of(workspace).write_text('# from the rack\n[material."own steel"]\n' + _lines(STEEL))
    rounded = {**STEEL, "yield_mpa": 640.0000000001}
    adopt_proposal(workspace, None, keep_proposal(workspace, "thick", rounded))
    adopt_proposal(workspace, None, keep_proposal(workspace, "other", STEEL, "other steel"))
    text = materials_of(workspace).read_text()
    assert text.startswith("# from the rack")
    assert tomllib.loads(text)["material"] == {"own steel": STEEL, "other steel": STEEL}


def test_another_material_of_that_name_is_never_written_over(workspace: Path) -> None:
    mine = '[material."own steel"]\n' + _lines({**STEEL, "yield_mpa": 300.0})
    materials_of(workspace).write_text(mine)
    with pytest.raises(BadInput, match="another material in the campaign"):
        adopt_proposal(workspace, None, keep_proposal(workspace, "thick", STEEL))
    assert materials_of(workspace).read_text() == mine
    names = [each.name for each in read_campaign(campaign_place(workspace, NAME) / "campaign.toml").articles]
    assert "thick" not in names


def _lines(table: dict[str, Any]) -> str:
    return "".join(f"{key} = {value}\n" for key, value in table.items())
