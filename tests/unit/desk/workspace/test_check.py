"""Files cut off in writing are named once they are old, and deleted when asked."""

from __future__ import annotations

import os
import time
from pathlib import Path

from tests.commands import strikeproof

from strikeproof.campaign.store import open_store
from strikeproof.desk.workspace.check import check_workspace


def test_only_old_waiting_files_are_named_and_deleted(tmp_path: Path) -> None:
    store = open_store(tmp_path / "lab", make=True)
    old, new = store.traces / ".ab12.0001.part", store.originals / ".cd34.0002.part"
    logs = tmp_path / "lab" / "campaigns" / "drum" / "logs"
    logs.mkdir(parents=True)
    sheet, own = logs.parent / ".runs.csv.12ab34cd.part", logs / ".my own.part"
    for path in (old, new, sheet, own):
        path.write_bytes(b"half a tra")
    for path in (old, sheet, own):
        os.utime(path, (time.time() - 90_000,) * 2)
    found = check_workspace(tmp_path / "lab")
    abandoned = ("campaigns/drum/.runs.csv.12ab34cd.part", "traces/.ab12.0001.part")
    assert found.abandoned == abandoned and len(found.leftovers) == 2
    assert found.problems == ()
    _, said = strikeproof("check", "-w", tmp_path / "lab", "--tidy")
    assert all(f"deleted {name}" in said for name in abandoned)
    assert not old.exists() and not sheet.exists() and new.exists() and own.exists()
