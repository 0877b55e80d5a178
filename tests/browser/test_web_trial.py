"""A trial on simulated data: made by one press, in a workspace of its own, and thrown away by another."""

from __future__ import annotations

from pathlib import Path

import pytest
from playwright.sync_api import Browser, expect
from tests.browser.web_bench import serving, settle, watching

pytestmark = [pytest.mark.browser, pytest.mark.long]


def test_a_trial_touches_no_campaign_of_a_person_and_goes(
    chromium: Browser, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setenv("TMPDIR", str(tmp_path))
    with serving(tmp_path / "lab") as server, watching(chromium, server) as watched:
        page = watched.go("/")
        page.get_by_role("button", name="Try it with simulated data").click()
        link = page.get_by_role("link", name="Open the trial")
        expect(link).to_be_visible(timeout=120_000)
        with page.context.expect_page() as opened:
            link.click()
        beside = opened.value
        beside.wait_for_load_state()
        expect(beside.locator(".card h2")).to_have_count(1)
        expect(beside.locator(".simulated").first).to_have_text("Simulated runs")
        expect(beside.get_by_role("button", name="Try it with simulated data")).to_have_count(0)
        beside.close()
        page.reload()
        settle(page)
        expect(page.locator(".empty h2")).to_have_text("Nothing here yet")
        page.get_by_role("button", name="Throw it away").click()
        page.locator("dialog[open] .primary").click()
        expect(page.get_by_role("button", name="Try it with simulated data")).to_be_visible()
        assert list(tmp_path.glob("strikeproof-trial-*")) == []
