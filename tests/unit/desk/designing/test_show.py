"""A stored design is shown with what has changed since: the brief, or how the program works margins out."""

from __future__ import annotations

import json
from pathlib import Path

import pytest
from tests.unit.desk.scores import Bench, write_folder

from strikeproof.desk.designing.brief_draft import design_folder
from strikeproof.desk.designing.show import kept_design_to_show
from strikeproof.desk.loading.load import load_campaign
from strikeproof.desk.workspace.places import campaign_place
from strikeproof.desk.workspace.results_version import EXPLANATIONS


@pytest.mark.parametrize(
    ("version", "outdated"), [(EXPLANATIONS, False), (EXPLANATIONS - 1, True), (None, True)]
)
def test_the_margins_of_an_older_program_are_named_as_such(
    tmp_path: Path, version: int | None, outdated: bool
) -> None:
    load_campaign(write_folder(campaign_place(tmp_path, "simulated rings"), Bench(blocks=1)), tmp_path)
    told = {"mark": "", "proposals": [], "pareto": [], "reference": "plain", "currency": "EUR"}
    folder = design_folder(tmp_path, None)
    folder.mkdir(parents=True)
    (folder / "view.json").write_text(json.dumps(told if version is None else told | {"version": version}))
    design = kept_design_to_show(tmp_path, None, {})
    assert design is not None and (design.stale, design.outdated) == (False, outdated)
