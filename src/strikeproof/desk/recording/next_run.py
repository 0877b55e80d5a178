"""The next run as a person needs to see it: which bolt, how cool the tool is, and the warnings."""

from __future__ import annotations

from collections.abc import Collection
from datetime import datetime

from strikeproof.campaign.kept import StoredRun
from strikeproof.campaign.records import Campaign, RunRow
from strikeproof.campaign.run_sheet import parse_started, read_rotation
from strikeproof.desk.recording.bolt import latest_run
from strikeproof.desk.recording.remaining import OpenRun
from strikeproof.desk.recording.views import NextRun, SpentBolt
from strikeproof.desk.safety.bolt_limit import BoltLimit, watch_words
from strikeproof.desk.safety.cautions import Stop, rig_cautions
from strikeproof.desk.safety.supply import is_above_rating, supply_cautions
from strikeproof.language import say, write_figures

__all__ = ["describe_next", "slow_rate_cautions"]

_STARTS_AT = ((15.0, 10, 20), (35.0, 10, 8), (100.0, 10, 4))
"""Below so many readings a second a steady rise in 10 s to so many deviations of the noise starts the
recording only once it is held for three seconds, and after so many seconds of quiet; measured on simulated
rises, docs/detector.md."""


def describe_next(
    campaign: Campaign,
    coming: OpenRun,
    kept: Collection[StoredRun],
    now: datetime,
    since_last: float | None,
    limit: BoltLimit,
    spent: SpentBolt | None,
) -> NextRun:
    """All about the next run.

    Parameters
    ----------
    since_last
        Since the end of the run before, since the start; None when none was made. [s]
    limit, spent
        What the bolt may carry, or why nothing watches for more; a bolt that was overloaded and must be out.
    """
    cells = coming.cells
    name = cells.get("tool") or campaign.tools[0].name
    tool = next((each for each in campaign.tools if each.name == name), None)
    bolt = cells.get("bolt") or campaign.bolt.name
    uses = sum(1 for run in kept if (run.row.bolt or campaign.bolt.name) == bolt) if bolt else len(kept)
    latest = latest_run(kept)
    last_bolt = (latest.row.bolt or campaign.bolt.name) if latest else None
    is_new = bolt is not None and last_bolt != bolt
    budget = campaign.bolt.runs_per_bolt
    supply = (tool.supply if tool else None) or campaign.protocol.supply
    block, note = cells.get("block", ""), cells.get("note")
    row = RunRow(coming.run, cells["article"], name, block, bolt=bolt, note=note)
    return NextRun(
        row=row,
        planned=coming.planned,
        attempt=coming.attempt,
        place=coming.place,
        total=coming.total,
        done=coming.done,
        bolt_use=uses,
        bolt_budget=budget,
        new_bolt=is_new,
        limit=limit,
        supply=supply,
        cool_down_left_s=_cool_down(campaign, latest, now, since_last),
        cautions=(
            *_overloaded(spent),
            *_bolt_cautions(campaign, bolt, uses, budget, is_new=is_new and spent is None),
            *_turning_cautions(campaign, cells.get("rotation")),
            *supply_cautions(campaign, name),
            watch_words(limit),
            *rig_cautions(
                cells["article"],
                supply,
                tool.rated_supply if tool else None,
                is_changed=since_last is None or latest is None or latest.row.article != cells["article"],
                is_above=tool is not None and is_above_rating(tool.mechanism, supply, tool.rated_supply),
            ),
        ),
    )


def slow_rate_cautions(rate_hz: float | None) -> tuple[str, ...]:
    """What a small load that grows slowly needs to start the recording, where the rig sends few readings."""
    found = next((each for each in _STARTS_AT if rate_hz is not None and rate_hz < each[0]), None)
    if found is None:
        return ()
    _, least, quiet = found
    return (
        say(
            "{rate_hz} readings a second: a load that grows slowly to {least} times the noise starts the "
            "recording only once it is held for three seconds, after {quiet} seconds of quiet; a smaller "
            "one may not start it. Sample faster, or log to a file and load it.",
            rate_hz=write_figures(f"{rate_hz:.3g}"),
            least=least,
            quiet=quiet,
        ),
    )


def _cool_down(
    campaign: Campaign, latest: StoredRun | None, now: datetime, since_last: float | None
) -> float:
    wanted = campaign.protocol.cool_down_s
    if not wanted:
        return 0.0
    if since_last is None:
        started = parse_started(latest.row.started or "") if latest else None
        if started is None:
            return 0.0
        here = now if started.tzinfo is None else now.astimezone()
        since_last = (here - started).total_seconds() - campaign.protocol.duration_s
    return max(0.0, wanted - since_last) if since_last >= 0 else 0.0


def _overloaded(spent: SpentBolt | None) -> list[str]:
    if spent is None:
        return []
    return [
        Stop(
            say(
                "STOP: in {run} {says}. Take {called} out, put a new one in and say which: until then no "
                "run can start.",
                run=spent.run,
                says=spent.says,
                called=spent.called,
            )
        )
    ]


def _turning_cautions(campaign: Campaign, rotation: str | None = None) -> list[str]:
    """Which way to set the tool, where it is not the usual one or not as for the runs before."""
    turning = campaign.turning_in(read_rotation(rotation)) if rotation else campaign.turning
    if turning == campaign.turning and turning.rotation == "forward" and turning.hand == "right":
        return []
    return [
        say(
            "Tool in {rotation}: it is to {direction} a {hand}-hand bolt.",
            **turning.words,
        )
    ]


def _bolt_cautions(
    campaign: Campaign, bolt: str | None, uses: int, budget: int | None, *, is_new: bool
) -> list[str]:
    told = []
    if is_new:
        told.append(say("Change the bolt: {bolt}.", bolt=bolt))
    if budget is not None and uses >= budget:
        told.append(
            Stop(
                say(
                    "STOP: {bolt} has had {uses} of {budget} runs; take a new one.",
                    bolt=bolt or say("the bolt"),
                    uses=uses,
                    budget=budget,
                )
            )
        )
    return told
