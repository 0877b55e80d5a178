"""A store whose database is a PostgreSQL server: where its folder says so, and how it is opened."""

from __future__ import annotations

import os
from functools import cache
from pathlib import Path
from typing import Final

from sqlalchemy import URL, Connection, Engine, create_engine, event, make_url
from sqlalchemy.exc import ArgumentError

from strikeproof.errors import BadInput, StoreError

__all__ = ["ADDRESS", "address_in", "holds_store", "open_server", "parse_address", "server_fix"]

ADDRESS: Final = "database.url"  # in the workspace: where the database is, if it is not a file there
OWN_FILE: Final = "strikeproof.db"
_EXAMPLE: Final = "postgresql://bench@server:5432/strikeproof"
_WAIT_S: Final = 60
_CONNECT_S: Final = 10
_WRITERS: Final = 0x5741_4C4C  # any number, the same in every program that writes here
_AT_ONCE: Final = 20  # connections of one process; a server has 100 by default


def holds_store(folder: Path) -> bool:
    """Whether a folder is a workspace that was made."""
    return (folder / OWN_FILE).is_file() or (folder / ADDRESS).is_file()


def address_in(folder: Path) -> URL | None:
    """The server that holds this workspace's database; None where it is a file in the folder.

    Raises
    ------
    StoreError
        If the file that names it cannot be read or names no server.
    """
    file = folder / ADDRESS
    try:
        text = file.read_text()
    except FileNotFoundError:
        return None
    except (OSError, UnicodeDecodeError) as cause:
        raise StoreError(f"{file}: cannot be read: {cause}", "restore it from a copy") from cause
    try:
        return parse_address(text)
    except BadInput as wrong:
        raise StoreError(
            f"{file}: {wrong.problem}", f"write the server's address into it: {_EXAMPLE}"
        ) from wrong


def parse_address(text: str) -> URL:
    """The address of a database on a PostgreSQL server.

    Raises
    ------
    BadInput
        If it is another kind of address, names no database, or holds a password.
    """
    try:
        url = make_url(text.strip())
    except (ArgumentError, ValueError):
        url = URL.create("none")
    if url.get_backend_name() != "postgresql" or not url.database:
        raise BadInput(
            "no address of a PostgreSQL database",
            where="address",
            allowed=_EXAMPLE,
            fix="name the server's user, host, port and database",
        )
    if url.password is not None:
        raise BadInput(
            "the address holds a password, which others could read",
            where="address",
            allowed=_EXAMPLE,
            fix="leave it out, and write it into ~/.pgpass or the environment variable PGPASSWORD",
        )
    return url.set(drivername="postgresql+psycopg")


def open_server(url: URL) -> Engine:
    """The engine for a server: one a process, so that each page opened does not connect again.

    Raises
    ------
    BadInput
        If the library that speaks to it is not installed.
    """
    return _engine(url, os.getpid())


@cache
def _engine(url: URL, _process: int) -> Engine:
    settings = f"-c lock_timeout={_WAIT_S * 1000} -c idle_in_transaction_session_timeout=0"
    try:
        engine = create_engine(
            url,
            pool_pre_ping=True,  # the server may have been started again since
            pool_size=4,
            max_overflow=_AT_ONCE - 4,
            connect_args={"connect_timeout": _CONNECT_S, "options": settings},
        )
    except ModuleNotFoundError as missing:
        raise BadInput(
            "the database is on a PostgreSQL server, and the library that speaks to it is not installed",
            where="address",
            allowed="a workspace with its own database file, or the extra `server` installed",
            fix="install strikeproof[server]",
        ) from missing

    @event.listens_for(engine, "begin")
    def begun(connection: Connection) -> None:
        # One writer at a time, as with the file: a check and the change that rests on it are never separated.
        if connection.get_execution_options().get("write", False):
            connection.exec_driver_sql(f"SELECT pg_advisory_xact_lock({_WRITERS})")

    return engine


_FIXES: Final = {
    "53100": "free some disk space on the database server",
    "53300": "let the database server take more connections, or close some of its other users",
    "55P03": "wait until the other work on this workspace has ended",
    "28": "check the user and the password (~/.pgpass or PGPASSWORD)",
    "3D": "make the database on the server (createdb), or correct the address",
    "42501": "let the user of the address write in this database",
}


def server_fix(cause: Exception) -> str | None:
    """What to do about an error of a server; None for one of another database."""
    origin = getattr(cause, "orig", None) or cause
    if not type(origin).__module__.startswith("psycopg"):
        return None
    code = getattr(origin, "sqlstate", None)
    if code is None:
        return f"check that the database server runs and that {ADDRESS} names it"
    return _FIXES.get(code) or _FIXES.get(code[:2]) or "run `strikeproof check` on the workspace"
