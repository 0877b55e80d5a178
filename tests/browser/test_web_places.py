"""Places that fill themselves: what a stop, an error and a second press do to them."""

from __future__ import annotations

from functools import partial

import pytest
from playwright.sync_api import Browser, Route, expect
from tests.browser.web_bench import Server, watching

pytestmark = pytest.mark.browser

SCREEN = {"width": 1280, "height": 900}


def _hold(held: list[Route], route: Route) -> None:
    held.append(route)


def test_a_look_up_that_is_stopped_claims_nothing_and_leaves_the_buttons(
    chromium: Browser, demo: Server
) -> None:
    with watching(chromium, demo, viewport=SCREEN) as watched:
        held: list[Route] = []
        page = watched.page
        page.route("**/data/filled/explanation*", partial(_hold, held))  # not answered
        page.goto(f"{demo.address}/explanation")
        page.locator("#why > .working").get_by_role("button", name="Stop").click()
        expect(page.locator("#why > .notice")).to_have_text("Stopped.")
        expect(page.get_by_role("button", name="Start again")).to_be_visible()
        expect(page.get_by_role("button", name="Explain thoroughly")).to_be_visible()


def test_a_form_is_sent_once_and_read_again_after_an_error(chromium: Browser, demo: Server) -> None:
    """The same form by POST and by GET; what is sent is answered here in the server's stead."""
    asked: list[str] = []
    error = {"body": '{"error": "wrong"}\n', "content_type": "application/x-ndjson"}
    with watching(chromium, demo, viewport=SCREEN) as watched:
        page = watched.page
        page.route(
            "**/data/filled/answer?*", lambda route: (asked.append(route.request.url), route.fulfill(**error))
        )
        page = watched.go("/comparison")
        typed = page.locator("form[data-fills=answer] [name=difference]")
        typed.fill("first")
        page.get_by_role("button", name="Work it out").click()
        expect(page.locator("#answer > .error")).to_have_text("wrong")
        typed.fill("second")
        page.get_by_role("button", name="Try again").click()
        expect(page.locator("#answer > .error")).to_have_text("wrong")
        assert [url.split("difference=")[1] for url in asked] == ["first", "second"]
        held: list[Route] = []
        page.route("**/data/filled/held", partial(_hold, held))
        page.locator("form[data-fills=answer]").evaluate(
            "form => { form.method = 'post'; form.action = '/data/filled/held';"
            " form.requestSubmit(); form.requestSubmit(); }"
        )
        expect(page.locator("#answer > .working")).to_have_count(1)
        page.wait_for_timeout(200)
        assert len(held) == 1
        held[0].fulfill(body='{"markup": "<p>answered</p>"}\n')
        expect(page.locator("#answer")).to_have_text("answered")
        # What was answered stays marked under an error.
        typed.fill("third")
        page.locator("form[data-fills=answer]").evaluate(
            "form => { form.method = 'get'; form.action = '/data/filled/answer'; }"
        )
        page.get_by_role("button", name="Work it out").click()
        expect(page.locator("#answer > .error")).to_have_text("wrong")
        expect(page.locator("#answer > .stale")).to_have_text("answered")
