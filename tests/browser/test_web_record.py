"""Recording in a real browser, from a real simulated rig on a pseudo-terminal, by the real server."""

from __future__ import annotations

import re
from pathlib import Path
from typing import Any

import numpy as np
import pytest
import soundfile
from playwright.sync_api import Browser, Page, expect
from tests.browser.record_bench import (
    SHORT,
    SLOW_MS,
    STRONG_BOLT,
    WEAK_BOLT,
    connect,
    fast_rig,
    last_log,
    loosen,
    make_lab,
    open_record,
    phase,
    press,
    record_one,
    sheet,
    status,
)
from tests.browser.web_bench import (
    WIDTHS,
    Server,
    axe_faults,
    picture,
    pictures_folder,
    serving,
    small_targets,
    watching,
)

from strikeproof.capture.recording import read_recording
from strikeproof.desk.simulating.rig_process import RigProcess
from strikeproof.desk.workspace.opening import open_campaign

pytestmark = pytest.mark.browser

BARE_END_PX = """(plate) => plate.getBoundingClientRect().right
  - plate.lastElementChild.getBoundingClientRect().right"""
"""How much of the last row of a plate is left empty."""
TABLET = {"width": 1024, "height": 768}
PHONE = {"width": 360, "height": 780}


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


WATCHED = (".status", ".article", ".readouts", ".plot", ".press")
"""What a person looks at while hammering."""
SCREENS = ((1366, 768), (1024, 768), (768, 1024), (844, 390), (390, 844), (3840, 2160))
BELOW_FOLD = """(watched) => watched
  .map((each) => [each, document.querySelector(each).getBoundingClientRect()])
  .filter(([_, box]) => box.top < 0 || box.left < 0 || box.bottom > innerHeight + 1
    || box.right > innerWidth + 1 || box.height < 20)
  .map(([each, box]) => [each, box.top, box.bottom, scrollY])"""


def assert_one_screenful(page: Page) -> None:
    """Nothing that matters while hammering lies below the fold, on any screen and either way up."""
    usual = page.viewport_size or TABLET
    cut = {}
    for width, height in SCREENS:
        page.set_viewport_size({"width": width, "height": height})
        page.evaluate("scrollTo({ top: 0, behavior: 'instant' })")
        page.wait_for_timeout(60)
        cut[width, height] = page.evaluate(BELOW_FOLD, WATCHED)
    page.set_viewport_size(usual)
    page.wait_for_timeout(60)
    assert not any(cut.values()), cut


def assert_together(page: Page) -> None:
    """On a phone the button is right below the state, and neither covers what the run needs."""
    boxes = {
        each: page.locator(each).evaluate("(it) => it.getBoundingClientRect().toJSON()")
        for each in (".status", ".press", ".needs")
    }
    state, button, needs = (boxes[each] for each in (".status", ".press", ".needs"))
    assert 0.0 <= button["top"] - state["bottom"] < 40.0
    assert button["bottom"] <= min(needs["top"], page.evaluate("innerHeight"))


def test_a_run_is_armed_by_the_space_bar_recorded_and_said_to_be_good(
    chromium: Browser, bench: Server, rig: RigProcess, lab: Path
) -> None:
    with watching(chromium, bench, viewport=TABLET) as watched:
        page = open_record(bench, watched.page)
        status(page, "No rig")
        connect(page, rig.port)
        expect(page.locator(".article")).to_have_text("plain")
        expect(page.locator(".press")).to_have_text("New bolt is in")
        expect(page.locator(".cautions")).to_contain_text("of the bolt's proof load")
        assert_one_screenful(page)
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
        expect(page.locator(".where")).to_have_text("Run 2 of 6, block 1, r002")
        expect(page.locator("[role=status]").first).to_contain_text("Good. Run r001: good.")
        assert shifts(page) == [], shifts(page)
        assert axe_faults(page) == []
    with watching(chromium, bench, viewport=TABLET, locale="de-DE") as german:
        page = open_record(bench, german.page)
        status(page, "Gut")
        expect(page.locator(".last .headline")).to_have_text("r001, plain: gut")
        expect(page.locator(".keys h2")).to_have_text("Taste und Bildschirm")
        assert_one_screenful(page)
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
        expect(page.locator(".last .flags")).to_contain_text("Widen the range of cell or amplifier")
        expect(page.locator(".press")).to_have_text("Repeat")
        press(page)
        expect(page.locator(".press")).to_have_text("Ready to repeat")
        expect(page.locator(".where")).to_contain_text("r001-2, try 2")
        loosen(page)
        record_one(page)
        status(page, "Good")
        page.get_by_role("button", name="Note on r001-2").click()
        page.keyboard.type("second hand on the trigger")
        page.keyboard.press("Enter")
        expect(page.locator(".recent li").first).to_contain_text("second hand")
        page.get_by_role("button", name="Exclude r001-2").click()
        page.keyboard.type("jaw slipped")
        page.keyboard.press("Enter")
        expect(page.locator(".recent li").first).to_contain_text("excluded: jaw slipped")
        page.get_by_role("button", name="Undo: exclude r001-2").click()
        expect(page.locator(".recent li").first).not_to_contain_text("excluded")
        page.get_by_role("button", name="New bolt").click()
        page.keyboard.type("bolt-9")
        page.keyboard.press("Enter")
        expect(page.locator(".needs .fresh")).to_contain_text("bolt-9")
        page.keyboard.press("Escape")
        page = watched.go("/runs")
        heads = page.locator("tbody th").evaluate_all("(all) => all.map((each) => each.clientHeight)")
        assert max(heads[1:]) <= 61, "r001-2 stands in one line"
        said = page.locator("tbody tr", has_text="excluded").inner_text()
        assert said.count("clipped") == 1 and "reading cut off flat" in said
        page = watched.go("/run?run=r001")
        expect(page.locator(".flags li").first).to_contain_text("Widen the range of cell or amplifier")
        assert page.locator(".plate").first.evaluate(BARE_END_PX) < 2.0
        for width in WIDTHS:
            page.set_viewport_size({"width": width, "height": 800})
            for _ in range(40):  # charts take a new width a moment after the page
                if page.evaluate("document.documentElement.scrollWidth") <= width:
                    break
                page.wait_for_timeout(50)
            assert page.evaluate("document.documentElement.scrollWidth") <= width
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
        page.evaluate("scrollTo({ top: 0, behavior: 'instant' })")
        assert_together(page)
        rig.say("spoil short")
        record_one(page)
        page.evaluate("scrollTo({ top: 0, behavior: 'instant' })")
        assert_together(page)
        expect(page.locator(".status .detail")).to_contain_text("shorter than the window")
        expect(page.locator(".article")).to_have_text("plain")  # what the button does again
        expect(page.locator(".where")).to_contain_text("r001-2, try 2")
        expect(page.get_by_role("button", name="New bolt")).to_be_disabled()
        page.get_by_role("button", name="Use it all the same").click()
        expect(page.locator(".press")).to_have_text("Ready to hammer")
        expect(page.locator(".article")).to_have_text("ring")
        assert small_targets(page, ".recorder") == []
    assert sheet(lab)["r001"]["set_aside"] == ""


def test_a_foot_switch_is_learnt_kept_and_used(chromium: Browser, bench: Server, rig: RigProcess) -> None:
    with watching(chromium, bench, viewport=TABLET) as watched:
        page = open_record(bench, watched.page)
        connect(page, rig.port)
        page.get_by_role("button", name="Use another key").click()
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
        take_a_calibration_reading(page, server)
        page.wait_for_timeout(1500)
        page.get_by_label("Fault to simulate").select_option("spoil clipped")
        page.get_by_role("button", name="Simulate this fault").click()
        record_one(page)
        press(page)
        expect(page.locator(".press")).to_have_text("Ready to repeat")
        expect(page.locator(".cool b")).to_have_text(re.compile("^0:[0-3][0-9]$"))
        loosen(page, pace=1.0)
        press(page)
        expect(page.locator(".told")).to_contain_text("still cooling down")
        phase(page, "idle")
        press(page)
        phase(page, "armed")


def take_a_calibration_reading(page: Page, server: Server) -> None:
    """What the rig shows goes straight into the sheet of another window."""
    beside = page.context.new_page()
    beside.goto(f"{server.address}/calibration")
    beside.get_by_role("button", name="Read from the rig").click()
    beside.get_by_role("button", name="Take this reading").click()
    expect(beside.locator("[name=reading]").first).to_have_value(re.compile(r"^-?\d"))
    beside.close()


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


@pytest.fixture
def pictures() -> Path | None:
    return pictures_folder()


def test_every_state_is_readable_at_three_widths_in_light_and_dark(
    chromium: Browser, tmp_path: Path, pictures: Path | None
) -> None:
    text = SHORT.replace('"2 s"', '"20 s"').replace("repeats = 2", "repeats = 1")
    lab = make_lab(tmp_path, text.replace(STRONG_BOLT, WEAK_BOLT))
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
        expect(page.locator(".needs")).to_contain_text("Stop below")
        status(page, "Stop")
        expect(page.locator(".status .detail")).to_have_text(
            "The level has passed 152 kN, the most for this bolt."
        )
        expect(page.locator(".status .fix")).to_contain_text("Release the trigger")
        expect(page.locator(".readouts dt").first).to_have_text("Level, kN, stop below 152 kN")
        expect(page.locator(".readouts .beyond")).to_have_text(re.compile(r"^\d+\.\d$"))
        look(page, pictures, "let-go", check=False)
        press(page)  # ended early
        phase(page, "idle")
        status(page, "Stop")
        expect(page.locator(".cautions .stop", has_text="in r001 the bolt was")).to_contain_text(
            "put a new one in"
        )
        expect(page.locator(".last .headline")).to_have_class(re.compile("is-bad"))
        press(page)  # asks for the new bolt, and arms nothing
        name_new_bolt(page)
        status(page, "Repeat")
        expect(page.locator(".trace .simulated")).to_be_visible()
        look(page, pictures, "repeat")
        page.get_by_role("button", name="Use it all the same").click()
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


def name_new_bolt(page: Page) -> None:
    """Answer which bolt is in now: nothing is filled in, and no key of the rig confirms."""
    which = page.get_by_label("Its name or number")
    confirm = page.locator(".asked .primary")
    expect(which).to_be_focused()
    expect(which).to_have_value("")
    expect(which).to_have_attribute("placeholder", "such as bolt-1-new-1")
    page.keyboard.press("Enter")  # a foot switch is no answer
    expect(confirm).to_be_disabled()
    page.keyboard.type("B2")
    page.keyboard.press("Enter")
    which.evaluate("field => field.blur()")
    press(page)
    expect(which).to_have_value("B2")
    confirm.click()


def look(page: Page, folder: Path | None, name: str, *, check: bool = True) -> None:
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
