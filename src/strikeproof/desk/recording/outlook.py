"""How long the rest of a plan takes, and whether the disk has room for a run."""

from __future__ import annotations

import shutil
from collections.abc import Collection
from pathlib import Path

import numpy as np

from strikeproof.campaign.kept import StoredRun
from strikeproof.campaign.records import Campaign
from strikeproof.campaign.run_sheet import parse_started

__all__ = ["disk_shortage", "plan_left_s"]

_HANDLING_S = 45.0  # common practice, no source: change the article, arm
_ONE_SITTING_S = 1800.0  # a longer pause is a break, not a run
_FEWEST = 3
_LATEST = 12
_SPARE_BYTES = 64 << 20  # for the store and everybody else
_QUIET_S = 10.0  # recorded around the timed window at most


def plan_left_s(campaign: Campaign, kept: Collection[StoredRun], left: int) -> float:
    """Time that so many runs take, as the latest ones did, or as the protocol asks. [s]"""
    protocol = campaign.protocol
    at_least = protocol.duration_s + (protocol.cool_down_s or 0.0)
    starts = [parse_started(run.row.started or "") for run in kept]
    stamps = sorted(each.timestamp() for each in starts if each is not None)[-_LATEST:]
    gaps = np.diff(stamps)
    gaps = gaps[gaps < _ONE_SITTING_S]
    if gaps.size >= _FEWEST:
        return left * max(float(np.median(gaps)), at_least)
    return left * (at_least + _HANDLING_S)


def disk_shortage(
    folder: Path, campaign: Campaign, rate_hz: float | None, channels: int = 1
) -> tuple[int, int] | None:
    """Bytes that are free and bytes that a run takes, where these do not fit; else None."""
    seconds = campaign.protocol.duration_s + _QUIET_S
    run = int(8 * (1 + channels) * (rate_hz or 0.0) * seconds)
    needed = 2 * run + _SPARE_BYTES  # a recording is kept twice: in the folder and among the originals
    free = shutil.disk_usage(folder).free
    return (free, needed) if free < needed else None
