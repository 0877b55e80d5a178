"""What a change to a campaign would do to the runs that were made already: said before it is done."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from pathlib import Path
from typing import Any, Final, Literal

import sqlalchemy as sa

from strikeproof.campaign import schema
from strikeproof.campaign.agreement import turning_of
from strikeproof.campaign.database import reading
from strikeproof.campaign.database_server import holds_store
from strikeproof.campaign.inside import path_inside
from strikeproof.campaign.records import RunRow
from strikeproof.campaign.store import open_store
from strikeproof.campaign.table import read_table
from strikeproof.desk.setting_up.edits import Tables
from strikeproof.desk.setting_up.renames import Renames, find_renames
from strikeproof.desk.setting_up.run_rows import sheet_path
from strikeproof.errors import BadFile, BadInput, StrikeproofError
from strikeproof.joint import OWN_KEYS
from strikeproof.quantity import same_unit

__all__ = ["Effect", "find_effects", "find_made_runs", "under_new_names"]


@dataclass(frozen=True, slots=True)
class Effect:
    """What a change would do: `never` is refused, `ask` waits for a yes."""

    kind: Literal["never", "ask"]
    says: str


_SCORED_ANEW: Final = {
    "protocol": ("duration", "direction", "rotation", "score"),
    "rig": ("name", "channel", "unit", "sample_rate_hz", "resolution", "full_scale", "zero"),
    "bolt": ("thread", "class", "hand", "friction", "thread_friction", "head_friction", "name", *OWN_KEYS),
}
_WORDS_ONLY: Final = ("name", "note", "price")


def find_made_runs(folder: Path, tables: Mapping[str, Any], workspace: Path) -> tuple[RunRow, ...]:
    """Runs of this campaign that were made (log, score or reason is there), by sheet and workspace."""
    found = {run.run: run for run in _on_sheet(folder, tables)}
    for run in _in_store(workspace, str(tables.get("campaign", {}).get("name", ""))):
        found.setdefault(run.run, run)
    return tuple(found.values())


def _on_sheet(folder: Path, tables: Mapping[str, Any]) -> Iterator[RunRow]:
    runs = tables.get("runs", {})
    logs = str(runs.get("logs", "logs"))
    try:
        sheet = sheet_path(folder, tables)
        if not sheet.is_file():
            return
        table = read_table(sheet)
    except StrikeproofError:  # an empty sheet, or one that loading says more about
        return
    tools = tables.get("tool", [])
    only = str(tools[0].get("name", "")) if len(tools) == 1 else ""
    for row in table.rows:
        cells = row.cells
        told = any(cells.get(column) for column in ("started", "set_aside", "score"))
        if cells.get("run") and (told or _is_there(folder, logs, cells.get("log"))):
            yield RunRow(cells["run"], cells.get("article", ""), cells.get("tool") or only, "")


def _is_there(folder: Path, logs: str, log: str | None) -> bool:
    try:
        return bool(log) and path_inside(folder, logs, log or "", key="log").is_file()
    except BadFile:
        return False


def _in_store(workspace: Path, name: str) -> Iterator[RunRow]:
    if not name or not holds_store(workspace):
        return
    store = open_store(workspace)
    if name in store.campaigns():
        key, _campaign = store.campaign(name)
        # Only three words of each run are needed, at every change: not its trace and history.
        query = (
            sa.select(schema.run.c.row).where(schema.run.c.campaign_id == key).order_by(schema.run.c.ordinal)
        )
        with reading(store.engine) as db:
            for row in db.scalars(query):
                yield RunRow(row["run"], row["article"], row["tool"], "")


def under_new_names(made: Sequence[RunRow], renames: Renames) -> tuple[RunRow, ...]:
    """The same runs, with their tools and articles as they are called now."""
    tools, articles = (renames.get(kind, {}) for kind in ("tool", "article"))
    return tuple(
        replace(run, tool=tools.get(run.tool, run.tool), article=articles.get(run.article, run.article))
        for run in made
    )


def find_effects(before: Tables, after: Tables, made: Sequence[RunRow]) -> tuple[Effect, ...]:
    """What changing `before` into `after` would do to the runs that were made."""
    if not made:
        return ()
    return (
        *_gone(before, after, made),
        *_renamed(before, after, made),
        *_campaign_effects(before, after, made),
        *_turned(before, after, made),
        *_relabelled(before, after),
        *_scores(before, after, made),
        *_described(before, after, made),
    )


def _names(tables: Mapping[str, Any], kind: str) -> list[str]:
    return [str(each.get("name", "")) for each in tables.get(kind, [])]


def _of(made: Sequence[RunRow], kind: str, name: str) -> int:
    return sum(getattr(run, kind) == name for run in made)


def _runs(count: int) -> str:
    return "1 run was" if count == 1 else f"{count} runs were"


def _gone(before: Tables, after: Tables, made: Sequence[RunRow]) -> Iterator[Effect]:
    for kind in ("tool", "article"):
        renamed = find_renames(before, after, kind)
        for name in _names(before, kind):
            count = _of(made, kind, name)
            if count and name not in _names(after, kind) and name not in renamed:
                fix = "Exclude its runs with a reason instead; they stay on every chart."
                yield Effect("never", f"{_runs(count)} made with {name!r}, and no run is ever deleted. {fix}")


def _renamed(before: Tables, after: Tables, made: Sequence[RunRow]) -> Iterator[Effect]:
    for kind in ("tool", "article"):
        for was, now in find_renames(before, after, kind).items():
            if count := _of(made, kind, was):
                what = f"{_runs(count)} made with {was!r} and will be listed under {now!r}."
                yield Effect("ask", what)


def _campaign_effects(before: Tables, after: Tables, made: Sequence[RunRow]) -> Iterator[Effect]:
    old, new = before.get("campaign", {}), after.get("campaign", {})
    if old.get("name") != new.get("name"):
        said = (
            f"The {len(made)} runs saved as {old.get('name')!r} stay there; loading makes a second campaign."
        )
        yield Effect("ask", said)
    renamed = find_renames(before, after, "article")
    was = old.get("reference")
    if was != new.get("reference") and renamed.get(str(was)) != new.get("reference"):
        said = f"Every comparison will be against {new.get('reference')!r} instead of {was!r}."
        yield Effect("ask", said)


def _scores(before: Tables, after: Tables, made: Sequence[RunRow]) -> Iterator[Effect]:
    changes = [
        f"{table}.{key}: {_shown(before, table, key)} → {_shown(after, table, key)}"
        for table, keys in _SCORED_ANEW.items()
        for key in keys
        if before.get(table, {}).get(key) != after.get(table, {}).get(key)
    ]
    if before.get("calibration") != after.get("calibration"):
        changes.append("calibration")
    if changes:
        yield Effect(
            "ask", f"{_runs(len(made))} made already and will be scored again ({'; '.join(changes)})."
        )


def _turned(before: Tables, after: Tables, made: Sequence[RunRow]) -> Iterator[Effect]:
    """A tool's rotation that changes after runs were made: runs of the two are never compared."""
    was, now = _rotation(before), _rotation(after)
    if was and now and was != now:
        yield Effect(
            "ask",
            f"{_runs(len(made))} made with the tool in {was}, and will count as made in {now}. Go on only if "
            "that is how they were made: a tool may hit differently in reverse, so runs of both are never "
            "compared. For runs the other way round make a new campaign.",
        )


def _rotation(tables: Mapping[str, Any]) -> str | None:
    protocol, bolt = tables.get("protocol", {}), tables.get("bolt", {})
    try:
        return turning_of(
            protocol.get("direction"), protocol.get("rotation"), bolt.get("thread"), bolt.get("hand")
        ).rotation
    except BadInput:  # said at its key
        return None


def _relabelled(before: Tables, after: Tables) -> Iterator[Effect]:
    """A unit that changes after runs were made: what is converted by it and what only gets another label."""
    for table, key, of in (
        ("rig", "unit", "logs, typed scores and calibration readings"),
        ("calibration", "applied_unit", "applied values"),
    ):
        usual = "reading" if table == "rig" else ""
        was, now = (str(tables.get(table, {}).get(key, usual)) for tables in (before, after))
        if not was or not now or same_unit(was, now):
            continue
        yield Effect(
            "ask",
            f"{table}.{key}: numbers without a unit of their own are relabelled, not converted: 12.3 {was} "
            f"becomes 12.3 {now} in {of}. What names its unit is converted. Go on if {was} was wrong. To "
            f"convert instead, write the unit behind each number in the sheets first, such as 12.3 {was}; "
            "logs that name no unit cannot be converted.",
        )


def _shown(tables: Mapping[str, Any], table: str, key: str) -> str:
    value = tables.get(table, {}).get(key)
    return "not given" if value is None else str(value)


def _described(before: Tables, after: Tables, made: Sequence[RunRow]) -> Iterator[Effect]:
    """A tool or article whose description changes after runs were made with it."""
    for kind in ("tool", "article"):
        old, new = before.get(kind, []), after.get(kind, [])
        by_name = {str(each.get("name")): each for each in new}
        renamed = find_renames(before, after, kind)
        for entry in old:
            name = str(entry.get("name"))
            now = by_name.get(renamed.get(name, name))
            if now is not None and _facts(entry) != _facts(now) and (count := _of(made, kind, name)):
                yield Effect(
                    "ask",
                    f"{_runs(count)} made with {name!r} as it was described. Go on if only its description "
                    "was wrong; if the thing itself was changed, make it a new one.",
                )


def _facts(entry: Mapping[str, Any]) -> dict[str, Any]:
    return {key: value for key, value in entry.items() if key not in _WORDS_ONLY}
