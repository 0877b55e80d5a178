"""What is on its way to the workspace has a quota and a time."""

from __future__ import annotations

import os
import time
from pathlib import Path

import pytest

from strikeproof.web.upload import Incoming, NoRoom


def test_an_upload_that_fails_leaves_nothing(tmp_path: Path) -> None:
    incoming = Incoming(tmp_path / "incoming")

    def cut_off() -> None:
        with incoming.room(10) as path:
            path.write_bytes(b"half")
            raise OSError("gone")

    with pytest.raises(OSError, match="gone"):
        cut_off()
    assert list((tmp_path / "incoming").iterdir()) == []


def test_what_lies_there_and_what_is_coming_share_one_quota(tmp_path: Path) -> None:
    incoming = Incoming(tmp_path, quota=100)
    with incoming.room(40) as path:
        path.write_bytes(b"x" * 40)
    with incoming.room(40):
        with pytest.raises(NoRoom) as full, incoming.room(40):
            pass
        assert full.value.status == 507
        with incoming.room(20):
            pass
    path.unlink()
    with incoming.room(100):
        pass


def test_only_a_few_come_at_once(tmp_path: Path) -> None:
    incoming = Incoming(tmp_path)
    with incoming.room(1), incoming.room(1), incoming.room(1), incoming.room(1):
        with pytest.raises(NoRoom) as full, incoming.room(1):
            pass
        assert full.value.status == 503


def test_a_full_disk_is_said_before_it_is_full(tmp_path: Path) -> None:
    with pytest.raises(NoRoom) as full, Incoming(tmp_path, quota=2**62).room(2**61):
        pass
    assert "disk" in str(full.value)


def test_left_over_uploads_go_after_a_day_and_nothing_else_does(tmp_path: Path) -> None:
    canary = tmp_path / "canary"
    canary.mkdir()
    incoming = tmp_path / "incoming"
    incoming.mkdir()
    old, new, foreign, link = (incoming / name for name in ("a" * 32, "b" * 32, "notes.txt", "c" * 32))
    for each in (old, new, foreign):
        each.write_bytes(b"x")
    unpacked = incoming / ("d" * 16)
    (unpacked / "logs").mkdir(parents=True)
    link.symlink_to(canary)
    yesterday = time.time() - 25 * 3600
    for each in (old, foreign, unpacked, canary):
        os.utime(each, (yesterday, yesterday))
    os.utime(link, (yesterday, yesterday), follow_symlinks=False)
    Incoming(incoming).expire()
    assert not old.exists() and not unpacked.exists()
    assert new.exists() and foreign.exists() and link.is_symlink() and canary.is_dir()
