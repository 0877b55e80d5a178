"""When and where a workspace was last backed up, in a small file of its own."""

from __future__ import annotations

import json
from dataclasses import asdict, dataclass
from datetime import UTC, datetime
from pathlib import Path
from typing import Any, Final

from strikeproof.campaign.whole_file import write_whole

__all__ = ["NOTE", "LastBackup", "last_backup", "note_backup"]

NOTE: Final = "last-backup.json"


@dataclass(frozen=True, slots=True)
class LastBackup:
    """When the last backup was made (ISO 8601), and where it is."""

    made_at: str
    place: str

    @property
    def age_s(self) -> float:
        """How long ago that was. [s]"""
        return max((datetime.now(UTC) - datetime.fromisoformat(self.made_at)).total_seconds(), 0.0)

    @property
    def is_there(self) -> bool:
        """Whether something is at its place now; a disk may be unplugged."""
        try:
            return Path(self.place).exists()
        except OSError:
            return False

    def as_json(self) -> dict[str, Any]:
        """As the command line prints it."""
        return {**asdict(self), "age_s": round(self.age_s), "is_there": self.is_there}

    def __str__(self) -> str:
        away = "" if self.is_there else ", which is not there now"
        return f"last backup: {_ago(self.age_s)} ago, in {self.place}{away}"


def _ago(seconds: float) -> str:
    for unit, length in (("days", 86_400), ("hours", 3600), ("minutes", 60)):
        if seconds >= 2 * length:
            return f"{seconds // length:.0f} {unit}"
    return "a minute or less" if seconds < 60 else "one minute"


def note_backup(workspace: Path, made: LastBackup) -> None:
    """Remember it.

    Raises
    ------
    StoreError
        If the workspace cannot be written.
    """
    write_whole(workspace / NOTE, json.dumps(asdict(made)))


def last_backup(workspace: Path) -> LastBackup | None:
    """The last one; None where there was none, or what is noted cannot be read."""
    try:
        found = LastBackup(**json.loads((workspace / NOTE).read_bytes()))
        return found if found.age_s >= 0.0 and isinstance(found.place, str) else None
    except (OSError, ValueError, TypeError, RecursionError):
        return None
