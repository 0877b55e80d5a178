"""The short form of every attack of the siege; `make siege` plays the long one."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest
from tests.faults.siege.attack import Attack
from tests.faults.siege.guard import OutsideError
from tests.faults.siege.power import Disk, Event
from tests.faults.siege.stage import can_build_shim
from tests.faults.siege.table import ATTACKS

needs_shim = pytest.mark.skipif(not can_build_shim(), reason="needs a C compiler, and Linux")


@pytest.mark.parametrize(
    "attack",
    [
        pytest.param(each, id=each.name, marks=[needs_shim] if each.needs_shim else [])
        for each in ATTACKS
        if each.short
    ],
)
def test_the_short_form_is_withstood(attack: Attack, tmp_path: Path) -> None:
    tally = attack.play(0, attack.short, tmp_path)
    assert tally.failures() == [], "\n".join(tally.found)
    assert tally.counts, "nothing was played"


def test_nothing_is_written_outside_of_a_test_s_own_folder(tmp_path: Path) -> None:
    outside = Path(__file__).with_name("never-made")
    for attempt in (
        lambda: outside.write_text("x"),
        lambda: (tmp_path / "a").rename(outside),
        outside.unlink,
    ):
        with pytest.raises(OutsideError):
            attempt()
    assert not outside.exists()


def test_a_disk_without_power_holds_what_was_synced_and_no_more(tmp_path: Path) -> None:
    """What was written, synced, renamed, and its folder synced is there; what was not synced may be torn."""
    create, write, sync, rename = 1, 2, 3, 5
    root, new, old = str(tmp_path), str(tmp_path / "new"), str(tmp_path / "old")
    (tmp_path / "old").write_bytes(b"before")
    events = [
        Event(create, new, "", b"", 0),
        Event(write, new, "", b"x" * 1000, 0),
        Event(sync, new, "", b"", 0),
        Event(rename, new, old, b"", 0),
        Event(sync, root, "", b"", 0),
        Event(write, old, "", b"y" * 600, 400),
    ]
    found: list[set[bytes]] = []
    for count in (4, 5, 6):
        disk, seen = Disk(tmp_path), set()
        for event in events[:count]:
            disk.do(event)
        for seed in range(60):
            seen.add(dict(disk.after_cut(np.random.default_rng(seed)))["old"])
        found.append({each for each in seen if each is not None})
    whole = b"x" * 1000
    assert found[0] == {b"before", whole}
    assert found[1] == {whole}
    assert {whole, whole[:400] + b"y" * 600, whole[:912] + b"y" * 88} <= found[2]
