"""The recorder's own process: what it waits for, and what it gives up at once."""

from __future__ import annotations

from multiprocessing import Pipe
from pathlib import Path
from typing import cast

import pytest
from tests.unit.desk.live_bench import make_workspace

from strikeproof.desk.recording.recorder import open_recorder
from strikeproof.desk.recording.station import Station
from strikeproof.errors import InUse, NotFound, StoreError
from strikeproof.web import recorder_process
from strikeproof.web.recorder_process import _do, _open, _see


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


def test_a_mistake_of_the_program_is_named_and_the_recorder_goes_on(
    capfd: pytest.CaptureFixture[str],
) -> None:
    class Broken:
        def do(self, name: str, *given: str) -> None:
            raise TypeError("unsupported operand")

    near, far = Pipe()
    _do(far, cast(Station, Broken()), 7, "undo", ())
    kind, (ticket, error) = near.recv()
    assert (kind, ticket) == ("done", 7)
    assert "undo failed with TypeError: unsupported operand" in str(error)
    assert "Traceback" in capfd.readouterr().err


def test_a_look_that_fails_does_not_end_the_recording(capfd: pytest.CaptureFixture[str]) -> None:
    heeded: list[str] = []

    class Full:
        def look(self) -> None:
            raise StoreError("the database cannot be written", "free some disk space")

        def heed(self, message: str) -> bool:
            heeded.append(message)
            return len(heeded) == 1

    station = cast(Station, Full())
    assert _see(station, station.look) is None
    assert "the database cannot be written" in heeded[0]
    assert "Traceback" in capfd.readouterr().err
    assert _see(station, station.look) is None
    assert capfd.readouterr().err == "", "the same mistake fills no log"
