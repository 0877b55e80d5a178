"""What the tests of the web front share: the real server process, and a browser page that is watched."""

from __future__ import annotations

import os
import re
import shutil
import signal
import subprocess
import sys
from collections.abc import Iterator, Mapping, Sequence
from contextlib import contextmanager
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

from axe_playwright_python.sync_playwright import Axe
from playwright.sync_api import Browser, Page

CHROMIUM = shutil.which("chromium-headless-shell") or "/usr/bin/chromium"
FLAGS = ["--no-sandbox", "--disable-gpu", "--disable-background-networking"]
WIDTHS = {360: 780, 1024: 768, 2560: 1440}
"""Widths of a phone, a tablet and a large screen, with their heights."""
WCAG = ["wcag2a", "wcag2aa", "wcag21a", "wcag21aa", "wcag22aa"]

_END_S = 20
_ASK_S = 0.05
_SERVE = """
from strikeproof.cli import main
from strikeproof.desk.workspace.parent_watch import end_with_parent
end_with_parent()  # also when the tests are killed
main()
"""


@dataclass(frozen=True)
class Server:
    """A running server: where it answers, its workspace, and where it writes what goes wrong."""

    address: str
    workspace: Path
    log: Path
    process: subprocess.Popen[str]

    def kill(self) -> None:
        """End it as a power cut would."""
        self.process.kill()
        self.process.wait(_END_S)


@contextmanager
def serving(workspace: Path, *options: str) -> Iterator[Server]:
    """The real server on a workspace, until the end of the block."""
    log = workspace.parent / f"{workspace.name}-server.log"
    with log.open("a") as errors:
        process = subprocess.Popen(
            [sys.executable, "-c", _SERVE, "serve", "-w", str(workspace), "--web-port", "0", *options],
            stdout=subprocess.PIPE,
            stderr=errors,
            text=True,
        )
        assert process.stdout is not None
        address = process.stdout.readline().strip()
        assert address.startswith("http"), log.read_text()
        try:
            yield Server(address.split("sign-in")[0].rstrip("/"), workspace, log, process)
        finally:
            if process.poll() is None:
                process.send_signal(signal.SIGINT)
                try:
                    process.wait(_END_S)
                except subprocess.TimeoutExpired:
                    process.kill()
                    raise
            process.stdout.close()


@dataclass
class Watched:
    """A browser page that remembers all that it should not have done."""

    page: Page
    address: str
    said: list[str] = field(default_factory=list)
    asked: list[str] = field(default_factory=list)

    def go(self, path: str) -> Page:
        """Open a page of the server and wait until its long work is done."""
        self.page.goto(self.address + path, wait_until="load")
        settle(self.page)
        return self.page

    def check(self) -> None:
        """No word on the console, and no request to any other host."""
        assert self.said == []
        assert self.asked == []


@contextmanager
def watching(browser: Browser, server: Server, **options: Any) -> Iterator[Watched]:
    """A page of its own context; what it did is checked at the end."""
    context = browser.new_context(**options)
    page = context.new_page()
    watched = Watched(page, server.address)
    page.on("console", lambda message: watched.said.append(f"{message.type}: {message.text}"))
    page.on("pageerror", lambda error: watched.said.append(str(error)))
    local = (server.address, server.address.replace("http", "ws", 1), "data:", "blob:", "about:")
    page.on(
        "request",
        lambda request: None if request.url.startswith(local) else watched.asked.append(request.url),
    )
    page.on("websocket", lambda wire: None if wire.url.startswith(local) else watched.asked.append(wire.url))
    try:
        yield watched
        watched.check()
    finally:
        context.close()


def settle(page: Page, wait_s: float = 180.0) -> None:
    """Wait until no long work is shown."""
    until(page, "!document.querySelector('.working')", wait_s)
    until(page, "!document.querySelector('.trace-chart[data-ready=false]')", 20.0)
    page.evaluate("new Promise((done) => requestAnimationFrame(() => requestAnimationFrame(done)))")


def until(page: Page, condition: str, wait_s: float) -> None:
    """Wait for a condition, asked from outside: a page that compiles no scripts cannot ask itself."""
    for _ in range(int(wait_s / _ASK_S)):
        if page.evaluate(condition):
            return
        page.wait_for_timeout(1000 * _ASK_S)
    raise AssertionError(f"{page.url}: never came {condition}")


def axe_faults(page: Page) -> list[str]:
    """What breaks WCAG 2.2 AA on the page as it stands, by the automatic rules."""
    found = Axe().run(page, options={"runOnly": {"type": "tag", "values": WCAG}, "iframes": False})
    return [
        f"{fault['id']}: {node['target']} {node['failureSummary'][:200]}"
        for fault in found.response["violations"]
        for node in fault["nodes"]
    ]


def picture(page: Page, folder: Path | None, name: str) -> None:
    """Keep a picture of the whole page, where there is a folder for it."""
    if folder is not None:
        word = re.sub(r"[^a-z0-9-]+", "-", name.lower()).strip("-")
        page.screenshot(path=folder / f"{word}.png", full_page=True)


def pictures_folder() -> Path | None:
    """Where pictures are kept, `$STRIKEPROOF_PICTURES`; None where nobody wants them."""
    named = os.environ.get("STRIKEPROOF_PICTURES")
    folder = Path(named) if named else None
    if folder is not None:
        folder.mkdir(parents=True, exist_ok=True)
    return folder


def look_through(watched: Watched, name: str, widths: Mapping[int, int] = WIDTHS) -> None:
    """Look at the page as it stands in every width, and take its pictures, light and dark, where wanted.

    Nothing scrolls sideways and nothing to press is too small at any width; the automatic rules of WCAG hold
    on a phone in the dark and on a tablet in the light.
    """
    page, folder = watched.page, pictures_folder()
    for width, height in widths.items():
        page.set_viewport_size({"width": width, "height": height})
        judged = {360: "dark", 1024: "light"}.get(width)
        for light in ("light", "dark") if folder else (judged or "light",):
            page.emulate_media(color_scheme=light)
            settle(page)
            picture(page, folder, f"{name}-{width}-{light}")
            if light == judged:
                assert axe_faults(page) == []
        until(page, f"document.documentElement.scrollWidth <= {width}", 5.0)
        assert small_targets(page) == []


def small_targets(page: Page, within: str = "body") -> list[str]:
    """What can be pressed and is smaller than 44 px in either direction, but for links inside sentences.

    WCAG 2.5.5 asks 44 px (2.5.8 asks 24 px); a link in a sentence or a table is excepted there.
    """
    found: Sequence[str] = page.evaluate(
        """(within) => [...document.querySelectorAll(
          within + ' :is(button, select, input, summary, .button, nav a)')]
        .filter(each => each.checkVisibility() && !each.closest('thead, .skip'))
        .map(each => [each, (each.matches('[type=radio], [type=checkbox]') ? each.closest('label') : each)
          .getBoundingClientRect()])
        .filter(([_, box]) => box.width < 43.5 || box.height < 43.5)
        .map(([each, box]) => `${each.outerHTML.slice(0, 90)} ${box.width} x ${box.height}`)""",
        within,
    )
    return list(found)
