"""The list of campaigns: each folder of the workspace is in it with how far it is."""

from __future__ import annotations

import re
from dataclasses import replace
from pathlib import Path

import pytest
from tests.unit.desk.scores import Bench, write_folder

from strikeproof.desk.loading.load import load_campaign
from strikeproof.desk.planning.sheet import keep_sheet, open_for_recording
from strikeproof.desk.setting_up.editor import start_set_up
from strikeproof.desk.setting_up.shelf import CampaignGlance, list_campaigns, loaded_from_elsewhere
from strikeproof.desk.workspace.places import campaign_place

NAME = "simulated rings"


def only(workspace: Path) -> CampaignGlance:
    (found,) = list_campaigns(workspace)
    return found


def write_planned(workspace: Path) -> Path:
    """A campaign's folder in the workspace, its runs made on the command line or not at all."""
    return write_folder(campaign_place(workspace, NAME), replace(Bench(blocks=2), protocol="repeats = 3"))


def test_an_empty_workspace_has_none(tmp_path: Path) -> None:
    assert list_campaigns(tmp_path) == ()


def test_a_campaign_begun_in_the_browser_is_there_at_once(tmp_path: Path) -> None:
    start_set_up(tmp_path, "Track rollers")
    found = only(tmp_path)
    assert (found.name, found.stage, found.folder) == ("Track rollers", "incomplete", "track-rollers")
    assert found.problems > 0 and found.planned == 0


def test_it_is_followed_from_its_plan_to_its_last_run(tmp_path: Path) -> None:
    folder = write_planned(tmp_path)
    sheet = (folder / "runs.csv").read_text()
    (folder / "runs.csv").unlink()
    assert only(tmp_path).stage == "no sheet"
    keep_sheet(tmp_path, folder.name)
    planned = only(tmp_path)
    assert (planned.stage, planned.runs, planned.planned) == ("planned", 0, 3 * 6)
    (folder / "runs.csv").write_text(sheet)
    load_campaign(folder, tmp_path)
    with (folder / "runs.csv").open("a") as more:
        more.write(sheet.splitlines()[-1].replace("r", "x", 1).rsplit(",", 1)[0] + ",\n")
    begun = only(tmp_path)
    assert (begun.stage, begun.runs, begun.planned) == ("recording", 12, 13)
    (folder / "runs.csv").write_text(sheet)
    assert only(tmp_path).stage == "recorded"


def test_a_sheet_made_elsewhere_can_be_recorded(tmp_path: Path) -> None:
    folder = write_planned(tmp_path)
    found = only(tmp_path)
    assert (found.stage, found.runs) == ("not loaded", 12)
    open_for_recording(tmp_path, folder.name)
    assert only(tmp_path).stage == "planned"


@pytest.mark.parametrize("text", ["this is = not = TOML", "\x00"])
def test_a_folder_that_cannot_be_opened_is_listed_with_the_reason(tmp_path: Path, text: str) -> None:
    folder = write_planned(tmp_path)
    (folder / "campaign.toml").write_text(text)
    found = only(tmp_path)
    assert (found.stage, found.name) == ("unreadable", folder.name) and found.trouble


def test_one_loaded_from_elsewhere_has_no_folder(tmp_path: Path) -> None:
    load_campaign(write_folder(tmp_path / "elsewhere", Bench(blocks=1)), tmp_path / "lab")
    found = only(tmp_path / "lab")
    assert (found.stage, found.folder, found.runs, found.simulated) == ("recorded", "", 5, True)
    assert loaded_from_elsewhere(tmp_path / "lab") == {NAME: tmp_path / "elsewhere"}
    start_set_up(tmp_path / "lab", "Track rollers")
    assert list(loaded_from_elsewhere(tmp_path / "lab")) == [NAME]


@pytest.mark.parametrize(("unit", "in_load"), [("kN", True), ("N m", True), ("mV", False)])
def test_it_is_known_whether_the_rig_itself_reads_a_load(tmp_path: Path, unit: str, in_load: bool) -> None:
    folder = write_folder(tmp_path / "outside", Bench(blocks=1))
    file = folder / "campaign.toml"
    file.write_text(re.sub(r'(\[rig\][^\[]*?\bunit = )"[^"]*"', rf'\1"{unit}"', file.read_text()))
    load_campaign(folder, tmp_path / "lab")
    assert only(tmp_path / "lab").in_load is in_load
