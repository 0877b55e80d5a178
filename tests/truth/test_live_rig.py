"""The simulated rig in a process of its own, heard over its pseudo-terminal in every way it speaks."""

from __future__ import annotations

import os
import signal
import time
import tomllib
from collections.abc import Callable
from pathlib import Path

import pytest
from tests.unit.desk.live_bench import CAMPAIGN, write_campaign

from strikeproof.capture.rig_port import RigPort
from strikeproof.desk.loading.load import load_campaign
from strikeproof.desk.recording.recorder import Recorder, open_recorder
from strikeproof.desk.recording.views import RunVerdict
from strikeproof.desk.simulating.rig import RigSettings, Speech
from strikeproof.desk.simulating.rig_process import RigProcess, start_rig
from strikeproof.desk.workspace.opening import open_campaign
from strikeproof.desk.workspace.places import campaign_place
from strikeproof.errors import StrikeproofError

TEXT = CAMPAIGN.replace('"4 s"', '"2 s"').replace('cool_down = "30 s"', "")


@pytest.fixture
def lab(tmp_path: Path) -> Path:
    load_campaign(write_campaign(tmp_path / "campaign", TEXT), tmp_path / "lab")
    return tmp_path / "lab"


def wait(recorder: Recorder, what: Callable[[Recorder], bool], seconds: float = 30.0) -> None:
    until = time.monotonic() + seconds
    while not what(recorder):
        assert time.monotonic() < until, recorder.view()
        time.sleep(0.02)


def arm(recorder: Recorder) -> None:
    """As soon as enough of the quiet is known."""
    until = time.monotonic() + 30.0
    while True:
        try:
            recorder.arm()
            return
        except StrikeproofError:
            assert time.monotonic() < until, recorder.view()
            time.sleep(0.05)


def record(recorder: Recorder, rig: RigProcess, *words: str) -> RunVerdict:
    """Arm, say the words in mid-run, and wait for the verdict."""
    arm(recorder)
    wait(recorder, lambda each: each.view().phase == "recording")
    for word in words:
        rig.say(word)
    wait(recorder, lambda each: each.view().phase == "idle")
    last = recorder.view().last
    assert last is not None
    return last


def settings(tmp_path: Path, speech: Speech, rate_hz: float) -> RigSettings:
    return RigSettings(
        tmp_path / "campaign", speech=speech, rate_hz=rate_hz, link=tmp_path / "rig", wait_s=0.5
    )


@pytest.mark.parametrize(
    ("speech", "rate_hz"), [("frames", 50_000.0), ("stamped", 2000.0), ("numbers", 400.0)]
)
def test_a_run_is_good_in_every_way_of_speaking(
    tmp_path: Path, lab: Path, speech: Speech, rate_hz: float
) -> None:
    with start_rig(settings(tmp_path, speech, rate_hz)) as rig, open_recorder(lab) as recorder:
        recorder.connect(rig.port)
        recorder.run_in_background()
        last = record(recorder, rig)
        assert last.good, last
        counted_on_arrival = speech == "numbers"
        within = 0.05 if counted_on_arrival else 0.001
        assert recorder.view().line.rate_hz == pytest.approx(rate_hz, rel=within)
        assert last.clamp_load_n is not None and 2e4 < last.clamp_load_n < 1e6
    assert open_campaign(lab, None)[2].simulated
    file = campaign_place(lab, recorder.campaign.name) / "campaign.toml"
    assert tomllib.loads(file.read_text(encoding="utf-8"))["campaign"]["simulated"] is True


def test_what_is_spoiled_on_purpose_is_told(tmp_path: Path, lab: Path) -> None:
    with start_rig(settings(tmp_path, "frames", 10_000.0)) as rig, open_recorder(lab) as recorder:
        recorder.connect(rig.port)
        recorder.run_in_background()
        rig.say("spoil clipped")
        clipped = record(recorder, rig)
        assert (clipped.outcome, clipped.reason) == ("repeat", "clipped")
        assert clipped.overload, "M20 under a tool that is too strong for it"
        recorder.book.change_bolt("B2")
        recorder.book.repeat()
        time.sleep(6.0)  # until the bolt is loosened
        last = record(recorder, rig, "lose 20")
        assert last.run == "r001-2"
        assert "samples missing" in last.headline
        assert any("lost on the line" in message for message in recorder.view().messages)


def test_unplugged_in_mid_run_it_comes_back_by_itself(tmp_path: Path, lab: Path) -> None:
    with start_rig(settings(tmp_path, "frames", 10_000.0)) as rig, open_recorder(lab) as recorder:
        recorder.connect(rig.port)
        recorder.run_in_background()
        last = record(recorder, rig, "unplug 0.5")
        assert "unplugged" in last.flags and not last.good
        assert recorder.view().line.plugged


def test_a_rig_that_is_held_up_skips_no_sample(tmp_path: Path) -> None:
    """As a real one does not, whose converter asks no operating system; else its rate would be miscounted."""

    def heard(port: RigPort) -> int:
        return sum(each.data.count(b"\n") for each in port.take())

    write_campaign(tmp_path / "campaign", TEXT)
    with start_rig(settings(tmp_path, "numbers", 200.0)) as rig:
        port = RigPort(rig.port)
        time.sleep(1.0)
        heard(port)
        begun = time.monotonic()
        os.kill(rig.pid, signal.SIGSTOP)
        time.sleep(2.2)
        os.kill(rig.pid, signal.SIGCONT)
        time.sleep(1.8)
        count, waited = heard(port), time.monotonic() - begun
        port.close()
    assert count / waited == pytest.approx(200.0, rel=0.1)
