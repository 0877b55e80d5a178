"""Signing in by the printed address and by the form, looking without changing anything, and signing out."""

from __future__ import annotations

from pathlib import Path
from urllib.parse import quote

import pytest
from playwright.sync_api import Browser, Page, expect
from tests.browser.web_bench import serving, settle

pytestmark = pytest.mark.browser

TOKEN = "sixteen letters; and more % of it"
LOOK = "sixteen letters to look"


def _files(folder: Path) -> list[str]:
    return sorted(str(path.relative_to(folder)) for path in folder.rglob("*") if path.is_file())


def _start_a_campaign(page: Page, address: str) -> None:
    page.goto(f"{address}/plan")
    settle(page)
    page.get_by_placeholder("such as track rollers").fill("rollers")
    page.get_by_role("button", name="Start", exact=True).click()


def test_who_looks_presses_in_vain_and_who_signed_in_wholly_does_not(
    chromium: Browser, tmp_path: Path
) -> None:
    lab = tmp_path / "lab"
    lab.mkdir()
    with (
        serving(lab, "--password", TOKEN, "--look-password", LOOK) as server,
        chromium.new_context() as context,
    ):
        page = context.new_page()
        page.goto(server.address)
        expect(page).to_have_url(f"{server.address}/sign-in")
        page.get_by_label("Password").fill(LOOK)
        page.get_by_role("button", name="Sign in").click()
        expect(page.get_by_text("You are looking only")).to_be_visible()
        before = _files(lab)
        _start_a_campaign(page, server.address)
        page.wait_for_timeout(500)
        assert page.url == f"{server.address}/plan" and _files(lab) == before
        page.get_by_role("button", name="Sign out").click()
        expect(page).to_have_url(f"{server.address}/sign-in")
        page.goto(f"{server.address}/sign-in#{quote(TOKEN, safe='')}")
        expect(page.get_by_role("heading", name="Start")).to_be_visible()
        _start_a_campaign(page, server.address)
        page.wait_for_url("**/plan?*step=tools*")
        assert _files(lab) != before
