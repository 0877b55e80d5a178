"""Every page that looks at a campaign: readable by all, quiet, local, at three widths, light and dark."""

from __future__ import annotations

import socket
import time
from collections.abc import Iterator
from pathlib import Path

import httpx
import pytest
from playwright.sync_api import Browser, expect
from tests.browser.web_bench import (
    Server,
    axe_faults,
    look_through,
    picture,
    pictures_folder,
    serving,
    small_targets,
    watching,
)

from strikeproof.desk.setting_up.editor import start_set_up
from strikeproof.web.navigation import present

pytestmark = pytest.mark.browser

RINGS = "campaign=simulated+rings"
PAGES = {
    "start": "/",
    "calibration": "/calibration",
    "runs": "/runs",
    "run": "/run?run=r010",
    "run-set-aside": "/run?run=r043",
    "comparison": "/comparison",
    "not-explained": "/explanation",
    "explanation": f"/explanation?{RINGS}",
    "page": "/page",
    "lost": "/run?run=r0000",
}
NEEDY = ("start", "calibration", "runs", "comparison", "not-explained", "page")
"""Pages that have nothing to show in an empty workspace."""


@pytest.fixture(scope="module")
def empty(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Server]:
    with serving(tmp_path_factory.mktemp("empty") / "workspace") as server:
        yield server


@pytest.mark.parametrize("name", PAGES)
def test_a_page_is_readable_by_all_quiet_and_local(chromium: Browser, demo: Server, name: str) -> None:
    with watching(chromium, demo, viewport={"width": 1024, "height": 768}) as watched:
        page = watched.go(PAGES[name])
        assert page.locator("main .simulated").first.is_visible()  # all that is shown here was invented
        expect(page.locator("main .error")).to_have_count(1 if name == "lost" else 0)
        look_through(watched, name)


def test_an_empty_workspace_says_what_to_do(chromium: Browser, empty: Server) -> None:
    with watching(chromium, empty, viewport={"width": 360, "height": 780}) as watched:
        for name in NEEDY:
            page = watched.go(PAGES[name])
            expect(page.locator(".empty h2")).to_have_count(1)
            assert page.locator("main .button, main input[type=file]").count() >= 1
            for light in ("light", "dark"):
                page.emulate_media(color_scheme=light)
                picture(page, pictures_folder(), f"empty-{name}-{light}")
            assert axe_faults(page) == []


def test_a_campaign_that_is_only_planned_is_in_the_list(chromium: Browser, tmp_path: Path) -> None:
    start_set_up(tmp_path / "lab", "Track rollers", {"campaign": {"simulated": True}})
    with serving(tmp_path / "lab") as server, watching(chromium, server) as watched:
        for each in present():
            page = watched.go(f"{each.path}?campaign=Track+rollers")
            assert page.locator("main .simulated").is_visible(), each.path
        assert watched.go("/plan?shelf=1&campaign=Track+rollers").locator(".card .simulated").is_visible()
        assert watched.go("/articles").url.endswith("set_up=track-rollers")
        page = watched.go("/")
        assert "to fill in or fix" in page.locator(".card", has_text="Track rollers").inner_text()
        page.get_by_role("link", name="Go on planning").click()
        expect(page.locator(".plan-steps")).to_be_visible()
        page = watched.go("/runs")
        assert page.locator("[data-campaign]").input_value() == "Track rollers"
        assert "Track rollers is only planned so far" in page.locator(".empty").inner_text()
        page.get_by_role("link", name="Go on planning").click()
        expect(page.locator(".plan-steps")).to_be_visible()


def test_a_campaign_from_another_folder_is_not_passed_over(chromium: Browser, demo: Server) -> None:
    with watching(chromium, demo) as watched:
        for path in ("/plan?shelf=1", "/articles"):
            card = watched.go(path).locator(".card", has_text="simulated rings")
            assert "It was loaded from" in card.inner_text() and "campaign.toml" in card.inner_text(), path


def test_an_error_tells_what_and_the_fix(chromium: Browser, demo: Server) -> None:
    with watching(chromium, demo) as watched:
        page = watched.go("/run?run=r01")
        assert "No run 'r01'" in page.locator(".error .what").inner_text()
        assert "did you mean" in page.locator(".error .fix").inner_text()
        assert "no campaign" in watched.go("/runs?campaign=nothing").locator(".error").inner_text().lower()


def test_a_keyboard_reaches_the_page_past_the_navigation(chromium: Browser, demo: Server) -> None:
    with watching(chromium, demo, viewport={"width": 1024, "height": 768}) as watched:
        page = watched.go("/runs")
        page.keyboard.press("Tab")
        assert page.evaluate("document.activeElement.className") == "skip"
        assert page.locator(".skip").bounding_box()["x"] >= 0  # type: ignore[index]  # it is there
        page.keyboard.press("Enter")
        page.keyboard.press("Tab")
        assert page.evaluate("document.querySelector('main').contains(document.activeElement)")
        ring = page.evaluate("getComputedStyle(document.activeElement).outlineWidth")
        assert float(ring.removesuffix("px")) >= 2


def test_a_phone_opens_its_menu_and_escape_closes_it(chromium: Browser, demo: Server) -> None:
    with watching(chromium, demo, viewport={"width": 360, "height": 780}) as watched:
        page = watched.go("/runs")
        assert not page.get_by_role("link", name="Comparison").is_visible()
        page.get_by_role("button", name="Menu").click()
        assert page.get_by_role("link", name="Comparison").is_visible()
        assert small_targets(page) == []
        assert axe_faults(page) == []
        page.keyboard.press("Escape")
        assert not page.get_by_role("link", name="Comparison").is_visible()
        page.get_by_role("button", name="Menu").click()
        page.get_by_role("link", name="Comparison").click()
        page.wait_for_url("**/comparison*")


def test_a_difference_is_judged_as_it_is_typed(chromium: Browser, demo: Server) -> None:
    with watching(chromium, demo) as watched:
        page = watched.go("/comparison")
        page.get_by_role("textbox", name="Difference").fill("mean(ring-27, thick-wall-27) - plain-27")
        page.get_by_role("button", name="Work it out").click()
        said = page.get_by_text("“mean(ring-27, thick-wall-27) - plain-27” is higher by").first
        said.wait_for(timeout=60_000)
        page.get_by_role("textbox", name="Difference").fill("ring-72 - plain-27")
        page.get_by_role("button", name="Work it out").click()
        page.get_by_text("No article 'ring-72'").wait_for(timeout=60_000)
        # The pieces of the demonstration took turns, and it is one bench alone.
        page.get_by_label("Before the change").select_option("ring-27")
        page.get_by_label("After the change").select_option("thick-wall-27")
        page.get_by_role("button", name="Compare the two states").click()
        page.get_by_text("Runs of ring-27 and thick-wall-27 are mixed in time").first.wait_for(timeout=60_000)
        page.get_by_role("button", name="Show the tool").click()
        page.get_by_text("This is no test by it").first.wait_for(timeout=60_000)
        page.get_by_label("Not to be missed").fill("a lot")
        page.get_by_role("button", name="Count the blocks").click()
        page.get_by_text("a lot").first.wait_for(timeout=60_000)
        page.get_by_role("button", name="Compare benches").click()
        page.get_by_text("Fewer than 3 benches say nothing of the next one.").first.wait_for(timeout=60_000)


def test_the_chosen_light_holds_on_every_page_from_its_first_picture(chromium: Browser, demo: Server) -> None:
    with watching(chromium, demo, color_scheme="light") as watched:
        page = watched.go("/runs")
        page.get_by_label("Dark").check()
        dark = "rgb(17, 25, 29)"
        assert page.evaluate("getComputedStyle(document.body).backgroundColor") == dark
        page.add_init_script(
            "new MutationObserver(() => { if (document.body && !window.first) window.first = "
            "getComputedStyle(document.documentElement).getPropertyValue('--paper'); })"
            ".observe(document, {childList: true, subtree: true});"
        )
        page = watched.go("/comparison")
        assert page.evaluate("window.first").strip() == "#11191d"
        assert page.evaluate("getComputedStyle(document.body).backgroundColor") == dark


def test_nothing_jumps_while_a_page_comes(chromium: Browser, demo: Server) -> None:
    """Cumulative layout shift below 0.1, the usual bound of a good page."""
    with watching(chromium, demo, viewport={"width": 1024, "height": 768}) as watched:
        watched.page.add_init_script(
            "window.shifted = 0; new PerformanceObserver((list) => { for (const each of list.getEntries()) "
            "if (!each.hadRecentInput) window.shifted += each.value; })"
            ".observe({type: 'layout-shift', buffered: true});"
        )
        for path in ("/", "/runs", "/run?run=r010"):
            assert watched.go(path).evaluate("window.shifted") < 0.1, path


def test_who_wants_less_motion_gets_none(chromium: Browser, demo: Server) -> None:
    with watching(chromium, demo, reduced_motion="reduce") as watched:
        page = watched.go("/run?run=r010")
        moving = page.evaluate(
            "[...document.querySelectorAll('body *')].filter(each => { const style = getComputedStyle(each);"
            "return parseFloat(style.transitionDuration) > 0 || style.animationName !== 'none'; }).length"
        )
        assert moving == 0


def test_a_place_is_never_filled_from_another_campaign(demo: Server) -> None:
    for path in ("comparison", "answer", "change", "tool", "enough", "elsewhere"):
        answer = httpx.get(f"{demo.address}/data/filled/{path}?campaign=nothing&difference=a+-+b", timeout=60)
        assert answer.status_code == 404 and "no campaign 'nothing'" in answer.json()["problem"]


@pytest.mark.parametrize("path", ["/comparison", "/page", "/record", "/run?run=r010"])
def test_a_plain_page_compiles_no_script(demo: Server, path: str) -> None:
    answer = httpx.get(demo.address + path, timeout=60)
    assert answer.status_code == 200
    policy = answer.headers["content-security-policy"]
    assert "script-src 'self';" in policy and "unsafe-eval" not in policy


@pytest.mark.parametrize(
    "path",
    ["/run/exclude?run=r010", "/run/log?run=r010", "/published/bundle", "/published/clip", "/published/film"],
)
def test_what_is_pressed_on_a_plain_page_is_pressed_on_no_other(demo: Server, path: str) -> None:
    for origin in ({}, {"origin": "http://evil.example"}):
        answer = httpx.post(demo.address + path, data={"why": "from elsewhere"}, headers=origin, timeout=60)
        assert answer.status_code == 403, path


def test_charts_that_nobody_waits_for_hold_up_nobody(demo: Server) -> None:
    host, port = demo.address.removeprefix("http://").split(":")
    for number in range(60):
        with socket.create_connection((host, int(port)), timeout=20) as wire:
            ask = f"GET /data/chart/left-{number}.svg HTTP/1.1\r\nHost: {host}:{port}\r\n\r\n"
            wire.sendall(ask.encode())
    before, answer = time.monotonic(), None
    while time.monotonic() - before < 60.0:
        answer = httpx.get(f"{demo.address}/data/chart/scores.svg", timeout=60)
        if answer.status_code != 503:
            break
        assert int(answer.headers["retry-after"]) and "under way" in answer.json()["problem"]
        time.sleep(0.5)
    assert answer is not None and answer.status_code in (200, 404)
    assert time.monotonic() - before < 30.0
