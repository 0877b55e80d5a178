"""A campaign is set up without a file, nothing typed is lost, made runs never change silently."""

import threading
import tomllib
from concurrent.futures import ThreadPoolExecutor
from pathlib import Path
from typing import Any

import pytest

from strikeproof.campaign.folder import read_folder
from strikeproof.campaign.store import open_store
from strikeproof.desk.loading.load import load_campaign
from strikeproof.desk.planning.sheet import keep_sheet
from strikeproof.desk.setting_up.editor import (
    SetUp,
    change_set_up,
    open_saved_set_up,
    open_set_up,
    redo,
    start_set_up,
    undo,
)
from strikeproof.desk.setting_up.edits import (
    add_entry,
    all_of,
    copy_entry,
    move_entry,
    remove_entry,
    replace_entry,
    set_value,
)
from strikeproof.desk.setting_up.fields import Field, fields_of, read_typed, show_value, tell_fault
from strikeproof.desk.setting_up.run_rows import hold_sheet
from strikeproof.desk.setting_up.shelf import copy_set_up, list_set_ups, put_away_set_up
from strikeproof.desk.workspace.check import check_workspace
from strikeproof.errors import BadInput, NotFound, StoreError

TOOL = {"name": "air-a", "mechanism": "air", "drive_mm": 12.7}


def fill(workspace: Path, name: str = "Track rollers") -> SetUp:
    start_set_up(workspace, name)
    edit = all_of(
        add_entry("tool", TOOL),
        add_entry("article", {"name": "plain-24", "price": 14}),
        add_entry("article", {"name": "deep-24"}),
        set_value(("protocol", "repeats"), 2),
    )
    return change_set_up(workspace, name, edit).set_up


def make_runs(workspace: Path, made: SetUp) -> None:
    sheet = "run,log,article,block,score\nr001,,plain-24,1,50\nr002,,deep-24,1,55\nr003,,plain-24,1,51\n"
    (made.folder / "runs.csv").write_text(sheet, encoding="utf-8")
    assert load_campaign(made.folder, workspace).runs_loaded == 3


def test_from_nothing_to_a_folder_that_loads(tmp_path: Path) -> None:
    started = start_set_up(tmp_path, "Track rollers")
    assert [each.place[0] for each in started.faults] == ["campaign", "tool", "article"]
    assert not (started.folder / "campaign.toml").exists()
    made = fill(tmp_path, "Rollers")
    assert made.faults == () and made.tables["campaign"]["reference"] == "plain-24"
    make_runs(tmp_path, made)
    assert read_folder(made.folder).campaign.name == "Rollers"


def test_what_cannot_be_used_is_kept_named_and_leaves_the_whole_file_alone(tmp_path: Path) -> None:
    made = fill(tmp_path)
    whole = (made.folder / "campaign.toml").read_text()
    wrong = change_set_up(tmp_path, made.name, set_value(("tool", 0, "drive_mm"), "half")).set_up
    fault = wrong.fault_at(("tool", 0, "drive_mm"))
    assert fault is not None and "half" in fault.problem and "number" in fault.fix
    assert (made.folder / "campaign.toml").read_text() == whole
    assert open_set_up(tmp_path, made.name).tables["tool"][0]["drive_mm"] == "half"
    fixed = change_set_up(tmp_path, made.name, set_value(("tool", 0, "drive_mm"), 19.05)).set_up
    assert fixed.whole and tomllib.loads((made.folder / "campaign.toml").read_text()) == fixed.tables
    assert not (made.folder / "draft.toml").exists()


def test_a_file_fixed_by_hand_wins_over_an_older_draft(tmp_path: Path) -> None:
    made = fill(tmp_path)
    change_set_up(tmp_path, made.name, set_value(("tool", 0, "drive_mm"), "half"))
    path = made.folder / "campaign.toml"
    path.write_text(path.read_text().replace("12.7 ", "19 ") + "# by hand\n")
    found = open_set_up(tmp_path, made.name)
    assert found.whole and found.tables["tool"][0]["drive_mm"] == 19
    change_set_up(tmp_path, made.name, set_value(("protocol", "repeats"), 5))
    assert "# by hand" in path.read_text()


def test_every_step_is_undone_and_done_again(tmp_path: Path) -> None:
    made = fill(tmp_path)
    states = [made.tables]
    for repeats in (3, "many", 5):
        change = change_set_up(tmp_path, made.name, set_value(("protocol", "repeats"), repeats))
        states.append(change.set_up.tables)
    change_set_up(tmp_path, made.name, lambda tables: tables, calibration="applied,reading\n0,0\n")
    assert (made.folder / "calibration.csv").exists()
    for expected in (states[3], states[2], states[1], states[0]):
        assert undo(tmp_path, made.name).set_up.tables == expected
    for expected in (states[1], states[2], states[3]):
        assert redo(tmp_path, made.name).set_up.tables == expected
    changed = change_set_up(tmp_path, made.name, set_value(("protocol", "repeats"), 9)).set_up
    assert changed.can_redo == 0 and changed.can_undo == 5


def test_a_change_from_a_page_that_is_out_of_date_is_refused(tmp_path: Path) -> None:
    made = fill(tmp_path)
    change_set_up(tmp_path, made.name, remove_entry("article", 1), mark=made.mark)
    with pytest.raises(StoreError, match="another window"):
        change_set_up(tmp_path, made.name, set_value(("article", 1, "price"), 3), mark=made.mark)


@pytest.mark.parametrize(
    ("place", "value", "told"),
    [
        (("protocol", "duration"), "5 s", "3 runs were made already and will be scored again"),
        (("rig", "unit"), "N", "scored again (rig.unit: kN → N)"),
        (("article", 0, "mass_kg"), 0.4, "2 runs were made with 'plain-24' as it was described"),
        (("article", 0, "name"), "old", "2 runs were made with 'plain-24' and will be listed under 'old'"),
        (("campaign", "name"), "Other", "stay there; loading makes a second campaign"),
        (("campaign", "reference"), "deep-24", "against 'deep-24' instead of 'plain-24'"),
    ],
)
def test_what_a_change_does_to_made_runs_is_said_first(
    tmp_path: Path, place: Any, value: Any, told: str
) -> None:
    made = fill(tmp_path)
    make_runs(tmp_path, made)
    asked = change_set_up(tmp_path, made.name, set_value(place, value))
    assert not asked.done and any(told in each.says for each in asked.effects)
    assert asked.set_up.tables == made.tables
    assert change_set_up(tmp_path, made.name, set_value(place, value), agreed=True).done


def test_what_has_runs_is_never_taken_away(tmp_path: Path) -> None:
    made = fill(tmp_path)
    make_runs(tmp_path, made)
    asked = change_set_up(tmp_path, made.name, remove_entry("article", 1), agreed=True)
    assert (
        not asked.done
        and asked.effects[0].kind == "never"
        and "no run is ever deleted" in asked.effects[0].says
    )


def test_what_touches_no_run_needs_no_yes(tmp_path: Path) -> None:
    made = fill(tmp_path)
    make_runs(tmp_path, made)
    for edit in (
        set_value(("article", 0, "price"), 15),
        add_entry("article", {"name": "new"}),
        set_value(("protocol", "repeats"), 7),
        move_entry("article", 0, 1),
    ):
        assert change_set_up(tmp_path, made.name, edit).done


def test_a_new_name_goes_through_sheet_and_reference(tmp_path: Path) -> None:
    made = fill(tmp_path)
    make_runs(tmp_path, made)
    renamed = {**made.tables["article"][0], "name": "plain 24 mm"}
    done = change_set_up(tmp_path, made.name, replace_entry("article", 0, renamed), agreed=True)
    assert done.set_up.tables["campaign"]["reference"] == "plain 24 mm"
    outcome = load_campaign(made.folder, tmp_path)
    assert (outcome.runs_unchanged, outcome.problems) == (3, ())  # the stored runs followed at once


def test_a_new_name_leaves_the_rest_of_a_persons_sheet_to_the_letter(tmp_path: Path) -> None:
    made = fill(tmp_path)
    make_runs(tmp_path, made)
    sheet = made.folder / "runs.csv"
    head, first, *others = sheet.read_text().splitlines()
    own = "\r\n".join(["# bench 2", head, first, "# day two", *others]).replace(",", ";").encode("utf-16")
    sheet.write_bytes(own)
    renamed = {**made.tables["article"][0], "name": "plain 24 mm"}
    change_set_up(tmp_path, made.name, replace_entry("article", 0, renamed), agreed=True)
    assert sheet.read_bytes().decode("utf-16") == own.decode("utf-16").replace("plain-24", "plain 24 mm")


def test_runs_that_are_stored_follow_a_new_name_at_once(tmp_path: Path) -> None:
    made = fill(tmp_path)
    make_runs(tmp_path, made)
    renamed = {**made.tables["article"][0], "name": "plain 24 mm"}
    done = change_set_up(tmp_path, made.name, replace_entry("article", 0, renamed), agreed=True)
    assert done.notes == (
        "2 lines of the run sheet now say 'plain 24 mm' instead of 'plain-24'. Print the sheet again.",
    )
    assert check_workspace(tmp_path).problems == ()
    store = open_store(tmp_path)
    key, campaign = store.campaign(None)
    runs = store.runs(key)
    assert [run.row.article for run in runs] == ["plain 24 mm", "deep-24", "plain 24 mm"]
    assert campaign.reference == "plain 24 mm"
    assert [(e.kind, e.because, e.by) for e in store.history(runs[0])][1:] == [
        ("amended", "article: plain-24 -> plain 24 mm", "person")
    ]
    assert load_campaign(made.folder, tmp_path).runs_amended == 0
    undo(tmp_path, made.name, agreed=True)
    assert [run.row.article for run in store.runs(key)] == ["plain-24", "deep-24", "plain-24"]


@pytest.mark.parametrize("kind", ["tool", "article"])
def test_a_name_that_was_emptied_before_it_was_typed_again_reaches_the_sheet(
    tmp_path: Path, kind: str
) -> None:
    """A person clears the field, looks up, and types: two changes, the first of which is not complete."""
    made = fill(tmp_path)
    keep_sheet(tmp_path, made.name)
    old = made.tables[kind][0]["name"]
    place = (kind, 0, "name")
    for value in (None, "new name"):
        done = change_set_up(tmp_path, made.name, set_value(place, value))
        if kind == "article" and value == "new name":
            done = change_set_up(tmp_path, made.name, set_value(("campaign", "reference"), "new name"))
    assert done.set_up.faults == ()
    names = {getattr(row, kind) for row in read_folder(made.folder).rows}
    assert "new name" in names and old not in names
    assert any("Print the sheet again" in note for note in done.notes)


def test_a_draft_leaves_the_sheet_with_the_names_of_the_complete_campaign(tmp_path: Path) -> None:
    made = fill(tmp_path)
    keep_sheet(tmp_path, made.name)
    change_set_up(tmp_path, made.name, set_value(("tool", 0, "drive_mm"), "half"))
    change_set_up(tmp_path, made.name, set_value(("tool", 0, "name"), "air-b"))
    assert {row.tool for row in read_folder(made.folder).rows} == {"air-a"}
    change_set_up(tmp_path, made.name, set_value(("tool", 0, "drive_mm"), 19))
    assert {row.tool for row in read_folder(made.folder).rows} == {"air-b"}


def test_runs_are_guarded_under_the_name_that_a_draft_gives_their_tool(tmp_path: Path) -> None:
    made = fill(tmp_path)
    make_runs(tmp_path, made)
    change_set_up(tmp_path, made.name, set_value(("tool", 0, "drive_mm"), "half"), agreed=True)
    change_set_up(tmp_path, made.name, set_value(("tool", 0, "name"), "air-b"), agreed=True)
    asked = change_set_up(tmp_path, made.name, remove_entry("tool", 0), agreed=True)
    assert not asked.done
    assert asked.effects[0].kind == "never"


def test_nothing_is_renamed_while_runs_are_recorded(tmp_path: Path) -> None:
    made = fill(tmp_path)
    keep_sheet(tmp_path, made.name)
    with hold_sheet(made.folder), pytest.raises(StoreError, match="being recorded"):
        change_set_up(tmp_path, made.name, set_value(("tool", 0, "name"), "air-b"))
    assert open_set_up(tmp_path, made.name).tables["tool"][0]["name"] == "air-a"
    assert open_set_up(tmp_path, made.name).can_undo == made.can_undo + 1  # of the seed that the sheet drew


def test_copies_get_names_of_their_own(tmp_path: Path) -> None:
    made = fill(tmp_path)
    twice = change_set_up(
        tmp_path, made.name, all_of(copy_entry("article", 0), copy_entry("article", 0))
    ).set_up
    names = [each["name"] for each in twice.tables["article"]]
    assert names == ["plain-24", "plain-24 3", "plain-24 2", "deep-24"]
    other = copy_set_up(tmp_path, made.name, "Second")
    assert other.whole and other.tables["article"] == twice.tables["article"] and other.made == ()
    with pytest.raises(BadInput, match="is there already"):
        copy_set_up(tmp_path, made.name, "second!")
    with pytest.raises(NotFound):
        open_set_up(tmp_path, "third")


def field(table: str, key: str) -> Field:
    return next(each for each in fields_of(table) if each.key == key)


@pytest.mark.parametrize(
    ("typed", "unit", "stored"),
    [
        ("12.7", None, 12.7),
        ("12,7", "mm", 12.7),
        ("0.5", "in", 12.7),
        ("1/2 in", None, 12.7),
        ("1/2 zoll", None, "1/2 zoll"),
        ("0.75 in", "mm", 19.05),
        ("19", None, 19),
        ("", None, None),
        ("wide", None, "wide"),
    ],
)
def test_a_number_is_read_as_it_is_typed(typed: str, unit: str | None, stored: Any) -> None:
    assert read_typed(field("tool", "drive_mm"), typed, unit) == stored


def test_what_is_shown_is_read_back_the_same() -> None:
    drive = field("tool", "drive_mm")
    assert show_value(drive, {"drive_mm": 12.7}, "in") == "0.5"
    assert show_value(drive, {"drive_mm": 12.7}) == "12.7"
    channel = next(each for each in fields_of("rig") if each.key == "channel")
    assert show_value(channel, {"channel": ["load", "force"]}) == "load | force"
    kind = next(each for each in fields_of("bolt") if each.key == "class")
    assert {"4.6", "12.9", "grade 2"} <= set(kind.choices)
    assert read_typed(field("protocol", "duration"), "5,5") == "5,5 s"
    assert read_typed(field("campaign", "simulated"), "yes") is True
    inertia = field("tool", "hammer_inertia_kg_m2")
    assert (
        read_typed(inertia, "4e-4") == 4e-4 == read_typed(inertia, show_value(inertia, {inertia.key: 4e-4}))
    )


def test_every_field_says_what_it_takes() -> None:
    assert field("tool", "restitution").allowed == "0 or more, at most 1"
    assert field("campaign", "margin_percent").allowed == "more than 0, less than 100 %"
    assert field("tool", "mechanism").choices == ("air", "spring-and-cam", "oil-pulse")
    assert field("article", "name").needed


def test_a_fault_is_told_beside_its_field(tmp_path: Path) -> None:
    made = fill(tmp_path)
    wrong = change_set_up(tmp_path, made.name, set_value(("tool", 0, "drive_mm"), -3)).set_up
    (fault,) = wrong.faults
    told = tell_fault(field("tool", "drive_mm"), fault)
    assert told == "-3. Allowed: more than 0 mm. Input should be greater than 0."
    gone = change_set_up(tmp_path, made.name, set_value(("article", 1, "name"), None)).set_up
    assert tell_fault(field("article", "name"), gone.faults_in("article")[0]) == "This is needed."


def test_the_shelf_lists_all_and_puts_away_what_has_no_runs(tmp_path: Path) -> None:
    made, other = fill(tmp_path), fill(tmp_path, "Other")
    (other.folder / "campaign.toml").write_text("not [toml")
    make_runs(tmp_path, made)
    listed = {each.word: each for each in list_set_ups(tmp_path)}
    assert listed["other"].trouble.endswith("fix that line; put text values in quotes")
    whole = listed["track-rollers"]
    assert (whole.tools, whole.articles, whole.faults, whole.planned, whole.made) == (1, 2, 0, 3, 3)
    with pytest.raises(BadInput, match="no run is ever deleted"):
        put_away_set_up(tmp_path, made.name)
    copy_set_up(tmp_path, made.name, "Third")
    assert put_away_set_up(tmp_path, "third").name == "third.1"
    assert "third" not in {each.word for each in list_set_ups(tmp_path)}


def test_changes_made_at_once_are_all_kept(tmp_path: Path) -> None:
    made = fill(tmp_path)
    keys = ["note", "price", "mass_kg", "polar_inertia_kg_m2", "hexagon_gap_deg", "square_gap_deg"]
    with ThreadPoolExecutor(6) as pool:
        edits = [set_value(("article", 1, key), "x" if key == "note" else 0.5) for key in keys]
        assert all(
            each.done for each in pool.map(lambda edit: change_set_up(tmp_path, made.name, edit), edits)
        )
    assert set(open_set_up(tmp_path, made.name).tables["article"][1]) == {"name", *keys}


def test_a_page_that_opens_while_a_change_is_saved_shows_it(tmp_path: Path) -> None:
    made = start_set_up(tmp_path, "drums")
    begun, goes_on = threading.Event(), threading.Event()
    change_set_up(tmp_path, made.name, set_value(("protocol", "duration"), "10 s"))

    def slow(tables: Any) -> Any:
        begun.set()
        assert goes_on.wait(20)
        return set_value(("protocol", "duration"), "12 s")(tables)

    with ThreadPoolExecutor(2) as pool:
        saving = pool.submit(change_set_up, tmp_path, made.name, slow)
        assert begun.wait(20)
        opened = pool.submit(open_saved_set_up, tmp_path, made.name)
        goes_on.set()
        assert opened.result(20).mark == saving.result(20).set_up.mark
