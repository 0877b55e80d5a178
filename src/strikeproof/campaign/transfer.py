"""All rows of one store's database into another, and proof that they are the same."""

from __future__ import annotations

import hashlib
import json
from collections.abc import Iterator
from dataclasses import dataclass
from typing import Any, Final

import sqlalchemy as sa
from sqlalchemy import Connection, Integer, Table

from strikeproof.campaign import schema as tables
from strikeproof.campaign.sealed import is_damaged

__all__ = ["TableSum", "copy_rows", "sum_up"]

_AT_ONCE: Final = 500


@dataclass(frozen=True, slots=True)
class TableSum:
    """How many rows a table has, and the SHA-256 of what they say in the order of their key."""

    table: str
    rows: int
    sha256: str


def copy_rows(source: Connection, target: Connection) -> None:
    """Every row of every table, keys included, into empty tables; damaged results stay behind."""
    for table in tables.metadata.sorted_tables:
        for rows in _batches(source, table):
            target.execute(table.insert(), rows)
        if target.dialect.name == "postgresql":
            _count_on(target, table)


def sum_up(db: Connection) -> tuple[TableSum, ...]:
    """What the tables hold, so that two databases can be compared."""
    return tuple(_sum_of(db, table) for table in tables.metadata.sorted_tables)


def _sum_of(db: Connection, table: Table) -> TableSum:
    digest, count = hashlib.sha256(), 0
    for rows in _batches(db, table):
        for row in rows:
            digest.update(json.dumps(row, sort_keys=True).encode() + b"\n")
        count += len(rows)
    return TableSum(table.name, count, digest.hexdigest())


def _batches(db: Connection, table: Table) -> Iterator[list[dict[str, Any]]]:
    key = next(iter(table.primary_key.columns))
    columns = [
        sa.cast(each, sa.String).label(each.name) if each is tables.fact.c.value else each for each in table.c
    ]
    # PostgreSQL sorts text by the language of the server, by default.
    order = (
        key
        if isinstance(key.type, Integer)
        else sa.collate(key, "C" if db.dialect.name == "postgresql" else "BINARY")
    )
    found = db.execute(sa.select(*columns).order_by(order).execution_options(yield_per=_AT_ONCE))
    for rows in found.mappings().partitions(_AT_ONCE):
        plain = [_plain(table, dict(row)) for row in rows]
        whole = [row for row in plain if row is not None]
        if whole:
            yield whole


def _plain(table: Table, row: dict[str, Any]) -> dict[str, Any] | None:
    if table is not tables.fact:
        return row
    return None if is_damaged(row["value"]) else row | {"value": json.loads(row["value"])}


def _count_on(db: Connection, table: Table) -> None:
    """Let the server give keys after the last one that was brought."""
    key = table.autoincrement_column
    if key is not None:
        name, last = sa.literal(table.name), sa.select(sa.func.max(key)).scalar_subquery()
        sequence = sa.func.pg_get_serial_sequence(name, key.name)
        db.execute(sa.select(sa.func.setval(sequence, last)).where(last.is_not(None)))
