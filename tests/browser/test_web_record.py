"""Recording in a real browser, from a real simulated rig on a pseudo-terminal, by the real server."""

from __future__ import annotations

import csv
import os
import re
import resource
import signal
import time
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import numpy as np
import pytest
import soundfile
from playwright.sync_api import Browser, Page, expect
from tests.browser.record_bench import (
    SHORT,
    SLOW_MS,
    connect,
    fast_rig,
    loosen,
    make_lab,
    open_record,
    phase,
    press,
    record_one,
    recorder_of,
    status,
)
from tests.browser.web_bench import (
    WIDTHS,
    Server,
    axe_faults,
    picture,
    pictures_folder,
    serving,
    settle,
    small_targets,
    watching,
)

from strikeproof.capture.recording import read_recording
from strikeproof.desk.check import check_workspace
from strikeproof.desk.rig_process import RigProcess
from strikeproof.desk.workspace import open_campaign

pytestmark = pytest.mark.browser

TABLET = {"width": 1024, "height": 768}
PHONE = {"width": 360, "height": 780}


@pytest.fixture
def lab(tmp_path: Path) -> Path:
    return make_lab(tmp_path)


@pytest.fixture
def rig(tmp_path: Path, lab: Path) -> Iterator[RigProcess]:
    with fast_rig(tmp_path) as made:
        yield made


@pytest.fixture
def bench(lab: Path) -> Iterator[Server]:
    with serving(lab) as server:
        yield server


def sheet(lab: Path) -> dict[str, dict[str, str]]:
    with (lab / "campaigns" / "drum-rollers" / "runs.csv").open(newline="") as lines:
        rows = csv.DictReader(line for line in lines if not line.startswith("#"))
        return {row["run"]: row for row in rows}


def last_log(lab: Path) -> Path:
    return max(
        (lab / "campaigns" / "drum-rollers" / "logs").glob("*.arrows"), key=lambda p: p.stat().st_mtime
    )


def watch_shifts(page: Page) -> None:
    """Remember what moves without being pressed for (Layout Instability API).

    The cautions of the next run may stand otherwise than those of the last: they are another text.
    """
    page.evaluate(
        """() => { window.shifted = [];
        const name = (node) => node && (node.nodeType === 1 ? node : node.parentElement);
        new PerformanceObserver((seen) => seen.getEntries().filter((each) => !each.hadRecentInput)
          .flatMap((each) => each.sources)
          .filter((source) => !name(source.node)?.closest(".cautions"))
          .forEach((source) => window.shifted.push([
            name(source.node)?.outerHTML?.slice(0, 90),
            source.previousRect.toJSON(), source.currentRect.toJSON(),
          ]))).observe({ type: "layout-shift" }); }"""
    )


def shifts(page: Page) -> list[Any]:
    """What has moved, from where to where."""
    found: list[Any] = page.evaluate("window.shifted")
    return found


def test_a_run_is_armed_by_the_space_bar_recorded_and_said_to_be_good(
    chromium: Browser, bench: Server, rig: RigProcess, lab: Path
) -> None:
    with watching(chromium, bench, viewport=TABLET) as watched:
        page = open_record(bench, watched.page)
        status(page, "No rig")
        connect(page, rig.port)
        expect(page.locator(".article")).to_have_text("plain")
        expect(page.locator(".press")).to_have_text("Bolt is changed: arm")
        expect(page.locator(".cautions")).to_contain_text("of the bolt's proof load")
        page.evaluate("scrollTo(0, 0)")
        watch_shifts(page)
        page.keyboard.press("Space")
        phase(page, "recording")
        expect(page.locator(".readouts dd").first).to_have_text(re.compile(r"^\d+\.\d"))
        frames = page.evaluate("document.querySelector('.plot').frames")
        phase(page, "idle")
        assert page.evaluate("document.querySelector('.plot').frames") > frames
        status(page, "Good")
        expect(page.locator(".last .headline")).to_have_text("r001, plain: good")
        expect(page.locator(".so-far")).to_contain_text("1 of 6 made, 5 left")
        expect(page.locator(".where")).to_have_text("Run 2 of 6, block 1")
        expect(page.locator("[role=status]").first).to_contain_text("Good. Run r001: good.")
        assert shifts(page) == []
        assert axe_faults(page) == []
    store, key, _campaign = open_campaign(lab, None)
    (run,) = store.runs(key)
    found = read_recording(last_log(lab), last_log(lab).read_bytes())
    assert run.trace is not None and run.trace.samples == len(found.time)
    assert np.ptp(np.diff(found.time)) < 1e-9
    assert sheet(lab)["r001"]["log"] == "r001.arrows"


def test_a_spoiled_run_is_said_repeated_noted_and_undone(
    chromium: Browser, bench: Server, rig: RigProcess, lab: Path
) -> None:
    with watching(chromium, bench, viewport=TABLET) as watched:
        page = open_record(bench, watched.page)
        connect(page, rig.port)
        rig.say("spoil clipped")
        record_one(page)
        status(page, "Repeat")
        expect(page.locator(".status .detail")).to_contain_text("clipped")
        expect(page.locator(".press")).to_have_text("Repeat")
        press(page)
        expect(page.locator(".press")).to_have_text("Arm once more")
        expect(page.locator(".where")).to_contain_text("Try 2 of r001")
        loosen(page)
        record_one(page)
        status(page, "Good")
        page.get_by_role("button", name="Note beside r001-2").click()
        page.keyboard.type("second hand on the trigger")
        page.keyboard.press("Enter")
        expect(page.locator(".recent li").first).to_contain_text("second hand")
        page.get_by_role("button", name="Set r001-2 aside").click()
        page.keyboard.type("jaw slipped")
        page.keyboard.press("Enter")
        expect(page.locator(".recent li").first).to_contain_text("set aside: jaw slipped")
        page.get_by_role("button", name="Undo: set aside r001-2").click()
        expect(page.locator(".recent li").first).not_to_contain_text("set aside")
        page.get_by_role("button", name="New bolt").click()
        page.keyboard.type("bolt-9")
        page.keyboard.press("Enter")
        expect(page.locator(".needs .fresh")).to_contain_text("bolt-9")
        page.keyboard.press("Escape")
    rows = sheet(lab)
    assert rows["r001"]["set_aside"].startswith("clipped")
    assert (rows["r001-2"]["set_aside"], rows["r001-2"]["note"]) == ("", "second hand on the trigger")
    assert rows["r002"]["bolt"] == "bolt-9"


def test_a_spoiled_run_can_be_kept_all_the_same(
    chromium: Browser, bench: Server, rig: RigProcess, lab: Path
) -> None:
    with watching(chromium, bench, viewport=PHONE) as watched:
        page = open_record(bench, watched.page)
        connect(page, rig.port)
        rig.say("spoil short")
        record_one(page)
        expect(page.locator(".status .detail")).to_contain_text("too-short")
        page.get_by_role("button", name="Keep it all the same").click()
        expect(page.locator(".press")).to_have_text("Arm")
        expect(page.locator(".article")).to_have_text("ring")
        assert small_targets(page, ".recorder") == []
    assert sheet(lab)["r001"]["set_aside"] == ""


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
        expect(page.locator(".status .mend")).to_contain_text("goes on once the rig is plugged in")
        phase(page, "idle")
        status(page, "Repeat")
        expect(page.locator(".status .detail")).to_contain_text("unplugged")
        expect(page.locator(".news")).to_contain_text("unplugged")
        rig.say("unplug 1.5")
        status(page, "Unplugged")
        expect(page.locator(".status .mend")).to_contain_text("it is found again")
        phase(page, "idle")


def test_nonsense_and_silence_on_the_line_are_said_with_their_mend(
    chromium: Browser, bench: Server, rig: RigProcess, tmp_path: Path
) -> None:
    with watching(chromium, bench, viewport=TABLET) as watched:
        page = open_record(bench, watched.page)
        rig.say("garbage 30")
        page.get_by_label("Port").fill(rig.port)
        page.get_by_role("button", name="Connect", exact=True).click()
        status(page, "Not understood")
        expect(page.locator(".status .mend")).to_contain_text("baud rate")
        rig.say("garbage 0")
        phase(page, "idle")
        connect_anew(page, rig.port)
        rig.say("clock-jump 5")
        expect(page.locator(".news")).to_contain_text("clock jumped")
        page.get_by_label("Port").fill(str(tmp_path / "nowhere"))
        page.get_by_role("button", name="Connect", exact=True).click()
        status(page, "Unplugged")


def connect_anew(page: Page, port: str) -> None:
    page.get_by_role("button", name="Let go of it").click()
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
        expect(page.locator(".unwired")).to_contain_text("on disk up to here")
        watched.said.clear()  # that the line broke is on the console
        port = server.address.rsplit(":", 1)[1]
        found = read_recording(last_log(lab), last_log(lab).read_bytes())
        assert found.ending is None
        assert killed - last_log(lab).stat().st_mtime < 0.5
        with serving(lab, "--port", port):
            expect(page.locator(".recorder")).to_have_attribute("data-state", "on", timeout=SLOW_MS)
            expect(page.locator(".news")).to_contain_text("run r001 was cut short", timeout=SLOW_MS)
            expect(page.locator(".where")).to_contain_text("Try 2 of r001")
            expect(page.get_by_role("button", name="Let r001 count", exact=True)).to_be_visible()
            settle(page)
            time.sleep(5.0)  # the rig's own run goes on to its end
            connect(page, rig.port)
            loosen(page, pace=1.0)
            expect(page.locator(".press")).to_have_text("Arm once more")
            record_one(page)
            status(page, "Good")
            watched.said.clear()


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
        expect(other.locator(".status .detail")).to_contain_text("Armed at another screen")
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
    assert found.oddities == ()
    assert np.ptp(np.diff(found.time)) < 1e-9


def slow_down(page: Page, *, latency_ms: int, bytes_a_second: int) -> None:
    session = page.context.new_cdp_session(page)
    session.send("Network.enable")
    limits = {"downloadThroughput": bytes_a_second, "uploadThroughput": bytes_a_second}
    session.send("Network.emulateNetworkConditions", {"offline": False, "latency": latency_ms, **limits})


def test_a_foot_switch_is_learnt_kept_and_used(chromium: Browser, bench: Server, rig: RigProcess) -> None:
    with watching(chromium, bench, viewport=TABLET) as watched:
        page = open_record(bench, watched.page)
        connect(page, rig.port)
        page.get_by_role("button", name="Take another key").click()
        page.keyboard.press("F9")
        expect(page.locator(".keys kbd")).to_have_text("F9")
        page.reload()
        phase(page, "idle")
        page.keyboard.press("Space")
        page.wait_for_timeout(300)
        phase(page, "idle")
        page.keyboard.press("F9")
        phase(page, "armed", "recording")


def test_the_simulated_rig_of_the_page_and_the_cool_down(chromium: Browser, tmp_path: Path) -> None:
    lab = make_lab(tmp_path, SHORT.replace("repeats = 2", 'repeats = 2\ncool_down = "40 s"'))
    with serving(lab) as server, watching(chromium, server, viewport=PHONE) as watched:
        page = open_record(server, watched.page)
        press(page)  # it leads to the rig
        expect(page.get_by_label("Port")).to_be_focused()
        page.get_by_role("button", name="Start a simulated rig").click()
        phase(page, "idle")
        page.wait_for_timeout(2500)
        page.get_by_label("What goes wrong").select_option("spoil clipped")
        page.get_by_role("button", name="Let it happen").click()
        record_one(page)
        press(page)
        expect(page.locator(".press")).to_have_text("Arm once more")
        expect(page.locator(".cool b")).to_have_text(re.compile("^0:[0-3][0-9]$"))
        press(page)
        expect(page.locator(".told")).to_contain_text("still cooling down")
        phase(page, "idle")
        press(page)
        phase(page, "armed")


def test_a_sound_is_set_beside_the_trace(
    chromium: Browser, bench: Server, rig: RigProcess, tmp_path: Path
) -> None:
    sound = tmp_path / "phone.wav"
    soundfile.write(sound, knocks(np.random.default_rng(3)), 16_000)
    with watching(chromium, bench, viewport=TABLET) as watched:
        page = open_record(bench, watched.page)
        connect(page, rig.port)
        record_one(page)
        page.get_by_label("Sound of run r001").set_input_files(sound)
        expect(page.locator(".heard strong")).to_contain_text("Sound and trace", timeout=SLOW_MS)
        expect(page.locator(".heard tbody tr").first).to_contain_text("blows")
        page.get_by_label("Sound of run r001").set_input_files(
            {"name": "no.wav", "mimeType": "audio/wav", "buffer": b"nothing of the kind"}
        )
        expect(page.locator(".heard .error")).to_be_visible(timeout=SLOW_MS)
        watched.said.clear()  # that an answer was 400 is on the console


def knocks(rng: np.random.Generator) -> Any:
    """Three seconds with twenty knocks a second in the middle two."""
    time_s = np.arange(3 * 16_000) / 16_000
    heard = rng.normal(0.0, 0.002, time_s.size)
    for at in np.arange(0.5, 2.5, 0.05):
        since = time_s - at
        heard += np.where(since >= 0, np.exp(-np.maximum(since, 0) / 0.004), 0) * np.sin(9000 * since) * 0.5
    return heard


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


@pytest.mark.parametrize("most", [400_000, 60_000])
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
        # At the larger limit the store may or may not still have room to keep what was recorded.
        status(page, re.compile("^(Repeat|Not kept)$" if most > 100_000 else "^Not kept$"))
        expect(page.locator(".news")).to_contain_text("free some disk space")
        resource.prlimit(recorder, resource.RLIMIT_FSIZE, before)
        if page.locator(".status .title").inner_text() == "Not kept":
            page.get_by_role("button", name="Keep it now").click()
        expect(page.locator(".recent li").first).to_contain_text("r001")
    store, key, _campaign = open_campaign(lab, None)
    (run,) = store.runs(key)
    assert run.trace is not None and run.trace.samples > most / 500
    assert "cut-short" in [each["kind"] for each in run.trace.findings]
    assert check_workspace(lab).problems == ()


@pytest.fixture(scope="module")
def pictures(tmp_path_factory: pytest.TempPathFactory) -> Path:
    return pictures_folder(tmp_path_factory.mktemp("pictures"))


def test_every_state_is_readable_at_three_widths_in_light_and_dark(
    chromium: Browser, tmp_path: Path, pictures: Path
) -> None:
    lab = make_lab(tmp_path, SHORT.replace('"2 s"', '"20 s"').replace("repeats = 2", "repeats = 1"))
    with (
        fast_rig(tmp_path, pace=1.0, wait_s=12.0) as rig,
        serving(lab) as server,
        watching(chromium, server, viewport=TABLET) as watched,
    ):
        page = open_record(server, watched.page)
        look(page, pictures, "no-rig")
        connect(page, rig.port)
        look(page, pictures, "ready")
        press(page)
        phase(page, "armed")
        look(page, pictures, "armed", check=False)
        phase(page, "recording")
        page.wait_for_timeout(3000)
        look(page, pictures, "recording", check=False)
        press(page)  # ended early
        status(page, "Repeat")
        look(page, pictures, "repeat")
        page.get_by_role("button", name="Keep it all the same").click()
        for _ in range(2):
            page.wait_for_timeout(300)
            page.get_by_role("button", name="Leave this run out").click()
            page.keyboard.type("article is away")
            if _ == 0:
                look(page, pictures, "asked")
            page.keyboard.press("Enter")
        phase(page, "all done")
        look(page, pictures, "all-done")
        rig.say("unplug 600")
        status(page, "Unplugged")
        look(page, pictures, "unplugged")


def look(page: Page, folder: Path, name: str, *, check: bool = True) -> None:
    """Pictures of a state at every width and in both lights, and what the automatic rules say of it."""
    for light in ("light", "dark"):
        page.emulate_media(color_scheme=light)
        for width, height in WIDTHS.items():
            page.set_viewport_size({"width": width, "height": height})
            page.evaluate("scrollTo(0, 0)")
            page.wait_for_timeout(120)
            picture(page, folder, f"record-{name}-{width}-{light}")
            assert page.evaluate("document.documentElement.scrollWidth") <= width, f"{name} at {width}"
        if check:
            assert axe_faults(page) == [], f"{name} in {light}"
