"""What the recorder does about a bolt that is loaded beyond what it may carry, and what sets that limit."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest
from tests.unit.desk.live_bench import (
    CAMPAIGN,
    PtyRig,
    one_run,
    quiet,
    sheet,
    write_campaign,
)

from strikeproof.cli.recording import _do, _show
from strikeproof.desk.loading.load import load_campaign
from strikeproof.desk.recording.recorder import Recorder, open_recorder
from strikeproof.desk.safety.cautions import Stop
from strikeproof.errors import BadInput


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
    assert live.allowed == pytest.approx(152.0, abs=0.7)
    assert recorder.chart().allowed == pytest.approx(live.allowed - 2.0, abs=0.1), "the cell stood at 2 kN"
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
        assert coming is not None and coming.row.run == "r001-2"
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
    assert coming is not None and (coming.row.run, coming.row.bolt) == ("r001-2", "B2")
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
    assert view.next is not None and view.next.row.run == "r001-4"
    assert view.spent is not None and view.spent.bolt == "X3", "the bolt that is in, not the first one"
    assert not any(each.startswith("Change the bolt") for each in view.next.cautions)
    for line in recorder.book._folder.lines[4:]:
        line["bolt"] = "X2"
    recorder.book.change_bolt("X4")
    after = recorder.view()
    assert after.spent is None and after.next is not None and after.next.row.bolt == "X4"
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


def test_the_run_made_last_is_judged_again_by_another_limit(
    recorder: Recorder, rig: PtyRig, lab: Path
) -> None:
    recorder.arm()
    rig.play(recorder, np.r_[one_run().reading, quiet(3.0)])
    before = recorder.view().last
    assert before is not None and before.overload == "" and recorder.last_chart is not None
    change_campaign(lab, "friction = 0.12", "friction = 0.12\nlargest_proof_share = 0.3")
    recorder.renew()
    view = recorder.view()
    assert view.last is not None and view.last.overload.endswith("61.0 kN is allowed")
    assert view.spent is not None and view.spent.run == before.run
    assert recorder.last_chart is None, "it was drawn by what the readings were worth before"
    recorder.book.change_bolt("B2")
    change_campaign(lab, "largest_proof_share = 0.3", "largest_proof_share = 0.75")
    recorder.renew()
    last = recorder.view().last
    assert last is not None and last.overload == ""


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


def test_a_bolt_that_is_loosened_is_stopped_only_where_its_load_rises_and_spent_by_what_it_carried(
    tmp_path: Path, rig: PtyRig
) -> None:
    text = CAMPAIGN.replace("[rig]", 'direction = "loosen"\n[rig]\nzero = 2.0')
    load_campaign(write_campaign(tmp_path / "campaign", text), tmp_path / "lab")
    with open_recorder(tmp_path / "lab") as recorder:
        recorder.connect(rig.port)
        rig.play(recorder, quiet(3.0, zero=212.0))
        recorder.arm()
        falls = one_run(direction="loosen", final_level=120.0, zero=92.0).reading
        rig.play(recorder, falls[:9000])
        live, chart = recorder.view().live, recorder.chart()
        assert live is not None and live.allowed == pytest.approx(152.0, abs=0.7) and not live.is_beyond
        assert live.level is not None and live.level > 50.0
        assert chart.allowed is None
        recorder.stop()
        last = recorder.view().last
        assert last is not None and last.overload.startswith("the bolt was loaded to 210 kN")
        recorder.book.change_bolt("B2")
        rig.play(recorder, quiet(6.0, zero=102.0))
        recorder.arm()
        rig.play(recorder, 100.0 + one_run(final_level=120.0).reading[:9000])
        live = recorder.view().live
        assert live is not None and live.is_beyond
        assert live.highest is not None and live.highest > 152.0
