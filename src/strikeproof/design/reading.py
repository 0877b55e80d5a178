"""From the tables of a brief's file to a brief: everything wrong is named at once."""

from __future__ import annotations

import math
from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field
from typing import Any, Final, cast

from strikeproof.design.brief_keys import ranges_of, words_of
from strikeproof.design.limits import LIMITS, LimitKind
from strikeproof.design.mistakes import Finder, Mistakes, Table, no_line
from strikeproof.design.records import (
    OBJECTIVES,
    PROCESSES,
    Base,
    Brief,
    Envelope,
    Objective,
    Offer,
    Process,
    Step,
)
from strikeproof.design.records import Table as ArticleTable
from strikeproof.parts import PriceTable, find_material, find_stock, read_article, read_materials
from strikeproof.parts.fields import Range
from strikeproof.parts.materials import MATERIAL_KEYS, MaterialBook
from strikeproof.parts.stock import StockItem, drive_square

__all__ = ["Errand", "read_brief", "read_envelope", "read_errand"]

_TABLES: Final = ("brief", "envelope", "stock", "base", "material", "bench")
_MATERIAL: Final = {key: Range(low, high) for key, (_, low, high) in MATERIAL_KEYS.items()}
_BENCH: Final = ("tool", "article", "bolt", "rig", "protocol")


@dataclass(frozen=True, slots=True)
class Errand:
    """What a brief's file says beside the limits.

    Parameters
    ----------
    tools
        Of the campaign, by name; empty for all of them.
    seed
        Of the search.
    bench
        Tables of a set-up, for a brief without a campaign; None when there are none.
    """

    tools: tuple[str, ...] = ()
    seed: int = 0
    bench: Mapping[str, Any] | None = field(default=None)


def read_brief(
    tables: Mapping[str, Any],
    *,
    prices: PriceTable | None = None,
    materials: MaterialBook | None = None,
    known_articles: Mapping[str, ArticleTable] | None = None,
    file: str = "brief",
    line_of: Finder = no_line,
) -> Brief:
    """The limits that a file sets.

    Parameters
    ----------
    tables
        The whole file: `[brief]`, `[envelope]`, `[[stock]]`, `[[base]]`, `[material."..."]`, `[bench]`.
    prices
        What things cost; None where nothing is priced.
    materials
        The person's own; those of the file win.
    known_articles
        Of the campaign, by name, each as its table.
    file, line_of
        For messages.

    Raises
    ------
    BadFile
        With everything that is wrong, every key with the nearest known one.
    """
    mistakes = Mistakes(file, line_of)
    known = known_articles or {}
    whole = _whole(tables, mistakes)
    _read_errand(whole, mistakes)
    own = _own_materials(whole, materials, mistakes)
    table = _brief_table(whole, mistakes)
    hexagon, drive = table.number("hexagon_mm"), table.number("drive_mm")
    if math.isfinite(drive):
        mistakes.attempt(("brief", "drive_mm"), lambda: drive_square(drive), None)
    limits = {kind.field: _limit(table, kind) for kind in LIMITS.values()}
    objective = table.choice("objective", OBJECTIVES, OBJECTIVES[0])
    if prices is None and (limits["budget"] is not None or objective == "best per money"):
        table.note("budget", "nothing has a price", "add prices.csv, or leave money out of the brief")
    processes = table.names("processes", PROCESSES) if "processes" in table else PROCESSES
    brief = Brief(
        name=table.text("name", "brief"),
        hexagon=hexagon,
        drive=drive,
        envelope=_read_envelope(whole.fields.table.get("envelope", {}), mistakes),
        offers=tuple(_offers(whole, own, mistakes)),
        bases=tuple(_bases(whole, table, known, own)),
        prices=prices,
        materials=own,
        processes=frozenset(cast("tuple[Process, ...]", processes)),
        objective=cast("Objective", objective),
        built=dict(known),
        proposals=table.whole("proposals", 5),
        head_height=table.maybe("head_height_mm"),
        **limits,
    )
    mistakes.settle()
    return brief


def read_errand(tables: Mapping[str, Any], *, file: str = "brief", line_of: Finder = no_line) -> Errand:
    """What the same file says of tools, seed and bench.

    Parameters
    ----------
    tables
        The whole file.
    file, line_of
        For messages.

    Raises
    ------
    BadFile
        With everything that is wrong with these.
    """
    mistakes = Mistakes(file, line_of)
    errand = _read_errand(_whole(tables, Mistakes(file)), mistakes)
    mistakes.settle()
    return errand


def read_envelope(
    tables: Mapping[str, Any], *, file: str = "envelope", line_of: Finder = no_line
) -> Envelope:
    """The envelope alone, from a file with an `[envelope]` table; a whole brief will do.

    Parameters
    ----------
    tables
        The whole file.
    file, line_of
        For messages.

    Raises
    ------
    BadFile
        With everything that is wrong with it.
    """
    mistakes = Mistakes(file, line_of)
    whole = _whole(tables, mistakes)
    if "envelope" not in whole:
        mistakes.add(
            (), "[envelope] is missing", "write [envelope] above free_length_mm, pocket and the rest"
        )
    envelope = _read_envelope(whole.fields.table.get("envelope", {}), mistakes)
    mistakes.settle()
    return envelope


def _whole(tables: Mapping[str, Any], mistakes: Mistakes) -> Table:
    return Table.open(tables, (), mistakes, {}, _TABLES)


def _brief_table(whole: Table, mistakes: Mistakes) -> Table:
    if "brief" not in whole:
        mistakes.add((), "[brief] is missing", "write [brief] above hexagon_mm, drive_mm and the rest")
    return Table.open(
        whole.fields.table.get("brief", {}), ("brief",), mistakes, ranges_of("brief"), words_of("brief")
    )


def _limit(table: Table, kind: LimitKind) -> Any:
    return table.maybe(kind.key) if kind.default is None else table.number(kind.key, kind.default)


def _read_errand(whole: Table, mistakes: Mistakes) -> Errand:
    # The keys of [brief] themselves are judged where the brief is read.
    table = Table.open(
        whole.fields.table.get("brief", {}), ("brief",), Mistakes(""), ranges_of("brief"), words_of("brief")
    )
    table = Table(table.fields, table.place, mistakes)
    bench = whole.fields.table.get("bench")
    if bench is not None:
        bench = Table.open(bench, ("bench",), mistakes, {}, _BENCH).fields.table
        for name, each in bench.items():
            several = isinstance(each, list) and name == "tool" and all(isinstance(t, Mapping) for t in each)
            if not (isinstance(each, Mapping) or several):
                mistakes.add(
                    ("bench", name), f"bench.{name} is no table", f"write [bench.{name}] above its keys"
                )
    return Errand(table.names("tools"), table.whole("seed", 0), bench)


def _read_envelope(raw: Any, mistakes: Mistakes) -> Envelope:
    table = Table.open(raw, ("envelope",), mistakes, ranges_of("envelope"), ("pocket",))
    return Envelope(
        tuple(_steps(table)),
        table.maybe("free_length_mm"),
        table.maybe("nearest_wall_mm"),
        table.number("clearance_mm", 1e-3),
    )


def _steps(envelope: Table) -> Iterator[Step]:
    """The pocket from its mouth down; each step must reach deeper than the one before."""
    before = 0.0
    for place, raw in envelope.rows("pocket"):
        row = Table.open(raw, place, envelope.mistakes, ranges_of("pocket"), ())
        step = Step(row.number("to_depth_mm"), row.number("diameter_mm"))
        if step.depth <= before:
            row.note(
                "to_depth_mm",
                f"to_depth_mm = {step.depth * 1e3:g}, but the step before it ends at {before * 1e3:g}",
                "list the steps from the mouth down to the seat",
            )
        before = max(before, step.depth)
        yield step


def _own_materials(whole: Table, shared: MaterialBook | None, mistakes: Mistakes) -> dict[str, Any]:
    found: dict[str, Any] = dict(shared or {})
    raw = whole.fields.table.get("material", {})
    if not isinstance(raw, Mapping):
        mistakes.add(("material",), "material is no table", 'write [material."its name"] above its keys')
        return found
    for name, each in raw.items():
        place = ("material", str(name))
        wrong = len(mistakes.found)
        row = Table.open(each, place, mistakes, _MATERIAL, ("source", "hardenable"))
        for key in _MATERIAL:
            row.number(key)
        if len(mistakes.found) == wrong:
            found |= read_materials({name: row.fields.table})
    return found


def _offers(whole: Table, own: MaterialBook, mistakes: Mistakes) -> Iterator[Offer]:
    for place, raw in whole.rows("stock"):
        row = Table.open(raw, place, mistakes, ranges_of("stock"), words_of("stock"))
        name = row.text("item")
        item = _item(row, name) if name else None
        material = row.text("material") if "material" in row else None
        if item is not None and material:
            _check_material(row, item, material, own)
        yield Offer(item.name if item else name, material, row.maybe("length_mm"))


def _item(row: Table, name: str) -> StockItem | None:
    return row.mistakes.attempt((*row.place, "item"), lambda: find_stock(name), None, row.fields.where)


def _check_material(row: Table, item: StockItem, material: str, own: MaterialBook) -> None:
    wall = (item.outer.size - item.bore.size) / 2 if item.bore else item.outer.size
    row.mistakes.attempt(
        (*row.place, "material"),
        lambda: find_material(material, own, diameter=item.outer.size, thickness=wall),
        None,
        row.fields.where,
    )


def _bases(
    whole: Table, brief: Table, known: Mapping[str, ArticleTable], own: MaterialBook
) -> Iterator[Base]:
    """Those of the campaign that are named, then every `[[base]]` of the file."""
    mistakes = brief.mistakes
    here: dict[str, ArticleTable] = {}
    for place, raw in whole.rows("base"):
        name = str(raw.get("name", f"base {place[-1]}")) if isinstance(raw, Mapping) else ""
        if not name:
            mistakes.add(place, f"{raw!r} is no table", "write [[base]] above its keys, as of an article")
        elif name in here:
            mistakes.add((*place, "name"), f"two bases are called {name!r}", "give each its own name")
        else:
            here[name] = raw
            yield from _base(name, raw, place, own, mistakes)
    for name in brief.names("start_from", (*known, *here)):
        if name not in here:
            yield from _base(name, known[name], ("brief", "start_from"), own, mistakes)


def _base(
    name: str, table: ArticleTable, place: tuple[str | int, ...], own: MaterialBook, mistakes: Mistakes
) -> Iterator[Base]:
    article = mistakes.attempt(place, lambda: read_article(table, materials=own), None)
    if article is None:
        return
    if not article.parts:
        mistakes.add(
            place, f"base {name!r} has no dimensions", "give its parts, so that a ring can be fitted"
        )
        return
    yield Base(name, table, article.given.price)
