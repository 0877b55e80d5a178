"""The rows of a run sheet as cells, read and written back whatever its columns and separators were."""

from __future__ import annotations

import fcntl
import time
from collections.abc import Iterator, Mapping
from contextlib import contextmanager
from pathlib import Path
from typing import IO, Any, Final

from strikeproof.campaign.inside import path_inside
from strikeproof.campaign.sheet_edit import edit_sheet
from strikeproof.campaign.sheet_text import write_run_sheet_text
from strikeproof.campaign.table import read_table
from strikeproof.campaign.text import LARGEST_SHEET_BYTES, read_file, read_text
from strikeproof.campaign.whole_file import write_beside, write_whole
from strikeproof.errors import BadFile, InUse, StoreError

__all__ = ["hold_sheet", "read_head", "read_run_cells", "sheet_path", "write_run_cells"]

Cells = dict[str, str]
_PATIENCE_S: Final = 0.5  # rewriting a sheet takes milliseconds; a run takes longer


def sheet_path(folder: Path, tables: Mapping[str, Any]) -> Path:
    """Where the run sheet is.

    Raises
    ------
    BadFile
        If the campaign's own words lead out of its folder.
    """
    return path_inside(folder, str(tables.get("runs", {}).get("sheet", "runs.csv")), key="runs.sheet")


@contextmanager
def hold_sheet(folder: Path) -> Iterator[None]:
    """Keep the run sheet to oneself while it is rewritten, or while a run of it is armed and recorded.

    Another that rewrites it is waited for; a recorder between two runs holds nothing.

    Raises
    ------
    InUse
        If a run is being recorded there.
    StoreError
        If the folder cannot be written.
    """
    until = time.monotonic() + _PATIENCE_S
    with _open(folder / ".sheet.lock") as lock:
        while not _lock(lock):
            if time.monotonic() > until:
                raise InUse(f"{folder.name}: a run is being recorded", "wait for its end, then do this again")
            time.sleep(0.02)
        yield


def _open(path: Path) -> IO[str]:
    try:
        return path.open("w")
    except OSError as cause:
        raise StoreError(
            f"{path}: cannot be written: {cause.strerror}", "free some disk space or check the permissions"
        ) from cause


def _lock(file: IO[str]) -> bool:
    try:
        fcntl.flock(file, fcntl.LOCK_EX | fcntl.LOCK_NB)
    except BlockingIOError:
        return False
    return True


def read_run_cells(path: Path) -> list[Cells]:
    """The rows of a sheet, each as its filled cells; none when there is no sheet, or nothing in it.

    Raises
    ------
    BadFile
        If the sheet cannot be read.
    """
    if not path.is_file() or path.suffix.lower() not in (".csv", ".txt", ".tsv"):
        return []
    try:
        table = read_table(path)
    except BadFile:
        if not [
            line
            for line in read_text(path, is_sheet=True).splitlines()
            if line.strip() and not line.startswith("#")
        ]:
            return []
        raise
    return [{name: cell for name, cell in row.cells.items() if cell} for row in table.rows]


def read_head(path: Path) -> str:
    """The comments of a sheet, a line each; empty when there is no sheet."""
    if not path.is_file():
        return ""
    lines = read_text(path, is_sheet=True).splitlines()
    return "\n".join(line[1:].strip() for line in lines if line.startswith("#"))


def write_run_cells(
    path: Path, rows: list[Cells], head: str = "", *, filled_by_hand: bool = False
) -> Path | None:
    """Put the rows in place of the sheet, whole or not at all, in the sheet's own separator and columns.

    A sheet that is `filled_by_hand`, or cannot be read, is saved beside.

    Returns
    -------
    Path or None
        Where the sheet before is, if it was saved.

    Raises
    ------
    StoreError
        If it cannot be written.
    """
    edited = _edited(path, rows, head)
    if filled_by_hand or edited is None:
        return write_beside(path, write_run_sheet_text(rows, head) if edited is None else edited)
    write_whole(path, edited)
    return None


def _edited(path: Path, rows: list[Cells], head: str) -> bytes | None:
    """The sheet that is there with other rows; None where there is none to be read."""
    try:
        return edit_sheet(path, read_file(path, LARGEST_SHEET_BYTES), rows, head)
    except BadFile:
        return None
