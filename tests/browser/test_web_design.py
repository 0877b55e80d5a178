"""Designing in a real browser: a brief from nothing, a clash taken back, a search, its files, a fit."""

from __future__ import annotations

import csv
import shutil
import tomllib
from collections.abc import Iterator
from pathlib import Path
from typing import Any
from xml.etree import ElementTree

import ezdxf
import pytest
from playwright.sync_api import Browser, Page, expect
from tests.browser.web_bench import Server, look_through, serving, settle, watching
from tests.unit.desk.scores import Bench, write_folder

from strikeproof.desk.articles.starting_shapes import start_article
from strikeproof.desk.designing.brief import load_brief
from strikeproof.desk.loading.load import load_campaign
from strikeproof.desk.setting_up.editor import change_set_up
from strikeproof.desk.setting_up.edits import add_entry
from strikeproof.desk.setting_up.run_rows import read_run_cells
from strikeproof.desk.workspace.places import campaign_place
from strikeproof.parts import read_article

pytestmark = pytest.mark.browser

NAME = "simulated rings"
SVG = "{http://www.w3.org/2000/svg}"
SMALL = """\
[brief]
name = "small"
hexagon_mm = 24
drive_mm = 12.5
processes = ["turning"]
proposals = 2
largest_mass_kg = 2

[envelope]
free_length_mm = 80
pocket = [{ to_depth_mm = 30, diameter_mm = 90 }]

[[stock]]
item = "bar 50 mm"
material = "42CrMo4 +QT"

[[stock]]
item = "bar 60 mm"
"""


@pytest.fixture(scope="module")
def rings(prepared: Path, tmp_path_factory: pytest.TempPathFactory) -> Iterator[Server]:
    """A server on the explained campaign, its folder inside the workspace, one of its articles drawn."""
    workspace = tmp_path_factory.mktemp("design") / "workspace"
    shutil.copytree(prepared / "workspace", workspace)
    load_campaign(write_folder(campaign_place(workspace, NAME), Bench()), workspace)
    with serving(workspace) as server:
        yield server


def brief_of(server: Server) -> Path:
    return campaign_place(server.workspace, NAME) / "brief.toml"


def told(server: Server) -> dict[str, Any]:
    return tomllib.loads(brief_of(server).read_text(encoding="utf-8"))


def wait_for(page: Page, server: Server, place: tuple[str | int, ...], value: Any) -> None:
    """Until the file says so."""
    found: Any = None
    for _ in range(100):
        try:
            found = told(server)
            for step in place:
                found = found[step]
        except (OSError, LookupError):
            found = None
        if found == value:
            return
        page.wait_for_timeout(100)
    raise AssertionError(f"{place} is {found!r}, not {value!r}")


def write(page: Page, at: str, text: str) -> None:
    page.locator(f'[data-at="{at}"]').fill(text)
    page.keyboard.press("Tab")


def address(step: str, **more: str) -> str:
    query = "".join(f"&{key}={value}" for key, value in more.items())
    return f"/design?campaign={NAME.replace(' ', '+')}&step={step}{query}"


def test_a_brief_is_begun_filled_in_and_corrected(chromium: Browser, rings: Server) -> None:
    brief_of(rings).unlink(missing_ok=True)
    with watching(chromium, rings) as watched:
        page = watched.go(address("brief"))
        expect(page.locator(".empty h2")).to_have_text("No brief yet")
        page.locator("[data-do=begin]").click()
        page.wait_for_selector('[data-at="brief.hexagon_mm"]')
        assert told(rings)["brief"]["drive_mm"] == 12.5  # the tool's own
        assert told(rings)["brief"]["tools"] == ["wrench"]

        # Everything wrong is named at its field, at once, and nothing typed is lost.
        write(page, "brief.hexagon_mm", "wide")
        write(page, "brief.budget", "-3")
        wait_for(page, rings, ("brief", "budget"), -3)
        expect(page.locator(".fault:not(:empty)")).to_have_count(2)
        expect(page.locator('[data-at="brief.hexagon_mm"]')).to_have_attribute("aria-invalid", "true")
        expect(page.locator(".bench-live .verdict-line")).to_contain_text("2 to fix")
        write(page, "brief.hexagon_mm", "24")
        write(page, "brief.budget", "40")
        wait_for(page, rings, ("brief", "budget"), 40)
        expect(page.locator(".bench-live .verdict-line")).to_contain_text("Complete")

        # A smaller margin is asked about when it is typed too, and stays said.
        write(page, "brief.least_margin", "1.2")
        expect(page.locator("dialog")).to_contain_text("from 1.5 to 1.2")
        page.get_by_role("button", name="Leave the brief as it is").click()
        expect(page.locator('[data-at="brief.least_margin"]')).to_have_value("1.5")
        assert told(rings)["brief"]["least_margin"] == 1.5
        write(page, "brief.least_margin", "1.2")
        page.get_by_role("button", name="Lower it").click()
        wait_for(page, rings, ("brief", "least_margin"), 1.2)
        expect(page.locator(".bench-live .verdict-line.held")).to_contain_text("1.2 where 1.5 is usual")
        write(page, "brief.least_margin", "1.5")
        expect(page.locator(".bench-live .verdict-line.good")).to_contain_text("Complete")

        # The pocket is drawn while it is typed; one too narrow clashes, and the nearest brief is taken over.
        page.locator("[data-add=step]").click()
        wait_for(page, rings, ("envelope", "pocket", 0, "diameter_mm"), 90)
        page.locator('[data-at="envelope.pocket.0.diameter_mm"]').fill("28")
        expect(page.locator(".drawing.room text").first).to_contain_text("28 mm")
        page.keyboard.press("Tab")
        expect(page.locator(".bench-live .error")).to_contain_text("within the room", timeout=20_000)
        page.locator("[data-do=nearest]").click()
        expect(page.locator(".bench-live .verdict-line")).to_contain_text("Complete", timeout=20_000)
        assert told(rings)["envelope"]["pocket"][0]["diameter_mm"] > 28
        load_brief(brief_of(rings), folder=rings.workspace)  # an ordinary one, that clashes no more
        page.locator("[data-do=undo]").click()
        wait_for(page, rings, ("envelope", "pocket", 0, "diameter_mm"), 28)


def type_ahead(page: Page, at: str, words: str) -> None:
    """Choose by typing; on a busy machine the letters may come too slowly to be one word, and again."""
    picker = page.locator(at)
    picker.focus()
    for _ in range(5):
        page.keyboard.type(words)
        if picker.evaluate("each => each.selectedOptions[0].text") == words:
            return
        page.wait_for_timeout(1500)
    raise AssertionError(f"{words} cannot be chosen by typing")


def test_stock_is_picked_from_what_is_known_by_the_keyboard(chromium: Browser, rings: Server) -> None:
    brief_of(rings).write_text(SMALL, encoding="utf-8")
    with watching(chromium, rings) as watched:
        page = watched.go(address("brief"))
        type_ahead(page, "[data-new=stock]", "nut M36")
        page.keyboard.press("Tab")
        page.keyboard.press("Enter")
        wait_for(page, rings, ("stock", 2, "item"), "nut M36")
        page.wait_for_selector('[data-at="stock.2.length_mm"]')
        page.get_by_role("button", name="Delete nut M36").press("Enter")
        expect(page.locator('[data-at="stock.2.item"]')).to_have_count(0, timeout=20_000)
        assert len(told(rings)["stock"]) == 2
        box = page.locator('[data-at="brief.processes.welding"]')
        box.press("Space")
        wait_for(page, rings, ("brief", "processes"), ["turning", "welding"])


def test_lengths_are_in_the_unit_chosen(chromium: Browser, rings: Server) -> None:
    brief_of(rings).write_text(SMALL, encoding="utf-8")
    with watching(chromium, rings) as watched:
        cookie = {"name": "strikeproof_units", "value": "0.0.1.0", "url": rings.address}
        watched.page.context.add_cookies([cookie])  # type: ignore[list-item]  # a plain cookie
        page = watched.go(address("brief"))
        expect(page.locator('[data-at="envelope.free_length_mm"]')).to_have_value("3.14961")
        write(page, "envelope.free_length_mm", "3")
        wait_for(page, rings, ("envelope", "free_length_mm"), 76.2)
        write(page, "envelope.free_length_mm", "80 mm")
        wait_for(page, rings, ("envelope", "free_length_mm"), 80)


def test_two_windows_do_not_undo_each_other(chromium: Browser, rings: Server) -> None:
    brief_of(rings).write_text(SMALL, encoding="utf-8")
    with watching(chromium, rings) as watched:
        page = watched.go(address("brief"))
        brief_of(rings).write_text(SMALL.replace("= 80", "= 70"), encoding="utf-8")
        write(page, "brief.budget", "12")
        expect(page.locator(".bench-live [role=alert]")).to_contain_text("another window", timeout=20_000)
        expect(page.locator('[data-at="envelope.free_length_mm"]')).to_have_value("70")
        assert "budget" not in told(rings)["brief"]


def test_a_search_its_files_and_a_proposal_in_the_campaign(
    chromium: Browser, rings: Server, tmp_path: Path
) -> None:
    brief_of(rings).write_text(SMALL, encoding="utf-8")
    shutil.rmtree(brief_of(rings).with_name("design"), ignore_errors=True)
    with watching(chromium, rings, accept_downloads=True) as watched:
        page = watched.go(address("proposals"))
        expect(page.locator(".empty h2")).to_have_text("Not searched yet")
        page.locator("[data-do=quick]").click()
        expect(page.locator(".place .error")).to_contain_text("least_margin", timeout=240_000)
        page.locator("[data-do=nearest]").click()
        expect(page.locator("dialog")).to_contain_text("from 1.5 to 1.")
        page.get_by_role("button", name="Leave the brief as it is").click()
        assert "least_margin" not in told(rings)["brief"]
        page.locator("[data-do=nearest]").click()
        page.get_by_role("button", name="Lower it").click()
        expect(page.locator(".place .good-line")).to_contain_text("search again", timeout=20_000)
        assert 1 <= told(rings)["brief"]["least_margin"] < 1.5
        brief_of(rings).write_text(SMALL.replace("proposals = 2", "proposals = 2\nleast_margin = 1"))
        page.locator("[data-do=quick]").click()
        stop = page.get_by_role("button", name="Stop and keep what is found")
        expect(stop).to_be_visible()
        expect(page.locator(".working .step")).to_contain_text("looking closely", timeout=120_000)
        page.reload(wait_until="load")  # the search goes on, and is found again
        stop.click()
        page.wait_for_selector(".proposal", timeout=120_000)
        expect(page.get_by_text("The search was stopped before its end").first).to_be_visible()
        name = page.locator(".proposal h2").first.inner_text().partition(". ")[2]
        expect(page.locator("table").first).to_contain_text("%")
        expect(page.locator(".proposal .drawing svg").first).to_be_visible()

        page.reload()
        settle(page)  # it is kept
        expect(page.locator(".proposal h2").first).to_contain_text(name)
        _save_files(page, name, tmp_path)
        _add(page, rings, name)
        look_through(watched, "design-proposals-small")


def _save_files(page: Page, name: str, folder: Path) -> None:
    """Each is what its name says, and all of them tell of the same article."""
    saved = {}
    for words in ("Article file", "Drawing, SVG", "Drawing, PDF", "Drawing, DXF", "Parts", "Cuts"):
        with page.expect_download() as given:
            page.get_by_role("link", name=f"{words} of {name}", exact=True).click()
        saved[words] = folder / given.value.suggested_filename
        given.value.save_as(saved[words])
    (table,) = tomllib.loads(saved["Article file"].read_text(encoding="utf-8"))["article"]
    article = read_article(table)
    assert article.name == name
    drawn = ElementTree.parse(saved["Drawing, SVG"]).getroot()
    assert drawn.tag == f"{SVG}svg" and len(list(drawn.iter(f"{SVG}polyline"))) > 5
    assert name in " ".join(drawn.itertext())
    pdf = saved["Drawing, PDF"].read_bytes()
    assert pdf.startswith(b"%PDF") and pdf.rstrip().endswith(b"%%EOF")
    document = ezdxf.readfile(saved["Drawing, DXF"])
    assert {"LWPOLYLINE", "TEXT"} <= {each.dxftype() for each in document.modelspace()}
    named = [row["part"] for row in _rows(saved["Parts"])]
    assert named == [*(each.name for each in article.parts), "whole"]
    cuts = _rows(saved["Cuts"])
    assert cuts and all(float(row["saw to mm"]) >= float(row["finished mm"]) > 0 for row in cuts)
    chart = page.locator("figure.drawn")
    if chart.count():
        with page.expect_download() as given:
            chart.get_by_role("link", name="CSV").click()
        assert "gain_percent" in Path(given.value.path()).read_text(encoding="utf-8")
    with page.expect_popup() as opened:
        page.get_by_role("link", name=f"Workshop sheet of {name}").click()
    expect(opened.value.locator("body")).to_contain_text(name)
    opened.value.close()


def _rows(path: Path) -> list[dict[str, str]]:
    with path.open(encoding="utf-8", newline="") as stream:
        return list(csv.DictReader(stream))


def _add(page: Page, server: Server, name: str) -> None:
    """Only after a yes; the campaign's file has it then, its sheet after one more press."""
    file = campaign_place(server.workspace, NAME) / "campaign.toml"
    add = page.get_by_role("button", name=f"Add {name} to the campaign")
    add.click()
    page.get_by_role("button", name="Leave it out").click()
    assert name not in file.read_text(encoding="utf-8")
    add.click()
    page.get_by_role("button", name="Add it", exact=True).click()
    expect(page.locator(".good-line")).to_contain_text("article of the campaign now")
    names = [each["name"] for each in tomllib.loads(file.read_text(encoding="utf-8"))["article"]]
    assert names[-1] == name
    sheet = file.with_name("runs.csv")
    before = read_run_cells(sheet)
    page.locator("[data-make=block]").click()
    expect(page.locator("dialog")).to_contain_text(
        "of the proof load", timeout=20_000
    )  # of this bench's bolt
    page.get_by_role("button", name="Plan it all the same").click()
    expect(page.locator(".good-line[role=status]")).to_contain_text(
        f"are planned: {name} with plain", timeout=20_000
    )
    rows = read_run_cells(sheet)
    assert rows[: len(before)] == before
    assert sorted(row["article"] for row in rows[len(before) :]) == sorted([name, "plain", "plain"])
    add.click()
    page.get_by_role("button", name="Add it", exact=True).click()
    expect(page.locator(".proposal [role=alert]").first).to_contain_text("in the campaign already")


def test_an_article_is_drawn_in_its_place(chromium: Browser, rings: Server) -> None:
    brief_of(rings).write_text(SMALL.replace("90 }", "40 }"), encoding="utf-8")
    ringed = {**start_article("ringed", "wide", 24, 12.7), "name": "wide"}
    change_set_up(rings.workspace, NAME, add_entry("article", ringed))
    with watching(chromium, rings) as watched:
        page = watched.go(address("fit", article="wide"))
        expect(page.locator(".verdict-line.stop")).to_contain_text("It touches: wide")
        expect(page.locator(".fixes li").first).to_contain_text("mm")
        look_through(watched, "design-fit-small")
        brief_of(rings).write_text(SMALL.replace("90 }", "190 }"), encoding="utf-8")
        page = watched.go(address("fit", article="wide"))
        expect(page.locator(".verdict-line.good")).to_contain_text("It fits: wide")


def test_what_a_name_from_outside_can_reach(chromium: Browser, rings: Server) -> None:
    with watching(chromium, rings) as watched:
        page = watched.go(address("proposals"))
        for path in (
            "..%2F..%2Fcampaign.toml/article.toml",
            "01-x/..%2F..%2Fcampaign.toml",
            "01-x/view.json",
        ):
            reply = page.request.get(f"{rings.address}/design/file/{path}?campaign={NAME.replace(' ', '+')}")
            assert reply.status == 404, path
