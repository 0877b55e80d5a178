"""Changes to the tables of a campaign, each a function from tables to tables; nothing is checked here."""

from __future__ import annotations

import copy
from collections.abc import Callable, Mapping
from itertools import pairwise
from typing import Any

from strikeproof.errors import NotFound

__all__ = [
    "Edit",
    "Place",
    "Tables",
    "add_entry",
    "all_of",
    "clean",
    "copy_entry",
    "move_entry",
    "remove_entry",
    "replace_entry",
    "set_value",
    "value_at",
]

Tables = dict[str, Any]
Place = tuple[str | int, ...]
Edit = Callable[[Tables], Tables]


def value_at(tables: Mapping[str, Any], place: Place) -> Any:
    """What is at a place, None when nothing does."""
    found: Any = tables
    for step in place:
        try:
            found = found[step]
        except (KeyError, IndexError, TypeError):
            return None
    return found


def set_value(place: Place, value: Any) -> Edit:
    """Put a value at a place, or delete what is there when it is None."""

    def edit(tables: Tables) -> Tables:
        found: Any = tables
        for step, after in pairwise(place):
            if isinstance(found, dict) and step not in found:
                found[step] = [] if isinstance(after, int) else {}
            found = _inside(found, step)
        if value is None:
            if isinstance(found, dict):
                found.pop(place[-1], None)
        else:
            found[place[-1]] = value
        return tables

    return _on_copy(edit)


def add_entry(kind: str, entry: Mapping[str, Any]) -> Edit:
    """Add a tool or an article at the end; the first article is the reference until another is."""

    def edit(tables: Tables) -> Tables:
        tables.setdefault(kind, []).append(copy.deepcopy(dict(entry)))
        campaign = tables.setdefault("campaign", {})
        if kind == "article" and "reference" not in campaign and entry.get("name"):
            campaign["reference"] = entry["name"]
        return tables

    return _on_copy(edit)


def remove_entry(kind: str, number: int) -> Edit:
    """Delete a tool or an article."""

    def edit(tables: Tables) -> Tables:
        gone = _entry(tables, kind, number)
        tables[kind].pop(number)
        if kind == "article" and tables.get("campaign", {}).get("reference") == gone.get("name"):
            del tables["campaign"]["reference"]
        return tables

    return _on_copy(edit)


def copy_entry(kind: str, number: int) -> Edit:
    """Put a copy of a tool or an article after it, under a name of its own."""

    def edit(tables: Tables) -> Tables:
        entry = copy.deepcopy(_entry(tables, kind, number))
        entry["name"] = _free_name(str(entry.get("name", kind)), [each.get("name") for each in tables[kind]])
        tables[kind].insert(number + 1, entry)
        return tables

    return _on_copy(edit)


def _free_name(name: str, taken: list[Any]) -> str:
    number = 2
    while f"{name} {number}" in taken:
        number += 1
    return f"{name} {number}"


def move_entry(kind: str, number: int, by: int) -> Edit:
    """Move a tool or an article up (-1) or down (1)."""

    def edit(tables: Tables) -> Tables:
        entry = _entry(tables, kind, number)
        tables[kind].pop(number)
        tables[kind].insert(max(0, number + by), entry)
        return tables

    return _on_copy(edit)


def replace_entry(kind: str, number: int, entry: Mapping[str, Any]) -> Edit:
    """Put another table in place of a tool's or an article's; the reference follows a new name."""

    def edit(tables: Tables) -> Tables:
        before = _entry(tables, kind, number).get("name")
        tables[kind][number] = copy.deepcopy(dict(entry))
        campaign = tables.get("campaign", {})
        if (
            kind == "article"
            and before is not None
            and campaign.get("reference") == before
            and entry.get("name")
        ):
            campaign["reference"] = entry["name"]
        return tables

    return _on_copy(edit)


def all_of(*edits: Edit) -> Edit:
    """One change made of several."""

    def edit(tables: Tables) -> Tables:
        for each in edits:
            tables = each(tables)
        return tables

    return edit


def clean(value: Any) -> Any:
    """The same without what says nothing: None, and lists and tables that are empty."""
    if isinstance(value, Mapping):
        kept = {str(key): clean(each) for key, each in value.items() if each is not None}
        return {key: each for key, each in kept.items() if each not in ([], {})}
    if isinstance(value, list | tuple):
        return [clean(each) for each in value]
    return value


def _entry(tables: Tables, kind: str, number: int) -> dict[str, Any]:
    entries = tables.get(kind, [])
    if not 0 <= number < len(entries):
        raise NotFound(kind, str(number + 1), map(str, range(1, len(entries) + 1)))
    entry: dict[str, Any] = entries[number]
    return entry


def _inside(found: Any, step: str | int) -> Any:
    if isinstance(found, list) and isinstance(step, int) and step == len(found):
        found.append({})
    try:
        return found[step]
    except (IndexError, KeyError, TypeError) as cause:
        raise NotFound("place", str(step), map(str, found) if isinstance(found, dict) else ()) from cause


def _on_copy(edit: Edit) -> Edit:
    return lambda tables: edit(copy.deepcopy(tables))
