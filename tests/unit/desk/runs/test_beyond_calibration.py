"""A run beyond the calibrated range has no calibrated value, whatever shows it."""

from __future__ import annotations

from pathlib import Path

import pytest
from tests.unit.desk.runs.test_overload import HEAD, load

from strikeproof.desk.calibrating.worth import find_worth
from strikeproof.desk.comparing.tables import run_table
from strikeproof.desk.recording.keeping import give_verdict
from strikeproof.desk.runs.judged import judge_runs
from strikeproof.desk.runs.one_run import look_at_run
from strikeproof.desk.workspace.opening import open_campaign

TABLE = '[calibration]\nsheet = "calibration.csv"\napplied_unit = "N m"'


@pytest.fixture(scope="module")
def lab(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Calibrated to 200 N·m, which the rig reads as 50 kN; r2 and the excluded r3 read more."""
    folder = tmp_path_factory.mktemp("beyond")
    (folder / "campaign").mkdir()
    points = [
        f"{torque},{torque / 4},{way},{n}"
        for n in (1, 2)
        for way in ("up", "down")
        for torque in range(0, 201, 25)
    ]
    text = "applied,reading,direction,repeat\n" + "\n".join(points) + "\n"
    (folder / "campaign" / "calibration.csv").write_text(text)
    sheet = HEAD + "r1,,air,plain,1,,,,,40\nr2,,air,ring,1,,,,,52\nr3,,air,ring,2,,,slipped,,53\n"
    return load(folder, sheet, calibration=TABLE)


@pytest.mark.parametrize(("run", "reading"), [("r2", 52.0), ("r3", 53.0)])
def test_one_run_beyond_it_is_shown_as_the_rig_reads_it(lab: Path, run: str, reading: float) -> None:
    store, key, campaign = open_campaign(lab, None)
    in_list = next(each for each in judge_runs(store, key, campaign).runs if each.stored.row.run == run)
    alone = look_at_run(lab, None, run)
    at_rig = give_verdict(store, campaign, store.find_run(key, run), find_worth(store, key, campaign))
    for shown in (in_list, alone.judged, at_rig):
        assert (shown.score, shown.unit) == (reading, "kN")
    assert alone.level_unit == "kN"
    assert alone.judged.only_ratio == "the reading is beyond the calibrated range"
    assert "only-ratio" in at_rig.flags
    assert "only-ratio" in {each.kind for each in alone.flags}


def test_at_the_rig_one_within_it_has_its_calibrated_value(lab: Path) -> None:
    store, key, campaign = open_campaign(lab, None)
    at_rig = give_verdict(store, campaign, store.find_run(key, "r1"), find_worth(store, key, campaign))
    assert at_rig.unit == "N m"
    assert at_rig.score == pytest.approx(160.0, rel=1e-6)


def test_an_excluded_run_beyond_it_is_marked_among_calibrated_ones(tmp_path: Path) -> None:
    points = [f"{torque},{torque / 4},{way},1" for way in ("up", "down") for torque in range(0, 201, 25)]
    (tmp_path / "campaign").mkdir()
    text = "applied,reading,direction,repeat\n" + "\n".join(points) + "\n"
    (tmp_path / "campaign" / "calibration.csv").write_text(text)
    sheet = HEAD + "r1,,air,plain,1,,,,,40\nr2,,air,ring,1,,,,,45\nr3,,air,ring,2,,,slipped,,53\n"
    lab = load(tmp_path, sheet, calibration=TABLE)
    _head, *rows = run_table(judge_runs(*open_campaign(lab, None)))
    assert [row[4].endswith("(only a ratio)") for row in rows] == [False, False, True]
