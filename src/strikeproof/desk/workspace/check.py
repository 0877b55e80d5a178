"""Verify a workspace: every hash, every reference, and the database itself."""

from __future__ import annotations

import shlex
import time
from collections.abc import Iterator
from dataclasses import dataclass, field
from pathlib import Path

import sqlalchemy as sa

from strikeproof.campaign import schema as tables
from strikeproof.campaign.database import reading
from strikeproof.campaign.files import hash_file
from strikeproof.campaign.records import Campaign, RunRow
from strikeproof.campaign.store import Store, open_store
from strikeproof.campaign.whole_file import is_waiting
from strikeproof.desk.workspace.backup_files import LastBackup, last_backup
from strikeproof.errors import Problem, StoreError
from strikeproof.plain_json import UNSHOWN, shown_as

__all__ = ["CheckOutcome", "check_workspace", "tidy_workspace"]

_ABANDONED_S = 86_400.0  # no write takes a day: a waiting file this old was cut off


@dataclass(frozen=True, slots=True)
class CheckOutcome:
    """What was verified and what is wrong; leftovers are harmless files that nothing refers to.

    `abandoned` are those of them whose writing was cut off more than a day ago; `backup` is the last one.
    `is_unreadable` where the database is so damaged that nothing else was looked at.
    """

    runs: int
    traces: int
    originals: int
    problems: tuple[Problem, ...]
    leftovers: tuple[str, ...]
    abandoned: tuple[str, ...] = ()
    backup: LastBackup | None = field(default=None, metadata=shown_as("last_backup"))
    is_unreadable: bool = field(default=False, metadata=UNSHOWN)


def check_workspace(workspace: Path) -> CheckOutcome:
    """Verify every hash and reference of a workspace; changes nothing."""
    store = open_store(workspace)
    try:
        return _check(store)
    finally:
        store.engine.dispose()


def _check(store: Store) -> CheckOutcome:
    backup = last_backup(store.folder)
    damage = tuple(_database_problems(store))
    if damage:
        return CheckOutcome(0, 0, 0, damage, (), backup=backup, is_unreadable=True)
    with reading(store.engine) as db:
        traces = list(db.execute(sa.select(tables.trace.c.sha256, tables.trace.c.original_sha256)))
        known = db.execute(sa.select(tables.original.c.sha256, tables.original.c.name))
        originals = {original.sha256: original.name for original in known}
        runs = int(db.scalar(sa.select(sa.func.count()).select_from(tables.run)) or 0)
    wanted_traces = {store.traces / f"{trace.sha256}.parquet": trace.sha256 for trace in traces}
    wanted_originals = {store.originals / digest: digest for digest in originals}
    problems = (
        *_reference_problems(store),
        *_fact_problems(store),
        *(each for path, digest in wanted_traces.items() for each in _trace_problems(path, digest)),
        *(
            each
            for path, digest in wanted_originals.items()
            for each in _original_problems(path, digest, originals[digest])
        ),
    )
    wanted = wanted_traces.keys() | wanted_originals.keys()
    leftovers = sorted(
        str(path.relative_to(store.folder))
        for folder in (store.traces, store.originals)
        for path in folder.iterdir()
        if path not in wanted
    )
    return CheckOutcome(
        runs, len(traces), len(originals), problems, tuple(leftovers), _abandoned(store), backup
    )


def tidy_workspace(workspace: Path) -> tuple[str, ...]:
    """Delete files whose writing was cut off more than a day ago, and saved results that are damaged.

    Returns the names of the files.

    Raises
    ------
    StoreError
        If there is no workspace, or a file cannot be deleted.
    """
    store = open_store(workspace)
    store.drop_facts(store.damaged_facts())
    names = _abandoned(store)
    for name in names:
        try:
            (store.folder / name).unlink(missing_ok=True)
        except OSError as cause:
            what = f"{store.folder / name}: cannot be deleted: {cause.strerror}"
            raise StoreError(what, "check the folder's permissions") from cause
    return names


def _abandoned(store: Store) -> tuple[str, ...]:
    now = time.time()
    return tuple(
        sorted(
            str(path.relative_to(store.folder))
            for path in (
                *store.traces.glob(".*.part"),
                *store.originals.glob(".*.part"),
                *filter(is_waiting, (store.folder / "campaigns").rglob(".*.part")),
            )
            if now - path.stat().st_mtime > _ABANDONED_S
        )
    )


def _database_problems(store: Store) -> Iterator[Problem]:
    """What keeps the database from being trusted at all."""
    if store.engine.dialect.name != "sqlite":
        return
    file, fix = store.database, "restore the database from a copy"
    try:
        with reading(store.engine) as db:
            for (word,) in db.exec_driver_sql("PRAGMA integrity_check"):
                if word != "ok":
                    yield Problem(file, None, f"the database is damaged: {word}", fix)
            for table, row, parent, _number in db.exec_driver_sql("PRAGMA foreign_key_check"):
                yield Problem(file, None, f"row {row} of {table} refers to a {parent} that is not there", fix)
    except StoreError as wrong:
        yield Problem(file, None, f"the database is damaged: {wrong.problem}", fix)


def _reference_problems(store: Store) -> Iterator[Problem]:
    """Records must be readable, and runs must name a tool and an article that their campaign knows."""
    for name in store.campaigns():
        try:
            key, campaign = store.campaign(name)
            runs = store.runs(key)
        except StoreError as wrong:
            what = f"a record of campaign {name!r} cannot be read ({wrong.problem})"
            yield Problem(store.database, None, what, wrong.fix)
            continue
        for stored in runs:
            yield from _lost_names(store, campaign, stored.row)


def _fact_problems(store: Store) -> Iterator[Problem]:
    """Results that were worked out are disposable, but a damaged one says that the disk may not be sound."""
    damaged = store.damaged_facts()
    if damaged:
        what = f"saved results are damaged ({len(damaged)}); none of them is used, and nothing else is lost"
        tidy = shlex.join(["strikeproof", "check", "-w", str(store.folder), "--tidy"])
        fix = f"`{tidy}` deletes them, and they are worked out again; check the disk"
        yield Problem(store.database, None, what, fix)


def _lost_names(store: Store, campaign: Campaign, row: RunRow) -> Iterator[Problem]:
    for kind, value, known in (
        ("tool", row.tool, campaign.tools),
        ("article", row.article, campaign.articles),
    ):
        if value not in {each.name for each in known}:
            what = f"run {row.run!r} of {campaign.name!r} has {kind} {value!r}, which the campaign lost"
            fix = f"put the {kind} back into campaign.toml and load it again"
            yield Problem(store.database, None, what, fix)


def _trace_problems(path: Path, digest: str) -> Iterator[Problem]:
    fix = "load the campaign again: that makes it again from its log"
    if not path.is_file():
        yield Problem(str(path), None, "this trace is missing", fix)
    elif hash_file(path) != digest:
        yield Problem(str(path), None, "this trace is damaged: its bytes do not match its name", fix)


def _original_problems(path: Path, digest: str, name: str) -> Iterator[Problem]:
    fix = f"load the campaign again with its {name!r}, or put a copy of it here under this name"
    if not path.is_file():
        yield Problem(str(path), None, f"the original of {name!r} is missing", fix)
    elif hash_file(path) != digest:
        yield Problem(str(path), None, f"the original of {name!r} is damaged: its bytes do not match", fix)
