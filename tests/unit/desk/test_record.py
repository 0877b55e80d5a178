"""The recorder on a real pseudo-terminal: planned runs, verdicts and decisions, on disk and in the store."""

from __future__ import annotations

import csv
import shutil
from collections.abc import Iterator
from pathlib import Path

import numpy as np
import pytest
from tests.unit.desk.live_bench import (
    CAMPAIGN,
    FRAME,
    RATE_HZ,
    PtyRig,
    make_workspace,
    one_run,
    quiet,
    write_campaign,
)

from strikeproof.campaign.store import open_store
from strikeproof.capture.recording import read_recording
from strikeproof.cli.recording import _do, _show
from strikeproof.desk.cautions import Stop
from strikeproof.desk.check import check_workspace
from strikeproof.desk.load import load_campaign
from strikeproof.desk.record import Recorder, open_recorder
from strikeproof.desk.record_views import plain
from strikeproof.desk.runs import judge_runs
from strikeproof.desk.standing import put_run_back, set_run_aside
from strikeproof.desk.workspace import open_campaign
from strikeproof.errors import BadInput, NotFound, StoreError


@pytest.fixture
def lab(tmp_path: Path) -> Path:
    return make_workspace(tmp_path)


@pytest.fixture
def rig(tmp_path: Path) -> PtyRig:
    return PtyRig(tmp_path)


@pytest.fixture
def recorder(lab: Path, rig: PtyRig) -> Iterator[Recorder]:
    with open_recorder(lab) as made:
        made.connect(rig.port)
        rig.play(made, quiet(2.5))
        yield made


def record_one(recorder: Recorder, rig: PtyRig, seed: int = 1, **changes: object) -> float:
    """Arm and play one run, then quiet; returns the true score."""
    recorder.arm()
    trace = one_run(seed, **changes)
    rig.play(recorder, np.r_[trace.reading, quiet(3.0)])
    return trace.truth.score


def sheet(lab: Path) -> list[dict[str, str]]:
    with (lab / "campaigns" / "drum-rollers" / "runs.csv").open() as stream:
        return list(csv.DictReader(line for line in stream if not line.startswith("#")))


def next_run(recorder: Recorder) -> str:
    coming = recorder.view().next
    assert coming is not None
    return coming.run


def test_a_planned_run_is_recorded_judged_and_kept(recorder: Recorder, rig: PtyRig, lab: Path) -> None:
    before = recorder.view()
    assert (before.phase, before.next.run if before.next else "") == ("idle", "r001")
    score = record_one(recorder, rig)
    view = recorder.view()
    assert view.last is not None and view.last.headline == "good"
    assert view.last.score == pytest.approx(score, rel=0.01)
    assert view.last.run == "r001" and next_run(recorder) == "r002"
    assert "# run r001 tool air article plain bolt bolt-1" in rig.heard()
    first = sheet(lab)[0]
    assert (first["run"], first["log"], first["article"]) == ("r001", "r001.arrows", "plain")
    assert first["started"]
    assert check_workspace(lab).problems == ()


def test_a_bolt_that_is_loosened_after_arming_does_not_spoil_the_next_run(
    recorder: Recorder, rig: PtyRig
) -> None:
    """The load of the run before stands until 2.7 s before the first blow; the zero looks back less."""
    rig.play(recorder, quiet(3.0, zero=200.0))
    recorder.arm()
    trace = one_run(start_s=2.7)
    rig.play(recorder, np.r_[trace.reading, quiet(3.0)])
    last = recorder.view().last
    assert last is not None and last.headline == "good"
    assert last.score == pytest.approx(trace.truth.score, rel=0.01)


def test_a_load_that_grows_slowly_is_recorded_with_its_zero_and_has_a_score(
    recorder: Recorder, rig: PtyRig
) -> None:
    """A weak tool or a stuck bolt: no blow stands out, the load rises by 10 in the 4 s, noise 0.1."""
    recorder.arm()
    reading = quiet(10.0) + 2.5 * (np.arange(round(10 * RATE_HZ)) / RATE_HZ - 3.0).clip(0.0, 4.2)
    rig.play(recorder, reading)
    last = recorder.view().last
    assert last is not None and last.score == pytest.approx(10.0, rel=0.02)


def test_what_was_recorded_is_a_run_like_any_other(recorder: Recorder, rig: PtyRig, lab: Path) -> None:
    record_one(recorder, rig)
    judged = judge_runs(*open_campaign(lab, None))
    assert [run.stored.row.run for run in judged.runs] == ["r001"]
    assert judged.runs[0].flags == ()


def test_the_folder_alone_can_be_loaded_elsewhere(
    recorder: Recorder, rig: PtyRig, lab: Path, tmp_path: Path
) -> None:
    for seed in (1, 2):
        record_one(recorder, rig, seed)
    recorder.book.set_aside("r001", "jaw slipped")
    copy = tmp_path / "elsewhere"
    shutil.copytree(lab / "campaigns" / "drum-rollers", copy)
    load_campaign(copy, tmp_path / "other")
    here, there = (open_campaign(place, None) for place in (lab, tmp_path / "other"))
    mine, theirs = (store.runs(key) for store, key, _ in (here, there))
    assert [(run.row, run.trace, run.set_aside) for run in mine] == [
        (run.row.__class__(**{**_fields(run.row), "line": None}), run.trace, run.set_aside) for run in theirs
    ]


def _fields(row: object) -> dict[str, object]:
    return {name: getattr(row, name) for name in row.__dataclass_fields__}  # type: ignore[attr-defined]


def test_loading_the_folder_again_changes_nothing(recorder: Recorder, rig: PtyRig, lab: Path) -> None:
    record_one(recorder, rig)
    recorder.book.note("r001", "third hand on the trigger")
    recorder.book.set_aside("r001", "jaw slipped")
    outcome = load_campaign(lab / "campaigns" / "drum-rollers", lab)
    assert (outcome.runs_loaded, outcome.runs_amended, outcome.runs_unchanged) == (0, 0, 1)


def test_a_clipped_run_says_repeat_and_its_second_try_comes_next(
    recorder: Recorder, rig: PtyRig, lab: Path
) -> None:
    record_one(recorder, rig, clip_level=60.0)
    last = recorder.view().last
    assert last is not None and not last.good
    assert last.headline.startswith("repeat: clipped")
    again, after = recorder.view().again, recorder.view().next
    assert again is not None and (again.run, again.article) == ("r001-2", last.article)
    assert after is not None and after.run == "r002"
    recorder.book.repeat()
    assert recorder.view().again is None
    assert next_run(recorder) == "r001-2"
    record_one(recorder, rig, 2)
    assert next_run(recorder) == "r002", recorder.view().last
    rows = {row["run"]: row for row in sheet(lab)}
    assert rows["r001"]["set_aside"].startswith("clipped") and rows["r001-2"]["set_aside"] == ""
    assert rows["r001-2"]["article"] == rows["r001"]["article"]


def test_a_reason_to_repeat_is_saved_as_it_was_typed(recorder: Recorder, rig: PtyRig) -> None:
    record_one(recorder, rig)
    recorder.book.repeat("good run, but on the wrong bolt")
    assert recorder.book.kept["r001"].set_aside == "good run, but on the wrong bolt"


def test_after_a_restart_repeat_says_which_run_was_the_last_and_excludes_none(
    recorder: Recorder, rig: PtyRig, lab: Path
) -> None:
    record_one(recorder, rig)
    recorder.close()
    with open_recorder(lab) as again, pytest.raises(BadInput, match="the last before was r001") as refusal:
        again.book.repeat("slipped")
    assert "a r001 WHY" in refusal.value.mend
    assert again.book.kept["r001"].set_aside is None


def test_a_load_beyond_what_the_bolt_may_carry_is_told_at_once_and_before_the_next_run(
    recorder: Recorder, rig: PtyRig
) -> None:
    """M20 of class 10.9 has a proof load of 203 kN (ISO 898-1:2013, Table 5); 0.75 of it is 152 kN."""
    recorder.arm()
    coming = recorder.view().next
    assert coming is not None and coming.limit.load == pytest.approx(0.75 * 203e3, rel=0.005)
    trace = one_run().reading
    rig.play(recorder, trace[:9000])
    live = recorder.view().live
    assert live is not None and live.allowed is not None and not live.is_beyond
    assert recorder.chart().allowed == pytest.approx(live.allowed) == pytest.approx(152.0, abs=0.7)
    recorder.stop()
    last = recorder.view().last
    assert last is not None and last.overload == ""

    rig.play(recorder, quiet(6.0))
    recorder.arm()
    rig.play(recorder, 2.0 + 2.0 * (trace[:9000] - 2.0))
    live = recorder.view().live
    assert live is not None and live.is_beyond
    recorder.stop()
    view = recorder.view()
    assert view.last is not None and view.last.overload.endswith("152 kN is allowed")
    assert any(view.last.overload in each for each in view.last.details)
    assert "overload" in view.last.flags
    assert view.next is not None and view.next.cautions[0].startswith(f"STOP: in {view.last.run} the bolt")
    recorder.book.change_bolt("B2")
    after = recorder.view().next
    assert after is not None and not any(isinstance(each, Stop) for each in after.cautions)


def overload(recorder: Recorder, rig: PtyRig) -> None:
    """A run that loads the M20 bolt beyond what it may carry."""
    recorder.arm()
    rig.play(recorder, np.r_[2.0 + 2.0 * (one_run().reading - 2.0), quiet(3.0)])


def arm_again(recorder: Recorder, rig: PtyRig) -> None:
    rig.play(recorder, quiet(2.5))
    recorder.arm()


def test_nothing_is_armed_on_an_overloaded_bolt_until_the_new_one_is_named(
    recorder: Recorder, rig: PtyRig, lab: Path
) -> None:
    overload(recorder, rig)
    view = recorder.view()
    assert view.last is not None and view.last.good, "the score itself is sound"
    assert view.last.headline == "bolt overloaded, otherwise good"
    assert view.spent is not None and (view.spent.run, view.spent.bolt) == ("r001", "bolt-1")
    with pytest.raises(BadInput, match=r"was overloaded in r001 \(allowed: a new bolt, by its name\)"):
        arm_again(recorder, rig)
    with pytest.raises(BadInput, match=r"not named \(allowed: a new bolt, by its name\)"):
        recorder.book.change_bolt()
    with pytest.raises(BadInput, match="bolt 'bolt-1' was overloaded"):
        recorder.book.change_bolt("bolt-1")
    recorder.book.change_bolt("B2")
    assert recorder.view().spent is None
    arm_again(recorder, rig)
    rows = {row["run"]: row["bolt"] for row in sheet(lab)}
    assert (rows["r001"], rows["r002"]) == ("bolt-1", "B2")
    recorder.disarm()
    recorder.book.undo()
    with pytest.raises(BadInput, match="overloaded"):
        arm_again(recorder, rig)


def test_the_command_line_says_how_the_new_bolt_is_named(
    recorder: Recorder, rig: PtyRig, capsys: pytest.CaptureFixture[str]
) -> None:
    overload(recorder, rig)
    rig.play(recorder, quiet(2.5))
    _show(recorder)
    assert ", a new bolt, " in "".join(capsys.readouterr())
    for show in (lambda: _show(recorder), lambda: _do(recorder, ""), lambda: _do(recorder, "b")):
        show()
        assert "b NAME" in "".join(capsys.readouterr())
    _do(recorder, "b X2")
    _show(recorder)
    said = "".join(capsys.readouterr())
    assert "b NAME" not in said and "Change the bolt: X2." in said


def test_an_overloaded_bolt_is_refused_after_a_restart_too(lab: Path, rig: PtyRig) -> None:
    with open_recorder(lab) as recorder:
        recorder.connect(rig.port)
        rig.play(recorder, quiet(2.5))
        overload(recorder, rig)
        recorder.book.set_aside("r001", "slipped")  # the bolt was strained all the same
    with open_recorder(lab) as again:
        again.connect(rig.port)
        rig.play(again, quiet(2.5))
        coming = again.view().next
        assert coming is not None and coming.run == "r001-2"
        with pytest.raises(BadInput, match="bolt 'bolt-1' was overloaded in r001"):
            again.arm()
        again.book.change_bolt("B2")
        again.arm()


def test_another_try_of_an_overload_is_made_on_the_bolt_that_took_its_place(
    recorder: Recorder, rig: PtyRig
) -> None:
    overload(recorder, rig)
    recorder.book.change_bolt("B2")
    recorder.book.repeat("slipped")
    coming = recorder.view().next
    assert coming is not None and (coming.run, coming.bolt) == ("r001-2", "B2")
    assert recorder.view().spent is None


def test_after_two_overloads_nothing_stands_on_a_spent_bolt(
    recorder: Recorder, rig: PtyRig, lab: Path
) -> None:
    for name in ("X2", "X3"):
        overload(recorder, rig)
        recorder.book.change_bolt(name)
        recorder.book.repeat("slipped")
        rig.play(recorder, quiet(2.5))
    overload(recorder, rig)
    recorder.book.repeat("slipped")
    view = recorder.view()
    assert view.next is not None and view.next.run == "r001-4"
    assert view.spent is not None and view.spent.bolt == "X3", "the bolt that is in, not the first one"
    assert not any(each.startswith("Change the bolt") for each in view.next.cautions)
    for line in recorder.book._folder.lines[4:]:
        line["bolt"] = "X2"
    recorder.book.change_bolt("X4")
    after = recorder.view()
    assert after.spent is None and after.next is not None and after.next.bolt == "X4"
    made = recorder.book.kept
    assert {row["bolt"] for row in sheet(lab) if row["run"] not in made} <= {"X4", "bolt-2", "bolt-3"}


def test_the_bolt_is_named_when_the_plan_is_done_too(recorder: Recorder, rig: PtyRig) -> None:
    overload(recorder, rig)
    recorder.book.change_bolt("B2")
    while recorder.book.open_runs():
        recorder.book.leave_out("enough")
    assert recorder.view().next is None
    assert recorder.view().spent is None
    recorder.book.undo()
    for line in recorder.book._folder.lines:
        line["bolt"] = line["bolt"].replace("B2", "bolt-1")
    recorder.book.changes += 1
    assert recorder.view().spent is not None


def test_that_the_plan_has_another_bolt_next_does_not_say_that_it_was_changed(
    recorder: Recorder, rig: PtyRig
) -> None:
    overload(recorder, rig)
    recorder.book.choose(next(row for row, _ in recorder.book.open_runs()))
    recorder.book.change_bolt("B2")
    recorder.book.undo()
    for line in recorder.book._folder.lines[1:]:
        line["bolt"] = "bolt-2"
    recorder.book.changes += 1
    spent = recorder.view().spent
    assert spent is not None and (spent.bolt, spent.fresh) == ("bolt-1", "bolt-2")
    recorder.book.change_bolt("bolt-2")
    assert recorder.view().spent is None


def test_a_lone_stray_sample_is_no_overload(recorder: Recorder, rig: PtyRig) -> None:
    trace = one_run().reading.copy()
    trace[7000:7010] = 5000.0
    recorder.arm()
    rig.play(recorder, trace[:9000])
    live = recorder.view().live
    assert live is not None and not live.is_beyond


def test_the_quiet_before_a_run_is_on_disk_as_it_begins(recorder: Recorder, rig: PtyRig, lab: Path) -> None:
    """A kill in the first instant of a run leaves a run that was cut short, not a file that holds nothing."""
    recorder.arm()
    reading, at = one_run().reading, round(3.0 * RATE_HZ)
    rig.play(recorder, reading[:at])
    while recorder.view().phase != "recording":
        rig.play(recorder, reading[at : at + FRAME])
        at += FRAME
    (log,) = (lab / "campaigns" / "drum-rollers" / "logs").glob("*.arrows")
    assert read_recording(log, log.read_bytes()).time[-1] > 1.9


def test_letting_go_early_is_told(recorder: Recorder, rig: PtyRig) -> None:
    recorder.arm()
    trace = one_run(hammer_s=1.0, length_s=9.0)
    rig.play(recorder, trace.reading)
    last = recorder.view().last
    assert last is not None and last.headline == "repeat: shorter than the window"


def test_decisions_can_be_undone_one_after_another(recorder: Recorder, rig: PtyRig, lab: Path) -> None:
    record_one(recorder, rig)
    book = recorder.book
    book.note("r001", "warm day")
    book.set_aside("r001", "jaw slipped")
    assert next_run(recorder) == "r001-2"
    assert recorder.view().undo == "set aside r001"
    assert book.undo() == "set aside r001"
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
    assert coming is not None and coming.bolt == "bolt-9" and coming.new_bolt
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


def test_cool_down_and_cautions_are_told(recorder: Recorder, rig: PtyRig) -> None:
    record_one(recorder, rig)
    coming = recorder.view().next
    assert coming is not None
    assert 20.0 < coming.cool_down_left_s <= 30.0
    assert coming.supply == "6.2 bar" and coming.bolt_use == 1
    assert any("proof load" in caution for caution in coming.cautions)


def test_the_live_score_and_chart_follow_the_run(recorder: Recorder, rig: PtyRig) -> None:
    record_one(recorder, rig)
    recorder.book.choose("r003")  # the reference again, so that there is a band
    recorder.arm()
    trace = one_run(3)
    half = round(6.0 * 2000)
    rig.play(recorder, trace.reading[:half])
    view, chart = recorder.view(), recorder.chart()
    assert view.phase == "recording" and view.live is not None
    level = float(trace.truth.level_at(6.0))
    assert view.live.level == pytest.approx(level, rel=0.1)
    assert view.live.elapsed_s == pytest.approx(3.0, abs=0.3)
    assert chart.run == view.live.run
    assert -1.1 < chart.time[0] < -0.9 and chart.time[-1] == pytest.approx(3.0, abs=0.3)
    rig.play(recorder, np.r_[trace.reading[half:], quiet(3.0)])
    assert recorder.last_chart is not None and recorder.last_chart.time[-1] > 4.9
    plain(recorder.view()), plain(recorder.chart())


def test_the_band_holds_earlier_runs_that_count(recorder: Recorder, rig: PtyRig) -> None:
    record_one(recorder, rig, 1)
    band = recorder.book.band(recorder.book.find_next())
    assert band is None  # the other article
    recorder.book.choose("r003")
    band = recorder.book.band(recorder.book.find_next())
    assert band is not None and band.runs == 1
    assert band.high[-1] == pytest.approx(one_run(1).truth.score, rel=0.05)


def test_a_bump_is_dropped_and_the_recorder_stays_armed(recorder: Recorder, rig: PtyRig, lab: Path) -> None:
    recorder.arm()
    bump = quiet(4.0)
    bump[2000:2600] += 40.0
    rig.play(recorder, bump)
    view = recorder.view()
    assert view.phase == "armed"
    assert any("false start" in message for message in view.messages)
    place = lab / "campaigns" / "drum-rollers"
    assert list((place / "logs").iterdir()) == []
    assert [each.name for each in (place / "not-runs").iterdir()] == ["r001.arrows"]  # a person may want it
    rig.play(recorder, np.r_[one_run(1).reading, quiet(3.0)])
    assert recorder.view().last is not None


def test_the_button_ends_a_run(recorder: Recorder, rig: PtyRig) -> None:
    recorder.arm()
    rig.play(recorder, one_run(1).reading[:10_800])
    assert recorder.view().phase == "recording"
    with pytest.raises(BadInput, match="being recorded"):
        recorder.book.set_aside("r001", "no")
    recorder.stop()
    last = recorder.view().last
    assert last is not None and last.headline == "repeat: ended early"


def test_nothing_is_armed_without_a_rig_or_without_quiet(lab: Path, rig: PtyRig) -> None:
    with open_recorder(lab) as recorder:
        with pytest.raises(BadInput, match="rig is not ready"):
            recorder.arm()
        recorder.connect(rig.port)
        rig.play(recorder, quiet(0.5))
        with pytest.raises(BadInput, match="wait a second"):
            recorder.arm()


def test_only_one_recorder_at_a_time(recorder: Recorder, lab: Path) -> None:
    with pytest.raises(StoreError, match="another program records"):
        open_recorder(lab)


def test_the_next_sitting_goes_on_where_this_one_ended(lab: Path, rig: PtyRig) -> None:
    with open_recorder(lab) as recorder:
        recorder.connect(rig.port)
        rig.play(recorder, quiet(2.5))
        record_one(recorder, rig)
    with open_recorder(lab) as recorder:
        assert next_run(recorder) == "r002"
        coming = recorder.view().next
        assert coming is not None and not coming.new_bolt


def test_a_campaign_loaded_with_runs_takes_them_along(tmp_path: Path, rig: PtyRig) -> None:
    lab = make_workspace(tmp_path / "first")
    with open_recorder(lab) as recorder:
        recorder.connect(rig.port)
        rig.play(recorder, quiet(2.5))
        record_one(recorder, rig)
    source = lab / "campaigns" / "drum-rollers"
    load_campaign(source, tmp_path / "second")
    with open_recorder(tmp_path / "second") as recorder:
        assert next_run(recorder) == "r002"
    log = tmp_path / "second" / "campaigns" / "drum-rollers" / "logs" / "r001.arrows"
    assert log.read_bytes() == (source / "logs" / "r001.arrows").read_bytes()


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


def test_a_rig_without_a_calibration_says_that_nothing_watches_for_overload(
    tmp_path: Path, rig: PtyRig
) -> None:
    text = CAMPAIGN.replace('unit = "kN"', 'unit = "reading"')
    load_campaign(write_campaign(tmp_path / "campaign", text), tmp_path / "lab")
    with open_recorder(tmp_path / "lab") as recorder:
        recorder.connect(rig.port)
        rig.play(recorder, quiet(2.5))
        coming = recorder.view().next
        assert coming is not None and coming.limit.unwatched == "no load"
        said = " ".join(coming.cautions)
        assert "Nothing watches for overload: " in said and "the rig has no calibration" in said
        assert "top below" not in said
        assert recorder.chart().allowed is None


def change_campaign(lab: Path, old: str, new: str) -> None:
    """The campaign loaded again with other words in its file, while the recorder is open."""
    source = lab.parent / "campaign"
    path = source / "campaign.toml"
    path.write_text(path.read_text().replace(old, new))
    load_campaign(source, lab)


def test_a_limit_that_is_changed_in_the_plan_is_taken_at_the_next_arming(
    recorder: Recorder, rig: PtyRig, lab: Path
) -> None:
    """M20 of class 10.9: 203 kN of proof load (ISO 898-1:2013, Table 5), 0.75 and then 0.6 of it."""
    recorder.arm()
    assert recorder.chart().allowed == pytest.approx(0.75 * 203.0, rel=0.005)
    change_campaign(lab, "friction = 0.12", "friction = 0.12\nlargest_proof_share = 0.6")
    recorder.renew()
    assert recorder.chart().allowed == pytest.approx(0.75 * 203.0, rel=0.005), "armed by what was shown"
    recorder.disarm()
    recorder.arm()
    coming = recorder.view().next
    assert coming is not None and coming.limit.level == pytest.approx(0.6 * 203.0, rel=0.005)
    assert recorder.chart().allowed == pytest.approx(0.6 * 203.0, rel=0.005)
    assert any("122 kN" in each for each in coming.cautions)


def test_a_rig_that_the_plan_describes_differently_is_connected_again(
    recorder: Recorder, rig: PtyRig, lab: Path
) -> None:
    change_campaign(lab, 'unit = "kN"', 'unit = "N"')
    with pytest.raises(BadInput, match="the rig is not ready"):
        recorder.arm()
    assert recorder.view().phase == "no rig"
    recorder.connect(rig.port)
    rig.play(recorder, quiet(2.5))
    recorder.arm()
    assert recorder.chart().unit == "N"
