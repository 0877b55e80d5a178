"""The runs of a campaign whose readings are on another scale than the others', said before any result."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

from strikeproof.campaign.flags import find_flag
from strikeproof.campaign.kept import StoredRun
from strikeproof.campaign.records import Campaign
from strikeproof.judge.scale import RunScale, find_off_scale
from strikeproof.trace import RunFacts

__all__ = ["audit_scales", "say_in_doubt"]

_NAMED = 6


def audit_scales(
    campaign: Campaign, runs: Sequence[StoredRun], facts: Mapping[int, RunFacts]
) -> dict[int, str]:
    """How the runs that are on another scale differ, by their keys; `facts` are of the logs examined."""
    found = find_off_scale([_scale(campaign, run, facts.get(run.key)) for run in runs])
    return {run.key: found[run.row.run] for run in runs if run.row.run in found}


def _scale(campaign: Campaign, run: StoredRun, facts: RunFacts | None) -> RunScale:
    row, counts = run.row, run.set_aside is None
    timed = campaign.protocol.score.kind == "time to"
    if facts is None:
        return RunScale(row, counts, None if timed or run.trace is not None else row.score)
    level = facts.score if not timed else None
    span = float(facts.growth_level.max()) if facts.growth_level.size else level
    return RunScale(
        row,
        counts,
        span,
        facts.zero_sd,
        facts.zero,
        facts.has("backwards"),
        any(find_flag(flag.kind).misses_window for flag in facts.flags),
    )


def say_in_doubt(runs: Sequence[StoredRun], scales: Mapping[int, str]) -> tuple[str, ...]:
    """What must be said before any result: the runs in doubt that count, at most a few by name with how."""
    doubted = [run for run in runs if run.key in scales and run.set_aside is None]
    if not doubted:
        return ()
    who = "1 run is" if len(doubted) == 1 else f"{len(doubted)} runs are"
    told = "; ".join(f"{run.row.run} ({scales[run.key]})" for run in doubted[:_NAMED])
    more = f"; {len(doubted) - _NAMED} more" if len(doubted) > _NAMED else ""
    return (
        f"{who} on another scale than the others of the rig: {told}{more}. Check unit, channel and sign in "
        "the log before you believe any result: such a run still counts until it is corrected or excluded",
    )
