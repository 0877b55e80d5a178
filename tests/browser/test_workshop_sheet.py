"""The workshop sheet in a real browser: a phone and a screen, light and dark, legible when drawn."""

from __future__ import annotations

from pathlib import Path

import pytest
from playwright.sync_api import Browser
from tests.browser.web_bench import axe_faults
from tests.unit.publish.test_workshop_lists import RAW, WELD, made, ring, socket

from strikeproof.publish.workshop import (
    Title,
    WorkshopJob,
    cut_rows,
    draw_workshop_sheet,
    part_rows,
    tell_steps,
    weld_rows,
    write_workshop_page,
)

pytestmark = pytest.mark.browser

LETTERS = """() => [...document.querySelectorAll('figure.sheet text')].map(each =>
  parseFloat(getComputedStyle(each).fontSize) * each.ownerSVGElement.getScreenCTM().a)"""


@pytest.fixture(scope="module")
def address(tmp_path_factory: pytest.TempPathFactory) -> str:
    article, properties, raw = made(socket(), ring(WELD))
    title = Title("A ring welded on both sides", "liner bolts", "46.20 EUR", "strikeproof")
    sheet, _scale = draw_workshop_sheet(article, properties, title, None, RAW)
    job = WorkshopJob(
        name="ring of a long name that must break somewhere 72x16",
        words="A ring.",
        made_for="For the brief.",
        simulated=True,
        facts=[("Gain over plain-27", "+28 % (18 to 36 %)"), ("Mass", "0.66 kg")],
        stops=["STOP: the wall gives."],
        gains=[("tool", "gain", "90 % interval"), ("air-a, 10 s", "+28 %", "+18 % to +36 %")],
        why=["It works by its inertia."],
        margins=[
            ("place", "mode", "once", "without end", "verdict"),
            ("socket", "wall", "2.1", "–", "holds"),
        ],
        parts=part_rows(article, properties, raw, "EUR"),
        cuts=cut_rows(article, raw),
        welds=weld_rows(article, properties),
        price_note="Prices come from a list.",
        steps=tell_steps(article, properties, raw),
        cautions=["Wear eye protection."],
        closest="It is almost plain-27.",
        made_by="strikeproof",
    )
    path: Path = tmp_path_factory.mktemp("sheet") / "sheet.html"
    path.write_text(write_workshop_page(job, sheet), encoding="utf-8")
    return path.as_uri()


@pytest.mark.parametrize("scheme", ["light", "dark"])
@pytest.mark.parametrize("width", [320, 768, 1280])
def test_nothing_scrolls_sideways_but_what_is_wide(
    chromium: Browser, address: str, width: int, scheme: str
) -> None:
    page = chromium.new_page(viewport={"width": width, "height": 800}, color_scheme=scheme)  # type: ignore[arg-type]  # light or dark
    page.goto(address, wait_until="load")
    assert page.evaluate("document.documentElement.scrollWidth") <= width
    assert min(page.evaluate(LETTERS)) >= 7.0
    assert axe_faults(page) == []
    page.close()


def test_in_the_dark_lines_are_light(chromium: Browser, address: str) -> None:
    page = chromium.new_page(color_scheme="dark")
    page.goto(address, wait_until="load")
    look = "[...document.querySelectorAll('figure.sheet g')].map(each => getComputedStyle(each).stroke)"
    assert page.evaluate(look)[0] == "rgb(228, 235, 236)"
    page.close()


def test_it_prints_on_a_few_sheets_with_the_drawing_on_its_own(chromium: Browser, address: str) -> None:
    page = chromium.new_page()
    page.goto(address, wait_until="load")
    printed = page.pdf(format="A4")
    assert 3 <= printed.count(b"/Type /Page\n") <= 5
    page.close()
