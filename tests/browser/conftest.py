"""The browser, and the demo campaign behind a running server, once for all tests of the web front."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path

import pytest
from playwright.sync_api import Browser, sync_playwright
from tests.browser.web_bench import FLAGS, Server, serving

from strikeproof.desk.demo import make_demo
from strikeproof.desk.load import load_campaign


@pytest.fixture(scope="session")
def chromium() -> Iterator[Browser]:
    with sync_playwright() as play:
        browser = play.chromium.launch(executable_path="/usr/bin/chromium", args=FLAGS)
        yield browser
        browser.close()


@pytest.fixture(scope="session")
def demo_folder(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """The campaign folder of the demo, logs and all."""
    folder = tmp_path_factory.mktemp("demo") / "campaign"
    make_demo(folder, 13)
    return folder


@pytest.fixture(scope="session")
def demo(demo_folder: Path, tmp_path_factory: pytest.TempPathFactory) -> Iterator[Server]:
    """A server on the demo campaign. Tests leave it as they found it."""
    workspace = tmp_path_factory.mktemp("served") / "workspace"
    load_campaign(demo_folder, workspace)
    with serving(workspace) as server:
        yield server
