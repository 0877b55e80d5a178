"""A campaign.toml written for people: commented when new, and fixed without losing what they wrote.

What a person put into the file stays: comments, order, keys and spellings. Only where an article's parts
change, that article's own comments may go, since they were about parts that are no more.
"""

from __future__ import annotations

import re
import tomllib
from collections.abc import Iterable, Iterator, Mapping, Sequence
from typing import Any, Final

import tomlkit
from tomlkit.items import AoT, Table

from strikeproof.campaign.keys import TABLES, meanings_of

__all__ = ["CAMPAIGN_HEAD", "merge_document", "write_document"]

CAMPAIGN_HEAD: Final = """\
# A campaign: a set of timed runs under one protocol. Every key is explained in docs/campaign-folder.md.
# Set up in the browser; you may edit it by hand, too.
"""
_COMMENT_AT: Final = 38


def write_document(tables: Mapping[str, Any]) -> str:
    """The tables as a new file, each key with its meaning beside it where it first is."""
    known = [name for name in TABLES if name in tables]
    names = [*known, *(name for name in tables if name not in TABLES)]
    names.sort(key=lambda name: isinstance(tables[name], Mapping) or _are_tables(tables[name]))
    pieces = [_piece(name, tables[name]) for name in names]
    return "\n".join([CAMPAIGN_HEAD, *pieces])


def merge_document(text: str, tables: Mapping[str, Any]) -> str:
    """`text` changed as little as can be so that it says `tables`; written again where that cannot be."""
    try:
        document = tomlkit.parse(text)
        _merge(document, tables, ())
        merged = tomlkit.dumps(document)
        for each in (_tidy(merged), merged):
            if tomllib.loads(each) == tables:
                return each
    except (ValueError, LookupError, TypeError, AttributeError):  # what the shape of a file may trip
        pass
    return write_document(tables)


def _tidy(text: str) -> str:
    """One blank line before a header, and never two in a row."""
    apart = re.sub(r"(?m)^(?![#\s])(.+)\n(?=\[)", r"\1\n\n", text)
    return re.sub(r"\n{3,}", "\n\n", apart)


def _piece(name: str, value: Any) -> str:
    """One table, or all of an array of tables, as text."""
    if _are_tables(value):
        told: set[str] = set()
        return "\n".join("\n".join(_lines(f"[[{name}]]", entry, (name,), told)) + "\n" for entry in value)
    if isinstance(value, Mapping):
        return "\n".join(_lines(f"[{name}]", value, (name,), set())) + "\n"
    return f"{name} = {_value(value)}\n"


def _lines(header: str, table: Mapping[str, Any], place: tuple[str, ...], told: set[str]) -> Iterator[str]:
    yield header
    nested = {key: each for key, each in table.items() if _is_nested(place, key, each)}
    words = meanings_of(place[0]) if len(place) == 1 else {}
    for key, value in table.items():
        if key in nested:
            continue
        line = f"{_key(key)} = {_value(value)}"
        meaning = words.get(key) if key not in told and "\n" not in line else None
        told.add(key)
        yield f"{line:<{_COMMENT_AT - 1}} # {meaning}" if meaning else line
    for key, value in nested.items():
        inner = (*place, key)
        entries = value if isinstance(value, list) else [value]
        marks = ("[[", "]]") if isinstance(value, list) else ("[", "]")
        for entry in entries:
            yield ""
            yield from _lines(f"{marks[0]}{'.'.join(map(_key, inner))}{marks[1]}", entry, inner, told)


def _is_nested(place: tuple[str, ...], key: str, value: Any) -> bool:
    """Parts and measurements stand under headers of their own, smaller tables within their line."""
    if place and place[0] == "article" and key in ("part", "measured", "swing"):
        return _are_tables(value) if key == "part" else isinstance(value, Mapping)
    return False


def _are_tables(value: Any) -> bool:
    return isinstance(value, list) and bool(value) and all(isinstance(each, Mapping) for each in value)


def _key(key: str) -> str:
    return tomlkit.key(key).as_string()


def _value(value: Any) -> str:
    if isinstance(value, Mapping):
        return "{ " + ", ".join(f"{_key(key)} = {_value(each)}" for key, each in value.items()) + " }"
    if _are_tables(value):
        return "[\n" + "".join(f"  {_value(each)},\n" for each in value) + "]"
    if isinstance(value, Sequence) and not isinstance(value, str):
        return "[" + ", ".join(map(_value, value)) + "]"
    return _number(value) if isinstance(value, float) else str(tomlkit.item(value).as_string())


def _number(value: float) -> str:
    """A float as a person writes it: 8e8 rather than 800000000.0."""
    plain = repr(value)
    short = re.sub(r"(?:\.0*)?e([+-])0*(\d+)$", lambda m: f"e{m[1].strip('+')}{m[2]}", f"{value:.6e}")
    short = re.sub(r"(\.\d*?)0+(?=e)", r"\1", short)
    return short if len(short) + 2 < len(plain) and float(short) == value else plain


def _merge(table: Any, values: Mapping[str, Any], place: tuple[str, ...]) -> None:
    """Bring a table of the document to `values`, touching only what differs."""
    for key in [key for key in table if key not in values]:
        table.remove(key)
    for key, value in values.items():
        if key not in table:
            _add(table, key, value, place)
        elif isinstance(value, Mapping) and isinstance(table[key], Table):
            _merge(table[key], value, (*place, key))
        elif isinstance(table[key], AoT) and _are_tables(value):
            _merge_array(table, key, value, (*place, key))
        elif _differs(_plain(table[key]), value):
            table[key] = _fresh(key, value, place)


def _differs(old: Any, new: Any) -> bool:
    # True equals 1 for Python and not for a person.
    return bool(old != new) or isinstance(old, bool) != isinstance(new, bool)


def _plain(item: Any) -> Any:
    return item.unwrap() if hasattr(item, "unwrap") else item


def _add(table: Any, key: str, value: Any, place: tuple[str, ...]) -> None:
    item = _fresh(key, value, place)
    meaning = meanings_of(place[0]).get(key) if len(place) == 1 else None
    if meaning and not isinstance(item, Table | AoT) and "\n" not in item.as_string():
        item.comment(meaning)
        item.trivia.comment_ws = " " * max(1, _COMMENT_AT - len(f"{key} = {item.as_string()}"))
    if not place and isinstance(item, Table | AoT):
        table.add(tomlkit.nl())
    table.add(key, item)


def _fresh(key: str, value: Any, place: tuple[str, ...]) -> Any:
    """A new item, written as a new file would have it."""
    parsed = tomlkit.parse("\n".join(_pieces(key, value, place)) + "\n")
    item: Any = parsed
    for name in (*place, key):
        item = item[0][name] if isinstance(item, AoT) else item[name]
    return item


def _pieces(key: str, value: Any, place: tuple[str, ...]) -> Iterable[str]:
    if not place:
        return [_piece(key, value)]
    header = ".".join(map(_key, place))
    return _lines(f"[{header}]", {key: value}, place, set(meanings_of(place[0])))


def _merge_array(table: Any, key: str, values: Sequence[Mapping[str, Any]], place: tuple[str, ...]) -> None:
    """The entries in their new order; one that was there by name, else by place, is fixed there."""
    entries = list(table[key])
    plain = [_plain(each) for each in entries]
    used: set[int] = set()
    found = []
    for number, value in enumerate(values):
        found.append(_match(plain, value, number, used, same=len(values) == len(entries)))
        used.add(-1 if found[-1] is None else found[-1])
    for at, value in zip(found, values, strict=True):
        if at is not None and plain[at] != value:
            _merge(entries[at], value, place)
    if found != list(range(len(entries))):
        made = tomlkit.aot()
        for at, value in zip(found, values, strict=True):
            made.append(_entry(value, place) if at is None else entries[at])
        table[key] = made


def _match(
    plain: Sequence[Mapping[str, Any]], value: Mapping[str, Any], number: int, used: set[int], *, same: bool
) -> int | None:
    named = [i for i, each in enumerate(plain) if each.get("name") == value.get("name") and i not in used]
    if named:
        return named[0]
    return number if same and number not in used else None


def _entry(value: Mapping[str, Any], place: tuple[str, ...]) -> Table:
    """A new entry with a blank line after it."""
    text = "\n".join(_lines(f"[[{'.'.join(map(_key, place))}]]", value, place, set(value))) + "\n\n"
    item: Any = tomlkit.parse(text)
    for name in place:
        item = item[0][name] if isinstance(item, AoT) else item[name]
    table: Table = item[0]
    return table
