"""What the store gives back: records of what it keeps, frozen and complete."""

from __future__ import annotations

from dataclasses import dataclass, replace
from pathlib import Path
from typing import Any

from strikeproof.campaign.records import Campaign, RunRow

__all__ = ["CalibrationRows", "Event", "KeptTrace", "KnownCampaign", "StoredRun"]


@dataclass(frozen=True, slots=True)
class KeptTrace:
    """A trace that is on disk already, and what the database shall know of it."""

    sha256: str
    original_sha256: str
    original_name: str
    original_bytes: int
    samples: int
    sample_rate_hz: float
    started: str | None
    channels: tuple[tuple[str, str | None], ...]
    findings: tuple[dict[str, Any], ...]


@dataclass(frozen=True, slots=True)
class StoredRun:
    """A run as the store holds it; `set_aside` is the reason, or None when it counts."""

    key: int
    ordinal: int
    row: RunRow
    trace: KeptTrace | None
    set_aside: str | None

    @property
    def row_now(self) -> RunRow:
        """Its line as things are: excluded or not; where the sheet has no start, that of its log."""
        started = self.row.started or (self.trace.started if self.trace else None)
        return replace(self.row, set_aside=self.set_aside, started=started)


@dataclass(frozen=True, slots=True)
class Event:
    """One line of a run's history; `trace` is what counted before its log was replaced."""

    at: str
    kind: str
    because: str | None
    by: str
    trace: KeptTrace | None = None


@dataclass(frozen=True, slots=True)
class PastOverload:
    """That a run was once beyond its bolt's limit, in words, and the lowest load that its bolt is spent by.

    `allowed_n` is None where the history does not say it. [N]
    """

    words: str
    allowed_n: float | None

    def is_news(self, before: PastOverload | None) -> bool:
        """Whether the history, which says `before`, does not say this."""
        if before is None or before.words != self.words or self.allowed_n is None:
            return before is None or before.words != self.words
        return before.allowed_n is None or self.allowed_n < before.allowed_n


@dataclass(frozen=True, slots=True)
class KnownCampaign:
    """A campaign that a workspace knows; `identity` separates it from another of its name."""

    key: int
    identity: str
    folder: Path
    campaign: Campaign


@dataclass(frozen=True, slots=True)
class CalibrationRows:
    """The calibration sheet as loaded: one mapping a row, with its line."""

    original_sha256: str
    rows: tuple[dict[str, Any], ...]
