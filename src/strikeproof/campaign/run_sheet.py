"""The run sheet: one line a run, as it was done."""

from __future__ import annotations

import math
import re
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from datetime import datetime
from pathlib import Path
from typing import Any, Final

from strikeproof.campaign.conditions import CONDITIONS, read_condition
from strikeproof.campaign.day_order import DayOrder, find_day_order, read_date
from strikeproof.campaign.records import Campaign, RunRow
from strikeproof.campaign.table import Row, Table, read_table
from strikeproof.errors import BadFile, BadInput, Problem, nearest
from strikeproof.joint.turning import Rotation
from strikeproof.plain_text import TextKind, TextProblem, judge_text

__all__ = [
    "COLUMNS",
    "FURTHER_COLUMNS",
    "NEW_BOLT",
    "parse_started",
    "read_rotation",
    "read_run_sheet",
    "row_of",
    "says_only_plan",
    "sheet_mark",
    "sheet_schema",
]


@dataclass(frozen=True, slots=True)
class Column:
    """One column; `kind` is None where its cells have a form of their own."""

    name: str
    meaning: str
    kind: TextKind | None = TextKind.NAME
    needed: bool = False


_NEW: Final = (
    Column("run", "the run's name, once in the sheet", needed=True),
    Column(
        "log",
        "file in the folder of logs, for one run, or several with |, or a pattern with *; this or a score",
        TextKind.FILE,
    ),
    Column("tool", "a tool of the campaign; needed when there are several"),
    Column("article", "an article of the campaign", needed=True),
    Column("block", "runs close in time, compared with each other first", needed=True),
    Column("bolt", "which bolt"),
    Column("started", "day and time; given for all runs, it sets their order", None),
    Column("set_aside", "why the run does not count", TextKind.NOTE),
    Column("note", "anything else, shown beside the run", TextKind.NOTE),
    Column("score", "the result of a run without a log, net of zero, in the rig's unit", None),
)
_FURTHER: Final = (
    Column("channel", "the column of its log that is judged, where it is not the rig's", TextKind.CHANNEL),
    Column("rotation", "forward or reverse, where it is not the protocol's", None),
    *(Column(each.name, each.label, TextKind.NOTE) for each in CONDITIONS),
    Column("rig", "the rig that it was made on, where it is not the campaign's own"),
)
COLUMNS = tuple(each.name for each in _NEW)
"""The columns that a new sheet has."""
FURTHER_COLUMNS = tuple(each.name for each in _FURTHER)
"""Columns that are known too."""
NEW_BOLT = "new bolt"
"""The note that a plan writes on a line; any other was written by a person."""
_KNOWN = (*COLUMNS, *FURTHER_COLUMNS)
_REQUIRED = tuple(each.name for each in _NEW if each.needed)
_KINDS = {each.name: each.kind for each in (*_NEW, *_FURTHER) if each.kind is not None}
_CONDITIONS = frozenset(each.name for each in CONDITIONS)
_NO_REASONS = {"0", "1", "false", "true", "n", "no", "none", "x", "y", "yes", "-", "–"}
_ROTATIONS: dict[str, Rotation] = {"forward": "forward", "reverse": "reverse"}
_CLOCK_FORMS = ("%H:%M:%S", "%H:%M", "%I:%M:%S %p", "%I:%M %p")
_STARTED = re.compile(r"(\d{1,4}[-/.]\d{1,2}[-/.]\d{1,4})[T\s]+(.*?)\s*(?:([AaPp])\.?[Mm]\.?)?\s*")


def read_rotation(cell: str | None) -> Rotation | None:
    """The rotation that a cell names; None where it names none."""
    return _ROTATIONS.get((cell or "").strip().casefold())


def sheet_mark(folder: Path, campaign: Campaign) -> str:
    """What separates a campaign's run sheet from any other: where it lies."""
    return str((folder / campaign.runs_sheet).resolve())


def says_only_plan(row: RunRow) -> bool:
    """Whether a line says no more than a plan does, so that its run may not be made yet."""
    is_said = row.started or row.set_aside or row.score is not None or row.note not in (None, NEW_BOLT)
    return row.log == f"{row.run}.csv" and not is_said


def read_run_sheet(path: Path, campaign: Campaign) -> tuple[tuple[RunRow, ...], tuple[Problem, ...]]:
    """The usable rows of a run sheet and one problem for each of the others.

    Raises
    ------
    BadFile
        If the sheet as a whole cannot be used: not readable, or a column that every run needs is missing.
    """
    table = read_table(path, numbers=("score",))
    required = _REQUIRED if len(campaign.tools) == 1 else (*_REQUIRED, "tool")
    problems = list(table.column_problems(required, _KNOWN))
    if any(name not in table.columns for name in required):
        raise BadFile(problems)
    rows: list[RunRow] = []
    order = _started_order(table)
    runs_seen: dict[str, int] = {}
    logs_seen: dict[str, str] = {}
    for row in table.rows:
        found = [*_row_problems(table, row, campaign, order), *_twice(table, row, runs_seen, logs_seen)]
        problems += (*found, *_condition_problems(str(path), row), *_cleaned(table, row, is_word=True))
        if not found:
            rows.append(_as_run(table, row, campaign, order))
            runs_seen[row.cells["run"]] = row.line
            if row.cells.get("log"):
                logs_seen[row.cells["log"]] = row.cells["run"]
    if not table.rows:
        problems.append(Problem(str(path), None, "the run sheet has no runs yet", "add one line a run"))
    return tuple(rows), tuple(problems)


def _as_run(table: Table, row: Row, campaign: Campaign, order: DayOrder | None) -> RunRow:
    score, started = row.cells.get("score"), row.cells.get("started") or None
    return row_of(
        row.cells,
        campaign,
        score=table.number(row, "score", _score_unit(campaign, row)) if score else None,
        started=_write_started(started, order),
        line=row.line,
    )


def row_of(cells: Mapping[str, str | None], campaign: Campaign, **more: Any) -> RunRow:
    """The cells of a line as a record.

    Parameters
    ----------
    more
        Fields that are not taken from the cells as they are; a score always is one.
    """
    told: dict[str, Any] = {name: cells.get(name) or None for name in _KNOWN}
    told |= {"tool": told["tool"] or campaign.tools[0].name, "rotation": read_rotation(told["rotation"])}
    return RunRow(**(told | {"score": None} | more))


def sheet_schema() -> dict[str, Any]:
    """The columns as a Table Schema (Frictionless), for other programs."""
    fields = [
        {
            "name": each.name,
            "type": "number" if each.name == "score" else "string",
            "description": each.meaning,
        }
        | ({"constraints": {"required": True}} if each.needed else {})
        for each in (*_NEW, *_FURTHER)
    ]
    return {"fields": fields, "primaryKey": "run"}


def _row_problems(table: Table, row: Row, campaign: Campaign, order: DayOrder | None) -> Iterator[Problem]:
    file = str(table.path)
    yield from _cleaned(table, row, is_word=False)
    for name, kind in _KINDS.items():
        if name in _CONDITIONS:
            continue
        told = judge_text(row.cells.get(name, ""), kind)
        if isinstance(told, TextProblem):
            yield Problem(file, row.line, f"{name}: {told.what}", told.fix)
    for name in _REQUIRED:
        if not row.cells.get(name):
            yield Problem(file, row.line, f"{name} is empty", f"fill in the {name}")
    choices = {
        "article": [article.name for article in campaign.articles],
        "tool": [tool.name for tool in campaign.tools],
        "rig": list(campaign.rig_names),
    }
    tables = {"rig": "other_rig"}
    for column, names in choices.items():
        name = row.cells.get(column, "")
        if name and name not in names:
            hint = nearest(name, names)
            fix = (
                f"did you mean {hint!r}?"
                if hint
                else f"add an [[{tables.get(column, column)}]] of that name to campaign.toml"
            )
            yield Problem(file, row.line, f"unknown {column} {name!r}", fix)
    if not row.cells.get("tool") and len(campaign.tools) > 1:
        yield Problem(file, row.line, "tool is empty", f"name one of: {', '.join(choices['tool'])}")
    yield from _rotation_problems(file, row)
    if row.cells.get("set_aside", "").casefold() in _NO_REASONS:
        what = f"set_aside: {row.cells['set_aside']!r} is no reason"
        yield Problem(file, row.line, what, "leave it empty when the run counts, else write why it does not")
    yield from _score_problems(table, row, _score_unit(campaign, row))
    if row.cells.get("started") and parse_started(row.cells["started"], order) is None:
        what = f"started: {row.cells['started']!r} {_what_is_unclear(row.cells['started'])}"
        yield Problem(file, row.line, what, "write it like 2026-05-04 09:30:00")


def _rotation_problems(file: str, row: Row) -> Iterator[Problem]:
    rotation = row.cells.get("rotation", "")
    if rotation and rotation.casefold() not in _ROTATIONS:
        what = f"rotation: {rotation!r} is neither forward nor reverse"
        yield Problem(file, row.line, what, "write forward or reverse, or leave it empty")


def _condition_problems(file: str, row: Row) -> Iterator[Problem]:
    """What is wrong with what varies from run to run; it spoils no run, and is saved as it is written."""
    for condition in CONDITIONS:
        if text := row.cells.get(condition.name, ""):
            told = judge_text(text, TextKind.NOTE)
            if isinstance(told, TextProblem):
                yield Problem(file, row.line, f"{condition.name}: {told.what}", told.fix)
            try:
                read_condition(condition, text)
            except BadInput as wrong:
                what = f"{condition.name}: {wrong.what}, {wrong.allowed} is meant"
                yield Problem(file, row.line, what, wrong.fix)


def _cleaned(table: Table, row: Row, *, is_word: bool) -> Iterator[Problem]:
    """What was cleaned in a row: in what is only said of a run, or in what names and places it."""
    for name in _KNOWN:
        if (row.line, name) in table.cleaned and (_KINDS.get(name) is TextKind.NOTE) is is_word:
            yield table.cleaned[row.line, name]


def _what_is_unclear(started: str) -> str:
    if parse_started(started, "day first") and parse_started(started, "month first"):
        return "may begin with the day or with the month"
    return "is not a date with a time"


def _score_unit(campaign: Campaign, row: Row) -> str:
    on = campaign.on_rig(row.cells.get("rig"))
    return "s" if campaign.protocol.score.kind == "time to" else on.rig.unit


def _score_problems(table: Table, row: Row, unit: str) -> Iterator[Problem]:
    file = str(table.path)
    if not row.cells.get("score"):
        if not row.cells.get("log"):
            yield Problem(
                file,
                row.line,
                "neither a log nor a score",
                "name the log file, or write the score if it is all there is",
            )
        return
    try:
        score = table.number(row, "score", unit)
    except BadFile as wrong:
        yield from wrong.problems
        return
    if not 0 < score < math.inf:
        what = f"score {score:g} is not a number above zero"
        yield Problem(file, row.line, what, "write the score as a positive number")


def _twice(table: Table, row: Row, runs: dict[str, int], logs: dict[str, str]) -> Iterator[Problem]:
    name, log = row.cells.get("run", ""), row.cells.get("log", "")
    if name in runs:
        what = f"run {name!r} is on line {runs[name]} already"
        yield Problem(str(table.path), row.line, what, "give each run its own name")
    if log in logs and name not in runs:
        what = f"log {log!r} belongs to run {logs[log]!r} already"
        yield Problem(str(table.path), row.line, what, "name the log of this run")


def parse_started(text: str, order: DayOrder | None = None) -> datetime | None:
    """The instant a run started, from ISO 8601 or a date and a clock; None when it cannot be read.

    `order` is that of day and month in the column, where the text itself leaves it open.
    """
    try:
        return datetime.fromisoformat(text)
    except ValueError:
        pass
    parts = _STARTED.fullmatch(text.strip())
    if parts is None:
        return None
    order = order or find_day_order([parts[1]], half_days=parts[3] is not None)
    day = None if order is None else read_date(parts[1], order)
    clock = f"{parts[2]} {parts[3]}m" if parts[3] else parts[2]
    for form in _CLOCK_FORMS:
        try:
            return None if day is None else datetime.combine(day, datetime.strptime(clock, form).time())
        except ValueError:
            continue
    return None


def _started_order(table: Table) -> DayOrder | None:
    """The order of day and month in the column `started`."""
    found = [
        parts for row in table.rows if (parts := _STARTED.fullmatch(row.cells.get("started", "").strip()))
    ]
    return (
        find_day_order([each[1] for each in found], half_days=any(each[3] for each in found))
        if found
        else None
    )


def _write_started(text: str | None, order: DayOrder | None) -> str | None:
    """As written, but for what only the whole column makes clear: that as ISO 8601."""
    if text is None or parse_started(text) is not None:
        return text
    instant = parse_started(text, order)
    return text if instant is None else instant.isoformat(sep=" ")
