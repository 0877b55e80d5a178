"""A planned run sheet never takes the place of runs that were made, or of another file."""

from pathlib import Path

import pytest

from strikeproof.campaign.folder import read_campaign
from strikeproof.desk.planning.plan import plan_campaign, write_sheet
from strikeproof.desk.setting_up.new import start_folder
from strikeproof.errors import BadFile, StoreError


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    start_folder(tmp_path / "bench")
    write_sheet(plan_campaign(tmp_path / "bench"), tmp_path / "bench" / "runs.csv", replace=True)
    return tmp_path / "bench"


def replan(folder: Path, target: str = "runs.csv") -> None:
    write_sheet(plan_campaign(folder), folder / target, replace=True)


def test_a_sheet_of_which_no_run_was_made_is_replaced(folder: Path) -> None:
    replan(folder)
    (folder / "runs.csv").write_text("# nothing yet\n\n")
    replan(folder)


@pytest.mark.parametrize("column", ["score", "note", "set_aside", "started"])
def test_a_sheet_that_says_something_of_a_run_stays(folder: Path, column: str) -> None:
    sheet = folder / "runs.csv"
    sheet.write_text(f"run,log,tool,article,block,{column}\nr1,r1.csv,t,a,1,7.5\nr2,r2.csv,t,b,1,\n")
    before = sheet.read_bytes()
    with pytest.raises(StoreError, match=r"runs\.csv: 1 run on it was made") as refused:
        replan(folder)
    assert "move the sheet away by hand" in refused.value.fix
    assert sheet.read_bytes() == before


def test_a_sheet_with_logs_in_the_folder_stays(folder: Path) -> None:
    for name in ("r001.csv", "r002.csv"):
        (folder / "logs" / name).write_text("time,load\n0,1\n")
    with pytest.raises(StoreError, match="2 runs on it were made"):
        replan(folder)
    replan(folder, "other.csv")


def test_a_sheet_that_cannot_be_read_stays(folder: Path) -> None:
    (folder / "runs.csv").write_bytes(b"\x00\xff\x00\x81binary\x00")
    with pytest.raises(StoreError, match="cannot be seen"):
        replan(folder)


@pytest.mark.parametrize(
    ("name", "what"),
    [
        ("campaign.toml", "campaign file"),
        ("materials.toml", "materials file"),
        ("calibration.csv", "calibration sheet"),
        ("link.csv", "campaign file"),
        ("logs", "is a folder"),
    ],
)
def test_the_run_sheet_is_no_other_file(folder: Path, name: str, what: str) -> None:
    (folder / "link.csv").symlink_to("campaign.toml")
    campaign = folder / "campaign.toml"
    text = campaign.read_text()
    if "\n[calibration]" not in text:
        text += '\n[calibration]\nsheet = "calibration.csv"\napplied_unit = "N m"\n'
        campaign.write_text(text)
    for replace in (True, False):
        with pytest.raises(StoreError, match=what) as refused:
            write_sheet(plan_campaign(folder), folder / name, replace=replace)
        assert "runs.csv" in refused.value.fix
    assert campaign.read_text() == text
    if what != "is a folder":
        campaign.write_text(text.replace('sheet = "runs.csv"', f'sheet = "{name}"'))
        with pytest.raises(BadFile, match=f"runs.sheet: '{name}' is the {what}"):
            read_campaign(campaign)
