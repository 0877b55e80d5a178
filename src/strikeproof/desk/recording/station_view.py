"""What a recording page shows at one instant, and what a simulated rig can be told; light to import."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

from strikeproof.desk.recording.views import RecordView, RunVerdict

__all__ = ["MISHAPS", "RecentRun", "StationView"]

MISHAPS: Final = {
    "spoil clipped": "The next run clips",
    "spoil short": "The next run is let go half-way",
    "spoil loose": "In the next run the article is not fully on",
    "unplug 3": "Unplug for three seconds",
    "garbage 2": "Talk nonsense for two seconds",
    "clock-jump 5": "Let the rig's clock jump by five seconds",
    "lose 20": "Lose twenty frames",
}
"""What a simulated rig can be told, and what it does then."""


@dataclass(frozen=True, slots=True)
class RecentRun:
    """A run that was made, its verdict once that is known, and what a person said of it."""

    run: str
    tool: str
    article: str
    started: str | None
    verdict: RunVerdict | None
    set_aside: str | None
    note: str | None


@dataclass(frozen=True, slots=True)
class StationView:
    """All that a page shows but the chart.

    Parameters
    ----------
    undecided
        The run made last, when it is to be repeated or kept and nobody has said so yet.
    armed_by
        Whoever armed, empty when nobody has.
    news
        What happened since the last run was armed, newest last.
    ports
        Serial ports of this machine with what the system says of them; looked for while none is open.
    simulated
        Whether the rig is simulated.
    short
        Free bytes and those needed, where the disk has no room for another run.
    recent
        The runs made last, newest first.
    unkept
        Why a run that was recorded could not be kept, until the next is armed or it is kept.
    starting
        Whether a simulated rig is being started.
    """

    record: RecordView
    undecided: str | None
    armed_by: str
    news: tuple[str, ...]
    ports: tuple[tuple[str, str], ...]
    simulated: bool
    left_s: float
    short: tuple[int, int] | None
    recent: tuple[RecentRun, ...]
    unkept: str
    starting: bool
