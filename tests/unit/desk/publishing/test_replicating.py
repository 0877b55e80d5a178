"""A bundle repeated on another bench: the plan takes what may be taken, the comparison names what differs."""

from __future__ import annotations

import json
import shutil
import zipfile
from pathlib import Path

import pytest
from tests.commands import strikeproof
from tests.unit.desk.publishing.plain_bundle import changed_member, plain_bundle, rows

from strikeproof.campaign.folder import read_campaign
from strikeproof.desk.loading.load import load_campaign
from strikeproof.desk.publishing.replicating import plan_replication
from strikeproof.desk.publishing.shown import replication_plan_to_show, replication_to_show
from strikeproof.desk.workspace.places import campaign_place
from strikeproof.errors import BadInput, StoreError

GAINS = {"ring": 0.10, "sleeve": 0.05}


@pytest.fixture(scope="module")
def theirs(tmp_path_factory: pytest.TempPathFactory) -> Path:
    return plain_bundle(tmp_path_factory.mktemp("theirs") / "x.zip", GAINS)


@pytest.fixture(scope="module")
def planned(theirs: Path) -> Path:
    folder = theirs.parent / "mine"
    out, err = strikeproof("replicate", theirs, "--into", folder, code=0)
    assert "ring with air: theirs +9.4 %; yours is to be expected from +7.3 % to +11.6 %" in out
    assert "calibrate it: theirs do not apply to it" in err
    return folder


def test_a_bundle_becomes_the_plan_of_a_new_campaign(theirs: Path, planned: Path) -> None:
    campaign = read_campaign(planned / "campaign.toml")
    assert [each.name for each in campaign.articles] == ["plain", "ring", "sleeve"]
    assert campaign.articles[1].mass_kg == 0.9 and campaign.protocol.duration_s == 4.0
    assert campaign.protocol.repeats == 6  # as many as theirs
    sheet = (planned / "runs.csv").read_text()
    assert sheet.count(",ring,") == sheet.count(",sleeve,") == 6 and sheet.count(",plain,") == 12
    assert campaign.id != "theirs" and campaign.calibration is None and campaign.rig.channel is None
    text = (planned / "campaign.toml").read_text()
    assert "their stand" not in text and "load cell" not in text


def test_a_folder_that_is_there_stays(theirs: Path, tmp_path: Path) -> None:
    (tmp_path / "notes.txt").write_text("years of work")
    with pytest.raises(StoreError, match="is there already"):
        plan_replication(theirs, tmp_path)
    with pytest.raises(BadInput, match="repeats"):
        plan_replication(theirs, tmp_path / "new", repeats=1)
    assert [each.name for each in tmp_path.iterdir()] == ["notes.txt"]


def test_a_bundle_that_was_changed_is_no_plan(theirs: Path, tmp_path: Path) -> None:
    changed = changed_member(theirs, tmp_path / "x.zip", "campaign/runs.csv", rows(GAINS, seed=9))
    with pytest.raises(StoreError, match=r"campaign/runs\.csv of the bundle was changed"):
        plan_replication(changed, tmp_path / "new")
    assert not (tmp_path / "new").exists()


def own_runs(planned: Path, home: Path, text: str, change: tuple[str, str] = ("", "")) -> Path:
    """A workspace with the plan, run with these scores."""
    home.mkdir()
    campaign = (planned / "campaign.toml").read_text()
    (home / "campaign.toml").write_text(campaign.replace(*change) if change[0] else campaign)
    (home / "runs.csv").write_text(text)
    load_campaign(home, home / "lab")
    return home / "lab"


def test_both_benches_are_compared_article_by_article(theirs: Path, planned: Path, tmp_path: Path) -> None:
    lab = own_runs(planned, tmp_path / "own", rows({"ring": 0.10, "sleeve": 0.15}, seed=5))
    out, _ = strikeproof("replicate", theirs, "-w", lab, "--json", code=0)
    ring, sleeve = sorted(json.loads(out)["articles"], key=lambda each: each["article"])
    assert (ring["verdict"], sleeve["verdict"]) == ("agrees", "differs")
    assert abs(ring["en"]) < 1.0 < sleeve["en"]
    assert ring["theirs"]["gain_percent"] == pytest.approx(10.5, abs=3.0)  # e^0.10 - 1, five standard errors
    assert ring["expected_low_percent"] < ring["ours"]["gain_percent"] < ring["expected_high_percent"]
    out, err = strikeproof("replicate", theirs, "-w", lab, code=0)
    assert (
        "expected" in out.splitlines()[0] and "1 gain in agreement" in err and "1 gain in disagreement" in err
    )


def test_another_protocol_is_not_compared(theirs: Path, planned: Path, tmp_path: Path) -> None:
    lab = own_runs(
        planned, tmp_path / "own", rows(GAINS, seed=5), ('reference = "plain"', 'reference = "ring"')
    )
    _, err = strikeproof("replicate", theirs, "-w", lab, code=2)
    assert "theirs is 'plain'" in err
    strikeproof("replicate", theirs, code=2)


def test_a_bundle_that_came_in_becomes_a_campaign_of_the_workspace_once(theirs: Path, tmp_path: Path) -> None:
    """As the browser does it: the file that came goes, and a second one of the same name is refused."""
    for number in range(2):
        (tmp_path / "incoming").mkdir(exist_ok=True)
        shutil.copy(theirs, tmp_path / "incoming" / "a")
        if number == 0:
            made = replication_plan_to_show(tmp_path, "a")
            assert (campaign_place(tmp_path, made.campaign) / "runs.csv").is_file() and made.runs == 24
        else:
            with pytest.raises(StoreError, match="is in this workspace already"):
                replication_plan_to_show(tmp_path, "a")
        assert not any((tmp_path / "incoming").iterdir())
    with pytest.raises(BadInput, match="no file came"):
        replication_to_show(tmp_path, "../x.zip", None)


def test_a_bundle_of_the_same_campaign_says_so(theirs: Path, tmp_path: Path) -> None:
    with zipfile.ZipFile(theirs) as archive:
        archive.extractall(tmp_path / "all")
    load_campaign(tmp_path / "all" / "campaign", tmp_path / "lab")
    (tmp_path / "lab" / "incoming").mkdir()
    shutil.copy(theirs, tmp_path / "lab" / "incoming" / "a")
    assert "agrees with itself says nothing" in replication_to_show(tmp_path / "lab", "a", None).said[0]
