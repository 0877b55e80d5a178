"""The runs of a campaign as a list that is filtered and sorted, stored so that it comes at once.

Scoring every run means reading every trace's facts; what a list shows of them is saved under the state of the
store that it was made from. Setting a run aside changes no score unless its reading lies beyond the
calibrated range, so the list outlives that too.
"""

from __future__ import annotations

import hashlib
import json
from collections.abc import Callable, Mapping
from dataclasses import asdict, dataclass, fields, replace
from functools import lru_cache
from pathlib import Path
from typing import Any, Final

import sqlalchemy as sa

from strikeproof.campaign import schema as tables
from strikeproof.campaign.database import newest_fact, reading
from strikeproof.campaign.records import Campaign, RunRow
from strikeproof.campaign.run_rows import AMENDED, LOADED, PUT_BACK, SET_ASIDE
from strikeproof.campaign.store import Store, open_store
from strikeproof.desk.runs.flag_words import list_flags
from strikeproof.desk.runs.judged import JudgedCampaign, JudgedRun, judge_runs
from strikeproof.desk.workspace.opening import open_campaign
from strikeproof.desk.workspace.results_version import SCORES
from strikeproof.errors import BadInput

__all__ = [
    "SORTS",
    "Choice",
    "RunLine",
    "RunList",
    "answers_state",
    "campaign_state",
    "find_run_list",
    "make_run_list",
]

Progress = Callable[[int, int], None]

SORTS: Final = ("order", "run", "article", "tool", "block", "score", "blow_rate_hz", "flags")
"""What a list can be sorted by."""

_FORM = 4  # of what is stored


@dataclass(frozen=True, slots=True)
class RunLine:
    """One run as a list shows it; `flags` are kinds, `row` says whether it is excluded now."""

    key: int
    row: RunRow
    order: int
    score: float | None
    standard_uncertainty: float | None
    blows: int | None
    blow_rate_hz: float | None
    flags: tuple[str, ...]
    only_ratio: str | None

    def words(self) -> str:
        """All that a search looks through, in small letters."""
        flags = (*self.flags, list_flags(self.flags))
        row = self.row
        excluded = "" if row.set_aside is None else f"excluded: {row.set_aside}"
        said = (row.run, row.article, row.tool, row.block, row.note, excluded, *flags)
        return " ".join(each for each in said if each).casefold()


@dataclass(frozen=True, slots=True)
class Choice:
    """Which runs of a list, and in which order.

    Raises
    ------
    BadInput
        If it cannot be sorted by that.
    """

    words: str = ""
    article: str = ""
    tool: str = ""
    only_set_aside: bool = False
    only_flagged: bool = False
    sort: str = "order"
    down: bool = False

    def __post_init__(self) -> None:
        if self.sort not in SORTS:
            raise BadInput(repr(self.sort), where="sort", allowed=", ".join(SORTS))


@dataclass(frozen=True, slots=True)
class RunList:
    """Every run of a campaign with the number it is judged by, in `unit`.

    `plain` says why scores are no more than plain readings, or is None.
    """

    campaign: str
    unit: str
    plain: str | None
    warnings: tuple[str, ...]
    articles: tuple[str, ...]
    tools: tuple[str, ...]
    lines: tuple[RunLine, ...]

    def pick(self, choice: Choice) -> tuple[RunLine, ...]:
        """The lines that are wanted, sorted; those that lack what they are sorted by come last."""
        words = choice.words.casefold().split()
        found = [line for line in self.lines if _fits(line, choice, words)]
        has = [line for line in found if _sorted_by(line, choice.sort) is not None]
        lacks = [line for line in found if _sorted_by(line, choice.sort) is None]
        has.sort(key=lambda line: _sorted_by(line, choice.sort), reverse=choice.down)
        return (*has, *lacks)


def _fits(line: RunLine, choice: Choice, words: list[str]) -> bool:
    if choice.article and line.row.article != choice.article:
        return False
    if choice.tool and line.row.tool != choice.tool:
        return False
    if choice.only_set_aside and line.row.set_aside is None:
        return False
    if choice.only_flagged and not line.flags:
        return False
    if not words:
        return True
    said = line.words()
    return all(word in said for word in words)


def _sorted_by(line: RunLine, name: str) -> Any:
    value = getattr(line.row if name in _OF_SHEET else line, name)
    if name == "flags":
        return (len(value), value)
    if name in ("run", "block"):
        return _natural(value)
    return value


def _natural(text: str) -> tuple[tuple[int, int, str], ...]:
    """Sorts r9 before r10."""
    parts: list[tuple[int, int, str]] = []
    word = ""
    for letter in f"{text}\0":
        if word and (word[-1].isdecimal() != letter.isdecimal() or letter == "\0"):
            parts.append((0, int(word), "") if word.isdecimal() else (1, 0, word))
            word = ""
        word += letter
    return tuple(parts)


def find_run_list(workspace: Path, name: str | None) -> RunList | None:
    """The list as it is stored for just this state of the campaign; None when it is still to be made.

    Raises
    ------
    StrikeproofError
        If there is no such campaign.
    """
    store, key, campaign = open_campaign(workspace, name)
    aside = _set_aside(store, key)
    state = _state(store, key, campaign)
    ratios = _kept_ratios(store, state)
    if ratios is None:  # unless a run could not be examined with the traces as they are
        state = _with_traces(store, state)
        ratios = _kept_ratios(store, state)
    if ratios is None:
        return None
    try:
        made = _kept_list(workspace, _list_key(state, ratios, aside))
    except KeyError:
        return None
    return _with_reasons(made, aside)


def _with_reasons(made: RunList, aside: Mapping[int, str]) -> RunList:
    lines = tuple(
        replace(line, row=replace(line.row, set_aside=aside[line.key])) if line.key in aside else line
        for line in made.lines
    )
    return replace(made, lines=lines)


def make_run_list(workspace: Path, name: str | None, progress: Progress | None = None) -> RunList:
    """Score every run and keep the list of them.

    Raises
    ------
    StrikeproofError
        If there is no such campaign, or it has no runs.
    """
    store, key, campaign = open_campaign(workspace, name)
    state = _state(store, key, campaign)
    with_traces = _with_traces(store, state)
    judged = judge_runs(store, key, campaign, progress)
    if any(flag.kind == "not-examined" for run in judged.runs for flag in run.flags):
        state = with_traces
    ratios = [run.stored.key for run in judged.runs if any(flag.kind == "only-ratio" for flag in run.flags)]
    aside = {run.stored.key: "" for run in judged.runs if run.stored.set_aside is not None}
    packed = _packed(judged)
    if not store.keep_facts({state: ratios, _list_key(state, ratios, aside): packed}):
        return _with_reasons(_unpacked(packed), _set_aside(store, key))
    found = find_run_list(workspace, name)
    # Another process may have loaded runs meanwhile: then the list just made is of the past.
    return found if found is not None else make_run_list(workspace, name, progress)


def _state(store: Store, key: int, campaign: Campaign) -> str:
    """Hash of all that scores depend on, but for which runs are excluded.

    A run's history only grows, so its last word of being loaded or amended says that nothing changed since.
    """
    of_run = tables.event.join(tables.run, tables.run.c.id == tables.event.c.run_id)
    spoken = tables.event.c.kind.in_((LOADED, AMENDED))
    with reading(store.engine) as db:
        last = db.scalar(
            sa.select(sa.func.max(tables.event.c.id))
            .select_from(of_run)
            .where(tables.run.c.campaign_id == key, spoken)
        )
        sheet = db.scalar(
            sa.select(tables.calibration.c.original_sha256).where(tables.calibration.c.campaign_id == key)
        )
        others = db.execute(
            sa.select(tables.rig_calibration.c.rig, tables.rig_calibration.c.original_sha256)
            .where(tables.rig_calibration.c.campaign_id == key)
            .order_by(tables.rig_calibration.c.rig)
        )
        sheets = [sheet, *map(list, others)]
    words = json.dumps(["run list", _FORM, SCORES, key, asdict(campaign), last, sheets])
    return hashlib.sha256(words.encode()).hexdigest()


def _with_traces(store: Store, state: str) -> str:
    """A state that lasts until a trace is put in its place: what a missing one hid may come back."""
    return hashlib.sha256(f"{state} {store.traces.stat().st_mtime_ns}".encode()).hexdigest()


def campaign_state(workspace: Path, name: str | None) -> str:
    """Hash of all that a campaign's results depend on: the same word means that nothing changed.

    Raises
    ------
    StrikeproofError
        If there is no such campaign.
    """
    store, key, campaign = open_campaign(workspace, name)
    aside = sorted(_set_aside(store, key).items())
    return hashlib.sha256(json.dumps([_state(store, key, campaign), aside]).encode()).hexdigest()


def answers_state(workspace: Path, name: str | None) -> str:
    """The same for results that say what else was worked out, such as an explanation: hash of that too.

    Raises
    ------
    StrikeproofError
        If there is no such campaign.
    """
    with reading(open_store(workspace).engine) as db:
        known = newest_fact(db)
    return f"{campaign_state(workspace, name)} {known[0]} {known[1]}"


def _list_key(state: str, ratios: list[int], aside: Mapping[int, str]) -> str:
    """Scores are plain readings as soon as one run that counts lies beyond the calibrated range."""
    beyond = sorted(set(ratios) - aside.keys())
    return hashlib.sha256(json.dumps([state, beyond]).encode()).hexdigest()


def _kept_ratios(store: Store, state: str) -> list[int] | None:
    found = store.facts([state]).get(state)
    return None if found is None else list(found)


def _set_aside(store: Store, key: int) -> dict[int, str]:
    """The runs that are excluded now, with the reason."""
    word = tables.event.c.kind.in_((SET_ASIDE, PUT_BACK))
    last = (
        sa.select(sa.func.max(tables.event.c.id))
        .select_from(tables.event.join(tables.run, tables.run.c.id == tables.event.c.run_id))
        .where(tables.run.c.campaign_id == key, word)
        .group_by(tables.event.c.run_id)
    )
    query = sa.select(tables.event.c.run_id, tables.event.c.because).where(
        tables.event.c.id.in_(last), tables.event.c.kind == SET_ASIDE
    )
    with reading(store.engine) as db:
        return {found.run_id: found.because or "" for found in db.execute(query)}


_OF_SHEET = ("run", "article", "tool", "block", "note")
_COLUMNS = tuple(field.name for field in fields(RunLine) if field.name != "row")


def _packed(judged: JudgedCampaign) -> dict[str, Any]:
    """The list as plain JSON, column by column."""
    lines = [_line(judged.campaign, run) for run in judged.runs]
    return {
        "campaign": judged.campaign.name,
        "unit": judged.unit,
        "plain": judged.worth.ratio_reason,
        "warnings": [*judged.doubts, *judged.warnings, *filter(None, [judged.unwatched])],
        "articles": [each.name for each in judged.campaign.articles],
        "tools": [each.name for each in judged.campaign.tools],
        "sheet": {name: [getattr(line.row, name) for line in lines] for name in _OF_SHEET},
        "columns": {name: [getattr(line, name) for line in lines] for name in _COLUMNS},
    }


def _line(campaign: Campaign, run: JudgedRun) -> RunLine:
    return RunLine(
        key=run.stored.key,
        row=replace(run.stored.row, block=campaign.block_of(run.stored.row)),
        order=run.order,
        score=run.score,
        standard_uncertainty=run.standard_uncertainty,
        blows=run.blows,
        blow_rate_hz=run.blow_rate_hz,
        flags=tuple(flag.kind for flag in run.flags),
        only_ratio=run.only_ratio,
    )


@lru_cache(maxsize=4)
def _kept_list(workspace: Path, key: str) -> RunList:
    """The stored list of that key.

    Raises
    ------
    KeyError
        If there is none, so that nothing is remembered of that.
    """
    return _unpacked(open_store(workspace).facts([key])[key])


def _unpacked(kept: Mapping[str, Any]) -> RunList:
    columns = {**kept["columns"], "flags": [tuple(each) for each in kept["columns"]["flags"]]}
    told = zip(*(kept["sheet"][name] for name in _OF_SHEET), strict=True)
    rows = [RunRow(**dict(zip(_OF_SHEET, each, strict=True))) for each in told]
    lines = zip(*(columns[name] for name in _COLUMNS), strict=True)
    return RunList(
        kept["campaign"],
        kept["unit"],
        kept["plain"],
        tuple(kept["warnings"]),
        tuple(kept["articles"]),
        tuple(kept["tools"]),
        tuple(
            RunLine(row=row, **dict(zip(_COLUMNS, each, strict=True)))
            for row, each in zip(rows, lines, strict=True)
        ),
    )
