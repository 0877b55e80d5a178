"""What all tests share: steady examples, and how processes that test side by side share the cores."""

from __future__ import annotations

import fcntl
import os
import time
from collections.abc import Iterator
from contextlib import ExitStack, contextmanager, nullcontext
from itertools import groupby
from pathlib import Path
from tempfile import gettempdir
from typing import IO

import pytest
from hypothesis import settings

# Two busy cores must not fail a test, and the same commit must give the same result twice.
settings.register_profile("steady", deadline=None, derandomize=True)
settings.load_profile("steady")

WATCHED = ("tests/browser/", "tests/unit/web/", "live", "record")
"""Of tests that wait for a page, a server or a rig: these go first, and the others take what they leave."""
_BACK_SEAT = 10


def _is_watched(item: pytest.Item) -> bool:
    return any(each in item.nodeid for each in WATCHED)


@contextmanager
def _a_core() -> Iterator[None]:
    """One of as many places as there are cores, which is waited for."""
    names = [f"strikeproof-tests-{os.getuid()}-{number}" for number in range(os.cpu_count() or 1)]
    with ExitStack() as stack:
        places = [stack.enter_context(Path(gettempdir(), name).open("w")) for name in names]
        while not any(map(_is_taken, places)):
            time.sleep(0.1)
        yield


def _is_taken(place: IO[str]) -> bool:
    try:
        fcntl.flock(place, fcntl.LOCK_EX | fcntl.LOCK_NB)
    except BlockingIOError:
        return False
    return True


@pytest.hookimpl(wrapper=True)
def pytest_runtest_protocol(item: pytest.Item) -> Iterator[None]:
    beside, watched = "PYTEST_XDIST_WORKER" in os.environ, _is_watched(item)
    if beside and os.geteuid() == 0:  # nobody else may come back from there
        os.setpriority(os.PRIO_PROCESS, 0, 0 if watched else _BACK_SEAT)
    with _a_core() if beside and watched else nullcontext():
        return (yield)


def pytest_collection_modifyitems(config: pytest.Config, items: list[pytest.Item]) -> None:
    """Side by side, files that mostly wait are spread among those that mostly compute."""
    if not hasattr(config, "workerinput"):
        return
    files = [list(group) for _, group in groupby(items, lambda item: item.path)]
    waiting = [file for file in files if _is_watched(file[0])]
    computing = [file for file in files if not _is_watched(file[0])]
    share = -(-len(computing) // max(len(waiting), 1))
    ordered = []
    for number, file in enumerate(waiting):
        ordered += [file, *computing[number * share : (number + 1) * share]]
    ordered += computing[len(waiting) * share :]
    items[:] = [item for file in ordered for item in file]
