"""The rows of runs, traces and their history, read and written inside a transaction of the store."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import asdict, replace
from datetime import UTC, datetime
from enum import Enum
from typing import Any

import sqlalchemy as sa
from sqlalchemy import Connection

from strikeproof.campaign import schema as tables
from strikeproof.campaign.kept import KeptTrace, StoredRun
from strikeproof.campaign.records import RunRow
from strikeproof.errors import StoreError
from strikeproof.plain_text import clean_text

__all__ = [
    "AMENDED",
    "LOADED",
    "LOG_REPLACED",
    "OVERLOADED",
    "PUT_BACK",
    "SET_ASIDE",
    "SOUND",
    "Saved",
    "as_stored",
    "insert_run",
    "keep_original",
    "keep_trace",
    "key_of",
    "know_sheet",
    "now",
    "patch_run",
    "rename_run",
    "replace_trace",
    "say",
    "source_of",
    "take_up",
    "trace_of",
]

SET_ASIDE, PUT_BACK, LOADED, AMENDED = "set aside", "put back", "loaded", "amended"
LOG_REPLACED = "log replaced"
OVERLOADED = "overloaded"  # beyond what its bolt might carry, by the campaign as it then was
SOUND = "sound"  # its reason is the hash of the recording that was stored for the run


class Saved(Enum):
    """What came of saving a run.

    OTHER_LOG: it is saved already from another log, or without one. NOT_MADE: it is only planned.
    """

    LOADED = "loaded"
    UNCHANGED = "unchanged"
    AMENDED = "amended"
    OTHER_LOG = "other log"
    NOT_MADE = "not made"


def now() -> str:
    """The present instant in UTC, ISO 8601."""
    return datetime.now(UTC).isoformat(timespec="milliseconds")


def key_of(made: sa.CursorResult[Any]) -> int:
    """The primary key of a row just inserted."""
    key = made.inserted_primary_key
    if key is None:
        raise StoreError("the database gave no key for a new row", "report this as a bug")
    return int(key[0])


def say(
    db: Connection,
    run_key: int,
    kind: str,
    because: str | None,
    by: str,
    **of_kind: str | float | None,
) -> None:
    """Add one line to a run's history.

    Parameters
    ----------
    of_kind
        What a kind of line has besides: `trace_sha256` of the trace that counted before it, `allowed_n` of
        the load that was allowed. [N]
    """
    db.execute(
        tables.event.insert().values(run_id=run_key, at=now(), kind=kind, because=because, by=by, **of_kind)
    )


def keep_original(db: Connection, sha256: str, name: str, size: int) -> None:
    """Know an original file, once."""
    if db.scalar(sa.select(tables.original.c.sha256).where(tables.original.c.sha256 == sha256)) is None:
        db.execute(tables.original.insert().values(sha256=sha256, name=name, bytes=size))


def keep_trace(db: Connection, trace: KeptTrace) -> None:
    """Know a trace and its original, once."""
    keep_original(db, trace.original_sha256, trace.original_name, trace.original_bytes)
    if db.scalar(sa.select(tables.trace.c.sha256).where(tables.trace.c.sha256 == trace.sha256)) is None:
        db.execute(
            tables.trace.insert().values(
                sha256=trace.sha256,
                original_sha256=trace.original_sha256,
                samples=trace.samples,
                sample_rate_hz=trace.sample_rate_hz,
                started=trace.started,
                channels=[list(channel) for channel in trace.channels],
                findings=list(trace.findings),
            )
        )


def source_of(db: Connection, trace_sha256: str | None) -> str | None:
    """The hash of the original log behind a trace."""
    query = sa.select(tables.trace.c.original_sha256).where(tables.trace.c.sha256 == trace_sha256)
    return None if trace_sha256 is None else db.scalar(query)


def _row_json(row: RunRow) -> dict[str, Any]:
    # The line is where the row was, not what it says: moving a row in its sheet changes nothing.
    return asdict(replace(row, line=None))


def _without_decision(said: Mapping[str, Any]) -> dict[str, Any]:
    return {**said, "set_aside": None}


def insert_run(
    db: Connection, campaign_key: int, ordinal: int, row: RunRow, trace: KeptTrace | None, sheet: str
) -> Saved:
    """A run that is not there yet."""
    said = _row_json(row)
    made = db.execute(
        tables.run.insert().values(
            campaign_id=campaign_key,
            name=row.run,
            ordinal=ordinal,
            row=_without_decision(said),
            trace_sha256=trace.sha256 if trace else None,
            sheets={sheet: said},
        )
    )
    key = key_of(made)
    say(db, key, LOADED, None, "sheet")
    if row.set_aside:
        say(db, key, SET_ASIDE, row.set_aside, "sheet")
    return Saved.LOADED


def take_up(
    db: Connection, found: Any, ordinal: int, row: RunRow, trace: KeptTrace | None, sheet: str
) -> Saved:
    """What a sheet says of a run that it did not say before, and its trace if its log was read again."""
    said, sheets = _row_json(row), dict(found.sheets or {})
    new = {name: value for name, value in said.items() if _is_new(name, value, sheets, sheet)}
    holds = {**found.row, "set_aside": reason_of(db, found.id)}
    changed = sorted(name for name, value in new.items() if value != holds.get(name))
    values: dict[str, Any] = {}
    if sheets.get(sheet) != said:
        values["sheets"] = {**sheets, sheet: said}
    if ordinal != found.ordinal:
        values["ordinal"] = ordinal
    if changed:
        values["row"] = _without_decision({**found.row, **new})
    if values:
        db.execute(tables.run.update().where(tables.run.c.id == found.id).values(**values))
    decides = "set_aside" in changed
    words = [_change(name, holds.get(name), new[name]) for name in changed if name != "set_aside"]
    if trace is not None and trace.sha256 != found.trace_sha256:
        _renew_trace(db, found, trace)
        words.append("trace")
    if words:
        say(db, found.id, AMENDED, "; ".join(words), "sheet")
    if decides:
        say(db, found.id, SET_ASIDE if row.set_aside else PUT_BACK, row.set_aside, "sheet")
    return Saved.AMENDED if words or decides else Saved.UNCHANGED


def _change(name: str, before: object, after: object) -> str:
    """A field with what held and what holds now: the history is the only place that keeps the first."""
    return f"{name}: {_written(before)} -> {_written(after)}"


def _written(value: object) -> str:
    if isinstance(value, float):
        return f"{value:.15g}"
    return "none" if value is None else clean_text(str(value))  # of before texts were judged


def _is_new(name: str, value: object, sheets: Mapping[str, Any], sheet: str) -> bool:
    """Whether a cell says what its sheet did not say before; of an unknown sheet, what no sheet did.

    A sheet that still says what it said only lags behind what was decided elsewhere. An unknown one may be
    an older copy: it can exclude a run, but a reason that it lacks includes none again.
    """
    if name == "set_aside" and value is None and sheet not in sheets:
        return False
    known = [sheets[sheet]] if sheet in sheets else list(sheets.values())
    return all(value != each.get(name) for each in known)


def reason_of(db: Connection, run_key: int) -> str | None:
    """Why a run is excluded, by the latest word of its history; None when it counts."""
    words = (
        sa.select(tables.event.c.kind, tables.event.c.because)
        .where(tables.event.c.run_id == run_key, tables.event.c.kind.in_((SET_ASIDE, PUT_BACK)))
        .order_by(tables.event.c.id.desc())
    )
    last = db.execute(words).first()
    return last.because if last is not None and last.kind == SET_ASIDE else None


def patch_run(db: Connection, run_key: int, changes: Mapping[str, Any], by: str) -> None:
    """Change the fields that are named and no other; nothing is said when they hold already."""
    row = dict(db.execute(sa.select(tables.run.c.row).where(tables.run.c.id == run_key)).scalar_one())
    changed = sorted(name for name, value in changes.items() if row.get(name) != value)
    if changed:
        db.execute(tables.run.update().where(tables.run.c.id == run_key).values(row={**row, **changes}))
        words = [_change(name, row.get(name), changes[name]) for name in changed]
        say(db, run_key, AMENDED, "; ".join(words), by)


def rename_run(db: Connection, found: Any, renames: Mapping[str, Mapping[str, str]], sheet: str) -> None:
    """New names of a run's tool or article, in its row and in what a sheet is known to say."""
    patch_run(db, found.id, _new_names(found.row, renames), "person")
    sheets = dict(found.sheets or {})
    if sheet in sheets and (changes := _new_names(sheets[sheet], renames)):
        values = {"sheets": {**sheets, sheet: {**sheets[sheet], **changes}}}
        db.execute(tables.run.update().where(tables.run.c.id == found.id).values(**values))


def _new_names(said: Mapping[str, Any], renames: Mapping[str, Mapping[str, str]]) -> dict[str, str]:
    return {name: of[said[name]] for name, of in renames.items() if said.get(name) in of}


def know_sheet(db: Connection, sheet: str, run: StoredRun) -> None:
    """What the program itself wrote on a sheet is not news when the sheet is read."""
    said = _row_json(replace(run.row, set_aside=run.set_aside))
    sheets = dict(db.scalar(sa.select(tables.run.c.sheets).where(tables.run.c.id == run.key)) or {})
    if sheets.get(sheet) != said:
        values = {"sheets": {**sheets, sheet: said}}
        db.execute(tables.run.update().where(tables.run.c.id == run.key).values(**values))


def _renew_trace(db: Connection, found: Any, trace: KeptTrace) -> None:
    """Another trace of the same original; the old one is forgotten when no other run is on it."""
    keep_trace(db, trace)
    db.execute(tables.run.update().where(tables.run.c.id == found.id).values(trace_sha256=trace.sha256))
    uses = (
        sa.select(table.c.id).where(table.c.trace_sha256 == found.trace_sha256)
        for table in (tables.run, tables.event)
    )
    if all(db.scalar(use) is None for use in uses):
        db.execute(tables.trace.delete().where(tables.trace.c.sha256 == found.trace_sha256))


def replace_trace(db: Connection, run_key: int, trace: KeptTrace, because: str, by: str) -> bool:
    """Another log, or another reading of the same, in place of the one that counts; that one stays."""
    mine = tables.run.c.id == run_key
    before = db.scalar(sa.select(tables.run.c.trace_sha256).where(mine))
    if before == trace.sha256:
        return False
    keep_trace(db, trace)
    db.execute(tables.run.update().where(mine).values(trace_sha256=trace.sha256))
    say(db, run_key, LOG_REPLACED, because, by, trace_sha256=before)
    return True


def trace_of(found: Mapping[Any, Any]) -> KeptTrace | None:
    """The trace of a joined row, with its original; None where the row has none."""
    if found[tables.trace.c.sha256] is None:
        return None
    return KeptTrace(
        sha256=found[tables.trace.c.sha256],
        original_sha256=found[tables.original.c.sha256],
        original_name=found[tables.original.c.name],
        original_bytes=found[tables.original.c.bytes],
        samples=found[tables.trace.c.samples],
        sample_rate_hz=found[tables.trace.c.sample_rate_hz],
        started=found[tables.trace.c.started],
        channels=tuple((name, unit) for name, unit in found[tables.trace.c.channels]),
        findings=tuple(found[tables.trace.c.findings]),
    )


def as_stored(found: Mapping[Any, Any]) -> StoredRun:
    """One joined row as a record."""
    aside = found[tables.event.c.because] if found[tables.event.c.kind] == SET_ASIDE else None
    return StoredRun(
        key=found[tables.run.c.id],
        ordinal=found[tables.run.c.ordinal],
        row=RunRow(**found[tables.run.c.row]),
        trace=trace_of(found),
        set_aside=aside,
    )
