"""New names of tools and articles: through the run sheet and the runs that are stored.

Names are followed from the last complete campaign, through drafts in which a name may be empty: that is
where the run sheet and the stored runs are.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from contextlib import contextmanager, nullcontext
from itertools import pairwise
from pathlib import Path
from typing import Any, Final

from strikeproof.campaign.database_server import holds_store
from strikeproof.campaign.faults import check_tables
from strikeproof.campaign.folder import read_own_materials
from strikeproof.campaign.store import open_store
from strikeproof.campaign.toml_reader import read_toml
from strikeproof.desk.setting_up.edits import Tables
from strikeproof.desk.setting_up.run_rows import (
    Cells,
    hold_sheet,
    read_head,
    read_run_cells,
    sheet_path,
    write_run_cells,
)
from strikeproof.desk.setting_up.versions import steps

__all__ = ["KINDS", "Renames", "find_renames", "follow_renames", "rename_made", "since_complete"]

KINDS: Final = ("tool", "article")
Renames = dict[str, dict[str, str]]
"""Old name to new, by kind: a column of the run sheet, and a field of a run."""


def since_complete(folder: Path, tables: Tables) -> list[Tables]:
    """The states from the last complete one to `tables`, which is what the folder holds now."""
    chain, kept = [tables], steps(folder, "earlier")
    book = read_own_materials(folder)
    while check_tables(chain[0], book)[1] and kept:
        chain.insert(0, read_toml(kept.pop() / "campaign.toml")[0])
    return chain


def follow_renames(chain: Sequence[Tables]) -> Renames:
    """Old name to new of every tool and article, from the first state of several to the last."""
    found = {kind: _follow([_names(each, kind) for each in chain]) for kind in KINDS}
    return {kind: renames for kind, renames in found.items() if renames}


def find_renames(before: Tables, after: Tables, kind: str) -> dict[str, str]:
    """Old name to new of every tool or article that is where it was and is called otherwise."""
    return follow_renames([before, after]).get(kind, {})


def _names(tables: Mapping[str, Any], kind: str) -> list[str]:
    return [str(each.get("name", "")).strip() for each in tables.get(kind, [])]


def _follow(chain: Sequence[list[str]]) -> dict[str, str]:
    first, last = chain[0], chain[-1]
    places: dict[str, int | None] = {name: place for place, name in enumerate(first) if name}
    for old, new in pairwise(chain):
        places = {name: None if at is None else _moved(at, old, new) for name, at in places.items()}
    return {
        name: last[at]
        for name, at in places.items()
        if at is not None and last[at] and last[at] != name and name not in last
    }


def _moved(at: int, old: list[str], new: list[str]) -> int | None:
    """Where an entry is after one change: by its name, else where it was if no entry came or went."""
    if len(old) == len(new) and (old[at] == new[at] or sorted(old) != sorted(new)):
        return at
    return new.index(old[at]) if old[at] in new else None


@contextmanager
def rename_made(workspace: Path, folder: Path, tables: Tables, renames: Renames) -> Iterator[list[str]]:
    """Rename in the run sheet and in the stored runs, after the campaign itself was written inside.

    Yields
    ------
    list of str
        Filled at the end: what a person must know of it.

    Raises
    ------
    InUse
        If runs are being recorded: then nothing inside was done.
    """
    notes: list[str] = []
    with hold_sheet(folder) if renames else nullcontext():
        yield notes
        if renames:
            notes += _rename_in_sheet(folder, tables, renames)
            _rename_in_store(workspace, folder, tables, renames)


def _rename_in_sheet(folder: Path, tables: Tables, renames: Renames) -> list[str]:
    path = sheet_path(folder, tables)
    if path.is_file() and path.suffix.lower() not in (".csv", ".txt", ".tsv"):
        pairs = [f"{was!r} is now {now!r}" for of in renames.values() for was, now in of.items()]
        return [f"{path.name} is a workbook and keeps its words: {', '.join(pairs)}. Change it there."]
    rows = read_run_cells(path)
    changed = [_renamed(row, renames) for row in rows]
    notes = [
        f"{_lines(count)} of the run sheet now {'says' if count == 1 else 'say'} {now!r} instead of {was!r}. "
        "Print the sheet again."
        for kind, of in renames.items()
        for was, now in of.items()
        if (count := sum(row.get(kind) == was for row in rows))
    ]
    if notes:
        write_run_cells(path, changed, read_head(path))
    return notes


def _lines(count: int) -> str:
    return "1 line" if count == 1 else f"{count} lines"


def _renamed(row: Cells, renames: Renames) -> Cells:
    return {name: renames.get(name, {}).get(cell, cell) for name, cell in row.items()}


def _rename_in_store(workspace: Path, folder: Path, tables: Tables, renames: Renames) -> None:
    name = str(tables.get("campaign", {}).get("name", ""))
    if not holds_store(workspace):
        return
    store = open_store(workspace)
    if name not in store.campaigns():
        return
    key, _campaign = store.campaign(name)
    store.rename(key, renames, str(sheet_path(folder, tables).resolve()))
