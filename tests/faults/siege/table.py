"""All attacks; a new one is one more entry here."""

from __future__ import annotations

from typing import Final

from tests.faults.siege.attack import Attack
from tests.faults.siege.damage import play_damage
from tests.faults.siege.line import play_line
from tests.faults.siege.logs import play_logs, play_logs_through_the_gate
from tests.faults.siege.requests import play_requests
from tests.faults.siege.several import play_several
from tests.faults.siege.store import play_failing_disks, play_kills, play_power_cuts
from tests.faults.siege.workers import play_workers

__all__ = ["ATTACKS"]

ATTACKS: Final = (
    Attack("logs", "reads damaged logs of every format by the function that a reading process calls",
           "logs", 1000, 1_000_000, 5000, play_logs),
    Attack("gate", "reads the same through the gate, as files, on to originals and traces",
           "logs", 40, 10_000, 250, play_logs_through_the_gate),
    Attack("kills", "kills a load, decisions, a recording at the rig or a backup at a random moment",
           "kills", 6, 1000, 10, play_kills, True),
    Attack("power", "cuts the power at a random change of a file, on the worst disk that POSIX allows",
           "power cuts", 12, 1000, 50, play_power_cuts, True),
    Attack("disks", "lets a change of a file fail (ENOSPC, EIO, EINTR), or all later ones too",
           "failing disks", 6, 500, 10, play_failing_disks, True),
    Attack("damage", "spoils archives, campaign folders, traces, originals and backups",
           "damaged things", 80, 20_000, 500, play_damage),
    Attack("requests", "asks a real server, well, badly, slowly and half, and speaks on WebSockets",
           "requests", 120, 100_000, 10_000, play_requests),
    Attack("line", "plays hostile bytes on a rig's line (each counts a thousand)",
           "kB", 1000, 100_000, 1000, play_line),
    Attack("workers", "kills a worker of a cluster while it simulates; played in the long form only",
           "batches", 0, 50, 5, play_workers),
    Attack("several", "lets three benches save runs while ten readers look, on a server; long form only",
           "runs", 0, 30_000, 3000, play_several),
)  # fmt: skip
