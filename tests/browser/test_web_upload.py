"""A campaign folder comes into the workspace as a ZIP file, with everything that is wrong with it said."""

from __future__ import annotations

import zipfile
from pathlib import Path

import pytest
from playwright.sync_api import Browser, expect
from tests.browser.web_bench import serving, settle, watching

pytestmark = pytest.mark.browser

SCREEN = {"width": 1280, "height": 900}


def _packed(folder: Path, into: Path, *, without: str = "") -> Path:
    with zipfile.ZipFile(into, "w", zipfile.ZIP_DEFLATED) as archive:
        for path in sorted(folder.rglob("*")):
            if path.is_file() and path.name != without:
                archive.write(path, f"bench/{path.relative_to(folder)}")
    return into


def _small(demo_folder: Path, folder: Path) -> Path:
    """The demo's slow blocks alone: few and small logs."""
    (folder / "logs").mkdir(parents=True)
    for name in ("campaign.toml", "calibration.csv"):
        (folder / name).write_bytes((demo_folder / name).read_bytes())
    lines = (demo_folder / "runs.csv").read_text().splitlines()
    head = next(place for place, line in enumerate(lines) if line.startswith("run"))
    kept = [*lines[: head + 1], *lines[-12:]]
    (folder / "runs.csv").write_text("\n".join(kept) + "\n")
    for log in (demo_folder / "logs").iterdir():
        if any(log.name in line for line in kept):
            (folder / "logs" / log.name).write_bytes(log.read_bytes())
    return folder


def test_a_campaign_folder_comes_as_a_zip_file(chromium: Browser, demo_folder: Path, tmp_path: Path) -> None:
    folder = _small(demo_folder, tmp_path / "small")
    spoiled = next((folder / "logs").iterdir()).name
    archive = _packed(folder, tmp_path / "bench.zip", without=spoiled)
    (tmp_path / "lab").mkdir()
    with serving(tmp_path / "lab") as server, watching(chromium, server, viewport=SCREEN) as watched:
        page = watched.go("/")
        page.locator("input[type=file]").set_input_files(archive)
        expect(page.get_by_text("11 runs loaded")).to_be_visible(timeout=60_000)
        assert spoiled in page.locator(".error").inner_text()
        page.get_by_role("link", name="Look at its runs").click()
        page.wait_for_url("**/runs*")
        settle(page)
        expect(page.locator("tbody tr")).to_have_count(11)
        page = watched.go("/")
        page.locator("input[type=file]").set_input_files(archive)
        expect(page.locator(".error")).to_contain_text("is in this workspace already", timeout=60_000)
        assert list((tmp_path / "lab" / "incoming").iterdir()) == []
        page.get_by_role("button", name="Load it").click()
        expect(page.get_by_text("11 unchanged")).to_be_visible(timeout=60_000)


def test_an_archive_that_reaches_out_is_refused(chromium: Browser, tmp_path: Path) -> None:
    bad = tmp_path / "bad.zip"
    with zipfile.ZipFile(bad, "w") as archive:
        archive.writestr("bench/campaign.toml", "")
        archive.writestr("bench/../../escaped.txt", "out")
    (tmp_path / "lab").mkdir()
    with serving(tmp_path / "lab") as server, watching(chromium, server, viewport=SCREEN) as watched:
        page = watched.go("/")
        page.locator("input[type=file]").set_input_files(bad)
        expect(page.locator(".error")).to_contain_text("no plain file", timeout=60_000)
    assert not list(tmp_path.rglob("escaped.txt"))
