"""A line that is unplugged, jumps, stutters or talks nonsense in mid-run: nothing is lost unsaid."""

from __future__ import annotations

import time
from pathlib import Path

import numpy as np
import pytest
from tests.unit.desk.live_bench import FRAME, PtyRig, make_workspace, one_run, quiet

from strikeproof.campaign.kept import KeptTrace
from strikeproof.capture.recording import RecordingWriter, read_recording
from strikeproof.desk.recording.recorder import Recorder, open_recorder
from strikeproof.desk.recording.views import RunVerdict
from strikeproof.desk.workspace.opening import open_campaign
from strikeproof.errors import StrikeproofError

HALF = 9000  # samples: 1.5 s after the first blow


@pytest.fixture
def recorder(recorder: Recorder) -> Recorder:
    """Armed already."""
    recorder.arm()
    return recorder


def step_until(recorder: Recorder, wanted: bool, seconds: float = 5.0) -> None:
    """Step until the port is plugged or not."""
    until = time.monotonic() + seconds
    while recorder.view().line.plugged is not wanted and time.monotonic() < until:
        recorder.step()
        time.sleep(0.01)
    assert recorder.view().line.plugged is wanted


def verdict(recorder: Recorder) -> RunVerdict:
    last = recorder.view().last
    assert last is not None, recorder.view().messages
    return last


def kept(lab: Path) -> KeptTrace:
    store, key, _campaign = open_campaign(lab, None)
    trace = store.runs(key)[0].trace
    assert trace is not None
    return trace


def kinds(trace: KeptTrace) -> list[str]:
    return [found["kind"] for found in trace.findings]


def test_unplugged_and_plugged_in_again_it_is_one_run_that_says_so(
    recorder: Recorder, rig: PtyRig, lab: Path
) -> None:
    trace = one_run(1)
    rig.play(recorder, trace.reading[:HALF])
    rig.unplug()
    step_until(recorder, False)
    assert "is not there" in recorder.view().line.trouble
    rig.plug_in()
    step_until(recorder, True)
    rig.play(recorder, np.r_[trace.reading[HALF:], quiet(3.0)])
    assert verdict(recorder).headline == "repeat: the line broke after 1.5 s of 4 s"
    assert "unplugged" in verdict(recorder).flags
    assert "unplugged" in kinds(kept(lab))
    assert any("unplugged" in message for message in recorder.view().messages)


def test_unplugged_for_good_the_run_is_kept_to_its_last_sample(
    tmp_path: Path, lab: Path, rig: PtyRig
) -> None:
    seconds = [0.0]
    with open_recorder(lab, clock=lambda: time.monotonic() + seconds[0]) as recorder:
        recorder.connect(rig.port)
        rig.play(recorder, quiet(2.5))
        recorder.arm()
        sent = one_run(1).reading[:HALF]
        rig.play(recorder, sent)
        rig.unplug()
        step_until(recorder, False)
        assert recorder.view().phase == "recording"
        seconds[0] = 20.0
        recorder.step()
        assert recorder.view().phase == "no rig"
        assert verdict(recorder).headline == "repeat: cut short: the line broke after 1.5 s of 4 s"
        assert {"unplugged", "too-short"} <= set(verdict(recorder).flags)
    (log,) = (lab / "campaigns").glob("*/logs/*.arrows")
    recorded = read_recording(log, log.read_bytes())
    whole = len(sent) - len(sent) % FRAME
    assert kept(lab).samples == len(recorded.time)
    assert recorded.values[-FRAME:, 0] == pytest.approx(sent[whole - FRAME : whole], rel=1e-6)


def test_lost_frames_are_a_gap_of_the_run(recorder: Recorder, rig: PtyRig, lab: Path) -> None:
    trace = one_run(1)
    rig.play(recorder, trace.reading[:HALF])
    rig.frames(trace.reading[HALF : HALF + 20 * FRAME])  # taken and never sent
    rig.play(recorder, np.r_[trace.reading[HALF + 20 * FRAME :], quiet(3.0)])
    assert kinds(kept(lab)).count("gap") >= 1
    assert "dropout" in verdict(recorder).flags


def test_a_clock_jump_is_said_and_costs_nothing(recorder: Recorder, rig: PtyRig, lab: Path) -> None:
    trace = one_run(1)
    rig.play(recorder, trace.reading[:HALF])
    rig.clock -= 3000
    rig.play(recorder, np.r_[trace.reading[HALF:], quiet(3.0)])
    last = verdict(recorder)
    assert last.good and "clock jump" in last.headline
    assert last.score == pytest.approx(trace.truth.score, rel=0.01)


def test_garbage_in_mid_run_is_said(recorder: Recorder, rig: PtyRig, lab: Path) -> None:
    trace = one_run(1)
    rig.play(recorder, trace.reading[:HALF])
    rig.send(recorder, np.random.default_rng(2).bytes(2000))
    rig.play(recorder, np.r_[trace.reading[HALF:], quiet(3.0)])
    assert "garbage" in kinds(kept(lab))
    assert verdict(recorder).score == pytest.approx(trace.truth.score, rel=0.01)


def test_a_port_that_another_program_holds_is_refused(
    recorder: Recorder, rig: PtyRig, tmp_path: Path
) -> None:
    other = make_workspace(tmp_path / "other")
    with open_recorder(other) as second, pytest.raises(StrikeproofError, match="cannot be opened"):
        second.connect(rig.port)


def _as_run(raw: bytes, name: str, path: Path) -> None:
    """The same recording of a run of another name, as it stands when the recorder is killed."""
    found = read_recording(path, raw)
    about = {**found.about, "cells": {**found.about["cells"], "run": name}}
    growing = path.with_suffix(".growing")
    writer = RecordingWriter(growing, [(each, None) for each in found.names[1:]], about)
    writer.add(found.time, found.values, (), 0.0)
    path.write_bytes(growing.read_bytes())
    writer.abandon()
    growing.unlink()


def test_a_recording_that_was_cut_comes_back_at_the_next_start(
    lab: Path, rig: PtyRig, recorder: Recorder
) -> None:
    rig.play(recorder, one_run(1).reading[:HALF])
    time.sleep(0.25)
    rig.play(recorder, one_run(1).reading[HALF : HALF + 2 * FRAME])
    logs = lab / "campaigns" / "drum-rollers" / "logs"
    cut = (logs / "r001.arrows").read_bytes()
    recorder.stop()
    recorder.book.set_aside("r001", "only a copy of it is wanted")
    recorder.close()
    _as_run(cut, "r00Z", logs / "r001-2.arrows")
    with open_recorder(lab) as again:
        assert any("cut short: the recorder stopped" in message for message in again.view().messages)
        run = again.book.kept["r00Z"]
        assert run.set_aside == "cut short: the recorder stopped"
        assert run.trace is not None and "cut-short" in kinds(run.trace)
        assert again.book.recover() == ()
