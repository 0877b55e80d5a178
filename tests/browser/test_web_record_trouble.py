"""Recording in a real browser when something goes wrong: line, server, recorder, disk, screens."""

from __future__ import annotations

import os
import re
import resource
import signal
import time
from pathlib import Path

import numpy as np
import pytest
from playwright.sync_api import Browser, Page, expect
from tests.browser.record_bench import (
    SHORT,
    SLOW_MS,
    connect,
    fast_rig,
    last_log,
    loosen,
    make_lab,
    open_record,
    phase,
    press,
    record_one,
    recorder_of,
    sheet,
    status,
)
from tests.browser.web_bench import (
    Server,
    serving,
    settle,
    watching,
)

from strikeproof.capture.recording import read_recording
from strikeproof.desk.recording.recorder import open_recorder
from strikeproof.desk.simulating.rig_process import RigProcess
from strikeproof.desk.workspace.check import check_workspace
from strikeproof.desk.workspace.opening import open_campaign

pytestmark = pytest.mark.browser

TABLET = {"width": 1024, "height": 768}
PHONE = {"width": 360, "height": 780}


def test_unplugged_in_mid_run_and_plugged_in_again(
    chromium: Browser, bench: Server, rig: RigProcess, lab: Path
) -> None:
    with watching(chromium, bench, viewport=TABLET) as watched:
        page = open_record(bench, watched.page)
        connect(page, rig.port)
        press(page)
        phase(page, "recording")
        rig.say("unplug 0.7")
        status(page, "Unplugged")
        expect(page.locator(".status .fix")).to_contain_text("plug the rig in, and the run goes on")
        phase(page, "idle")
        status(page, "Repeat")
        expect(page.locator(".status .detail")).to_have_text(
            # where the line is back before the run's time is over, it goes on with a hole in it
            re.compile(r"^Run r001: (samples missing|(cut short: )?the line broke after [\d.]+ s of 2 s)\.$")
        )
        expect(page.locator(".news")).to_contain_text("unplugged")
        rig.say("unplug 1.5")
        status(page, "Unplugged")
        expect(page.locator(".status .fix")).to_contain_text("it is connected again")
        phase(page, "idle")


def test_nonsense_and_silence_on_the_line_are_said_with_their_fix(
    chromium: Browser, bench: Server, rig: RigProcess, tmp_path: Path
) -> None:
    with watching(chromium, bench, viewport=TABLET) as watched:
        page = open_record(bench, watched.page)
        rig.say("garbage 30")
        page.wait_for_timeout(1000)  # a line that was understood once is one without a signal
        page.get_by_label("Port").fill(rig.port)
        page.get_by_role("button", name="Connect", exact=True).click()
        status(page, "Not understood")
        expect(page.locator(".status .fix")).to_contain_text("baud rate")
        rig.say("garbage 0")
        phase(page, "idle")
        connect_anew(page, rig.port)
        rig.say("clock-jump 5")
        expect(page.locator(".news")).to_contain_text("clock jumped")
        page.get_by_label("Port").fill(str(tmp_path / "nowhere"))
        page.get_by_role("button", name="Connect", exact=True).click()
        expect(page.locator(".recorder")).to_contain_text("is no serial port that this machine lists")


def connect_anew(page: Page, port: str) -> None:
    page.get_by_role("button", name="Disconnect").click()
    status(page, "No rig")
    connect(page, port)


def test_the_server_is_killed_in_mid_run_and_started_again(chromium: Browser, tmp_path: Path) -> None:
    lab = make_lab(tmp_path, SHORT.replace('"2 s"', '"6 s"'))
    with fast_rig(tmp_path, pace=1.0) as rig:
        kill_and_go_on(chromium, lab, rig)
    rows = sheet(lab)
    assert rows["r001"]["set_aside"].startswith("cut short")
    assert rows["r001-2"]["set_aside"] == ""
    assert check_workspace(lab).problems == ()


def kill_and_go_on(chromium: Browser, lab: Path, rig: RigProcess) -> None:
    with serving(lab) as server, watching(chromium, server, viewport=TABLET) as watched:
        page = open_record(server, watched.page)
        connect(page, rig.port)
        press(page)
        phase(page, "recording")
        page.wait_for_timeout(500)
        server.process.send_signal(signal.SIGKILL)
        killed = time.time()
        status(page, "Release trigger", within_ms=3000)
        expect(page.locator(".status")).to_have_class(re.compile("tone-bad"))
        expect(page.locator(".unwired")).to_contain_text("saved up to this moment")
        watched.said.clear()  # that the line broke is on the console
        port = server.address.rsplit(":", 1)[1]
        found = read_recording(last_log(lab), last_log(lab).read_bytes())
        assert found.ending is None
        assert killed - last_log(lab).stat().st_mtime < 0.5
        with serving(lab, "--web-port", port):
            expect(page.locator(".recorder")).to_have_attribute("data-state", "on", timeout=SLOW_MS)
            expect(page.locator(".news")).to_contain_text("Run r001 was cut short", timeout=SLOW_MS)
            expect(page.locator(".where")).to_contain_text("r001-2, try 2")
            expect(page.get_by_role("button", name="Include r001", exact=True)).to_be_visible()
            settle(page)
            time.sleep(5.0)  # the rig's own run goes on to its end
            connect(page, rig.port)
            loosen(page, pace=1.0)
            expect(page.locator(".press")).to_have_text("Ready to repeat")
            record_one(page)
            status(page, "Good")
            watched.said.clear()


def test_a_server_that_hangs_and_a_recorder_that_dies_while_hammering_say_to_let_go(
    chromium: Browser, tmp_path: Path
) -> None:
    lab = make_lab(tmp_path, SHORT.replace('"2 s"', '"9 s"'))
    with (
        fast_rig(tmp_path, pace=1.0) as rig,
        serving(lab) as server,
        watching(chromium, server, viewport=TABLET) as watched,
    ):
        page = open_record(server, watched.page)
        connect(page, rig.port)
        press(page)
        phase(page, "recording")
        server.process.send_signal(signal.SIGSTOP)
        status(page, "Release trigger", within_ms=3000)
        server.process.send_signal(signal.SIGCONT)
        status(page, "Recording", within_ms=3000)
        os.kill(recorder_of(server), signal.SIGKILL)
        status(page, "Release trigger", within_ms=3000)
        expect(page.locator(".status .detail")).to_contain_text("The recorder stopped by itself")


def test_a_browser_that_closes_in_mid_run_disturbs_nothing(
    chromium: Browser, bench: Server, rig: RigProcess, lab: Path
) -> None:
    with watching(chromium, bench, viewport=TABLET) as watched:
        page = open_record(bench, watched.page)
        connect(page, rig.port)
        press(page)
        phase(page, "recording")
    with watching(chromium, bench, viewport=TABLET) as watched:
        page = open_record(bench, watched.page)
        phase(page, "idle")
        status(page, "Good")
        page.reload()
        status(page, "Good")
    assert sheet(lab)["r001"]["set_aside"] == ""


def test_two_screens_show_the_same_and_both_may_press(
    chromium: Browser, bench: Server, lab: Path, tmp_path: Path
) -> None:
    with (
        fast_rig(tmp_path, wait_s=4.0) as rig,
        watching(chromium, bench, viewport=TABLET) as one,
        watching(chromium, bench, viewport=PHONE) as two,
    ):
        page, other = open_record(bench, one.page), open_record(bench, two.page)
        connect(page, rig.port)
        phase(other, "idle")
        expect(page.locator(".keys")).to_contain_text("2 screens are open")
        press(page)
        phase(other, "armed", "recording")
        send_late(other, "arm")  # as a screen does that has not heard yet
        phase(other, "recording")
        send_late(other, "arm")
        phase(page, "recording")
        phase(page, "idle")
        phase(other, "idle")
        status(page, "Good")
        status(other, "Good")
        loosen(page)
        press(page)
        expect(other.locator(".status .detail")).to_contain_text("Started at another screen")
        press(other)
        phase(page, "idle")
    assert [name for name, row in sheet(lab).items() if row["started"]] == ["r001"]


def send_late(page: Page, name: str) -> None:
    """What a third screen pressed."""
    page.evaluate(
        """(name) => new Promise((done) => {
        const address = new URL("/record/wire?campaign=drum+rollers", location.href.replace("http", "ws"));
        const wire = new WebSocket(address);
        wire.onopen = () => { wire.send(JSON.stringify({ do: name })); setTimeout(() => wire.close(), 200); };
        wire.onclose = done; })""",
        name,
    )


def test_on_a_slow_line_the_page_stays_usable_and_no_sample_is_lost(
    chromium: Browser, bench: Server, rig: RigProcess, lab: Path
) -> None:
    with watching(chromium, bench, viewport=TABLET) as watched:
        page = open_record(bench, watched.page)
        connect(page, rig.port)
        slow_down(page, latency_ms=300, bytes_a_second=30_000)
        press(page)
        phase(page, "recording")
        before = page.evaluate("[document.querySelector('.plot').frames, performance.now()]")
        phase(page, "idle")
        after = page.evaluate("[document.querySelector('.plot').frames, performance.now()]")
        rate = 1000 * (after[0] - before[0]) / (after[1] - before[1])
        print(f"{rate:.1f} frames/s on the slow line")
        assert rate < 10.0
        status(page, "Good")
    found = read_recording(last_log(lab), last_log(lab).read_bytes())
    assert found.line_flags == ()
    assert np.ptp(np.diff(found.time)) < 1e-9


def slow_down(page: Page, *, latency_ms: int, bytes_a_second: int) -> None:
    session = page.context.new_cdp_session(page)
    session.send("Network.enable")
    limits = {"downloadThroughput": bytes_a_second, "uploadThroughput": bytes_a_second}
    session.send("Network.emulateNetworkConditions", {"offline": False, "latency": latency_ms, **limits})


def test_a_recorder_that_dies_is_said_and_started_again(
    chromium: Browser, bench: Server, rig: RigProcess
) -> None:
    with watching(chromium, bench, viewport=TABLET) as watched:
        page = open_record(bench, watched.page)
        connect(page, rig.port)
        os.kill(recorder_of(bench), signal.SIGKILL)
        status(page, "Stopped")
        press(page)
        status(page, "No rig")
        connect(page, rig.port)
        page.get_by_role("button", name="End recording").click()
        status(page, "Off")
        with open_recorder(bench.workspace):  # the campaign is free for another program
            pass
        press(page)
        status(page, "No rig")


@pytest.mark.parametrize("most", [250_000, 60_000])
def test_a_disk_that_fills_in_mid_run_is_said_and_what_was_recorded_is_kept(
    chromium: Browser, bench: Server, rig: RigProcess, lab: Path, most: int
) -> None:
    with watching(chromium, bench, viewport=TABLET) as watched:
        page = open_record(bench, watched.page)
        connect(page, rig.port)
        recorder = recorder_of(bench)
        before = resource.prlimit(recorder, resource.RLIMIT_FSIZE)
        resource.prlimit(recorder, resource.RLIMIT_FSIZE, (most, before[1]))
        press(page)
        # Whether the store still has room for what was recorded depends on what its file has to grow by.
        status(page, re.compile("^(Repeat|Not saved)$"))
        expect(page.locator(".news")).to_contain_text("free some disk space", timeout=SLOW_MS)
        resource.prlimit(recorder, resource.RLIMIT_FSIZE, before)
        if page.locator(".status .title").inner_text() == "Not saved":
            page.get_by_role("button", name="Save it now").click()
        expect(page.locator(".recent li").first).to_contain_text("r001", timeout=SLOW_MS)
    store, key, _campaign = open_campaign(lab, None)
    (run,) = store.runs(key)
    assert run.trace is not None and run.trace.samples > most / 32  # of 16 bytes each
    assert "cut-short" in [each["kind"] for each in run.trace.findings]
    assert check_workspace(lab).problems == ()
