"""A campaign reads, writes and deletes in its own folder alone, whatever its files say."""

from __future__ import annotations

import zipfile
from dataclasses import replace
from pathlib import Path

import pytest
from tests.unit.desk.live_bench import CAMPAIGN

from strikeproof.campaign.folder import read_campaign, read_folder
from strikeproof.campaign.inside import path_inside
from strikeproof.campaign.store import open_store
from strikeproof.desk.loading.load import load_campaign
from strikeproof.desk.loading.upload import load_upload
from strikeproof.desk.recording.recorder import open_recorder
from strikeproof.errors import BadFile
from strikeproof.plain_json import to_json

HEAD = "run,log,tool,article,block\n"
LOG = "".join(f"{n / 100},{n % 7}\n" for n in range(500))
FILES = {"runs.sheet": "runs.csv", "runs.logs": "logs", "calibration.sheet": "calibration.csv"}


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    """A campaign of one run, with a precious folder beside it that holds the same kinds of files."""
    for name in ("campaign", "precious"):
        place = tmp_path / name
        (place / "logs").mkdir(parents=True)
        (place / "campaign.toml").write_text(CAMPAIGN)
        (place / "runs.csv").write_text(HEAD + "1,1.csv,air,plain,1\n")
        (place / "logs" / "1.csv").write_text("time [s],load [kN]\n" + LOG)
        (place / "calibration.csv").write_text("applied,reading\n1,2\n2,4\n3,6\n")
        (place / "logs" / "r7.arrows").write_bytes(b"\xff\xff\xff\xff\x10")
    return tmp_path / "campaign"


def say(folder: Path, key: str, value: str) -> None:
    table, name = key.split(".")
    more = 'applied_unit = "kN"\n' if table == "calibration" else ""
    text = f'{CAMPAIGN}\n[{table}]\n{name} = "{value}"\n{more}'
    (folder / "campaign.toml").write_text(text)


def snapshot(folder: Path) -> dict[str, bytes]:
    return {str(path): path.read_bytes() for path in folder.rglob("*") if path.is_file()}


@pytest.mark.parametrize("key", FILES)
@pytest.mark.parametrize("way", ["up", "absolute", "link", "strokes"])
def test_no_key_leads_out(folder: Path, key: str, way: str) -> None:
    name = FILES[key]
    outside = folder.parent / "precious" / name
    (folder / "way").symlink_to(outside)
    value = {"up": f"../precious/{name}", "absolute": str(outside), "link": "way", "strokes": "..\\\\x"}[way]
    say(folder, key, value)
    with pytest.raises(BadFile) as caught:
        read_campaign(folder / "campaign.toml")
    (problem,) = caught.value.problems
    assert problem.file == str(folder / "campaign.toml")
    assert problem.problem.startswith(f"{key}: ")
    line = (folder / "campaign.toml").read_text().splitlines()[(problem.line or 0) - 1]
    assert line.startswith(key.split(".")[1])
    assert "into the campaign folder" in problem.fix


@pytest.mark.parametrize("way", ["../../precious/logs/1.csv", "link.csv", "absolute"])
def test_no_line_of_the_sheet_leads_out(folder: Path, way: str) -> None:
    outside = folder.parent / "precious" / "logs" / "1.csv"
    (folder / "logs" / "link.csv").symlink_to(outside)
    log = str(outside) if way == "absolute" else way
    (folder / "runs.csv").write_text(f"{HEAD}1,1.csv,air,plain,1\n2,{log},air,plain,1\n")
    found = read_folder(folder)
    assert [row.run for row in found.rows] == ["1"]
    (problem,) = found.problems
    assert (problem.file, problem.line) == (str(folder / "runs.csv"), 3)
    assert problem.problem == f"log: {log!r} leads out of the campaign's folder"


def test_a_link_that_stays_inside_is_a_file_like_any_other(folder: Path) -> None:
    (folder / "kept").mkdir()
    (folder / "kept" / "2.csv").write_text("time [s],load [kN]\n" + LOG)
    (folder / "logs" / "2.csv").symlink_to(folder / "kept" / "2.csv")
    (folder / "runs.csv").write_text(f"{HEAD}1,1.csv,air,plain,1\n2,2.csv,air,plain,1\n")
    assert read_folder(folder).problems == ()


@pytest.mark.parametrize("name", ["loop", "nul\0", ""])
def test_what_is_no_name_leads_nowhere(tmp_path: Path, name: str) -> None:
    (tmp_path / "loop").symlink_to("loop")
    if name:
        with pytest.raises(BadFile):
            path_inside(tmp_path, name, key="log")
    else:
        assert path_inside(tmp_path, name, key="log") == tmp_path


def test_an_archive_that_leads_out_is_refused_and_touches_nothing(folder: Path, tmp_path: Path) -> None:
    precious = snapshot(tmp_path / "precious")
    say(folder, "runs.logs", str(tmp_path / "precious" / "logs"))
    lab = tmp_path / "lab"
    (lab / "incoming").mkdir(parents=True)
    with zipfile.ZipFile(lab / "incoming" / "came", "w") as archive:
        archive.write(folder / "campaign.toml", "c/campaign.toml")
        archive.write(folder / "runs.csv", "c/runs.csv")
    with pytest.raises(BadFile, match=r"runs\.logs"):
        load_upload(lab, "came")
    assert snapshot(tmp_path / "precious") == precious
    assert not (lab / "campaigns").exists() or not list((lab / "campaigns").iterdir())


def test_a_campaign_known_from_before_does_not_lead_the_recorder_out(folder: Path, tmp_path: Path) -> None:
    """A workspace may hold a record that was loaded when nobody looked."""
    lab = tmp_path / "lab"
    load_campaign(folder, lab)
    open_recorder(lab).close()
    precious = snapshot(tmp_path / "precious")
    store = open_store(lab)
    _key, campaign = store.campaign(None)
    for change in (
        {"logs_folder": str(tmp_path / "precious" / "logs")},
        {"runs_sheet": "../../../precious/runs.csv"},
    ):
        store.keep_campaign(replace(campaign, **change), folder)
        with pytest.raises(BadFile, match="leads out"):
            open_recorder(lab)
    assert snapshot(tmp_path / "precious") == precious


def test_a_loaded_campaign_says_which_folder_it_came_from(folder: Path, tmp_path: Path) -> None:
    outcome = load_campaign(folder, tmp_path / "lab")
    assert outcome.folder == folder
    assert to_json(outcome)["folder"] == str(folder)
