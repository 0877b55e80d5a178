"""Opening the store's database, and bringing its schema up to date."""

from __future__ import annotations

import fcntl
import os
import sqlite3
import time
from collections.abc import Iterator
from contextlib import closing, contextmanager
from pathlib import Path
from typing import Any, Final
from urllib.parse import quote

from sqlalchemy import URL, Connection, Engine, QueuePool, create_engine, event, inspect, make_url, text
from sqlalchemy.exc import DatabaseError

from strikeproof.campaign.database_server import ADDRESS, OWN_FILE, open_server, server_fix
from strikeproof.campaign.schema import metadata
from strikeproof.campaign.transfer import copy_rows
from strikeproof.errors import StoreError

__all__ = [
    "MOVED",
    "NEWEST",
    "close_for_good",
    "copy_database",
    "file_url",
    "is_read_only",
    "may_write",
    "newest_fact",
    "open_database",
    "open_file",
    "reading",
    "schema_of",
    "writing",
]

NEWEST = "0007"
MOVED = "moved"  # in place of the schema's number, once all has gone to a server
_WAIT_S = 60  # another process may hold the write lock for one run's commit, never longer


def open_database(url: str | URL, folder: Path) -> Engine:
    """The database at `url`, migrated to the newest schema.

    Raises
    ------
    StoreError
        If it is not a database, is damaged, or was written by a newer program.
    """
    file = make_url(url)
    database = file.database if file.get_backend_name() == "sqlite" else None
    if database and Path(database).is_file() and not may_write(Path(database).parent):
        engine = _open_read_only(Path(database))
    elif file.get_backend_name() == "sqlite":
        engine = open_file(file)
    else:
        engine = open_server(file)
    try:
        if _version(engine) != NEWEST:
            _migrate(engine, folder)
    except (DatabaseError, sqlite3.DatabaseError) as cause:
        raise StoreError(
            f"{folder}: the database cannot be opened: {_reason(cause)}",
            _fix(cause, "restore it from a copy, or use a new folder"),
        ) from cause
    except OSError as cause:  # the lock of a schema step is a file
        raise StoreError(
            f"{folder}: the workspace cannot be opened: {cause.strerror}",
            "check that the disk has room and is sound, and the permissions of the workspace",
        ) from cause
    return engine


def open_file(url: URL) -> Engine:
    """A database file as it is, of whatever schema."""
    engine = create_engine(url)
    _set_up_sqlite(engine)
    return engine


def file_url(folder: Path) -> URL:
    """The workspace's own file; a path is no part of a URL as it is: `?`, `%` and the like mean something."""
    return URL.create("sqlite", database=str(folder / OWN_FILE))


def may_write(folder: Path) -> bool:
    """Whether this program may write into a folder."""
    return os.access(folder, os.W_OK)


def is_read_only(engine: Engine) -> bool:
    """Whether the store can only be read."""
    return bool(engine.get_execution_options().get("read_only", False))


def _open_read_only(path: Path) -> Engine:
    """A file that nobody can change just now; the library must make no files beside it."""
    beside = path.with_name(f"{path.name}-wal")
    if beside.is_file() and beside.stat().st_size:
        raise StoreError(
            f"{path}: was not closed, and may not be written here",
            "copy the workspace to where you may write",
        )
    name = f"file:{quote(str(path.resolve()))}?immutable=1"
    return create_engine(
        "sqlite://",
        creator=lambda: sqlite3.connect(name, uri=True, check_same_thread=False, isolation_level=None),
        poolclass=QueuePool,
        execution_options={"read_only": True},
    )


def copy_database(engine: Engine, target: Path) -> None:
    """All that is acknowledged so far, as one new file; others may write meanwhile.

    Raises
    ------
    StoreError
        If the database is damaged, or `target` cannot be written.
    """
    if engine.dialect.name == "sqlite":
        with reading(engine) as db, closing(sqlite3.connect(target)) as copy:
            source: Any = db.connection.driver_connection
            source.backup(copy)  # https://www.sqlite.org/backup.html
    else:
        made = open_database(URL.create("sqlite", database=str(target)), target.parent)
        with reading(engine) as db, writing(made) as new:
            copy_rows(db, new)
        made.dispose()
    with closing(sqlite3.connect(target)) as copy:
        copy.execute("PRAGMA journal_mode=DELETE")
    with target.open("rb") as stream:
        os.fsync(stream.fileno())


def _reason(cause: Exception) -> str:
    return str(getattr(cause, "orig", None) or cause).splitlines()[0]


_FIXES: Final = {
    sqlite3.SQLITE_FULL: "free some disk space",
    sqlite3.SQLITE_IOERR: "check that the disk has room and is sound",
    sqlite3.SQLITE_READONLY: "check the permissions of the workspace",
    sqlite3.SQLITE_CANTOPEN: "check the permissions of the workspace",
    sqlite3.SQLITE_BUSY: "wait until the other work on this workspace has ended",
    sqlite3.SQLITE_LOCKED: "wait until the other work on this workspace has ended",
}


def _fix(cause: Exception, otherwise: str = "run `strikeproof check` on the workspace") -> str:
    if of_server := server_fix(cause):
        return of_server
    code = getattr(getattr(cause, "orig", None) or cause, "sqlite_errorcode", None)
    return otherwise if code is None else _FIXES.get(code & 0xFF, otherwise)


def _set_up_sqlite(engine: Engine) -> None:
    @event.listens_for(engine, "connect")
    def connected(connection: sqlite3.Connection, _record: object) -> None:
        connection.isolation_level = None  # the driver's own transaction habits stay out of the way
        connection.execute(f"PRAGMA busy_timeout={_WAIT_S * 1000}")
        _use_wal(connection)
        connection.execute("PRAGMA synchronous=FULL")
        connection.execute("PRAGMA foreign_keys=ON")

    @event.listens_for(engine, "begin")
    def begun(connection: Connection) -> None:
        # A writer takes the lock at once: one that only upgrades later can be turned away half-way.
        write = connection.get_execution_options().get("write", False)
        connection.exec_driver_sql("BEGIN IMMEDIATE" if write else "BEGIN")


def _use_wal(connection: sqlite3.Connection) -> None:
    """Write ahead; two that switch a new file at once are turned away at once, so each tries again."""
    until = time.monotonic() + _WAIT_S
    while True:
        try:
            connection.execute("PRAGMA journal_mode=WAL")
            return
        except sqlite3.OperationalError as cause:
            is_busy = cause.sqlite_errorcode & 0xFF in (sqlite3.SQLITE_BUSY, sqlite3.SQLITE_LOCKED)
            if not is_busy or time.monotonic() > until:
                raise
        time.sleep(0.01)


@contextmanager
def writing(engine: Engine) -> Iterator[Connection]:
    """One transaction that writes: all of it is stored when the block ends, or none."""
    with _told(), engine.connect().execution_options(write=True) as connection, connection.begin():
        yield connection


@contextmanager
def reading(engine: Engine) -> Iterator[Connection]:
    """One consistent view of the store, whatever is written meanwhile."""
    is_file = engine.dialect.name == "sqlite"
    options = {} if is_file else {"isolation_level": "REPEATABLE READ", "postgresql_readonly": True}
    with _told(), engine.connect().execution_options(**options) as connection:
        yield connection


@contextmanager
def _told() -> Iterator[None]:
    try:
        yield
    except (DatabaseError, sqlite3.DatabaseError) as cause:
        raise StoreError(f"the store: {_reason(cause)}", _fix(cause)) from cause


def schema_of(db: Connection) -> str | None:
    """The number of the schema that a database has; None where it has none yet."""
    if not inspect(db).has_table("alembic_version"):
        return None
    found = db.execute(text("SELECT version_num FROM alembic_version")).scalar()
    return None if found is None else str(found)


def newest_fact(db: Connection) -> tuple[int, int]:
    """How many results are saved, and a number that grows with each: by it one sees that another came."""
    newest = "max(rowid)" if db.dialect.name == "sqlite" else "max(CAST(CAST(xmin AS text) AS bigint))"
    found = db.execute(text(f"SELECT count(*), {newest} FROM fact")).one()
    return int(found[0]), int(found[1] or 0)


def close_for_good(db: Connection) -> None:
    """Let a database file take no more writing, from programs either that have it open: all has moved."""
    db.execute(text("UPDATE alembic_version SET version_num = :moved"), {"moved": MOVED})
    for table in metadata.tables:
        for act in ("INSERT", "UPDATE", "DELETE"):
            words = "the runs of this workspace have moved to a database server: start the program again"
            db.exec_driver_sql(
                f"CREATE TRIGGER moved_{table}_{act} BEFORE {act} ON {table} "
                f"BEGIN SELECT RAISE(ABORT, '{words}'); END"
            )


def _version(engine: Engine) -> str | None:
    with engine.connect() as connection:
        return schema_of(connection)


def _migrate(engine: Engine, folder: Path) -> None:
    found = _version(engine)
    if found == MOVED:
        raise StoreError(
            f"{folder}: its runs are on a database server, and {ADDRESS}, which says where, is missing",
            f"put {ADDRESS} back, or repeat `strikeproof move`",
        )
    if found is not None and found > NEWEST:
        raise StoreError(
            f"{folder}: written by a newer Strikeproof (schema {found}, this one knows {NEWEST})",
            "update Strikeproof",
        )
    if is_read_only(engine):
        raise StoreError(
            f"{folder}: is of an earlier version, and may not be written here",
            "copy the workspace to where you may write",
        )
    # Two processes may meet a new workspace at once; the second waits, then finds the work done.
    with (folder / ".schema.lock").open("w") as lock:
        fcntl.flock(lock, fcntl.LOCK_EX)
        if _version(engine) != NEWEST:
            with writing(engine) as connection:
                _upgrade(connection)


def _upgrade(connection: Connection) -> None:
    # Alembic takes 0.2 s to import and is needed once in a workspace's life.
    from alembic import command
    from alembic.config import Config

    config = Config()
    place = str(Path(__file__).parent / "migrations")
    config.set_main_option("script_location", place.replace("%", "%%"))  # a lone % is a reference in there
    attributes: dict[Any, Any] = config.attributes
    attributes["connection"] = connection
    command.upgrade(config, NEWEST)
