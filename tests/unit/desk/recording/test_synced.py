"""The folder made at a first recording is on the disk before its first run is."""

from __future__ import annotations

import os
from pathlib import Path

import pytest
from tests.unit.desk.live_bench import make_workspace, write_campaign

from strikeproof.desk.loading.load import load_campaign
from strikeproof.desk.recording.recorder import open_recorder


@pytest.fixture
def synced(monkeypatch: pytest.MonkeyPatch) -> set[Path]:
    """The folders that were synced; POSIX: a name lasts once the folder that holds it is."""
    found: set[Path] = set()
    real = os.fsync

    def watch(handle: int) -> None:
        path = Path(f"/proc/self/fd/{handle}").readlink()
        if path.is_dir():
            found.add(path)
        real(handle)

    monkeypatch.setattr(os, "fsync", watch)
    return found


def test_every_folder_above_a_first_recording_is_synced(tmp_path: Path, synced: set[Path]) -> None:
    lab = make_workspace(tmp_path)
    synced.clear()
    open_recorder(lab).close()
    place = lab / "campaigns" / "drum-rollers"
    assert synced >= {lab, place.parent, place}  # they hold campaigns, drum-rollers, logs and the sheet


def test_a_new_workspace_is_synced_up_to_what_was_there(tmp_path: Path, synced: set[Path]) -> None:
    folder = write_campaign(tmp_path / "campaign")
    synced.clear()
    load_campaign(folder, tmp_path / "new" / "lab")
    assert synced >= {tmp_path, tmp_path / "new", tmp_path / "new" / "lab"}
