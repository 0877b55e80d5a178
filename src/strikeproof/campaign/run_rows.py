"""The rows of runs, traces and their history, read and written inside a transaction of the store."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import asdict, replace
from datetime import UTC, datetime
from typing import Any, Literal

import sqlalchemy as sa
from sqlalchemy import Connection

from strikeproof.campaign import schema as tables
from strikeproof.campaign.kept import KeptTrace, StoredRun
from strikeproof.campaign.records import RunRow
from strikeproof.errors import StoreError

__all__ = [
    "AMENDED",
    "LOADED",
    "PUT_BACK",
    "SET_ASIDE",
    "SOUND",
    "Outcome",
    "amend_run",
    "as_stored",
    "insert_run",
    "keep_original",
    "keep_trace",
    "key_of",
    "now",
    "say",
    "source_of",
]

Outcome = Literal["loaded", "unchanged", "amended", "another log"]
SET_ASIDE, PUT_BACK, LOADED, AMENDED = "set aside", "put back", "loaded", "amended"
SOUND = "sound"  # its reason is the hash of the recording that was kept for the run


def now() -> str:
    """The present instant in UTC, ISO 8601."""
    return datetime.now(UTC).isoformat(timespec="milliseconds")


def key_of(made: sa.CursorResult[Any]) -> int:
    """The primary key of a row just inserted."""
    key = made.inserted_primary_key
    if key is None:
        raise StoreError("the database gave no key for a new row", "report this as a bug")
    return int(key[0])


def say(db: Connection, run_key: int, kind: str, because: str | None, by: str) -> None:
    """Add one line to a run's history."""
    db.execute(tables.event.insert().values(run_id=run_key, at=now(), kind=kind, because=because, by=by))


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
    # The line is where the row stood, not what it says: moving a row in its sheet changes nothing.
    return asdict(replace(row, line=None))


def insert_run(
    db: Connection, campaign_key: int, ordinal: int, row: RunRow, trace: KeptTrace | None
) -> Outcome:
    """A run that is not there yet."""
    made = db.execute(
        tables.run.insert().values(
            campaign_id=campaign_key,
            name=row.run,
            ordinal=ordinal,
            row=_row_json(row),
            trace_sha256=trace.sha256 if trace else None,
        )
    )
    key = key_of(made)
    say(db, key, LOADED, None, "sheet")
    if row.set_aside:
        say(db, key, SET_ASIDE, row.set_aside, "sheet")
    return "loaded"


def amend_run(db: Connection, found: Any, ordinal: int, row: RunRow, trace: KeptTrace | None) -> Outcome:
    """What the sheet says anew of a run that is there, and its trace if its log was read anew."""
    new, old = _row_json(row), dict(found.row)
    changed = sorted(key for key in new if new[key] != old.get(key))
    if changed or ordinal != found.ordinal:
        db.execute(tables.run.update().where(tables.run.c.id == found.id).values(row=new, ordinal=ordinal))
    if trace is not None and trace.sha256 != found.trace_sha256:
        _renew_trace(db, found, trace)
        changed.append("trace")
    if not changed:
        return "unchanged"
    say(db, found.id, AMENDED, ", ".join(changed), "sheet")
    if "set_aside" in changed:
        say(db, found.id, SET_ASIDE if row.set_aside else PUT_BACK, row.set_aside, "sheet")
    return "amended"


def _renew_trace(db: Connection, found: Any, trace: KeptTrace) -> None:
    """Another trace of the same original; the old one is forgotten when no other run is on it."""
    keep_trace(db, trace)
    db.execute(tables.run.update().where(tables.run.c.id == found.id).values(trace_sha256=trace.sha256))
    still_used = sa.select(tables.run.c.id).where(tables.run.c.trace_sha256 == found.trace_sha256)
    if db.scalar(still_used) is None:
        db.execute(tables.trace.delete().where(tables.trace.c.sha256 == found.trace_sha256))


def as_stored(found: Mapping[Any, Any]) -> StoredRun:
    """One joined row as a record."""
    trace = None
    if found[tables.run.c.trace_sha256] is not None:
        trace = KeptTrace(
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
    aside = found[tables.event.c.because] if found[tables.event.c.kind] == SET_ASIDE else None
    return StoredRun(
        key=found[tables.run.c.id],
        ordinal=found[tables.run.c.ordinal],
        row=RunRow(**found[tables.run.c.row]),
        trace=trace,
        set_aside=aside,
    )
