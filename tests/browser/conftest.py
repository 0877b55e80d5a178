"""The browser, and a prepared workspace behind a running server, once for all tests of the web front."""

from __future__ import annotations

import os
import shutil
from collections.abc import Iterator
from pathlib import Path

import pytest
from playwright.sync_api import Browser, sync_playwright
from tests.browser.record_bench import fast_rig, make_lab
from tests.browser.web_bench import CHROMIUM, FLAGS, Server, serving
from tests.made_once import copy_results, explained_rings, made_once
from tests.unit.desk.scores import Bench, write_folder

from strikeproof.desk.demo import make_demo
from strikeproof.desk.loading.load import load_campaign
from strikeproof.desk.runs.run_list import make_run_list
from strikeproof.desk.simulating.rig_process import RigProcess


@pytest.fixture(scope="module")
def chromium() -> Iterator[Browser]:
    """A browser for one file of tests: while it lives, its event loop is the only one in this process."""
    with sync_playwright() as play:
        browser = play.chromium.launch(executable_path=CHROMIUM, args=FLAGS)
        yield browser
        browser.close()


@pytest.fixture(scope="session")
def prepared(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A folder with the demo's `campaign`, and a `workspace` that holds it, scored, and an explained one."""
    rings = explained_rings(tmp_path_factory)

    def make(folder: Path) -> None:
        make_demo(folder / "campaign", 13)
        load_campaign(folder / "campaign", folder / "workspace")
        make_run_list(folder / "workspace", None)
        load_campaign(write_folder(folder / "rings", Bench()), folder / "workspace")
        copy_results(rings, folder / "workspace")

    return made_once(tmp_path_factory, "prepared", make)


@pytest.fixture(scope="session")
def demo_folder(prepared: Path) -> Path:
    """The campaign folder of the demo, logs and all."""
    return prepared / "campaign"


@pytest.fixture(scope="session")
def demo(prepared: Path, tmp_path_factory: pytest.TempPathFactory) -> Iterator[Server]:
    """A server on the prepared workspace. Tests leave it as they found it."""
    with serving(_copy(prepared, tmp_path_factory.mktemp("served"))) as server:
        yield server


@pytest.fixture(scope="module")
def own(prepared: Path, tmp_path_factory: pytest.TempPathFactory) -> Iterator[Server]:
    """The same for the tests of one file to change; each looks only at what it changed itself."""
    with serving(_copy(prepared, tmp_path_factory.mktemp("own"))) as server:
        yield server


def _copy(prepared: Path, into: Path) -> Path:
    def copy(source: str, target: str) -> None:
        # What is kept by its content never changes, so that a second name for it is copy enough.
        shutil.copy2(source, target) if "strikeproof.db" in source else os.link(source, target)

    shutil.copytree(prepared / "workspace", into / "workspace", copy_function=copy)
    return into / "workspace"


@pytest.fixture
def lab(tmp_path: Path) -> Path:
    """A workspace with a planned campaign, for recording."""
    return make_lab(tmp_path)


@pytest.fixture
def rig(tmp_path: Path, lab: Path) -> Iterator[RigProcess]:
    """A simulated rig on a pseudo-terminal."""
    with fast_rig(tmp_path) as made:
        yield made


@pytest.fixture
def bench(lab: Path) -> Iterator[Server]:
    """A server on that workspace."""
    with serving(lab) as server:
        yield server
