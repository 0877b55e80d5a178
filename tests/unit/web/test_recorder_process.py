"""The recorder's own process: what it waits for, and what it gives up at once."""

from __future__ import annotations

from pathlib import Path

import pytest
from tests.unit.desk.live_bench import make_workspace

from strikeproof.desk.record import open_recorder
from strikeproof.errors import InUse, NotFound
from strikeproof.web import recorder_process
from strikeproof.web.recorder_process import _open


@pytest.fixture
def waits(monkeypatch: pytest.MonkeyPatch) -> list[float]:
    """How long was waited each time, without waiting."""
    found: list[float] = []
    monkeypatch.setattr(recorder_process.time, "sleep", found.append)
    return found


def test_a_folder_in_use_is_waited_for(tmp_path: Path, waits: list[float]) -> None:
    lab = make_workspace(tmp_path)
    with open_recorder(lab), pytest.raises(InUse):
        _open(lab, None)
    assert len(waits) > 3


def test_any_other_refusal_is_given_at_once_whatever_its_words(tmp_path: Path, waits: list[float]) -> None:
    lab = make_workspace(tmp_path)
    with pytest.raises(NotFound):
        _open(lab, "the rig that another program drives")
    assert waits == []
