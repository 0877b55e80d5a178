"""The page's part on why in a real browser: a phone and a screen, light and dark."""

from __future__ import annotations

from pathlib import Path

import pytest
from playwright.sync_api import Browser, Page
from tests.unit.publish.explain.sample import sample_why
from tests.unit.publish.test_page import small

from strikeproof.publish.page import write_page

pytestmark = pytest.mark.browser

LETTERS = """() => [...document.querySelectorAll('#why figure svg')]
  .filter(svg => svg.getBoundingClientRect().width)
  .map(svg => ({name: svg.closest('figure').id, texts: [...svg.querySelectorAll('text')]
    .filter(each => each.textContent.trim()).map(each => {
      const box = each.getBoundingClientRect();
      const size = parseFloat(getComputedStyle(each).fontSize) * svg.getScreenCTM().a;
      return [each.textContent.trim(), box.left, box.top, box.right, box.bottom, size];})}))"""


@pytest.fixture(scope="module")
def address(tmp_path_factory: pytest.TempPathFactory) -> str:
    path: Path = tmp_path_factory.mktemp("why") / "page.html"
    path.write_text(write_page(small(why=sample_why())), encoding="utf-8")
    return path.as_uri()


def _opened(chromium: Browser, address: str, width: int, scheme: str = "light") -> Page:
    page = chromium.new_page(viewport={"width": width, "height": 800}, color_scheme=scheme)  # type: ignore[arg-type]  # light or dark
    page.goto(address, wait_until="load")
    return page


@pytest.mark.parametrize("scheme", ["light", "dark"])
@pytest.mark.parametrize("width", [320, 360, 768, 1280])
def test_nothing_makes_the_page_scroll_sideways(
    chromium: Browser, address: str, width: int, scheme: str
) -> None:
    page = _opened(chromium, address, width, scheme)
    page.locator("#why details summary").click()
    assert page.evaluate("document.documentElement.scrollWidth") <= width
    page.close()


@pytest.mark.parametrize("width", [360, 1280])
def test_letters_in_charts_are_legible_and_do_not_overlap(
    chromium: Browser, address: str, width: int
) -> None:
    page = _opened(chromium, address, width)
    charts = page.evaluate(LETTERS)
    page.close()
    assert len(charts) == 6
    for chart in charts:
        assert min(text[5] for text in chart["texts"]) >= 9.5, chart["name"]
        for place, one in enumerate(chart["texts"]):
            assert one[1] >= 0 and one[3] <= width, (chart["name"], one)
            for other in chart["texts"][place + 1 :]:
                across = min(one[3], other[3]) - max(one[1], other[1])
                down = min(one[4], other[4]) - max(one[2], other[2])
                # Boxes of letters reach a little above and below the ink.
                assert not (across > 1 and down > 4), (chart["name"], one[0], other[0])


def test_the_list_of_contents_leads_to_it(chromium: Browser, address: str) -> None:
    page = _opened(chromium, address, 1280)
    page.get_by_role("link", name="Why", exact=True).click()
    page.wait_for_url("**#why")
    assert page.evaluate("Math.abs(document.getElementById('why').getBoundingClientRect().top) < 200")
    page.close()
