"""Live capture: 50 kS/s for a minute without a lost sample while the chart runs, and an hour in flat memory.

The rig is the simulated one in a process of its own, on a real pseudo-terminal. `STRIKEPROOF_LIVE_S` shortens
the minute for a quick look.
"""

from __future__ import annotations

import contextlib
import os
import time
from pathlib import Path

import numpy as np
import pytest
from tests.benchmarks.yardstick import within
from tests.unit.desk.live_bench import CAMPAIGN, write_campaign

from strikeproof.capture.recording import read_recording
from strikeproof.capture.rig_feed import RigParser
from strikeproof.desk.loading.load import load_campaign
from strikeproof.desk.recording.recorder import Recorder, open_recorder
from strikeproof.desk.simulating.rig import RigSettings
from strikeproof.desk.simulating.rig_process import start_rig
from strikeproof.errors import BadInput

pytestmark = pytest.mark.benchmark

RATE_HZ = 50_000.0
SECONDS = float(os.environ.get("STRIKEPROOF_LIVE_S", "60"))
FRAMES_A_SECOND = 20.0


def make_lab(path: Path, duration: float) -> tuple[Path, Path]:
    text = CAMPAIGN.replace('duration = "4 s"', f'duration = "{duration:g} s"')
    folder = write_campaign(path / "campaign", text.replace('cool_down = "30 s"', ""))
    load_campaign(folder, path / "lab")
    return folder, path / "lab"


def wait_until_armed(recorder: Recorder) -> None:
    until = time.monotonic() + 30
    while recorder.view().phase != "idle" and time.monotonic() < until:
        time.sleep(0.05)
    time.sleep(1.5)
    recorder.arm()


def resident_mb() -> float:
    pages = int(Path("/proc/self/statm").read_text().split()[1])
    return pages * os.sysconf("SC_PAGE_SIZE") / 1e6


@pytest.mark.parametrize("payload", ["int24", "float32"])
def test_fifty_thousand_a_second_for_a_minute_without_a_lost_sample(tmp_path: Path, payload: str) -> None:
    folder, lab = make_lab(tmp_path, SECONDS)
    settings = RigSettings(folder, payload=payload, rate_hz=RATE_HZ, link=tmp_path / "rig", wait_s=0.5)  # type: ignore[arg-type]
    with start_rig(settings) as rig, open_recorder(lab) as recorder:
        recorder.connect(rig.port)
        recorder.run_in_background()
        wait_until_armed(recorder)
        while recorder.view().phase != "recording":
            time.sleep(0.02)
        begun, used, charts, longest = time.monotonic(), time.process_time(), 0, 0.0
        while recorder.view().phase == "recording":
            at = time.monotonic()
            recorder.chart()
            longest = max(longest, time.monotonic() - at)
            charts += 1
            time.sleep(max(0.0, begun + charts / FRAMES_A_SECOND - time.monotonic()))
            if time.monotonic() - begun > SECONDS:
                break
        lasted, cpu = time.monotonic() - begun, time.process_time() - used
        while recorder.view().phase in ("recording", "keeping"):
            time.sleep(0.05)
        (log,) = (lab / "campaigns" / "drum-rollers" / "logs").glob("*.arrows")
    found = read_recording(log, log.read_bytes())
    steps = np.diff(found.time) * RATE_HZ
    print(
        f"\n{len(found.time)} samples of {payload} at {RATE_HZ:g}/s in {found.time[-1]:.1f} s, "
        f"{charts} charts ({charts / lasted:.1f}/s, longest {1e3 * longest:.1f} ms), "
        f"{100 * cpu / lasted:.1f} % of one core"
    )
    assert np.all(np.abs(steps - 1.0) < 1e-3), "samples are missing"
    assert len(found.time) > SECONDS * RATE_HZ
    assert found.line_flags == () and found.ending == "done"
    assert cpu < lasted
    assert charts / lasted > 0.95 * FRAMES_A_SECOND - 1.0


def test_an_hour_of_listening_and_recording_in_flat_memory(tmp_path: Path) -> None:
    """An hour of the rig's time at 2 kS/s as fast as it goes, a run every half minute."""
    folder, lab = make_lab(tmp_path, 10.0)
    settings = RigSettings(folder, rate_hz=2000.0, pace=0.0, link=tmp_path / "rig", every_s=30.0, wait_s=1.0)
    grown: list[float] = []
    with start_rig(settings) as rig, open_recorder(lab) as recorder:
        recorder.connect(rig.port)
        recorder.run_in_background()
        begun, warm = time.monotonic(), 0.0
        while (rig_s := recorder.listened_s) < 3600.0:
            view = recorder.view()
            if view.phase == "all done":
                recorder.book.add_block("air")
            if view.phase == "idle":
                with contextlib.suppress(BadInput):  # too little quiet yet
                    recorder.arm()
            recorder.chart()
            if rig_s > 600.0:
                warm = warm or resident_mb()
                grown.append(resident_mb() - warm)
            time.sleep(0.005)
        made = len(recorder.book.kept)
        print(
            f"\n{rig_s:.0f} s of the rig in {time.monotonic() - begun:.0f} s, {made} runs kept: resident "
            f"memory {warm:.0f} MB after ten minutes, {max(grown):+.1f} MB at most, "
            f"{grown[-1]:+.1f} MB at the end"
        )
    assert made >= 8
    assert grown[-1] < 40.0


@pytest.mark.parametrize("kind", ["frames", "numbers", "stamped"])
def test_parsing_against_time(kind: str) -> None:
    """One second of 50 kS/s in pieces of 1 kB, against numpy's own reader of text."""
    from tests.unit.capture.rig_bytes import frames, lines

    readings = 100.0 + np.sin(np.arange(50_000) / 40.0)
    data = {
        "frames": lambda: frames(readings, rate_hz=RATE_HZ, size=500),
        "numbers": lambda: lines([f"{value:.3f}" for value in readings]),
        "stamped": lambda: lines([f"{20 * i};{value:.3f}" for i, value in enumerate(readings)]),
    }[kind]()
    best = np.inf
    for _ in range(3):
        parser, begun = RigParser(), time.perf_counter()
        count = sum(len(parser.feed(data[i : i + 1024]).values) for i in range(0, len(data), 1024))
        best = min(best, time.perf_counter() - begun)
    assert count == 50_000
    print(f"\n{kind}: a second of 50 kS/s in {1e3 * best:.0f} ms")
    assert best < within(0.7)
