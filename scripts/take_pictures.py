#!/usr/bin/env python3
"""scripts/take_pictures.py DEMO: the README's pictures of the browser, from a folder that `make demo` made.

The rig that is recorded is the simulated one, and everything shown is invented.
"""

from __future__ import annotations

import sys
import tempfile
from collections.abc import Callable
from pathlib import Path

sys.path.insert(0, str(Path(__file__).parent.parent))

from playwright.sync_api import Browser, Page, sync_playwright
from tests.browser.record_bench import (
    STRONG_BOLT,
    WEAK_BOLT,
    connect,
    fast_rig,
    make_lab,
    open_record,
    phase,
    press,
    record_one,
)
from tests.browser.web_bench import CHROMIUM, FLAGS, serving, settle, watching
from tests.unit.desk.live_bench import CAMPAIGN

DOCS = Path(__file__).parent.parent / "docs"
SCREEN = {"width": 1280, "height": 1000}
SHARPNESS = 1.5  # device pixels of a pixel


def main(demo: Path) -> None:
    """Write them to docs."""
    with sync_playwright() as play:
        browser = play.chromium.launch(executable_path=CHROMIUM, args=FLAGS)
        _take_the_looking(browser, demo / "workspace")
        _take_the_recording(browser)
        browser.close()


def _take_the_looking(browser: Browser, workspace: Path) -> None:
    with (
        serving(workspace) as server,
        watching(browser, server, viewport=SCREEN, device_scale_factor=SHARPNESS) as watched,
    ):
        for name, path, look in _PAGES:
            page = watched.go(path)
            look(page)
            settle(page)
            page.wait_for_timeout(800)
            page.screenshot(path=DOCS / f"{name}.png")


def _top(_page: Page) -> None:
    return


def _at(heading: str) -> Callable[[Page], None]:
    def look(page: Page) -> None:
        page.get_by_role("heading", name=heading).first.evaluate(
            "each => scrollTo(0, each.getBoundingClientRect().top + scrollY - 12)"
        )

    return look


def _first_proposal(page: Page) -> None:
    page.locator("section.proposal").first.evaluate(
        "each => scrollTo(0, each.getBoundingClientRect().top + scrollY - 12)"
    )


_PAGES = (
    ("comparison", "/comparison", _top),
    ("run", "/run?run=r010", _top),
    ("explanation", "/explanation", _at("Property by property")),
    ("design", "/design?step=proposals", _first_proposal),
    ("page", "/page", _top),
)


def _take_the_recording(browser: Browser) -> None:
    """In the middle of the second run, so that the first one's band is behind it."""
    with tempfile.TemporaryDirectory() as folder:
        text = CAMPAIGN.replace('cool_down = "30 s"\n', "").replace(WEAK_BOLT, STRONG_BOLT)
        lab = make_lab(Path(folder), text)
        with (
            fast_rig(Path(folder), pace=1.0) as rig,
            serving(lab) as server,
            watching(browser, server, viewport={"width": 1024, "height": 1000}) as watched,
        ):
            page = open_record(server, watched.page)
            connect(page, rig.port)
            record_one(page)
            page.wait_for_timeout(8000)
            press(page)
            phase(page, "recording")
            page.wait_for_timeout(2500)
            page.screenshot(path=DOCS / "record.png")
            watched.said.clear()


if __name__ == "__main__":
    main(Path(sys.argv[1]))
