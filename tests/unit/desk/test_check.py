"""Files cut off in writing are named once they are old, and deleted when asked."""

from __future__ import annotations

import os
import time
from pathlib import Path

from tests.commands import strikeproof

from strikeproof.campaign.store import open_store
from strikeproof.desk.check import check_workspace


def test_only_old_waiting_files_are_named_and_deleted(tmp_path: Path) -> None:
    store = open_store(tmp_path / "lab", make=True)
    old, new = store.traces / ".ab12.0001.part", store.originals / ".cd34.0002.part"
    for path in (old, new):
        path.write_bytes(b"half a tra")
    os.utime(old, (time.time() - 90_000,) * 2)
    found = check_workspace(tmp_path / "lab")
    assert found.abandoned == ("traces/.ab12.0001.part",) and len(found.leftovers) == 2
    assert found.problems == ()
    _, said = strikeproof("check", "-w", tmp_path / "lab", "--tidy")
    assert "deleted traces/.ab12.0001.part" in said
    assert not old.exists() and new.exists()
