"""All attacks; a new one is one more entry here."""

from __future__ import annotations

from typing import Final

from tests.faults.siege.attack import Attack
from tests.faults.siege.logs import play_logs, play_logs_through_the_gate
from tests.faults.siege.store import play_failing_disks, play_kills, play_power_cuts

__all__ = ["ATTACKS"]

ATTACKS: Final = (
    Attack("logs", "reads damaged logs of every format by the function that a reading process calls",
           "logs", 1500, 1_000_000, 5000, play_logs),
    Attack("gate", "reads the same through the gate, as files, on to originals and traces",
           "logs", 60, 10_000, 250, play_logs_through_the_gate),
    Attack("kills", "kills a load, decisions, a recording at the rig or a backup at a random moment",
           "kills", 8, 1000, 10, play_kills),
    Attack("power", "cuts the power at a random change of a file, on the worst disk that POSIX allows",
           "power cuts", 30, 1000, 50, play_power_cuts),
    Attack("disks", "lets a change of a file fail (ENOSPC, EIO, EINTR), or all later ones too",
           "failing disks", 8, 500, 10, play_failing_disks),
)  # fmt: skip
