"""A tour of every page of the bench, as eyes see it: six sizes, light and dark, one and two dots a pixel.

`python -m tests.browser.tour WORKSPACE FOLDER` serves the workspace and says of every page what scrolls
sideways, is cut or overlaps, which letters are under 11 px and which targets under 44 px on a phone
(WCAG 2.5.5), and what browser and server complained about; it writes one contact sheet of all pages. The
limit of 11 px is our own, no standard has one. It ends with 1 where it found something.
"""

from __future__ import annotations

import sys
from collections.abc import Iterator
from itertools import product
from pathlib import Path

from PIL import Image, ImageDraw
from playwright.sync_api import Browser, Page, sync_playwright
from tests.browser.web_bench import CHROMIUM, FLAGS, Server, serving, settle

SIZES = ((360, 780), (390, 844), (768, 1024), (1024, 768), (1366, 768), (1920, 1080))
PHONE_PX = 430
PICTURED = ((390, 844, "light"), (390, 844, "dark"), (1366, 768, "light"), (1366, 768, "dark"))
PLAN_STEPS = ("tools", "articles", "bolt", "calibration", "protocol", "sheet")
_JUDGE = Path(__file__).with_suffix(".js").read_text()
_THUMB_PX = (300, 420)
_ACROSS = 4 * len(PICTURED)
_LOOK_S = 60.0
_MISSING = "/no-such-page"


def main(workspace: Path, folder: Path, only: str = "") -> int:
    """Walk, print what was found, write `tour.png`; the count of what was found."""
    folder.mkdir(parents=True, exist_ok=True)
    found: dict[str, list[str]] = {}
    with serving(workspace) as server, sync_playwright() as play:
        browser = play.chromium.launch(executable_path=CHROMIUM, args=FLAGS)
        for dots in (1, 2):
            for where, complaint in walk(browser, server, folder, dots, only):
                found.setdefault(complaint, []).append(where)
        browser.close()
        log = server.log.read_text()
    for complaint, where in sorted(found.items()):
        print(f"{complaint}\n    {where[0]} and {len(where) - 1} more")
    if "Traceback" in log:
        print(log)
        found["the server's log has a traceback"] = []
    contact_sheet(folder)
    print(f"{len(found)} things found; {folder / 'tour.png'}")
    return len(found)


def walk(browser: Browser, server: Server, folder: Path, dots: int, only: str) -> Iterator[tuple[str, str]]:
    """Every page in every size and light: where, and what is wrong there."""
    context = browser.new_context(device_scale_factor=dots)
    page = context.new_page()
    said: list[str] = []
    page.on("console", lambda message: said.append(f"console: {message.text}"))
    page.on("pageerror", lambda error: said.append(f"console: {error}"))
    for path in addresses(page, server):
        if only not in path:
            continue
        page.set_viewport_size({"width": 1366, "height": 768})
        page.goto(server.address + path, wait_until="load")
        settle(page, _LOOK_S)
        for (width, height), light in product(SIZES, ("light", "dark")):
            page.set_viewport_size({"width": width, "height": height})
            page.emulate_media(color_scheme=light)
            settle(page, _LOOK_S)
            for complaint in page.evaluate(f"({_JUDGE})({str(width <= PHONE_PX).lower()})"):
                yield f"{path} {width} {light} x{dots}", complaint
            if dots == 1 and (width, height, light) in PICTURED:
                name = path.strip("/").split("?")[0].replace("/", "-") or "start"
                step = path.partition("step=")[2].split("&")[0]
                page.screenshot(
                    path=folder / f"{name}{'-' if step else ''}{step}-{width}-{light}.jpg",
                    full_page=True,
                    type="jpeg",
                    quality=70,
                )
        missing = path == _MISSING  # the browser says itself that there is no such page
        yield from ((path, each) for each in said if not missing or "404" not in each)
        said.clear()
    context.close()


def addresses(page: Page, server: Server) -> list[str]:
    """Every page that the navigation leads to, with the steps and the leaves below them."""
    page.goto(server.address + "/", wait_until="load")
    links = "each => each.map(each => each.getAttribute('href'))"
    found: list[str] = page.eval_on_selector_all("nav[aria-label=Pages] a", links)
    for parent, leaf in (
        ("/runs", "main a[href^='/run?']"),
        ("/design", "main a[href*='step=']"),
        ("/plan", "main a[href*='step=']"),
        ("/articles", "main a[href^='/articles?']"),
        ("/page", "main a[href^='/paper'], main a[href^='/handout']"),
    ):
        page.goto(server.address + next(each for each in found if each.startswith(parent)), wait_until="load")
        settle(page, _LOOK_S)
        leaves = page.eval_on_selector_all(leaf, links)
        found += list(dict.fromkeys(leaves[:1] if "step" not in leaf and parent != "/page" else leaves))
    return list(dict.fromkeys([*found, _MISSING]))


def contact_sheet(folder: Path) -> None:
    """All pictures side by side, a page at a time."""
    names = sorted(each for each in folder.glob("*.jpg"))
    if not names:
        return
    across = _ACROSS
    wide, high = _THUMB_PX
    rows = -(-len(names) // across)
    sheet = Image.new("RGB", (across * wide, rows * (high + 16)), "white")
    pen = ImageDraw.Draw(sheet)
    for place, name in enumerate(names):
        left, top = place % across * wide, place // across * (high + 16)
        with Image.open(name) as whole:
            top_of_it = whole.crop((0, 0, whole.width, min(whole.height, 2 * whole.width)))
            top_of_it.thumbnail(_THUMB_PX)
            sheet.paste(top_of_it, (left, top + 16))
        pen.text((left + 2, top + 2), name.stem, fill="black")
    sheet.save(folder / "tour.png")


if __name__ == "__main__":
    sys.exit(1 if main(Path(sys.argv[1]), Path(sys.argv[2]), *sys.argv[3:4]) else 0)
