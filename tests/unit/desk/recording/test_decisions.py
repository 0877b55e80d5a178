"""What a person decides while recording: undone, noted, excluded, written on the sheet, taken out of turn."""

from __future__ import annotations

import csv
from pathlib import Path

import numpy as np
import pytest
from tests.unit.desk.live_bench import (
    PtyRig,
    next_run,
    one_run,
    quiet,
    record_one,
    sheet,
    write_campaign,
)

from strikeproof.campaign.folder import read_campaign
from strikeproof.campaign.run_sheet import read_run_sheet
from strikeproof.campaign.store import open_store
from strikeproof.desk.loading.load import load_campaign
from strikeproof.desk.recording.recorder import Recorder, open_recorder
from strikeproof.desk.runs.standing import put_run_back, set_run_aside
from strikeproof.desk.workspace.opening import open_campaign
from strikeproof.errors import NotFound


def test_decisions_can_be_undone_one_after_another(recorder: Recorder, rig: PtyRig, lab: Path) -> None:
    record_one(recorder, rig)
    book = recorder.book
    book.note("r001", "warm day")
    book.set_aside("r001", "jaw slipped")
    assert next_run(recorder) == "r001-2"
    assert recorder.view().undo == "exclude r001"
    assert book.undo() == "exclude r001"
    assert next_run(recorder) == "r002"
    assert book.undo() == "note of r001"
    assert book.undo() is None
    row = sheet(lab)[0]
    assert (row["set_aside"], row["note"]) == ("", "new bolt")
    store, key, _ = open_campaign(lab, None)
    assert store.find_run(key, "r001").set_aside is None


def test_setting_aside_and_putting_back_is_in_the_history(recorder: Recorder, rig: PtyRig, lab: Path) -> None:
    record_one(recorder, rig)
    recorder.book.set_aside("r001", "jaw slipped")
    recorder.book.put_back("r001")
    store = open_store(lab)
    key, _campaign = store.campaign(None)
    told = [(event.kind, event.because) for event in store.history(store.find_run(key, "r001"))]
    assert ("set aside", "jaw slipped") in told
    assert told[-1] == ("put back", None)


def test_a_note_includes_no_run_that_was_excluded_elsewhere(
    recorder: Recorder, rig: PtyRig, lab: Path
) -> None:
    record_one(recorder, rig)
    set_run_aside(lab, None, "r001", "jaw slipped")
    recorder.book.note("r001", "warm day")
    store, key, _ = open_campaign(lab, None)
    run = store.find_run(key, "r001")
    assert (run.set_aside, run.row.note) == ("jaw slipped", "warm day")
    assert [event.kind for event in store.history(run)] == ["loaded", "set aside", "amended"]
    assert sheet(lab)[0]["set_aside"] == "jaw slipped"
    assert next_run(recorder) == "r001-2"
    put_run_back(lab, None, "r001")
    assert load_campaign(lab / "campaigns" / "drum-rollers", lab).runs_amended == 0
    assert store.find_run(key, "r001").set_aside is None  # the sheet only lags


def test_a_note_keeps_the_score_of_a_run_without_a_log(tmp_path: Path) -> None:
    folder = write_campaign(tmp_path / "campaign")
    with (folder / "runs.csv").open("a") as lines:
        lines.write("n1,,air,plain,1,,,,,101.5\n")
    load_campaign(folder, tmp_path / "lab")
    with open_recorder(tmp_path / "lab") as recorder:
        recorder.book.note("n1", "read off the dial")
    store, key, _ = open_campaign(tmp_path / "lab", None)
    run = store.find_run(key, "n1")
    assert (run.row.score, run.row.note) == (101.5, "read off the dial")
    assert load_campaign(folder, tmp_path / "lab").runs_amended == 0  # its own sheet lags behind the note
    assert store.find_run(key, "n1").row.note == "read off the dial"


def test_a_note_leaves_the_dialect_of_a_persons_sheet(tmp_path: Path) -> None:
    folder = write_campaign(tmp_path / "campaign")
    own = [
        "Run;Article;Block;Score;Inspector",
        "# day two",
        "n1;plain;1;812,345;Å",
        "n2;ring;1;799,120;Ö",
        "",
    ]
    (folder / "runs.csv").write_bytes("\r\n".join(own).encode("cp1252"))
    load_campaign(folder, tmp_path / "lab")
    with open_recorder(tmp_path / "lab") as recorder:
        recorder.book.note("n1", "read off the dial")
    (sheet,) = (tmp_path / "lab" / "campaigns").glob("*/runs.csv")
    said = sheet.read_bytes().decode("cp1252").split("\r\n")
    assert said[0].startswith(f"{own[0]};") and said[1] == own[1]
    assert said[2].startswith(f"{own[2]};") and "read off the dial" in said[2]
    assert not list(sheet.parent.glob("runs.before*"))
    rows, problems = read_run_sheet(sheet, read_campaign(sheet.parent / "campaign.toml"))
    assert [row.score for row in rows] == [812.345, 799.12] and problems[1:] == ()


def test_what_a_person_wrote_on_the_sheet_is_taken_up_when_recording_goes_on(lab: Path, rig: PtyRig) -> None:
    with open_recorder(lab) as recorder:
        recorder.connect(rig.port)
        rig.play(recorder, quiet(2.5))
        record_one(recorder, rig)
    place = lab / "campaigns" / "drum-rollers" / "runs.csv"
    rows = sheet(lab)
    rows[0] |= {"set_aside": "jaw slipped", "note": "loud"}
    with place.open("w") as stream:
        lines = csv.DictWriter(stream, list(rows[0]))
        lines.writeheader()
        lines.writerows(rows)
    with open_recorder(lab) as recorder:
        assert next_run(recorder) == "r001-2"
    store, key, _ = open_campaign(lab, None)
    run = store.find_run(key, "r001")
    assert (run.set_aside, run.row.note) == ("jaw slipped", "loud")
    assert store.history(run)[-1].by == "sheet"


def test_a_line_written_by_hand_between_runs_stays_on_the_sheet(
    recorder: Recorder, rig: PtyRig, lab: Path
) -> None:
    record_one(recorder, rig)
    place = lab / "campaigns" / "drum-rollers" / "runs.csv"
    place.write_text(place.read_text() + "r900,,air,ring,9,,,,written in a table program,\n")
    recorder.book.note("r001", "warm day")
    notes = {row["run"]: row["note"] for row in sheet(lab)}
    assert (notes["r001"], notes["r900"]) == ("warm day", "written in a table program")


def test_a_sheet_changed_by_hand_in_mid_run_is_saved_beside(
    recorder: Recorder, rig: PtyRig, lab: Path
) -> None:
    recorder.arm()
    place = lab / "campaigns" / "drum-rollers" / "runs.csv"
    by_hand = place.read_text() + "r900,,air,ring,9,,,,written in a table program,\n"
    place.write_text(by_hand)
    rig.play(recorder, np.r_[one_run().reading, quiet(3.0)])
    (saved,) = place.parent.glob("runs.before-*.csv")
    assert saved.read_text() == by_hand
    assert any(saved.name in message for message in recorder.view().messages)
    recorder.book.note("r001", "warmer")
    assert len([*place.parent.glob("runs.before-*.csv")]) == 1


def test_a_new_bolt_holds_for_the_rest_of_its_runs(recorder: Recorder, lab: Path) -> None:
    before = [row["bolt"] for row in sheet(lab)]
    assert recorder.book.change_bolt("bolt-9") == "bolt-9"
    coming = recorder.view().next
    assert coming is not None and coming.row.bolt == "bolt-9" and coming.new_bolt
    assert [row["bolt"] for row in sheet(lab)] == ["bolt-9" if bolt == before[0] else bolt for bolt in before]
    recorder.book.undo()
    assert [row["bolt"] for row in sheet(lab)] == before


def test_the_plan_is_left_added_to_and_taken_out_of_turn(recorder: Recorder, rig: PtyRig) -> None:
    book = recorder.book
    book.leave_out("article is at the workshop")
    assert next_run(recorder) == "r002"
    book.undo()
    book.choose("r003")
    assert next_run(recorder) == "r003"
    record_one(recorder, rig)
    assert next_run(recorder) == "r001"
    added = book.add_block("air")
    assert len(added) == 3
    assert book.add_run("air", "ring") not in added
    with pytest.raises(NotFound, match="article"):
        book.add_run("air", "rong")


def test_a_new_bolt_for_a_second_try_leaves_the_first_as_it_was(
    recorder: Recorder, rig: PtyRig, lab: Path
) -> None:
    record_one(recorder, rig)
    recorder.book.set_aside("r001", "bolt broke")
    recorder.book.change_bolt("bolt-9")
    rows = {row["run"]: row for row in sheet(lab)}
    assert (rows["r001"]["bolt"], rows["r001-2"]["bolt"]) == ("bolt-1", "bolt-9")
    assert rows["r001-2"]["set_aside"] == rows["r001-2"]["log"] == ""
    assert next_run(recorder) == "r001-2"
    record_one(recorder, rig, 2)
    assert {row["run"]: row for row in sheet(lab)}["r001-2"]["bolt"] == "bolt-9"
