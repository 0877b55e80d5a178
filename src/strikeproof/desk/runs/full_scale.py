"""Logs that read more than the full scale that the campaign gives its rig: that figure is wrong."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import replace
from typing import Final

from strikeproof.campaign.kept import StoredRun
from strikeproof.campaign.records import Campaign
from strikeproof.campaign.store import Store
from strikeproof.desk.calibrating.worth import Worth
from strikeproof.desk.runs.facts import TraceTask
from strikeproof.desk.runs.overload import find_ends
from strikeproof.desk.safety.bolt_limit import BoltLimit, find_limit
from strikeproof.quantity import unit_label, write_number

__all__ = ["find_proven_limit"]

_CLEARLY: Final = 1.01  # a converter's stop is seldom at the round figure (estimate, no source)


def find_proven_limit(
    store: Store, campaign: Campaign, worth: Worth, runs: Sequence[StoredRun], tasks: Mapping[int, TraceTask]
) -> tuple[BoltLimit, str]:
    """The bolt's limit, watched as far as the logs prove that the rig reads, and what they refute, in words.

    The words are empty where no log reads more than the rig's full scale.
    """
    limit, most = find_limit(campaign, worth), campaign.rig.full_scale
    ends = {} if most is None else find_ends(store, list(tasks.values()))
    read = {
        run.key: tasks[run.key].factor * max(map(abs, ends[tasks[run.key].sha256]))
        for run in runs
        if run.key in tasks and tasks[run.key].sha256 in ends
    }
    beyond = [run for run in runs if most is not None and read.get(run.key, 0.0) > _CLEARLY * most]
    if most is None or not beyond:
        return limit, ""
    worst = max(beyond, key=lambda run: read[run.key])
    if limit.unwatched == "full scale":
        proven = find_limit(replace(campaign, rig=replace(campaign.rig, full_scale=read[worst.key])), worth)
        limit = limit if proven.unwatched == "full scale" else proven
    label = unit_label(campaign.rig.unit)
    others = f" ({len(beyond)} runs exceed it)" if len(beyond) > 1 else ""
    said = (
        f"the log of run {worst.row.run} reads up to {write_number(read[worst.key], 3)} {label}, above the "
        f"full scale of {write_number(most, 3)} {label} that the campaign gives the rig{others}: correct "
        "rig.full_scale, or the unit of the log"
    )
    return limit, said
