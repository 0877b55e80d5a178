"""One run to look at: its numbers, what its trace shows, how it grew beside others of its article."""

from __future__ import annotations

from dataclasses import dataclass, replace
from pathlib import Path

import numpy as np

from strikeproof.campaign.conditions import find_condition
from strikeproof.campaign.flags import find_flag
from strikeproof.campaign.kept import StoredRun
from strikeproof.campaign.store import Store
from strikeproof.desk.calibrating.worth import find_worth
from strikeproof.desk.runs.judged import JudgedRun, judge_chosen
from strikeproof.desk.runs.overload import bolt_of
from strikeproof.desk.runs.run_list import find_run_list
from strikeproof.desk.runs.sounds import KeptSound, find_sounds
from strikeproof.desk.runs.standing import tell_event
from strikeproof.desk.workspace.opening import open_campaign
from strikeproof.errors import NotFound
from strikeproof.quantity import FloatArray
from strikeproof.trace import Flag, RunFacts

__all__ = ["FlagTold", "GrowthBand", "RunLook", "look_at_run"]

_OTHERS = 24  # runs of the same article that the band is made of, the nearest in the sheet
_GRID = 120


@dataclass(frozen=True, slots=True)
class FlagTold:
    """A flag, what it says of this run, and what its kind means."""

    kind: str
    detail: str
    meaning: str


@dataclass(frozen=True, slots=True, eq=False)
class GrowthBand:
    """Lowest, median and highest level of other runs of the article with the tool. [s], level unit"""

    runs: int
    time: FloatArray
    low: FloatArray
    middle: FloatArray
    high: FloatArray


@dataclass(frozen=True, slots=True, eq=False)
class RunLook:
    """All there is to say of one run.

    Levels are in `level_unit`, the score in `unit`, readings of the trace in `reading_unit`. `sound` is what
    its recording says, where one is kept. `history` holds when, what, why and by whom. `before` and `after`
    are its neighbours in the sheet.
    """

    run: str
    article: str
    tool: str
    block: str
    bolt: str | None
    note: str | None
    conditions: tuple[tuple[str, str], ...]
    log: str | None
    started: str | None
    set_aside: str | None
    score: float | None
    standard_uncertainty: float | None
    unit: str
    clamp_load_n: float | None
    torque_n_m: float | None
    blows: int | None
    blow_rate_hz: float | None
    only_ratio: str | None
    score_says: str
    flags: tuple[FlagTold, ...]
    growth_time: FloatArray
    growth_level: FloatArray
    level_unit: str
    band: GrowthBand | None
    reading_unit: str
    channels: tuple[str, ...]
    samples: int
    sample_rate_hz: float
    zero: float | None
    start_s: float | None
    end_s: float | None
    window_end_s: float | None
    blow_times: FloatArray
    sound: KeptSound | None
    history: tuple[tuple[str, str, str, str], ...]
    before: str | None
    after: str | None


def look_at_run(workspace: Path, name: str | None, run: str) -> RunLook:
    """One run with its trace's facts and its history.

    Raises
    ------
    StrikeproofError
        If there is no such run, or its trace is missing or damaged.
    """
    store, key, campaign = open_campaign(workspace, name)
    stored = store.runs(key)
    place = next((place for place, each in enumerate(stored) if each.row.run == run), None)
    if place is None:
        raise NotFound("run", run, [each.row.run for each in stored])
    listed = find_run_list(workspace, campaign.name)
    calibrated = find_worth(store, key, campaign)
    worth = find_worth(store, key, campaign, plain=None if listed is None else listed.plain)
    others = _others(stored, place)
    bolt = bolt_of(campaign, stored[place])
    known = {stored[place].key, *(each.key for each in others)}
    on_bolt = [each for each in stored if bolt_of(campaign, each) == bolt and each.key not in known]
    chosen = [stored[place], *others, *on_bolt]
    (judged, facts), *rest = judge_chosen(store, campaign, chosen, worth, calibrated=calibrated)
    if listed is not None and any(each.run == run and "scale" in each.flags for each in listed.lines):
        # Only all runs together show it; what the list says of this one is said here too.
        judged = replace(judged, flags=(Flag("scale", find_flag("scale").meaning), *judged.flags))
    window = None if facts is None or facts.start_s is None else facts.start_s + campaign.protocol.duration_s
    return _look(
        store,
        judged,
        facts,
        level_unit=worth.unit,
        reading_unit=campaign.rig.unit,
        band=_band([each for each, _facts in rest[: len(others)]]),
        window_end_s=window,
        neighbours=(
            stored[place - 1].row.run if place else None,
            stored[place + 1].row.run if place + 1 < len(stored) else None,
        ),
        sound=find_sounds(store, key, campaign, stored[place : place + 1], worth).get(run),
    )


def _others(stored: tuple[StoredRun, ...], place: int) -> list[StoredRun]:
    """Runs of the same article and tool that count, the nearest in the sheet."""
    row = stored[place].row
    alike = [
        (abs(at - place), each)
        for at, each in enumerate(stored)
        if at != place
        and each.trace is not None
        and each.set_aside is None
        and (each.row.article, each.row.tool) == (row.article, row.tool)
    ]
    alike.sort(key=lambda pair: pair[0])
    return [each for _off, each in alike[:_OTHERS]]


def _band(others: list[JudgedRun]) -> GrowthBand | None:
    grown = [each for each in others if each.growth_time.size > 1]
    if len(grown) < 2:
        return None
    grid = np.linspace(0.0, float(np.median([each.growth_time[-1] for each in grown])), _GRID)
    levels = np.stack([np.interp(grid, each.growth_time, each.growth_level) for each in grown])
    return GrowthBand(len(grown), grid, levels.min(axis=0), np.median(levels, axis=0), levels.max(axis=0))


def _look(
    store: Store,
    judged: JudgedRun,
    facts: RunFacts | None,
    *,
    level_unit: str,
    reading_unit: str,
    band: GrowthBand | None,
    window_end_s: float | None,
    neighbours: tuple[str | None, str | None],
    sound: KeptSound | None,
) -> RunLook:
    run, row, trace = judged.stored, judged.stored.row, judged.stored.trace
    return RunLook(
        run=row.run,
        article=row.article,
        tool=row.tool,
        block=row.block,
        bolt=row.bolt,
        note=row.note,
        conditions=tuple((find_condition(name).label, text) for name, text in row.conditions.items()),
        log=row.log,
        started=row.started or (trace.started if trace else None),
        set_aside=run.set_aside,
        score=judged.score,
        standard_uncertainty=judged.standard_uncertainty,
        unit=judged.unit,
        clamp_load_n=judged.clamp_load_n,
        torque_n_m=judged.torque_n_m,
        blows=judged.blows,
        blow_rate_hz=judged.blow_rate_hz,
        only_ratio=judged.only_ratio,
        score_says=facts.score_reason if facts else "as given in the sheet",
        flags=tuple(FlagTold(flag.kind, flag.detail, find_flag(flag.kind).meaning) for flag in judged.flags),
        growth_time=judged.growth_time,
        growth_level=judged.growth_level,
        level_unit=level_unit,
        band=band,
        reading_unit=reading_unit,
        channels=tuple(name for name, _unit in trace.channels) if trace else (),
        samples=trace.samples if trace else 0,
        sample_rate_hz=trace.sample_rate_hz if trace else 0.0,
        zero=facts.zero if facts else None,
        start_s=facts.start_s if facts else None,
        end_s=facts.end_s if facts else None,
        window_end_s=window_end_s,
        blow_times=facts.blow_times if facts else np.empty(0),
        sound=sound,
        history=tuple(map(tell_event, store.history(run))),
        before=neighbours[0],
        after=neighbours[1],
    )
