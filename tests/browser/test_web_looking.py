"""Looking at a campaign as a person does: find runs, zoom to a blow, set aside, calibrate, compare, save."""

from __future__ import annotations

import csv
import io
import json
import math
import re
import subprocess
import sys
from collections.abc import Callable
from pathlib import Path

import pytest
from playwright.sync_api import Browser, Page, expect
from tests.browser.web_bench import Server, serving, settle, watching
from tests.unit.desk.scores import changed, load

from strikeproof.desk.explaining.explain import explain_workspace

pytestmark = pytest.mark.browser

DEMO = "crusher liner bolts"
RINGS = "campaign=simulated+rings"
SCREEN = {"width": 1280, "height": 900}


def _told(server: Server, *words: str) -> object:
    """What the command line says of the same workspace."""
    command = [
        sys.executable,
        "-m",
        "strikeproof",
        *words,
        "--campaign",
        DEMO,
        "-w",
        str(server.workspace),
        "--json",
    ]
    return json.loads(subprocess.run(command, capture_output=True, text=True, check=True).stdout)


def _column(page: Page, label: str) -> list[str]:
    """The cells below a head, which may have its unit behind it."""
    named = f"td[data-label='{label}'], td[data-label^='{label} [']"
    return page.locator(f"tbody :is({named})").all_inner_texts()


def _window(page: Page) -> tuple[float, float]:
    """The stretch of time that the first chart shows; nothing twice while its cursor is read instead."""
    text = page.locator(".trace-chart .now").first.inner_text().replace("−", "-")
    found = re.search(r"([\d.e-]+) to ([\d.e-]+)", text)
    return (float(found[1]), float(found[2])) if found else (math.nan, math.nan)


def _drawn(page: Page) -> int:
    return int(page.locator(".trace-chart .now").first.inner_text().split(",")[-1].split()[0])


def _wait(fits: Callable[[], object], page: Page) -> None:
    """Until it holds; what a person sees comes a little after what they pressed."""
    for _ in range(200):
        if fits():
            return
        page.wait_for_timeout(50)
    raise AssertionError(page.locator(".trace-chart .now").first.inner_text())


def _window_when(page: Page, fits: Callable[[float, float], object]) -> tuple[float, float]:
    _wait(lambda: fits(*_window(page)), page)
    return _window(page)


def test_runs_are_found_filtered_and_sorted(chromium: Browser, demo: Server) -> None:
    with watching(chromium, demo, viewport=SCREEN) as watched:
        page = watched.go("/runs")
        assert "1 to 100 of 108" in page.locator("[role=status]").inner_text()
        page.get_by_role("link", name="Next 100").click()
        expect(page.locator("[role=status]")).to_contain_text("101 to 108 of 108")
        page.get_by_role("combobox", name="Article", exact=True).select_option("ring-27")
        expect(page.locator("[role=status]")).to_have_text("12 of 108 runs")
        assert set(_column(page, "Article")) == {"ring-27"}
        page.get_by_role("link", name=re.compile("^Score")).click()
        expect(page.locator("[aria-sort=ascending]")).to_contain_text("Score")
        rising = [float(each) for each in _column(page, "Score")]
        assert rising == sorted(rising)
        page.get_by_role("link", name=re.compile("^Score")).click()
        expect(page.locator("[aria-sort=descending]")).to_contain_text("Score")
        assert [float(each) for each in _column(page, "Score")] == rising[::-1]
        expect(page).to_have_url(re.compile("article=ring-27&sort=score&down=1"))
        address = page.url
        again = watched.go(address.removeprefix(demo.address))
        assert [float(each) for each in _column(again, "Score")] == rising[::-1]
        again.get_by_role("combobox", name="Article", exact=True).select_option("")
        again.get_by_role("searchbox", name="Find").fill("fully on the head")
        expect(again.locator("[role=status]")).to_have_text("1 of 108 runs")
        again.get_by_role("searchbox", name="Find").fill("no such word anywhere")
        expect(again.get_by_text("No run fits")).to_be_visible()


def test_scores_are_those_of_the_command_line(chromium: Browser, demo: Server) -> None:
    told = _told(demo, "runs")
    assert isinstance(told, list)
    with watching(chromium, demo, viewport=SCREEN) as watched:
        page = watched.go("/runs")
        shown = page.locator("tbody tr").evaluate_all(
            "rows => rows.map(row => [row.cells[0].innerText, row.cells[5].innerText])"
        )
    by_name = {each["run"]: each["score"] for each in told}
    assert len(shown) == 100
    for name, score in shown:
        assert float(score) == pytest.approx(by_name[name.removeprefix("○\u00a0")], rel=1e-3)


def test_a_trace_is_zoomed_down_to_single_blows_by_keys_and_mouse(chromium: Browser, demo: Server) -> None:
    with watching(chromium, demo, viewport=SCREEN) as watched:
        page = watched.go("/run?run=r010")
        first, last = _window(page)
        assert first < 0.01 and last > 12.9
        plot = page.locator(".trace-chart .plot").first
        plot.focus()
        for _ in range(7):
            page.keyboard.press("+")
        wide = (last - first) / 2**7
        start, end = _window_when(page, lambda start, end: end - start == pytest.approx(wide, rel=0.01))
        # 10 kS/s: what is drawn in the end is every sample of the window, no more and no less.
        _wait(lambda: _drawn(page) == pytest.approx(10_000 * (end - start), abs=3), page)
        page.keyboard.press("ArrowRight")
        moved = start + 0.2 * (end - start)
        _window_when(page, lambda start, _end: start == pytest.approx(moved, rel=1e-3))
        page.keyboard.press("Home")
        _window_when(page, lambda start, end: (start, end) == pytest.approx((first, last)))
        box = page.locator(".trace-chart .u-over").first.bounding_box()
        assert box is not None
        page.mouse.move(box["x"] + 0.25 * box["width"], box["y"] + 50)
        page.mouse.down()
        page.mouse.move(box["x"] + 0.5 * box["width"], box["y"] + 60, steps=4)
        page.mouse.up()
        page.mouse.move(5, 5)
        wanted = (first + 0.25 * (last - first), first + 0.5 * (last - first))
        _window_when(page, lambda start, end: (start, end) == pytest.approx(wanted, rel=0.02))


def test_a_log_is_replaced_from_the_page_of_its_run(
    chromium: Browser, demo: Server, demo_folder: Path
) -> None:
    """Without a reason nothing is done; a file that reads as before replaces nothing, however it comes."""
    with watching(chromium, demo, viewport=SCREEN) as watched:
        page = watched.go("/run?run=r010")
        part = page.locator("details", has_text="Replace the log")
        part.locator("summary").click()
        for why, told in (("", "the reason is empty"), ("thousands separators", "reads as before")):
            part.get_by_label("Why the log is replaced").fill(why)
            part.get_by_role("button", name="Read the file in the campaign's folder again").click()
            part.get_by_role("alert").filter(has_text=told).wait_for()
        part.get_by_label("Why the log is replaced").fill("")
        part.get_by_label("Corrected log").set_input_files(demo_folder / "logs" / "r010-air-a.csv")
        part.get_by_role("alert").filter(has_text="the reason is empty").wait_for()
        part.get_by_label("Why the log is replaced").fill("a corrected file")
        part.get_by_label("Corrected log").set_input_files(demo_folder / "logs" / "r010-air-a.csv")
        part.get_by_role("alert").filter(has_text="reads as before").wait_for()


@pytest.mark.parametrize("pixels", [1, 2])
def test_letters_on_a_chart_are_as_large_as_those_around_it(
    chromium: Browser, demo: Server, pixels: int
) -> None:
    """On a screen of many pixels a canvas is drawn with more of them, its letters too."""
    with watching(chromium, demo, viewport=SCREEN, device_scale_factor=pixels) as watched:
        for path in ("/run?run=r010", "/calibration"):
            page = watched.go(path)
            drawn, around = page.evaluate(
                """() => [parseFloat(document.querySelector('.trace-chart canvas').getContext('2d').font),
                parseFloat(getComputedStyle(document.querySelector('.trace-chart .now')).fontSize)]"""
            )
            assert drawn == pytest.approx(pixels * around, rel=0.12), path


def test_peaks_survive_the_thinning(chromium: Browser, demo: Server) -> None:
    """The whole run on a screen's width shows its highest and lowest sample, whatever lies between."""
    with watching(chromium, demo, viewport=SCREEN) as watched:
        page = watched.go("/run?run=r010")
        drawn = page.evaluate(
            """async () => {
            const answer = await fetch('/data/trace?campaign=crusher+liner+bolts&run=r010&points=200');
            const bytes = await answer.arrayBuffer();
            const many = new DataView(bytes).getUint32(0, true);
            const values = new Float32Array(bytes.slice(8 + 8 * many));
            return [many, values.reduce((a, b) => Math.min(a, b)),
              values.reduce((a, b) => Math.max(a, b))];}"""
        )
        whole = page.evaluate(
            """async () => {
            const text = await (await fetch('/data/trace.csv?campaign=crusher+liner+bolts&run=r010')).text();
            const values = text.trim().split('\\n').slice(1).map(row => Number(row.split(',')[1]));
            return [values.length, values.reduce((a, b) => Math.min(a, b)),
              values.reduce((a, b) => Math.max(a, b))];}"""
        )
    assert drawn[0] <= 404 and whole[0] == 130_000
    assert drawn[1:] == pytest.approx(whole[1:], rel=1e-6)


def test_a_chart_is_saved_as_svg_png_and_csv(chromium: Browser, demo: Server, tmp_path: Path) -> None:
    with watching(chromium, demo, viewport=SCREEN, accept_downloads=True) as watched:
        page = watched.go("/run?run=r010")
        kept = {}
        for ending in ("SVG", "PNG", "CSV"):
            with page.expect_download() as coming:
                page.locator(".trace-chart").first.get_by_role("button", name=ending).click()
            kept[ending] = tmp_path / coming.value.suggested_filename
            coming.value.save_as(kept[ending])
        drawing = kept["SVG"].read_text()
        assert kept["SVG"].name == "trace-r010.svg" and "<path" in drawing and "Time [s]" in drawing
        assert "NaN" not in drawing and "undefined" not in drawing
        assert kept["PNG"].read_bytes().startswith(b"\x89PNG")
        assert len(kept["CSV"].read_text().splitlines()) == 130_001
        page.goto(f"data:image/svg+xml,{drawing}".replace("#", "%23"))
        assert page.locator("svg path").count() > 3


def test_a_run_is_set_aside_with_a_reason_and_put_back(chromium: Browser, own: Server) -> None:
    with watching(chromium, own, viewport=SCREEN) as watched:
        page = watched.go("/run?run=r012")
        page.locator("summary", has_text="Exclude this run").click()
        page.get_by_role("button", name="Exclude", exact=True).click()
        expect(page.locator(".error .what")).to_contain_text("reason is empty")
        page.get_by_label("Reason, for everyone").fill("hose came off")
        page.get_by_role("button", name="Exclude", exact=True).click()
        expect(page.locator(".aside-word")).to_have_text("Excluded: hose came off")
        assert "hose came off" in watched.go("/runs?only=aside").locator("tbody").inner_text()
        page = watched.go("/run?run=r012")
        page.get_by_role("button", name="Include it again").click()
        expect(page.locator("summary", has_text="Exclude this run")).to_be_visible()
        told = page.locator("section", has_text="History").locator("tbody td[data-label=What]")
        assert told.all_inner_texts() == ["loaded", "excluded", "included again"]


def test_units_are_the_person_s_everywhere(chromium: Browser, demo: Server) -> None:
    """1 lbf·ft is 1.355818 N·m (NIST SP 811, 2008, app. B.8)."""
    with watching(chromium, demo, viewport=SCREEN) as watched:
        page = watched.go("/runs")
        metric = float(_column(page, "Score")[0])
        page.locator(".units summary").click()
        with page.expect_navigation():
            page.get_by_role("combobox", name="Torque", exact=True).select_option("1")
        settle(page)
        assert "lbf·ft" in page.locator("thead").inner_text()
        assert float(_column(page, "Score")[0]) == pytest.approx(metric / 1.355818, rel=1e-3)
        page = watched.go("/comparison")
        assert "lbf·ft" in _column(page, "Median")[0]
        assert "lbf·ft" in page.locator("figure", has_text="Every run in the order").inner_text()
        page = watched.go("/run?run=r001")
        assert "lbf·ft" in page.locator(".plate").first.inner_text()


def test_verdicts_are_those_of_the_command_line(chromium: Browser, demo: Server) -> None:
    told = _told(demo, "compare")
    assert isinstance(told, dict)
    with watching(chromium, demo, viewport=SCREEN) as watched:
        page = watched.go("/comparison")
        shown = page.locator("section:has(> h2:text-is('What was found')) .verdict").all_inner_texts()
        with page.expect_download() as coming:
            page.locator("section", has_text="What was found").locator("figure").get_by_role(
                "link", name="CSV"
            ).click()
        numbers = list(csv.DictReader(io.StringIO(_without_note(Path(coming.value.path()).read_text()))))
    assert sorted(each.strip() for each in shown) == sorted(each["verdict"] for each in told["articles"])
    by_name = {(each["tool"], each["article"]): each["gain_percent"] for each in told["articles"]}
    for row in numbers:
        assert float(row["gain_percent"]) == pytest.approx(by_name[row["tool"], row["article"]])


def _without_note(text: str) -> str:
    return "".join(line for line in text.splitlines(keepends=True) if not line.startswith("#"))


def test_readings_are_judged_as_they_are_typed_and_then_kept(chromium: Browser, own: Server) -> None:
    with watching(chromium, own, viewport=SCREEN) as watched:
        page = watched.go("/runs")
        before = float(_column(page, "Score")[0])
        page = watched.go("/calibration")
        expect(page.locator(".entry-row")).to_have_count(72)
        cell = page.get_by_label("Reading, reading 6", exact=True)
        right = cell.input_value()
        cell.fill("999")
        expect(page.locator(".entry-row output").nth(5)).to_contain_text("!", timeout=10_000)
        cell.fill("not a number")
        expect(page.locator(".entry-row output").nth(5)).to_have_text("–", timeout=10_000)
        cell.fill(right)
        expect(page.locator(".entry-row output").nth(5)).not_to_contain_text("!", timeout=10_000)
        page.get_by_label("Reference, expanded").fill("4")
        page.get_by_label("Reference, expanded").blur()
        budget = page.locator("tbody", has_text="reference instrument")
        expect(budget).to_contain_text(re.compile("4.% of"), timeout=10_000)
        page.get_by_label("Applied in").select_option("lbf ft")
        expect(page.locator(".result-first .lead")).to_contain_text("lbf·ft", timeout=10_000)
        page.get_by_role("button", name="Save").click()
        expect(page.get_by_text("72 readings are saved")).to_be_visible(timeout=20_000)
        page = watched.go("/runs")
        # The same numbers said to be lbf·ft are 1.355818 times as many N·m.
        assert float(_column(page, "Score")[0]) == pytest.approx(1.355818 * before, rel=1e-3)


def test_a_reading_typed_wrong_is_named_and_asked_for_and_never_dropped(
    chromium: Browser, own: Server
) -> None:
    with watching(chromium, own, viewport=SCREEN) as watched:
        page = watched.go("/calibration")
        page.on("dialog", lambda asked: (said.append(asked.type), asked.dismiss()))
        said: list[str] = []
        cell = page.get_by_label("Applied, reading 6", exact=True)
        right = cell.input_value()
        page.get_by_label("Applied, reading 5", exact=True).press("Enter")  # goes to the reading below
        expect(cell).to_be_focused()
        cell.fill("2oo")
        fault = page.locator(".entry-row").nth(5).locator(".fault:not(:empty)")
        expect(fault).to_have_text(
            re.compile("Applied: '2oo' is not a number; write it like 12.5 or 12.5 "), timeout=10_000
        )
        page.get_by_role("button", name="Add a reading").click()
        page.get_by_label("Applied, reading 73", exact=True).fill("50")
        page.get_by_role("button", name="Save").click()
        expect(page.locator(".error .what")).to_contain_text("nothing is saved yet", ignore_case=True)
        expect(page.locator(".entry-row").nth(72).locator(".fault:not(:empty)")).to_contain_text(
            "Reading: the number"
        )
        expect(cell).to_have_value("2oo")
        # The page asks before it is left, by a link of its own too; a stay keeps what was typed.
        page.get_by_role("link", name="Runs", exact=True).click(no_wait_after=True)
        expect(cell).to_have_value("2oo")
        assert said == ["beforeunload"] and page.url.endswith("/calibration")
        cell.fill(right)
        page.get_by_role("button", name="Remove reading 73").click()
        page.locator("summary", has_text="Paste many").click()
        page.get_by_label("One reading a line").fill("50\t62.1\tup\nfifty")
        page.get_by_role("button", name="Add these").click()
        expect(page.locator(".error .what")).to_contain_text("'fifty' is not a reading")
        page.get_by_label("One reading a line").fill("50\t62.1\tup")
        page.get_by_role("button", name="Add these").click()
        expect(page.get_by_label("Reading, reading 73", exact=True)).to_have_value("62.1")
        expect(page.get_by_label("One reading a line")).to_have_value("")
        page.get_by_role("button", name="Remove reading 73").click()
        expect(page.locator(".entry-row")).to_have_count(72)
        page.get_by_role("button", name="Save").click()
        expect(page.get_by_text("72 readings are saved")).to_be_visible(timeout=20_000)
        page.get_by_role("link", name="Runs", exact=True).click()
        expect(page).to_have_url(re.compile("/runs"))
        assert said == ["beforeunload"]


def test_long_work_shows_how_far_it_is_and_can_be_stopped(chromium: Browser, own: Server) -> None:
    with watching(chromium, own, viewport=SCREEN) as watched:
        page = watched.go("/explanation")
        page.get_by_role("button", name="Explain thoroughly").click()
        expect(page.locator(".working .step")).to_contain_text(" of ", timeout=60_000)
        # Meanwhile the server answers others at once.
        with watching(chromium, own, viewport=SCREEN) as other:
            other.go("/")
            assert other.page.evaluate("performance.getEntriesByType('navigation')[0].responseEnd") < 1500
        # A page that comes back finds it under way.
        page = watched.page
        page.reload()
        expect(page.locator("#why > .working strong")).to_have_text("Fitting the explanations")
        expect(page.locator(".working .step")).to_contain_text(" of ", timeout=60_000)
        page.locator(".working").get_by_role("button", name="Stop").click()
        expect(page.locator("main .notice")).to_contain_text("Stopped. What was worked out is saved")
        expect(page.locator("main .error")).to_have_count(0)
        expect(page.get_by_role("button", name="Go on")).to_be_visible()
        expect(page.get_by_role("button", name="Explain thoroughly")).to_be_visible()


def test_an_explanation_names_the_rival_and_shows_a_blow(chromium: Browser, demo: Server) -> None:
    """Five articles that differ in inertia alone; the answer was worked out by the desk, elsewhere."""
    with watching(chromium, demo, viewport=SCREEN) as watched:
        page = watched.go(f"/explanation?{RINGS}")
        page.get_by_role("button", name="Quick answer").click()
        # Not the answer from before, which stays until the new one takes its place and the film in it.
        expect(page.locator("#why > .working")).to_have_count(0, timeout=60_000)
        expect(page.get_by_role("heading", name="The explanations", exact=True)).to_be_visible(timeout=60_000)
        assert "(named)" in page.locator("table").first.inner_text()
        for title in ("Each article predicted", "What each property adds", "One blow in slow motion"):
            expect(page.locator("figure", has_text=title)).to_have_count(1)
        film = page.frame_locator("iframe[name=film]")
        page.get_by_role("link", name="Blow of the winner").click()
        expect(film.get_by_role("button", name=re.compile("Stop|Play"))).to_be_visible(timeout=60_000)


def test_an_explanation_made_elsewhere_is_shown(chromium: Browser, tmp_path: Path) -> None:
    """The server has looked for one in vain before the command line makes it."""
    workspace = load(tmp_path, changed(articles={"plain": 1.0, "ring-b": 3.5, "ring-c": 5.0}, blocks=3))
    with serving(workspace) as server, watching(chromium, server, viewport=SCREEN) as watched:
        page = watched.go("/explanation")
        expect(page.locator(".empty h2")).to_have_text("Not worked out yet")
        assert "What was found" in watched.page.request.get(f"{server.address}/published/page.html").text()
        explain_workspace(workspace, quick=True)
        page = watched.go("/explanation")
        expect(page.get_by_role("heading", name="The explanations", exact=True)).to_be_visible()
        assert 'id="why"' in watched.page.request.get(f"{server.address}/published/page.html").text()


def test_the_page_is_shown_and_saved(chromium: Browser, demo: Server, tmp_path: Path) -> None:
    with watching(chromium, demo, viewport=SCREEN, accept_downloads=True) as watched:
        page = watched.go("/page")
        inside = page.frame_locator("iframe.published")
        expect(inside.get_by_role("heading", name="What was found")).to_be_visible()
        # It is shown without an origin of its own, and so without a way to this server.
        frame = next(each for each in page.frames if "published" in each.url)
        assert frame.evaluate("origin") == "null"
        with page.expect_download() as coming:
            page.get_by_role("link", name="Save the page").click()
        saved = Path(coming.value.path()).read_text(encoding="utf-8")
        assert saved.startswith("<!doctype html>") and "What was found" in saved
        # Nobody chose a licence, so nothing is made.
        page.get_by_role("button", name="Make the bundle").click()
        expect(page.get_by_text("no licence is chosen")).to_be_visible()
        answer = watched.page.request.get(f"{demo.address}/published/bundle.zip")
        assert answer.status == 404 and "bundle" in answer.json()["problem"]


def test_two_tabs_see_each_other_s_work(chromium: Browser, own: Server) -> None:
    with watching(chromium, own, viewport=SCREEN) as one, watching(chromium, own, viewport=SCREEN) as two:
        two.go("/run?run=r013")
        page = one.go("/run?run=r013")
        page.locator("summary", has_text="Exclude this run").click()
        page.get_by_label("Reason, for everyone").fill("bolt spun")
        page.get_by_role("button", name="Exclude", exact=True).click()
        expect(page.locator(".aside-word")).to_be_visible()
        assert "bolt spun" in two.go("/run?run=r013").locator(".aside-word").inner_text()


def test_a_slow_line_shows_the_page_s_bones_at_once(chromium: Browser, demo: Server) -> None:
    """400 kbit/s and 200 ms: a bad mobile line."""
    with watching(chromium, demo, viewport={"width": 360, "height": 780}) as watched:
        line = watched.page.context.new_cdp_session(watched.page)
        line.send(
            "Network.emulateNetworkConditions",
            {"offline": False, "latency": 200, "downloadThroughput": 50_000, "uploadThroughput": 50_000},
        )
        watched.page.goto(demo.address + "/runs", wait_until="commit")
        expect(watched.page.get_by_role("heading", name="Runs")).to_be_visible(timeout=60_000)
        # What is typed as soon as there is a field is not lost, whatever the line.
        watched.page.get_by_role("searchbox", name="Find").fill("fully on the head")
        expect(watched.page.locator("[role=status]")).to_have_text("1 of 108 runs", timeout=60_000)
        expect(watched.page.get_by_role("searchbox", name="Find")).to_have_value("fully on the head")
