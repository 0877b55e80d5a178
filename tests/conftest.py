"""What all tests share: steady examples, and how processes that test side by side share the cores."""

from __future__ import annotations

import os
import signal
from collections.abc import Iterator
from typing import Any

import pytest
from hypothesis import settings
from tests.database_server import Server, run_server
from xdist.scheduler import LoadFileScheduling
from xdist.workermanage import WorkerController

# Two busy cores must not fail a test, and the same commit must give the same result twice.
settings.register_profile("steady", deadline=None, derandomize=True)
settings.load_profile("steady")

WATCHED = ("tests/browser/", "tests/unit/web/", "live", "record")
"""Of files that wait for a page, a server or a rig: these go first, one on each core."""
LONG = ("truth/test_demo", "truth/test_design", "desk/designing/test_design", "desk/explaining/test_explain")
"""Of files that compute: these begin while there is much else to do beside them."""
CORES = min(len(os.sched_getaffinity(0)) if hasattr(os, "sched_getaffinity") else os.cpu_count() or 1, 3)


@pytest.fixture(scope="session")
def server() -> Iterator[Server]:
    """A PostgreSQL server, started for the first test that asks."""
    with run_server() as running:
        yield running


def pytest_configure() -> None:
    """A run that is ended from outside ends as by Ctrl-C, so that its servers and rigs end too."""
    signal.signal(signal.SIGTERM, signal.default_int_handler)


def pytest_collection_finish(session: pytest.Session) -> None:
    """What fills the waits of others stands back from here on: nothing begins before all have collected."""
    worker = getattr(session.config, "workerinput", {}).get("workerid")
    if worker is not None and _is_filler(worker):
        os.nice(19)


def _is_filler(worker: str) -> bool:
    """Whether it has no core of its own, and takes what those that wait leave of theirs."""
    return int(worker.removeprefix("gw")) >= CORES


@pytest.hookimpl(optionalhook=True)
def pytest_xdist_auto_num_workers() -> int:
    return CORES + 1


@pytest.hookimpl(optionalhook=True)
def pytest_xdist_make_scheduler(config: pytest.Config, log: Any) -> LoadFileScheduling:
    return _WaitingFirst(config, log)


class _WaitingFirst(LoadFileScheduling):
    """File by file: those that wait go first, and never more of them at once than there are cores."""

    def _assign_work_unit(self, node: WorkerController) -> None:
        files = list(self.workqueue)
        waiting = [file for file in files if any(each in file for each in WATCHED)]
        computing = [file for file in files if file not in waiting]
        computing.sort(key=lambda file: not any(each in file for each in LONG))
        wanted = computing if _is_filler(node.gateway.id) else waiting + computing
        if wanted:
            self.workqueue.move_to_end(wanted[0], last=False)
            super()._assign_work_unit(node)
        else:
            node.shutdown()
