"""A run sheet with other rows in it, and all else of it as its writer left it.

A person's sheet has a separator, a decimal mark, columns, an encoding and line ends of its own. A line whose
run says what it said stays as it is, to the letter; a comment stays where it is. Only what no text may hold,
such as a terminal's codes, is marked.
"""

from __future__ import annotations

import csv
import gzip
import io
import re
from collections import Counter
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Final

from strikeproof.campaign.table import Table, plain_name, read_table_of, split_sheet
from strikeproof.campaign.text import LARGEST_SHEET_BYTES, decode, find_encoding, unpack
from strikeproof.plain_text import clean_text, guard_cell, mark_foreign
from strikeproof.quantity.numbers import PLAIN_NUMBER

__all__ = ["PLANNED", "edit_sheet"]

PLANNED: Final = "planned by strikeproof"
"""How the comment of the program's own plan begins: a new one takes the place of an old one."""
_LINE_ENDS: Final = re.compile(r"(?<=\n)|(?<=\r)(?!\n)")
_GZIP: Final = b"\x1f\x8b"


@dataclass(frozen=True, slots=True)
class _Line:
    """One row as it is in the file: the comments before it, its text, its cells as they are written."""

    before: str
    text: str
    written: Sequence[str]


@dataclass(frozen=True, slots=True)
class _Sheet:
    """A file taken apart: its header, its rows in order, and what follows the last of them."""

    table: Table
    separator: str
    end: str
    header: _Line
    lines: tuple[_Line, ...]
    after: str


def edit_sheet(path: Path, content: bytes, rows: Iterable[Mapping[str, str]], head: str = "") -> bytes:
    """The bytes of a sheet that holds `rows`; a column that they need and it lacks is added at its end.

    Parameters
    ----------
    content
        The sheet as it is now.
    rows
        By plain column name. A row is the line that it was by its `run`.
    head
        Comments that it must have, a line each.

    Raises
    ------
    BadFile
        If the sheet cannot be read.
    """
    raw = unpack(path, content, LARGEST_SHEET_BYTES)
    encoding = find_encoding(path, raw, is_sheet=True)
    sheet = _take_apart(path, raw, _text_of(path, raw, encoding))
    edited = _encode(mark_foreign(_put_together(sheet, list(rows), head)), raw, encoding)
    return gzip.compress(edited) if content.startswith(_GZIP) else edited


def _text_of(path: Path, raw: bytes, encoding: str) -> str:
    decode(path, raw, encoding, is_sheet=True)  # says what does not fit
    return raw.decode(encoding).removeprefix("\ufeff").rstrip("\x1a")


def _encode(text: str, raw: bytes, encoding: str) -> bytes:
    """In the encoding that it had, with its mark; in UTF-8 where a new word does not fit that."""
    if encoding in ("utf-16", "utf-32"):
        encoding += "-le" if raw.startswith(b"\xff\xfe") else "-be"
        text = f"\ufeff{text}"
    elif encoding.startswith("utf-16-") and raw.decode(encoding).startswith("\ufeff"):
        text = f"\ufeff{text}"
    try:
        return text.encode("utf-8" if encoding == "ascii" else encoding)
    except UnicodeEncodeError:
        return text.encode("utf-8-sig")


def _take_apart(path: Path, raw: bytes, text: str) -> _Sheet:
    table = read_table_of(path, raw)
    physical = _LINE_ENDS.split(text)
    separator, records = split_sheet(path, re.sub(r"\r\n?", "\n", text))
    at_rows = {row.line for row in table.rows}
    header, lines, before = _Line("", "", ()), [], ""
    stops = [start for start, _cells in records[1:]] + [len(physical) + 1]
    for (start, cells), stop in zip(records, stops, strict=True):
        own = "".join(physical[start - 1 : stop - 1])
        if start == table.header_line:
            header, before = _Line(before, own, cells), ""
        elif start in at_rows:
            lines.append(_Line(before, own, cells))
            before = ""
        else:
            before += own
    found = re.search(r"\r\n|\r|\n", text)
    return _Sheet(table, separator, found[0] if found else "\n", header, tuple(lines), before)


def _put_together(sheet: _Sheet, rows: Sequence[Mapping[str, str]], head: str) -> str:
    missing = [
        name for name in dict.fromkeys(k for row in rows for k in row) if name not in sheet.table.columns
    ]
    header = sheet.header.text
    if missing:
        header = _write(sheet, [*sheet.header.written, *missing])
    names = [*map(plain_name, sheet.header.written), *missing]
    before = dict(zip(_keys(row.cells for row in sheet.table.rows), range(len(sheet.lines)), strict=True))
    parts, stayed = [_comments(sheet, head), header], set()
    for key, row in zip(_keys(rows), rows, strict=True):
        at = before.get(key)
        if at is None:
            continue
        stayed.add(key)
        parts += [sheet.lines[at].before, _line(sheet, at, names, row)]
    parts += [line.before for key, at in before.items() if key not in stayed for line in [sheet.lines[at]]]
    new = [row for key, row in zip(_keys(rows), rows, strict=True) if key not in before]
    parts += [sheet.after]
    parts += [_write(sheet, [_cell(sheet, name, row.get(name, "")) for name in names]) for row in new]
    return _joined(parts, sheet.end)


def _joined(parts: Iterable[str], end: str) -> str:
    """Each part on lines of its own, though the last line of the file had no end."""
    told = [part for part in parts if part]
    ended = [part if part.endswith(("\n", "\r")) else part + end for part in told[:-1]]
    return "".join((*ended, *told[-1:]))


def _comments(sheet: _Sheet, head: str) -> str:
    """What is above the column names, with the comments of `head` that the sheet lacks."""
    said = {
        line.lstrip()[1:].strip()
        for text in (sheet.header.before, *(line.before for line in sheet.lines), sheet.after)
        for line in _LINE_ENDS.split(text)
        if line.lstrip().startswith("#")
    }
    new = [clean_text(line) for line in head.splitlines() if line.strip() not in said]
    old = _LINE_ENDS.split(sheet.header.before)
    if any(line.startswith(PLANNED) for line in new):
        old = [line for line in old if not line.lstrip("# \t").startswith(PLANNED)]
    return "".join((*(f"# {line}{sheet.end}" for line in new), *old))


def _keys(rows: Iterable[Mapping[str, str]]) -> list[tuple[str, int]]:
    """What separates a row from the others: its run, and how many of that name come before it."""
    count: Counter[str] = Counter()
    found = []
    for row in rows:
        name = row.get("run", "")
        found.append((name, count[name]))
        count[name] += 1
    return found


def _line(sheet: _Sheet, at: int, names: Sequence[str], row: Mapping[str, str]) -> str:
    was, line = sheet.table.rows[at].cells, sheet.lines[at]
    if all(row.get(name, "") == was.get(name, "") for name in names if name):
        return line.text
    written = [*line.written, *([""] * len(names))]
    cells = []
    for name, old in zip(names, written, strict=False):
        new = row.get(name, "")
        cells.append(old if not name or new == was.get(name, "") else _cell(sheet, name, new))
    text = _write(sheet, cells)
    return text if line.text.endswith(("\n", "\r")) else text.removesuffix(sheet.end)


def _cell(sheet: _Sheet, name: str, text: str) -> str:
    """A new cell; a number has the decimal mark of the sheet."""
    if name == "score" and PLAIN_NUMBER.fullmatch(text) and sheet.table.decimal_of(name) == ",":
        return text.replace(".", ",")
    return str(guard_cell(text))


def _write(sheet: _Sheet, cells: Iterable[str]) -> str:
    text = io.StringIO()
    csv.writer(text, delimiter=sheet.separator, lineterminator="\r\n").writerow(cells)  # so both are quoted
    return text.getvalue().removesuffix("\r\n") + sheet.end
