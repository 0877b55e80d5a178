"""A recorder that is open and the planning of the same campaign do not stand in each other's way."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest
from tests.unit.desk.live_bench import PtyRig, one_run, quiet

from strikeproof.desk.planning.sheet import keep_sheet
from strikeproof.desk.recording.recorder import Recorder
from strikeproof.desk.setting_up.editor import change_set_up
from strikeproof.desk.setting_up.edits import set_value
from strikeproof.desk.setting_up.run_rows import hold_sheet, read_run_cells, write_run_cells
from strikeproof.errors import InUse

NAME = "drum rollers"


def sheet_of(lab: Path) -> Path:
    return lab / "campaigns" / "drum-rollers" / "runs.csv"


def order(recorder: Recorder) -> list[str]:
    return [words.split(", ")[1] for _run, words in recorder.book.open_runs()]


def test_planning_goes_on_while_the_recorder_is_open_and_the_recorder_takes_the_new_plan(
    recorder: Recorder, rig: PtyRig, lab: Path
) -> None:
    assert len(order(recorder)) == 6
    change_set_up(lab, NAME, set_value(("protocol", "repeats"), 3))
    planned = keep_sheet(lab, NAME)
    rig.play(recorder, quiet(0.5))  # planning takes seconds on a busy machine, and a rig must not be silent
    recorder.arm()
    assert order(recorder) == [row["article"] for row in planned.cells]
    rig.play(recorder, np.r_[one_run().reading, quiet(3.0)])
    rows = read_run_cells(sheet_of(lab))
    assert len(rows) == len(planned.cells) and rows[0]["log"] == "r001.arrows"
    assert not list(sheet_of(lab).parent.glob("runs.before*"))


def test_a_plan_is_not_changed_under_a_run_that_is_armed(recorder: Recorder, lab: Path) -> None:
    recorder.arm()
    with pytest.raises(InUse, match="a run is being recorded"):
        keep_sheet(lab, NAME)
    recorder.disarm()
    keep_sheet(lab, NAME)


def test_a_bolt_is_taken_back_by_name_though_the_sheet_was_written_anew(
    recorder: Recorder, lab: Path
) -> None:
    fresh = recorder.book.change_bolt("spare")
    with hold_sheet(sheet_of(lab).parent):
        write_run_cells(sheet_of(lab), read_run_cells(sheet_of(lab)), "written by another")
    recorder.book.undo()
    assert fresh not in {row.get("bolt") for row in read_run_cells(sheet_of(lab))}


def test_a_kept_run_has_its_line_though_another_took_it_out(
    recorder: Recorder, rig: PtyRig, lab: Path
) -> None:
    recorder.arm()
    rig.play(recorder, np.r_[one_run().reading, quiet(3.0)])
    rows = read_run_cells(sheet_of(lab))
    write_run_cells(sheet_of(lab), rows[1:], "written by another")
    recorder.book.note("r001", "third hand on the trigger")
    (line,) = (row for row in read_run_cells(sheet_of(lab)) if row["run"] == "r001")
    assert (line["note"], line["log"]) == ("third hand on the trigger", "r001.arrows")
