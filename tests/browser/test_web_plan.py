"""Planning in a real browser: from an empty workspace to a run sheet, an article drawn as it is typed."""

from __future__ import annotations

import re
import shutil
import tomllib
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest
from playwright.sync_api import Browser, Page, expect
from tests.browser.web_bench import (
    Server,
    axe_faults,
    look_through,
    picture,
    pictures_folder,
    serving,
    settle,
    until,
    watching,
)

from strikeproof.campaign.folder import read_folder
from strikeproof.desk.articles.starting_shapes import start_article
from strikeproof.desk.planning.sheet import keep_sheet
from strikeproof.desk.setting_up.editor import change_set_up, open_set_up, start_set_up
from strikeproof.desk.setting_up.edits import add_entry, all_of, set_value

pytestmark = pytest.mark.browser

STEPS = ("tools", "articles", "bolt", "calibration", "protocol", "sheet")
READINGS = "0\t0.1\tup\t1\n200\t41.1\tup\t1\n400\t82.4\tup\t1\n200\t41.6\tdown\t1\n0\t0.3\tdown\t1\n"


@pytest.fixture(scope="module")
def served(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Server]:
    with serving(tmp_path_factory.mktemp("bench") / "workspace") as server:
        yield server


@pytest.fixture
def bench(served: Server) -> Iterator[Server]:
    """A server on a workspace with nothing in it."""
    yield served
    shutil.rmtree(served.workspace / "campaigns")
    for path in served.workspace.glob("strikeproof.db*"):  # runs stay though the folder is deleted
        path.unlink()


@pytest.fixture(scope="module")
def planned(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Server]:
    """A server on one whole campaign and one that is not. Tests leave it as they found it."""
    workspace = tmp_path_factory.mktemp("planned") / "workspace"
    set_up(workspace, "Track rollers")
    set_up(workspace, "Half done")
    change_set_up(workspace, "Half done", set_value(("tool", 0, "drive_mm"), "wide"))
    keep_sheet(workspace, "Track rollers")
    with serving(workspace) as server:
        yield server


def set_up(workspace: Path, name: str) -> None:
    articles = [start_article(shape, f"{shape}-24", 24, 12.7) for shape in ("plain", "ringed", "extension")]
    start_set_up(workspace, name)
    edits = all_of(
        add_entry("tool", {"name": "air-a", "mechanism": "air", "drive_mm": 12.7, "supply": "6.2 bar"}),
        *(add_entry("article", each) for each in articles),
        set_value(("bolt",), {"thread": "M24x2", "class": "10.9", "friction": 0.14, "runs_per_bolt": 12}),
        set_value(("protocol", "repeats"), 4),
        set_value(("calibration",), {"sheet": "calibration.csv", "applied_unit": "N m"}),
    )
    change_set_up(workspace, name, edits, calibration="applied\treading\tdirection\trepeat\n" + READINGS)


def tab_to(page: Page, selector: str, most: int = 120) -> None:
    """Press Tab until the element has the focus; a person without a mouse gets there."""
    for _ in range(most):
        if page.evaluate("(s) => document.activeElement?.matches(s) ?? false", selector):
            return
        page.keyboard.press("Tab")
    raise AssertionError(f"{selector} is not reached with the Tab key")


def type_into(page: Page, selector: str, text: str) -> None:
    """Reach a field and write over what stands in it."""
    tab_to(page, selector)
    page.keyboard.press("Control+A")
    page.keyboard.type(text)


def press(page: Page, selector: str) -> None:
    tab_to(page, selector)
    page.keyboard.press("Enter")


def kept(page: Page, workspace: Path, place: tuple[Any, ...], value: Any) -> None:
    """Wait until the campaign's document says so."""
    for _ in range(100):
        found: Any = open_set_up(workspace, "track-rollers").tables
        try:
            for step in place:
                found = found[step]
        except (KeyError, IndexError):
            found = None
        if found == value:
            return
        page.wait_for_timeout(100)
    raise AssertionError(f"{place} is {found!r}, not {value!r}")


def onward(page: Page, step: str) -> None:
    press(page, f"a[href*='step={step}']")
    page.wait_for_url(f"**step={step}**")
    settle(page)


def name_tools(page: Page, workspace: Path) -> None:
    press(page, "[data-add=tool]")
    page.wait_for_selector("fieldset [data-key=name]")
    type_into(page, "fieldset [data-key=name]", "air-a")
    type_into(page, "fieldset [data-key=drive_mm]", "0.5 in")
    type_into(page, "fieldset [data-key=supply]", "6,2 bar")
    page.keyboard.press("Tab")
    wanted = {"name": "air-a", "mechanism": "air", "drive_mm": 12.7, "supply": "6,2 bar"}
    kept(page, workspace, ("tool", 0), wanted)
    page.wait_for_selector("fieldset legend >> text=air-a", timeout=5000)


def add_articles(page: Page, workspace: Path) -> None:
    for number, (name, shape) in enumerate((("plain-24", "Plain"), ("ring-24", "Ringed"))):
        type_into(page, "[data-new=name]", name)
        tab_to(page, "[data-new=shape]")
        page.keyboard.type(shape)
        press(page, "[data-add=article]")
        page.wait_for_selector(f"a.big-link >> text={name}")
        kept(page, workspace, ("article", number, "name"), name)
    assert len(open_set_up(workspace, "track-rollers").tables["article"][1]["part"]) == 2


def describe_bolt(page: Page, workspace: Path) -> None:
    type_into(page, "[data-key=thread]", "M24x2")
    tab_to(page, "[data-key=class]")
    page.keyboard.type("10.9")
    type_into(page, "[data-key=friction]", "0.14")
    type_into(page, "[data-key=runs_per_bolt]", "8")
    page.keyboard.press("Tab")
    kept(
        page, workspace, ("bolt",), {"thread": "M24x2", "class": "10.9", "friction": 0.14, "runs_per_bolt": 8}
    )
    page.wait_for_selector(".verdict-line", timeout=60_000)


def calibrate(page: Page) -> None:
    press(page, ".step button.primary")
    page.wait_for_selector("[data-key=readings]")
    type_into(page, "[data-key=readings]", READINGS.replace("\t", ","))
    page.keyboard.press("Tab")
    expect(page.locator("dl.rows")).to_contain_text("coefficient per N·m", timeout=60_000)


def make_sheet(page: Page) -> None:
    page.wait_for_selector("[data-make=sheet]", timeout=60_000)
    press(page, "[data-make=sheet]")
    done = "document.querySelector('dialog[open]') || document.body.innerText.includes('The sheet is made')"
    until(page, done, 60.0)
    if page.locator("dialog[open]").count():  # a bolt that is predicted to break is asked about
        press(page, "dialog .primary")
    page.wait_for_selector("text=The sheet is made.", timeout=60_000)


def test_from_nothing_to_a_printed_sheet_by_the_keyboard_alone(chromium: Browser, bench: Server) -> None:
    workspace = bench.workspace
    with watching(chromium, bench, viewport={"width": 1024, "height": 768}) as watched:
        page = watched.go("/plan")
        expect(page.locator(".empty h2")).to_have_text("No campaign is set up here yet")
        type_into(page, "[data-key=new-name]", "Track rollers")
        page.keyboard.press("Enter")
        page.wait_for_url("**set_up=track-rollers**")
        settle(page)
        name_tools(page, workspace)
        onward(page, "articles")
        add_articles(page, workspace)
        onward(page, "bolt")
        describe_bolt(page, workspace)
        onward(page, "calibration")
        calibrate(page)
        onward(page, "protocol")
        type_into(page, "[data-key=repeats]", "3")
        page.keyboard.press("Tab")
        kept(page, workspace, ("protocol", "repeats"), 3)
        expect(page.locator(".verdict-line")).to_contain_text("3 repeats show a difference", timeout=60_000)
        settle(page)
        onward(page, "sheet")
        make_sheet(page)
        tab_to(page, "a[href^='/plan/sheet']")
        with page.context.expect_page() as opened:
            page.keyboard.press("Enter")
        paper = opened.value
        paper.wait_for_load_state()
        rows = paper.locator("tbody tr:not(.block)")
        expect(rows).to_have_count(3 * 3)
        assert rows.first.locator(".article").inner_text() in {"plain-24", "ring-24"}
        assert axe_faults(paper) == []
    found = read_folder(workspace / "campaigns" / "track-rollers")
    assert len(found.rows) == 9 and len(found.calibrations[0].rows) == 5 and found.problems == ()


def test_bad_input_is_named_kept_and_undone(chromium: Browser, bench: Server) -> None:
    set_up(bench.workspace, "Track rollers")
    with watching(chromium, bench, viewport={"width": 1024, "height": 768}) as watched:
        page = watched.go("/plan?set_up=track-rollers&step=tools")
        drive = page.locator("[data-key=drive_mm]")
        drive.fill("half an inch")
        drive.press("Tab")
        expect(page.locator(".fault:not(:empty)")).to_have_text(
            "'half an inch' is not a length. Allowed: more than 0 mm. Write a plain number of mm, or '24 mm'."
        )
        assert drive.get_attribute("aria-invalid") == "true"
        expect(page.locator(".state")).to_have_text("1 to fix; everything typed is saved.")
        expect(page.locator(".plan-steps a[aria-current=step] .mark")).to_have_text("1 to fix")
        assert axe_faults(page) == []
        page.reload()
        settle(page)
        expect(page.locator("[data-key=drive_mm]")).to_have_value("half an inch")
        whole = (bench.workspace / "campaigns" / "track-rollers" / "campaign.toml").read_text()
        assert tomllib.loads(whole)["tool"][0]["drive_mm"] == 12.7
        page.locator("[data-do=undo]").click()
        expect(page.locator("[data-key=drive_mm]")).to_have_value("12.7")
        expect(page.locator(".state")).to_have_text("Complete: every change is saved.")
        expect(page.locator("#told")).to_have_text("Undone: Square drive of tool 1: half an inch → 12.7.")
        page.locator("[data-do=redo]").click()
        expect(page.locator("[data-key=drive_mm]")).to_have_value("half an inch")
        drive.fill("99999")
        drive.press("Tab")
        expect(page.locator(".doubt:not(:empty)")).to_contain_text("Is this meant?")
        page.locator("[data-add=tool]").press("Enter")
        expect(page.locator("[data-at='tool.1.name']")).to_be_focused()


def test_what_touches_made_runs_is_asked_first(chromium: Browser, bench: Server) -> None:
    set_up(bench.workspace, "Track rollers")
    plan = keep_sheet(bench.workspace, "Track rollers")
    folder = bench.workspace / "campaigns" / "track-rollers"
    made = next(each for each in plan.cells if each["article"] == "plain-24")
    (folder / "logs" / made["log"]).write_text("time,load\n0,1\n")
    with watching(chromium, bench, viewport={"width": 1024, "height": 768}) as watched:
        page = watched.go("/plan?set_up=track-rollers&step=protocol")
        length = page.locator("[data-key=duration]")
        length.fill("5 s")
        length.press("Tab")
        dialog = page.locator("dialog[open]")
        expect(dialog).to_contain_text(
            "1 run was made already and will be scored again (protocol.duration: 10 s → 5 s)."
        )
        assert axe_faults(page) == []
        page.keyboard.press("Escape")
        expect(length).to_have_value("10 s")
        length.fill("5 s")
        length.press("Tab")
        page.locator("dialog[open] .primary").click()
        kept(page, bench.workspace, ("protocol", "duration"), "5 s")
        page = watched.go("/plan?set_up=track-rollers&step=articles")
        page.locator("[data-new=name]").fill("plain-24")
        page.locator("[data-add=article]").click()
        expect(page.locator("#trouble")).to_contain_text("Another article is called 'plain-24'")
        expect(page.locator("[data-new=name]")).to_be_focused()
        page.locator("[data-new=name]").fill("other")
        page.locator("[data-new=head]").fill("wide")
        page.locator("[data-add=article]").click()
        expect(page.locator("#trouble .where")).to_have_text("Where: the bolt's head, across flats")
        expect(page.locator("[data-new=head]")).to_be_focused()
        page.locator(".entry", has_text="plain-24").get_by_role("button", name="Delete").click()
        page.locator("dialog[open] .primary").click()
        expect(page.locator("dialog[open]")).to_contain_text("no run is ever deleted")
        page.locator("dialog[open] button").click()
        assert len(open_set_up(bench.workspace, "track-rollers").tables["article"]) == 3


def test_two_windows_do_not_undo_each_other(chromium: Browser, bench: Server) -> None:
    set_up(bench.workspace, "Track rollers")
    with watching(chromium, bench) as one, watching(chromium, bench) as other:
        first = one.go("/plan?set_up=track-rollers&step=tools")
        second = other.go("/plan?set_up=track-rollers&step=tools")
        first.locator("[data-key=supply]").fill("5 bar")
        first.locator("[data-key=supply]").press("Tab")
        kept(first, bench.workspace, ("tool", 0, "supply"), "5 bar")
        second.locator("[data-key=drive_mm]").fill("19")
        second.locator("[data-key=drive_mm]").press("Tab")
        expect(second.locator(".error .what")).to_contain_text("changed in another window")
        expect(second.locator("[data-key=supply]")).to_have_value("5 bar")
        second.locator("[data-key=drive_mm]").fill("19")
        second.locator("[data-key=drive_mm]").press("Tab")
        kept(second, bench.workspace, ("tool", 0, "drive_mm"), 19)
        kept(second, bench.workspace, ("tool", 0, "supply"), "5 bar")


def test_an_article_is_drawn_while_it_is_typed(chromium: Browser, bench: Server) -> None:
    set_up(bench.workspace, "Track rollers")
    with watching(chromium, bench, viewport={"width": 1440, "height": 900}) as watched:
        page = watched.go("/articles?set_up=track-rollers&article=2")
        inertia = page.locator(".figures .plate div", has_text="Polar inertia").locator("dd")
        drawing = page.locator(".drawing")
        before, shape = inertia.inner_text(), drawing.inner_html()
        outer = page.locator("[data-at='part.1.outer_diameter_mm']")
        outer.fill("90")
        expect(inertia).not_to_have_text(before)
        assert drawing.inner_html() != shape and "⌀90" in drawing.inner_text()
        assert "Half-section of ringed-24: socket, ring" in str(drawing.get_attribute("aria-label"))
        outer.fill("9000")
        expect(page.locator(".fault:not(:empty)")).to_contain_text("1 to 1000")
        expect(page.locator(".verdict-line")).to_contain_text("1 to fix")
        outer.fill("85")
        outer.press("Tab")
        kept(page, bench.workspace, ("article", 1, "part", 1, "outer_diameter_mm"), 85)
        expect(page.locator(".verdict-line.held")).to_contain_text(
            "not at what your tools are expected to reach"
        )
        page.locator("[data-at=peak]").fill("9000")
        expect(page.locator(".verdict-line")).to_contain_text("Do not run it")
        undo = page.locator("[data-do=undo]")
        page.locator("[data-at='part.1.shape']").select_option("ring")
        undo.focus()  # as a person does who is quicker than the form that is drawn again
        expect(page.locator("[data-at='part.1.ring_stock_mm']")).to_be_visible()
        page.wait_for_timeout(200)
        expect(undo).to_be_focused()
        undo.click()
        expect(page.locator("[data-at='part.1.length_mm']")).to_be_visible()
        expect(page.locator("#told")).to_contain_text("Undone: article.2.part.2.shape: ring → ")
        page.locator("[data-at=note]").press_sequentially("spa")  # the form is drawn again meanwhile
        page.evaluate("document.querySelector('[data-do=redo]').click()")
        expect(page.locator("[data-at='part.1.ring_stock_mm']")).to_be_visible()
        expect(page.locator("[data-at=note]")).to_have_value("spa")
        expect(page.locator("[data-at=note]")).to_be_focused()
        page.locator("[data-at=note]").press("Tab")
        kept(page, bench.workspace, ("article", 1, "note"), "spa")
        page.locator("[data-add=part]").click()
        expect(page.locator("[data-at='part.2.name']")).to_be_focused()


def test_lengths_are_typed_in_the_unit_chosen(chromium: Browser, bench: Server) -> None:
    set_up(bench.workspace, "Track rollers")
    with watching(chromium, bench, viewport={"width": 1440, "height": 900}) as watched:
        page = watched.go("/articles?set_up=track-rollers&article=1")
        page.locator(".units summary").click()
        with page.expect_navigation():
            page.locator("[data-unit]").nth(2).select_option("1")
        settle(page)
        length = page.locator("[data-at='part.0.length_mm']")
        label = page.locator(".box", has=length).locator(".name")
        expect(label).to_contain_text("Length (in)")
        length.fill("2")
        length.press("Tab")
        kept(page, bench.workspace, ("article", 0, "part", 0, "length_mm"), 50.8)
        expect(length).to_have_value("2")


def test_a_campaign_is_copied_and_put_away(chromium: Browser, bench: Server) -> None:
    set_up(bench.workspace, "Track rollers")
    with watching(chromium, bench) as watched:
        page = watched.go("/plan")
        page.get_by_role("button", name="Copy Track rollers").click()
        page.wait_for_url("**set_up=track-rollers-2**")
        settle(page)
        page = watched.go("/plan")
        page.get_by_role("button", name="Put away Track rollers 2").click()
        page.locator("dialog[open] .primary").click()
        expect(page.locator(".card")).to_have_count(1)
        assert (bench.workspace / "campaigns" / ".put-away" / "track-rollers-2.1").is_dir()


@pytest.mark.parametrize("step", [*STEPS, "shelf", "article", "half"])
def test_every_step_is_readable_by_all(chromium: Browser, planned: Server, step: str) -> None:
    path = {
        "shelf": "/plan",
        "article": "/articles?set_up=track-rollers&article=2",
        "half": "/plan?set_up=half-done&step=sheet",
    }.get(step, f"/plan?set_up=track-rollers&step={step}")
    with watching(chromium, planned, viewport={"width": 1024, "height": 768}) as watched:
        watched.go(path)
        look_through(watched, f"plan-{step}")


def test_the_printed_sheet_fits_its_paper(chromium: Browser, planned: Server) -> None:
    with watching(chromium, planned, viewport={"width": 360, "height": 780}) as watched:
        watched.page.goto(f"{planned.address}/plan/sheet?set_up=track-rollers")
        page = watched.page
        picture(page, pictures_folder(), "sheet-360-light")
        assert page.evaluate("document.documentElement.scrollWidth") <= 360
        assert axe_faults(page) == []
        page.emulate_media(media="print")
        page.set_viewport_size({"width": 703, "height": 1000})  # the width of A4 between its margins
        assert page.evaluate("document.documentElement.scrollWidth") <= 703
        picture(page, pictures_folder(), "sheet-paper")
        pages = len(re.findall(rb"/Type /Page\b", page.pdf(prefer_css_page_size=True)))
        assert 1 <= pages <= 3
