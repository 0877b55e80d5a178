"""Tests of faults write nowhere but into their own temporary folder; to record they have the desk's bench."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from pathlib import Path

import pytest
from tests.faults.siege.guard import guarded
from tests.unit.desk.conftest import lab, recorder, rig

__all__ = ["lab", "recorder", "rig"]


@pytest.fixture(autouse=True, scope="session")
def _nothing_outside(tmp_path_factory: pytest.TempPathFactory) -> Iterator[None]:
    own = tmp_path_factory.getbasetemp()
    with guarded(own, own.parent / "made"):  # what all processes share (tests/made_once.py)
        yield


@pytest.fixture(params=["file", "server"])
def place(request: pytest.FixtureRequest) -> Callable[[Path], Path]:
    """Where a workspace is made: a folder that is not there yet, or one that names a database on a server."""
    if request.param == "file":
        return lambda folder: folder
    return request.getfixturevalue("server").new_workspace  # type: ignore[no-any-return]
