"""The database of a workspace moved from its own file to a PostgreSQL server, and proof that all arrived."""

from __future__ import annotations

import fcntl
from dataclasses import dataclass
from pathlib import Path

from sqlalchemy import URL, Engine

from strikeproof.campaign.database import (
    MOVED,
    close_for_good,
    file_url,
    open_database,
    open_file,
    reading,
    schema_of,
    writing,
)
from strikeproof.campaign.database_server import ADDRESS, holds_store, parse_address
from strikeproof.campaign.transfer import TableSum, copy_rows, sum_up
from strikeproof.campaign.whole_file import write_whole
from strikeproof.desk.workspace.check import check_workspace
from strikeproof.errors import StoreError

__all__ = ["MoveOutcome", "move_workspace"]


@dataclass(frozen=True, slots=True)
class MoveOutcome:
    """What arrived at the server, by table."""

    workspace: Path
    server: str
    tables: tuple[TableSum, ...]


def move_workspace(workspace: Path, to: str) -> MoveOutcome:
    """Take the database of a workspace to a server; traces, originals and all else stay in its folder.

    Nobody writes meanwhile: those who want to wait. Once every row was read back from the server and is
    the same, the file takes no more writing, not from programs either that have it open. Cut off at any
    moment it can be repeated.

    Raises
    ------
    StoreError
        If the workspace is damaged or on a server already, the server cannot be used, or holds something
        else. Nothing changes then.
    BadInput
        If `to` is no address of a server, or has a password in it.
    """
    url = parse_address(to)
    if not holds_store(workspace):
        raise StoreError(
            f"{workspace}: no workspace there", "load a campaign into it first: strikeproof load"
        )
    with (workspace / ".move.lock").open("w") as lock:  # of two at once the second finds it moved
        fcntl.flock(lock, fcntl.LOCK_EX)
        if (workspace / ADDRESS).is_file():
            fix = f"{ADDRESS} in it says on which"
            raise StoreError(f"{workspace}: its database is on a server already", fix)
        return _move(workspace, url)


def _move(workspace: Path, url: URL) -> MoveOutcome:
    shown = url.set(drivername="postgresql").render_as_string()
    own = _own_file(workspace)
    server = open_database(url, workspace)
    with writing(own) as here:
        is_again = schema_of(here) == MOVED
        wanted = sum_up(here)
        with writing(server) as there:
            if not any(each.rows for each in sum_up(there)):
                copy_rows(here, there)
        with reading(server) as there:
            arrived = sum_up(there)
        if arrived != wanted:
            raise _holds_something_else(workspace, shown, is_again)
        if not is_again:
            close_for_good(here)
    own.dispose()
    write_whole(workspace / ADDRESS, f"{shown}\n")
    return MoveOutcome(workspace, shown, arrived)


def _own_file(workspace: Path) -> Engine:
    """The database in the folder, sound and of the newest schema, or closed by a move that was cut off."""
    engine = open_file(file_url(workspace))
    with reading(engine) as db:
        is_closed = schema_of(db) == MOVED
    if is_closed:
        return engine
    engine.dispose()
    checked = check_workspace(workspace)
    if checked.problems:
        more = f" (and {len(checked.problems) - 1} more)" if len(checked.problems) > 1 else ""
        raise StoreError(f"{workspace}: not moved: {checked.problems[0]}{more}", "repair that first")
    return open_database(file_url(workspace), workspace)


def _holds_something_else(workspace: Path, server: str, is_again: bool) -> StoreError:
    if is_again:
        fix = f"if it is where this workspace was moved to, write {server} into {workspace / ADDRESS}"
    else:
        fix = "make an empty database for it (createdb)"
    return StoreError(f"{server}: holds something else than this workspace", fix)
