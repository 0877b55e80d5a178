"""The run sheet is fair, follows its seed, and goes on around the runs that were made."""

from collections import Counter
from pathlib import Path

import pytest
from tests.commands import strikeproof

from strikeproof.campaign.folder import read_folder
from strikeproof.campaign.store import open_store
from strikeproof.desk.planning.plan import plan_campaign
from strikeproof.desk.planning.sheet import keep_sheet, plan_sheet
from strikeproof.desk.setting_up.editor import SetUp, change_set_up, open_set_up, start_set_up
from strikeproof.desk.setting_up.edits import add_entry, all_of, set_value
from strikeproof.desk.setting_up.run_rows import hold_sheet
from strikeproof.desk.workspace.opening import campaign_names
from strikeproof.errors import BadInput, StoreError
from strikeproof.quantity import write_duration


def fill(workspace: Path) -> SetUp:
    start_set_up(workspace, "Rollers")
    edit = all_of(
        add_entry("tool", {"name": "air-a"}),
        add_entry("tool", {"name": "cordless-b"}),
        add_entry("article", {"name": "plain"}),
        add_entry("article", {"name": "ring"}),
        set_value(("protocol", "repeats"), 3),
        set_value(("bolt", "runs_per_bolt"), 6),
    )
    return change_set_up(workspace, "Rollers", edit).set_up


def test_the_sheet_is_the_plan_of_the_command_line(tmp_path: Path) -> None:
    made = fill(tmp_path)
    assert not plan_sheet(tmp_path, "Rollers").on_disk
    plan = keep_sheet(tmp_path, "Rollers")
    assert plan.on_disk and plan == plan_sheet(tmp_path, "Rollers")
    assert (plan.left, plan.bolts, plan.repeats) == (18, 3, 3)
    assert plan.time_s == 18 * 10 + 17 * 60  # no cool-down after the last
    assert f"18 runs, {write_duration(plan.time_s)} of hammering and cooling down" in plan.notes
    assert open_set_up(tmp_path, "Rollers").tables["protocol"]["seed"] > 0
    sheet = plan_campaign(made.folder).sheet()
    assert [line.split(",")[:6] for line in sheet.splitlines()[1:]] == [
        line.split(",")[:6] for line in (made.folder / "runs.csv").read_text().splitlines()[1:]
    ]


def test_made_runs_stay_and_the_rest_is_planned_anew(tmp_path: Path) -> None:
    made = fill(tmp_path)
    first = keep_sheet(tmp_path, "Rollers").cells
    for row in first[:4]:
        (made.folder / "logs" / row["log"]).write_text("time,load\n0,1\n")
    change_set_up(tmp_path, "Rollers", add_entry("article", {"name": "long"}))
    plan = plan_sheet(tmp_path, "Rollers")
    assert not plan.on_disk and plan.cells[:6] == first[:6]
    keep_sheet(tmp_path, "Rollers")
    rows = read_folder(made.folder).rows
    assert len({row.run for row in rows}) == len(rows)
    blocks = {(row.tool, row.block) for row in rows}
    assert Counter(tool for tool, _ in blocks) == {"air-a": 3, "cordless-b": 3}
    begun = {row["block"] for row in first[:6]}
    assert Counter(row.article for row in rows if row.block not in begun) == {
        "plain": 8,
        "ring": 4,
        "long": 4,
    }
    assert not {row.bolt for row in rows if row.block in begun} & {
        row.bolt for row in rows if row.block not in begun
    }
    assert keep_sheet(tmp_path, "Rollers").on_disk


def test_what_a_person_wrote_on_a_line_that_goes_is_saved_beside(tmp_path: Path) -> None:
    made = fill(tmp_path)
    keep_sheet(tmp_path, "Rollers")
    sheet = made.folder / "runs.csv"
    sheet.write_text(sheet.read_text() + "r999,,air-a,ring,99,,,,by hand,\n")
    before = sheet.read_bytes()
    keep_sheet(tmp_path, "Rollers")
    (saved,) = made.folder.glob("runs.before-*.csv")
    assert saved.read_bytes() == before
    keep_sheet(tmp_path, "Rollers")
    assert len([*made.folder.glob("runs.before-*.csv")]) == 1  # nothing of a person's was on the last one


def test_a_run_that_is_made_leaves_the_sheet_as_it_is(tmp_path: Path) -> None:
    made = fill(tmp_path)
    first = keep_sheet(tmp_path, "Rollers")
    for row in first.cells:
        (made.folder / "logs" / row["log"]).write_text("time,load\n0,1\n")
        now = plan_sheet(tmp_path, "Rollers")
        assert now.on_disk and now.cells == first.cells
    assert now.left == 0
    change_set_up(tmp_path, "Rollers", set_value(("protocol", "repeats"), 4))
    more = plan_sheet(tmp_path, "Rollers")
    assert more.left == 6 and more.cells[:18] == first.cells and not more.on_disk


def test_another_seed_makes_another_order_while_nothing_is_made(tmp_path: Path) -> None:
    fill(tmp_path)
    more = all_of(
        *(add_entry("article", {"name": name}) for name in "abcdef"), set_value(("protocol", "seed"), 3)
    )
    change_set_up(tmp_path, "Rollers", more)
    first = keep_sheet(tmp_path, "Rollers")
    change_set_up(tmp_path, "Rollers", set_value(("protocol", "seed"), 12))
    assert not plan_sheet(tmp_path, "Rollers").on_disk
    assert keep_sheet(tmp_path, "Rollers").cells != first.cells


def test_what_is_not_whole_is_not_planned(tmp_path: Path) -> None:
    start_set_up(tmp_path, "Rollers")
    with pytest.raises(BadInput, match="reference"):
        plan_sheet(tmp_path, "Rollers")
    fill_again = all_of(
        add_entry("tool", {"name": "a"}),
        add_entry("article", {"name": "plain"}),
        add_entry("article", {"name": "ring"}),
    )
    change_set_up(tmp_path, "Rollers", fill_again)
    with pytest.raises(BadInput, match="how many repeats"):
        keep_sheet(tmp_path, "Rollers")
    assert "seed" not in open_set_up(tmp_path, "Rollers").tables["protocol"]


def test_a_made_sheet_makes_the_campaign_known(tmp_path: Path) -> None:
    fill(tmp_path)
    assert campaign_names(tmp_path) == ()
    keep_sheet(tmp_path, "Rollers")
    assert campaign_names(tmp_path) == ("Rollers",)
    change_set_up(tmp_path, "Rollers", set_value(("protocol", "duration"), "5 s"))
    assert open_store(tmp_path).campaign("Rollers")[1].protocol.duration_s == 5
    change_set_up(tmp_path, "Rollers", set_value(("protocol", "duration"), "long"))
    assert open_store(tmp_path).campaign("Rollers")[1].protocol.duration_s == 5


def test_a_sheet_in_use_is_left_alone(tmp_path: Path) -> None:
    made = fill(tmp_path)
    with hold_sheet(made.folder), pytest.raises(StoreError, match="being recorded"):
        keep_sheet(tmp_path, "Rollers")


def test_a_folder_that_cannot_be_written_is_said_and_no_crash(tmp_path: Path) -> None:
    made = fill(tmp_path)
    (made.folder / ".sheet.lock").mkdir()
    with pytest.raises(StoreError, match="cannot be written: Is a directory"):
        keep_sheet(tmp_path, "Rollers")


def test_the_command_line_says_first_that_the_bolt_is_expected_to_be_overloaded(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    (tmp_path / "campaign.toml").write_text(
        """[campaign]
name = "weak bolt"
reference = "plain"
[rig]
unit = "kN"
[protocol]
duration = "3 s"
repeats = 2
seed = 1
[bolt]
thread = "M12"
class = "8.8"
[[tool]]
name = "air-a"
mechanism = "air"
supply = "12 bar"
[[article]]
name = "plain"
[[article]]
name = "ring"
"""
    )
    _, said = strikeproof("plan", tmp_path, "-o", tmp_path / "runs.csv")
    stop = said.splitlines()[0]
    assert stop.startswith("! STOP: air-a with "), said
    strikeproof("load", tmp_path, "-w", tmp_path / "lab")

    def gone(*_: object) -> None:
        raise StoreError("no rig here", "connect one")

    monkeypatch.setattr("strikeproof.desk.recording.recorder.open_recorder", gone)
    _, said = strikeproof("record", "-w", tmp_path / "lab", "--port", "none", code=2)
    assert said.splitlines()[0] == stop
