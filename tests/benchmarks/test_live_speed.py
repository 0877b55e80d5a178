"""50 kS/s for a minute through the whole front: rig, recorder process, server and a chart in real Chromium.

`STRIKEPROOF_LIVE_S` shortens the minute for a quick look.
"""

from __future__ import annotations

import os
import time
from collections.abc import Iterator
from pathlib import Path

import numpy as np
import pytest
from playwright.sync_api import Page, sync_playwright
from tests.browser.record_bench import (
    SHORT,
    connect,
    fast_rig,
    make_lab,
    open_record,
    phase,
    press,
    recorder_of,
)
from tests.browser.web_bench import CHROMIUM, FLAGS, serving

from strikeproof.capture.recording import read_recording

pytestmark = pytest.mark.benchmark

RATE_HZ = 50_000.0
SECONDS = float(os.environ.get("STRIKEPROOF_LIVE_S", "60"))
FRAMES_A_SECOND = 20.0


@pytest.fixture
def page() -> Iterator[Page]:
    with sync_playwright() as play:
        browser = play.chromium.launch(executable_path=CHROMIUM, args=FLAGS)
        yield browser.new_page(viewport={"width": 1024, "height": 768})
        browser.close()


def used_s(pid: int) -> float:
    """Processor time of a process so far (proc(5), fields utime and stime)."""
    fields = Path(f"/proc/{pid}/stat").read_text().rpartition(")")[2].split()
    return (int(fields[11]) + int(fields[12])) / os.sysconf("SC_CLK_TCK")


def test_fifty_thousand_a_second_with_the_chart_in_a_browser(page: Page, tmp_path: Path) -> None:
    lab = make_lab(tmp_path, SHORT.replace('"2 s"', f'"{SECONDS:g} s"'))
    with fast_rig(tmp_path, pace=1.0, rate_hz=RATE_HZ) as rig, serving(lab) as server:
        open_record(server, page)
        connect(page, rig.port)
        press(page)
        phase(page, "recording")
        pids = {"server": server.process.pid, "recorder": recorder_of(server)}
        begun, before = time.monotonic(), {name: used_s(pid) for name, pid in pids.items()}
        first = page.evaluate("document.querySelector('.plot').frames")
        time.sleep(SECONDS - 2.0)
        frames = page.evaluate("document.querySelector('.plot').frames") - first
        lasted = time.monotonic() - begun
        share = {name: 100 * (used_s(pid) - before[name]) / lasted for name, pid in pids.items()}
        phase(page, "idle")
        (log,) = (lab / "campaigns" / "drum-rollers" / "logs").glob("*.arrows")
    found = read_recording(log, log.read_bytes())
    steps = np.diff(found.time) * RATE_HZ
    print(
        f"\n{len(found.time)} samples at {RATE_HZ:g}/s in {found.time[-1]:.1f} s, "
        f"{frames / lasted:.1f} frames/s drawn in Chromium, "
        f"recorder {share['recorder']:.1f} % and server {share['server']:.1f} % of one core"
    )
    assert np.all(np.abs(steps - 1.0) < 1e-3), "samples are missing"
    assert len(found.time) > SECONDS * RATE_HZ
    assert found.line_flags == () and found.ending == "done"
    assert share["recorder"] + share["server"] < 100.0
    assert frames / lasted > 0.5 * FRAMES_A_SECOND  # a browser on a busy machine skips; the record does not
