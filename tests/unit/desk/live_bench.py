"""A rig at the other end of a real pseudo-terminal, played faster than time, and a small campaign for it."""

from __future__ import annotations

import csv
import os
import threading
import time
import tty
from pathlib import Path
from typing import Any

import numpy as np

from strikeproof.capture.rig_frames import pack_frame
from strikeproof.desk.loading.load import load_campaign
from strikeproof.desk.recording.recorder import Recorder
from strikeproof.quantity import FloatArray
from strikeproof.trace import SimulatedTrace, TracePlan, simulate_trace

RATE_HZ = 2000.0
FRAME = 50
CAMPAIGN = """\
[campaign]
name = "drum rollers"
reference = "plain"
[protocol]
duration = "4 s"
repeats = 2
seed = 5
cool_down = "30 s"
[rig]
channel = "load"
unit = "kN"
[bolt]
thread = "M20x2.5"
class = "10.9"
friction = 0.12
runs_per_bolt = 4
[[tool]]
name = "air"
supply = "6.2 bar"
[[article]]
name = "plain"
[[article]]
name = "ring"
"""


class CalmClock:
    """Seconds as a machine counts them that is never held up: between two looks at most a tenth passes."""

    def __init__(self) -> None:
        self._lock = threading.Lock()  # the port is read in a thread of its own
        self._seen, self._passed = time.monotonic(), 0.0

    def __call__(self) -> float:
        with self._lock:
            now = time.monotonic()
            self._passed += min(now - self._seen, 0.1)
            self._seen = now
            return self._passed


def write_campaign(folder: Path, text: str = CAMPAIGN) -> Path:
    """A campaign folder without any run."""
    folder.mkdir(parents=True)
    (folder / "campaign.toml").write_text(text)
    (folder / "runs.csv").write_text("run,log,tool,article,block,bolt,started,set_aside,note,score\n")
    return folder


def make_workspace(path: Path) -> Path:
    """A workspace that knows the campaign; its sheet is told to be empty."""
    load_campaign(write_campaign(path / "campaign"), path / "lab")
    return path / "lab"


def one_run(seed: int = 1, **changes: object) -> SimulatedTrace:
    """Two seconds of quiet, four of hammering, then quiet under load."""
    values = {
        "sample_rate_hz": RATE_HZ,
        "length_s": 10.0,
        "start_s": 3.0,
        "hammer_s": 4.3,
        "window_s": 4.0,
        "zero": 2.0,
        "growth_blows": 30.0,
    }
    return simulate_trace(np.random.default_rng(seed), plan=TracePlan(**{**values, **changes}))  # type: ignore[arg-type]


def quiet(seconds: float, zero: float = 2.0, seed: int = 9) -> FloatArray:
    """Noise about the zero."""
    return zero + np.random.default_rng(seed).normal(0.0, 0.1, round(seconds * RATE_HZ))


class PtyRig:
    """The rig's end of a line; `port` is a name that outlives unplugging.

    `simulated` is what the rig says of itself.
    """

    def __init__(self, folder: Path, *, simulated: bool = False) -> None:
        self.simulated = simulated
        self.port = str(folder / "rig")
        self.sequence = self.clock = 0
        self.plug_in()

    def plug_in(self) -> None:
        self._ends = os.openpty()
        tty.setraw(self._ends[1])
        os.set_blocking(self._ends[0], False)
        Path(self.port).symlink_to(os.ttyname(self._ends[1]))

    def unplug(self) -> None:
        Path(self.port).unlink()
        for end in self._ends:
            os.close(end)

    def frames(self, readings: FloatArray) -> bytes:
        parts = []
        for begin in range(0, len(readings) - FRAME + 1, FRAME):
            part = readings[begin : begin + FRAME, None]
            form: dict[str, Any] = {"rate_hz": RATE_HZ, "payload": "float32", "simulated": self.simulated}
            parts.append(pack_frame(self.sequence, self.clock, part, **form))
            self.sequence += 1
            self.clock += FRAME
        return b"".join(parts)

    def send(self, recorder: Recorder, data: bytes) -> None:
        """All bytes, stepping the recorder as they go."""
        at = 0
        until = time.monotonic() + 20.0
        while at < len(data) and time.monotonic() < until:
            try:
                at += os.write(self._ends[0], data[at : at + 2048])
            except BlockingIOError:
                time.sleep(0.001)
            recorder.step()
        for _ in range(10):
            time.sleep(0.005)
            recorder.step()

    def play(self, recorder: Recorder, readings: FloatArray) -> None:
        """Readings as frames."""
        self.send(recorder, self.frames(readings))

    def heard(self) -> str:
        """What the recorder said."""
        try:
            return os.read(self._ends[0], 4096).decode()
        except BlockingIOError:
            return ""


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
    return coming.row.run
