"""What all tests share: steady examples, and how processes that test side by side share the cores."""

from __future__ import annotations

import os
from collections.abc import Iterator
from itertools import groupby

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


@pytest.hookimpl(wrapper=True)
def pytest_runtest_protocol(item: pytest.Item) -> Iterator[None]:
    if "PYTEST_XDIST_WORKER" in os.environ and os.geteuid() == 0:  # nobody else may come back from there
        os.setpriority(os.PRIO_PROCESS, 0, 0 if _is_watched(item) else _BACK_SEAT)
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
