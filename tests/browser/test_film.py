"""The film of a blow in a real browser: it runs, stops, is stepped, and fits a phone, light and dark."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path

import pytest
from playwright.sync_api import Browser, Page
from tests.unit.publish.blow.bench import case

from strikeproof.publish.blow import film_page, film_svg, set_scene

pytestmark = pytest.mark.browser

SCENE = set_scene(case().story, "air wrench, ring socket, blow 8")


@pytest.fixture(scope="module")
def film(tmp_path_factory: pytest.TempPathFactory) -> Path:
    folder = tmp_path_factory.mktemp("film")
    narrow = set_scene(case().story, SCENE.whose, narrow=True)
    (folder / "film.html").write_text(film_page(SCENE, narrow), encoding="utf-8")
    (folder / "film.svg").write_text(film_svg(SCENE), encoding="utf-8")
    return folder


@pytest.fixture
def page(chromium: Browser, film: Path) -> Iterator[Page]:
    context = chromium.new_context(viewport={"width": 1000, "height": 900})
    opened = context.new_page()
    errors: list[str] = []
    opened.on("pageerror", lambda error: errors.append(str(error)))
    opened.goto((film / "film.html").as_uri())
    yield opened
    assert errors == []
    context.close()


def test_the_slider_shows_the_angle_of_its_frame(page: Page) -> None:
    frame = 90
    page.locator("#time").fill(str(frame))
    turned = page.evaluate(
        """() => {
        const ring = document.querySelector('.wide animateTransform[type=rotate]').parentNode;
        const turn = ring.transform.animVal[0];
        return turn.angle;
    }"""
    )
    assert turned == pytest.approx(SCENE.turns[frame, 0], abs=0.15)
    assert f"{SCENE.clock.times[frame]:.3f} ms" in page.locator("#read").inner_text()


def test_it_runs_and_stops(page: Page) -> None:
    page.locator("#play").click()
    assert page.locator("#play").inner_text() == "Play"
    stopped = page.locator("#time").input_value()
    page.wait_for_timeout(200)
    assert page.locator("#time").input_value() == stopped
    page.locator("#play").click()
    page.wait_for_timeout(400)
    assert page.locator("#time").input_value() != stopped


def test_an_event_is_jumped_to(page: Page) -> None:
    event = next(each for each in case().story.events if each.words == "hexagon closes")
    page.get_by_role("button", name="hexagon closes").click()
    now = float((page.locator(".wide .now").text_content() or "").removesuffix(" ms"))
    assert event.time <= now < event.time + 2.0 * SCENE.story.end / 160
    seen = page.evaluate(
        """() => [...document.querySelectorAll('.wide text')]
        .filter(text => getComputedStyle(text).visibility === 'visible').map(text => text.textContent)"""
    )
    assert f"{event.time:.2f} ms  hexagon closes" in seen


def test_a_phone_shows_the_narrow_film_without_sideways_scrolling(chromium: Browser, film: Path) -> None:
    context = chromium.new_context(viewport={"width": 360, "height": 800}, color_scheme="dark")
    phone = context.new_page()
    phone.goto((film / "film.html").as_uri())
    assert phone.locator("svg.narrow").is_visible() and not phone.locator("svg.wide").is_visible()
    assert phone.evaluate("document.documentElement.scrollWidth") <= 360
    assert phone.evaluate("getComputedStyle(document.body).backgroundColor") == "rgb(17, 25, 29)"
    context.close()


def test_who_wants_no_motion_gets_a_standing_picture(chromium: Browser, film: Path) -> None:
    context = chromium.new_context(reduced_motion="reduce")
    still = context.new_page()
    still.goto((film / "film.html").as_uri())
    assert still.locator("#play").inner_text() == "Play"
    assert still.evaluate("document.querySelector('svg.wide').animationsPaused()")
    context.close()


def test_the_bare_drawing_moves_by_itself(chromium: Browser, film: Path) -> None:
    context = chromium.new_context()
    bare = context.new_page()
    bare.goto((film / "film.svg").as_uri())
    angle = (
        "() => document.querySelector('animateTransform[type=rotate]').parentNode.transform.animVal[0].angle"
    )
    bare.evaluate("document.documentElement.setCurrentTime(1.2)")
    first = bare.evaluate(angle)
    bare.evaluate("document.documentElement.setCurrentTime(3.0)")
    assert bare.evaluate(angle) != first
    context.close()
