"""A mistake of the program in the recorder's own thread: said at once, the run saved, recording goes on."""

from __future__ import annotations

import os
import threading
import time
from collections.abc import Callable
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from tests.unit.desk.live_bench import PtyRig, one_run, quiet

from strikeproof.capture.buckets import Buckets
from strikeproof.capture.rig_feed import RigFeed
from strikeproof.capture.rig_port import RigPort
from strikeproof.desk.recording import book as record_book
from strikeproof.desk.recording.recorder import Recorder, open_recorder
from strikeproof.desk.recording.thread import StepThread

HALF = 9000  # samples: 1.5 s after the first blow


@pytest.fixture
def recorder(recorder: Recorder) -> Recorder:
    """Armed already."""
    recorder.arm()
    return recorder


def failing_once(wanted: Callable[..., Any]) -> Callable[..., Any]:
    """The same, but its next call fails as a mistake of ours would."""
    state = {"failed": False}

    def call(*given: Any, **named: Any) -> Any:
        if not state["failed"]:
            state["failed"] = True
            raise ZeroDivisionError("an hour of no minutes")
        return wanted(*given, **named)

    return call


def test_what_the_reader_stumbles_over_costs_a_gap_and_not_the_run(
    recorder: Recorder, rig: PtyRig, monkeypatch: pytest.MonkeyPatch, capfd: pytest.CaptureFixture[str]
) -> None:
    trace = one_run()
    rig.play(recorder, trace.reading[:HALF])
    monkeypatch.setattr(RigFeed, "hear", failing_once(RigFeed.hear))
    rig.play(recorder, np.r_[trace.reading[HALF:], quiet(3.0)])
    last = recorder.view().last
    assert last is not None and last.run == "r001"
    assert last.score == pytest.approx(trace.truth.score, rel=0.01)
    assert any("an hour of no minutes" in message for message in recorder.view().messages)
    assert "Traceback" in capfd.readouterr().err


def test_a_step_that_fails_is_said_and_the_run_is_saved_up_to_there(
    recorder: Recorder, rig: PtyRig, monkeypatch: pytest.MonkeyPatch, capfd: pytest.CaptureFixture[str]
) -> None:
    rig.play(recorder, one_run().reading[:HALF])
    assert recorder.view().phase == "recording"
    monkeypatch.setattr(Buckets, "add", failing_once(Buckets.add))
    recorder.run_in_background()
    os_write(rig, one_run().reading[HALF : HALF + 2000])
    wait_until(lambda: recorder.view().failure != "")
    wait_until(lambda: recorder.view().phase != "keeping")
    view = recorder.view()
    assert "an hour of no minutes" in view.failure and "run r001 is saved" in view.failure
    assert view.last is not None and view.last.headline.startswith("repeat: cut short: the recorder stopped")
    assert view.line.plugged and view.phase != "recording"
    assert "Traceback" in capfd.readouterr().err
    for _ in range(60):
        os_write(rig, quiet(0.05))
        time.sleep(0.05)
    recorder.arm()
    assert recorder.view().phase == "armed" and recorder.view().failure == ""


def test_a_run_that_cannot_be_judged_for_a_mistake_is_on_disk_and_said(
    recorder: Recorder, rig: PtyRig, lab: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr("strikeproof.desk.recording.book.give_verdict", failing_once(lambda *_: None))
    rig.play(recorder, np.r_[one_run().reading, quiet(3.0)])
    assert any("r001 is not saved yet" in message for message in recorder.view().messages)
    assert recorder.view().phase in ("idle", "all done", "no rig")
    recorder.close()
    with open_recorder(lab) as again:
        assert "r001" in again.book.kept


def test_saving_and_judging_a_run_holds_up_no_screen(
    recorder: Recorder, rig: PtyRig, monkeypatch: pytest.MonkeyPatch
) -> None:
    """A screen that gets nothing for a second says to release the trigger."""
    judging, go_on, judged = (threading.Event() for _ in range(3))
    judge = record_book.give_verdict

    def slow(*given: Any) -> Any:
        judging.set()
        go_on.wait(8.0)
        judged.set()
        return judge(*given)

    monkeypatch.setattr(record_book, "give_verdict", slow)
    rig.play(recorder, one_run().reading[:HALF])
    recorder.run_in_background()
    recorder.stop()
    assert judging.wait(8.0)
    assert recorder.view().phase == "keeping" and not judged.is_set()
    go_on.set()
    wait_until(lambda: recorder.view().phase != "keeping")
    last = recorder.view().last
    assert last is not None and last.run == "r001"


def test_a_thread_goes_on_though_what_is_done_about_a_mistake_is_mistaken_too(
    capfd: pytest.CaptureFixture[str],
) -> None:
    steps: list[int] = []

    def step() -> None:
        steps.append(1)
        if len(steps) == 1:
            raise ValueError("first")

    def failed(bug: Exception) -> None:
        raise KeyError("second")

    thread = StepThread(step, failed)
    thread.start()
    wait_until(lambda: len(steps) > 2)
    thread.stop()
    said = capfd.readouterr().err
    assert "first" in said and "second" in said


def os_write(rig: PtyRig, readings: Any) -> None:
    """Frames onto the line, while the recorder steps by itself."""
    os.write(rig._ends[0], rig.frames(readings)[:4000])


def wait_until(holds: Callable[[], bool], seconds: float = 8.0) -> None:
    until = time.monotonic() + seconds
    while not holds():
        assert time.monotonic() < until, "it never came so far"
        time.sleep(0.01)


def test_a_driver_that_raises_anything_is_an_unplugged_line_that_comes_back(rig: PtyRig) -> None:
    port = RigPort(rig.port)
    try:
        port._open.read = failing_once(port._open.read)  # type: ignore[method-assign]
        os_write(rig, quiet(0.05))
        wait_until(lambda: "unplugged" in [each.news for each in port.take()])
        wait_until(lambda: port.is_plugged)
    finally:
        port.close()
