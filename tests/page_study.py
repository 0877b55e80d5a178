"""First paint of each page, and the server's memory with 50 open: `python -m tests.page_study LAB`."""

from __future__ import annotations

import argparse
import statistics
import time
from pathlib import Path
from typing import Final

from playwright.sync_api import Browser, sync_playwright
from tests.browser.web_bench import CHROMIUM, FLAGS, Server, serving

PAGES: Final = (
    "/",
    "/runs",
    "/articles",
    "/comparison",
    "/explanation",
    "/design",
    "/plan",
    "/calibration",
    "/record",
    "/page",
    "/glossary",
)
OPEN: Final = 50
_PAINTED: Final = "performance.getEntriesByName('first-contentful-paint')[0]?.startTime ?? null"


def main() -> None:
    """Print a row for each page, then the server's memory before and with the pages open."""
    words = argparse.ArgumentParser(prog="python -m tests.page_study", description=__doc__)
    words.add_argument("workspace", type=Path)
    words.add_argument("--times", type=int, default=7, help="how often each page is opened")
    words.add_argument("--minutes", type=float, default=0.0, help="how long the pages stay open")
    asked = words.parse_args()
    with serving(asked.workspace.resolve()) as server, sync_playwright() as play:
        browser = play.chromium.launch(executable_path=CHROMIUM, args=FLAGS)
        for page in PAGES:
            found = [_first_paint(browser, server, page) for _time in range(asked.times + 1)][1:]
            print(f"{page:<14} {statistics.median(found):6.0f} ms ({min(found):.0f} to {max(found):.0f})")
        for when, (alone, family) in (
            ("before", _memory_mb(server)),
            (f"with {OPEN} pages open", _open_many(browser, server, asked.minutes)),
        ):
            print(f"{when}: server {alone:.0f} MB, with its work processes {family:.0f} MB")
        browser.close()


def _first_paint(browser: Browser, server: Server, path: str) -> float:
    """As the browser measures it, with nothing in its store. [ms]"""
    context = browser.new_context(viewport={"width": 1366, "height": 768})
    page = context.new_page()
    page.goto(server.address + path, wait_until="load")
    while (found := page.evaluate(_PAINTED)) is None:
        page.wait_for_timeout(20)
    context.close()
    return float(found)


def _open_many(browser: Browser, server: Server, minutes: float) -> tuple[float, float]:
    """Memory of the server, alone and with its processes, while that many pages are open. [MB]"""
    context = browser.new_context()
    for number in range(OPEN):
        context.new_page().goto(server.address + PAGES[number % len(PAGES)], wait_until="load")
    time.sleep(5.0 + 60.0 * minutes)
    found = _memory_mb(server)
    context.close()
    return found


def _memory_mb(server: Server) -> tuple[float, float]:
    """Memory that the server has for itself, and that with the processes it started (PSS). [MB]"""
    every = {int(each.name): each for each in Path("/proc").iterdir() if each.name.isdigit()}
    parents = {}
    for number, place in every.items():
        try:
            parents[number] = int((place / "stat").read_text().rsplit(")", 1)[1].split()[1])
        except OSError:
            continue
    family, more = set[int](), {server.process.pid}
    while more:
        family |= more
        more = {each for each, parent in parents.items() if parent in family} - family
    return _pss_kb(server.process.pid) / 1024.0, sum(_pss_kb(each) for each in family) / 1024.0


def _pss_kb(process: int) -> int:
    try:
        lines = Path(f"/proc/{process}/smaps_rollup").read_text().splitlines()
    except OSError:
        return 0
    return next((int(line.split()[1]) for line in lines if line.startswith("Pss:")), 0)


if __name__ == "__main__":
    main()
