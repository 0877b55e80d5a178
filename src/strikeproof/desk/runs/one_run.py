"""One run to look at: its numbers, what its trace shows, how it grew beside others of its article."""

from __future__ import annotations

from dataclasses import dataclass, replace
from pathlib import Path

import numpy as np

from strikeproof.campaign.conditions import find_condition
from strikeproof.campaign.flags import find_flag
from strikeproof.campaign.kept import KeptTrace, StoredRun
from strikeproof.campaign.records import RunRow
from strikeproof.desk.calibrating.worth import find_worth
from strikeproof.desk.runs.judged import JudgedRun
from strikeproof.desk.runs.judged_first import judge_first
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

    Levels are in `level_unit`, readings of the trace in `reading_unit`. `facts` are None where no log was
    examined. `sound` is what its recording says, where one is stored. `history` holds when, what, why and by
    whom. `before` and `after` are its neighbours in the sheet.
    """

    judged: JudgedRun
    facts: RunFacts | None
    level_unit: str
    reading_unit: str
    band: GrowthBand | None
    window_end_s: float | None
    sound: KeptSound | None
    history: tuple[tuple[str, str, str, str], ...]
    before: str | None
    after: str | None

    @property
    def row(self) -> RunRow:
        """Its line of the sheet as things are."""
        return self.judged.stored.row_now

    @property
    def trace(self) -> KeptTrace | None:
        """Its log as it is stored."""
        return self.judged.stored.trace

    @property
    def conditions(self) -> tuple[tuple[str, str], ...]:
        """What is said of its conditions: label and text each."""
        return tuple((find_condition(name).label, text) for name, text in self.row.conditions.items())

    @property
    def score_says(self) -> str:
        """Where the score comes from, or why there is none."""
        return self.facts.score_reason if self.facts else "as given in the sheet"

    @property
    def flags(self) -> tuple[FlagTold, ...]:
        """Each flag of it in words."""
        told = self.judged.flags
        return tuple(FlagTold(each.kind, each.detail, find_flag(each.kind).meaning) for each in told)


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
    rig = campaign.rig_of(stored[place].row)
    bolt = bolt_of(campaign, stored[place])
    known = {stored[place].key, *(each.key for each in others)}
    on_bolt = [each for each in stored if bolt_of(campaign, each) == bolt and each.key not in known]
    chosen = [stored[place], *others, *on_bolt]
    worth, ((judged, facts), *rest) = judge_first(store, campaign, chosen, worth, calibrated=calibrated)
    if listed is not None and any(each.row.run == run and "scale" in each.flags for each in listed.lines):
        # Only all runs together show it; what the list says of this one is said here too.
        judged = replace(judged, flags=(Flag("scale", find_flag("scale").meaning), *judged.flags))
    window = None if facts is None or facts.start_s is None else facts.start_s + campaign.protocol.duration_s
    return RunLook(
        judged,
        facts,
        level_unit=worth.on(rig).unit if worth.is_mixed else worth.unit,
        reading_unit=campaign.on_rig(rig).rig.unit,
        band=_band([each for each, _facts in rest[: len(others)]]),
        window_end_s=window,
        sound=find_sounds(store, key, campaign, stored[place : place + 1], worth).get(run),
        history=tuple(map(tell_event, store.history(stored[place]))),
        before=stored[place - 1].row.run if place else None,
        after=stored[place + 1].row.run if place + 1 < len(stored) else None,
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
        and (each.row.article, each.row.tool, each.row.rig) == (row.article, row.tool, row.rig)
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
