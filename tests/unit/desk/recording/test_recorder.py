"""The recorder on a real pseudo-terminal: planned runs, verdicts and decisions, on disk and in the store."""

from __future__ import annotations

import shutil
from pathlib import Path

import numpy as np
import pytest
from tests.unit.desk.live_bench import (
    FRAME,
    RATE_HZ,
    PtyRig,
    make_workspace,
    next_run,
    one_run,
    quiet,
    record_one,
    sheet,
)

from strikeproof.capture.recording import read_recording
from strikeproof.desk.loading.load import load_campaign
from strikeproof.desk.recording.recorder import Recorder, open_recorder
from strikeproof.desk.recording.views import plain
from strikeproof.desk.runs.judged import judge_runs
from strikeproof.desk.workspace.check import check_workspace
from strikeproof.desk.workspace.opening import open_campaign
from strikeproof.errors import BadInput, StoreError


def test_a_planned_run_is_recorded_judged_and_kept(recorder: Recorder, rig: PtyRig, lab: Path) -> None:
    before = recorder.view()
    assert (before.phase, before.next.row.run if before.next else "") == ("idle", "r001")
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


def test_a_bolt_that_was_loosened_before_arming_does_not_spoil_the_next_run(
    recorder: Recorder, rig: PtyRig
) -> None:
    """The zero looks back two seconds: a load within them is waited out, and one before is left out."""
    rig.play(recorder, quiet(3.0, zero=200.0))
    with pytest.raises(BadInput, match="the bolt is under load"):
        recorder.arm()
    rig.play(recorder, quiet(1.0))
    with pytest.raises(BadInput, match="until a moment ago"):
        recorder.arm()
    rig.play(recorder, quiet(1.6))
    recorder.arm()
    trace = one_run(start_s=0.6)
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
    assert again is not None and (again.row.run, again.row.article) == ("r001-2", last.row.article)
    assert after is not None and after.row.run == "r002"
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
    assert "a r001 WHY" in refusal.value.fix
    assert again.book.kept["r001"].set_aside is None


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
