"""Small sheets that people keep by hand (runs, calibration readings), from CSV or a workbook."""

from __future__ import annotations

import csv
import itertools
import re
import unicodedata
from collections import Counter
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from pathlib import Path

from strikeproof.campaign.gate import read_small
from strikeproof.campaign.text import (
    LARGEST_SHEET_BYTES,
    bad_file,
    decode,
    find_encoding,
    read_file,
    unpack,
)
from strikeproof.campaign.workbook import is_workbook, read_workbook, write_cell
from strikeproof.errors import BadFile, BadInput, Problem, nearest
from strikeproof.plain_text import MARK, TextKind, TextProblem, clean_text, judge_text, unguard_cell
from strikeproof.quantity import parse_in_unit
from strikeproof.quantity.numbers import PLAIN_NUMBER, mark_of, split_number

__all__ = ["Row", "Table", "plain_name", "read_table", "read_table_of", "split_sheet"]


@dataclass(frozen=True, slots=True)
class Row:
    """One line of a sheet: its number in the file and its cells, stripped, by plain column name."""

    line: int
    cells: dict[str, str]


@dataclass(frozen=True, slots=True)
class Table:
    """A sheet. Column names are plain: "Rig zero" and "rig_zero" are both `rig_zero`.

    `decimal` is the decimal mark that the columns of numbers show together, None when they show none or
    both; `sure` has line, column and text of the first cell that shows each. `is_typed`: the cells are texts
    that somebody wrote, not numbers of a workbook. `cleaned` has the problem of each cell, by line and
    column, that held what no text may hold; a mark is there now, so no number is read into it.
    """

    path: Path
    columns: tuple[str, ...]
    rows: tuple[Row, ...]
    header_line: int
    decimal: str | None
    cleaned: Mapping[tuple[int, str], Problem] = field(default_factory=dict)
    sure: Mapping[str, tuple[int, str, str]] = field(default_factory=dict)
    is_typed: bool = True

    def column_problems(self, required: Iterable[str], optional: Iterable[str] = ()) -> tuple[Problem, ...]:
        """One problem for each required column that is missing and each that is unknown."""
        required = tuple(required)
        known = tuple(dict.fromkeys((*required, *optional)))
        missing = [name for name in required if name not in self.columns]
        unknown = [name for name in self.columns if name not in known]
        return (
            *(self._missing(name, unknown) for name in missing),
            *(self._unknown(name, known) for name in unknown),
        )

    def require(self, required: Iterable[str], optional: Iterable[str] = ()) -> None:
        """Raise BadFile with every `column_problems`, if there is any."""
        problems = self.column_problems(required, optional)
        if problems:
            raise BadFile(problems)

    def number(self, row: Row, column: str, unit: str | None = None) -> float:
        """The number in one cell, read with the decimal mark that its column or else the sheet shows.

        Parameters
        ----------
        unit
            What the column is in. A cell may have another unit of the same kind behind its number.

        Raises
        ------
        BadFile
            If the cell holds no number, one that can be read in two ways, or a unit of another kind; or if
            the column shows both decimal marks, or the sheet does while the column shows none.
        """
        marks = self._marks(column)
        if len(marks) > 1:
            (_, one), (line, other) = marks["."], marks[","]
            what = f"{column} mixes decimal points and commas: {one!r} on line {marks['.'][0]}, {other!r}"
            raise bad_file(self.path, what, "write all numbers of the column alike", line)
        decimal = next(iter(marks), self.decimal)
        if not marks and self.is_typed:
            self._refuse_two_ways(row, column, decimal)
        try:
            return parse_in_unit(row.cells[column], unit, decimal=decimal)
        except BadInput as wrong:
            raise bad_file(self.path, f"{column}: {wrong.what}", wrong.fix, row.line) from wrong

    def decimal_of(self, column: str) -> str | None:
        """The decimal mark of a column, else of the sheet; None where neither shows one."""
        return next(iter(self._marks(column)), self.decimal)

    def _refuse_two_ways(self, row: Row, column: str, decimal: str | None) -> None:
        """Refuse 1.020 where the sheet shows both marks, or where it is among bare numbers up to 998."""
        cell = row.cells[column]
        number, unit = split_number(cell)
        found = _EITHER.fullmatch(number)
        if found is None or decimal not in (None, found[1]):
            return
        value = abs(float(number.replace(",", ".")))
        fix = f"write {1000 * value:.0f}, or {value:.4f} where it has decimals"
        if len(self.sure) > 1:
            shown = " and ".join(f"{text!r} on line {line}" for line, _, text in self.sure.values())
            what = f"{column}: {cell!r} can be read in two ways, as the sheet has {shown}"
            raise bad_file(self.path, what, fix, row.line)
        for other in self.rows:
            bare, its_unit = split_number(other.cells.get(column, ""))
            if its_unit == unit and _BARE.fullmatch(bare) and abs(int(bare)) > 10 * value:
                what = (
                    f"{column}: {cell!r} would be read as {value:g}, far below {bare!r} on line {other.line}"
                )
                raise bad_file(self.path, f"{what}, and may be {1000 * value:.0f}", fix, row.line)

    def _marks(self, column: str) -> dict[str, tuple[int, str]]:
        """Line and text of the first cell of a column that shows each decimal mark beyond doubt."""
        found: dict[str, tuple[int, str]] = {}
        for row in self.rows:
            text = row.cells.get(column, "")
            if mark := mark_of(text):
                found.setdefault(mark, (row.line, text))
        return found

    def _missing(self, name: str, unknown: Sequence[str]) -> Problem:
        hint = nearest(name, unknown)
        fix = f"rename {hint!r} to {name!r}" if hint else f"add a column {name!r} to the first row"
        return Problem(str(self.path), self.header_line, f"there is no column {name!r}", fix)

    def _unknown(self, name: str, known: Sequence[str]) -> Problem:
        hint = "note" if name in _REMARKS and "note" in known else nearest(name, known)
        fix = f"did you mean {hint!r}?" if hint else f"known columns: {', '.join(known)}"
        return Problem(str(self.path), self.header_line, f"unknown column {name!r}", fix)


_EITHER = re.compile(r"[+-]?[1-9]\d{0,2}([.,])\d{3}", re.ASCII)
_BARE = re.compile(r"[+-]?\d{1,3}", re.ASCII)

_MARKS = ";\t,|"
_REMARKS = ("remark", "remarks", "comment", "comments")
_HEADINGS = frozenset(("run", "log", "article", "block", "score", "applied", "reading"))
"""Names of which the heading of a run sheet or a calibration sheet has two at least."""
_TITLES = 10  # rows in which it begins: titles, and headings of several columns together, may be above it

# A record is the line it starts on and its cells, stripped.
_Record = tuple[int, list[str]]


def read_table(path: Path, numbers: tuple[str, ...] = ()) -> Table:
    """A sheet with its column names in the first row that is neither blank nor a `#` comment.

    Titles may be above the names, where two of these are such as a run sheet or a calibration sheet has.

    `numbers` are the columns of numbers: these and no others say which decimal mark the sheet has.

    Raises
    ------
    BadFile
        If there is no such file or sheet, with all that is wrong with its shape at once.
    """
    path = Path(path)
    return read_table_of(path, read_file(path, LARGEST_SHEET_BYTES), numbers)


def read_table_of(path: Path, content: bytes, numbers: tuple[str, ...] = ()) -> Table:
    """The same for a sheet whose bytes are read already.

    Raises
    ------
    BadFile
        As `read_table`.
    """
    table: Table = read_small(path, content, _read, path, content, numbers)
    return table


def _read(path: Path, content: bytes, numbers: tuple[str, ...]) -> Table:
    raw = unpack(path, content, LARGEST_SHEET_BYTES)
    if is_workbook(raw):
        rows = read_workbook(path, raw)
        records = [(i, [write_cell(cell) for cell in row]) for i, row in enumerate(rows, start=1)]
        separator = None
    else:
        text = decode(path, raw, find_encoding(path, raw, is_sheet=True), is_sheet=True)
        separator, records = split_sheet(path, text)
    records = [each for each in records if any(each[1]) and not each[1][0].startswith("#")]
    records = records[_find_heading([cells for _line, cells in records]) :]
    if not records:
        raise bad_file(path, "holds no rows", "write the column names in the first row and the data below")
    return _build(path, records, separator, numbers)


def _find_heading(rows: Sequence[Sequence[str]]) -> int:
    """Which of the rows names the columns: the first one where none surely does."""
    return next((i for i, cells in enumerate(rows[:_TITLES]) if _count_headings(cells) > 1), 0)


def _count_headings(cells: Iterable[str]) -> int:
    return len(_HEADINGS & set(map(plain_name, cells)))


def split_sheet(path: Path, text: str) -> tuple[str, list[tuple[int, list[str]]]]:
    """The separator of a sheet, and each record: the line it starts on, and its cells; comments are blank.

    Raises
    ------
    BadFile
        If a quoted cell is broken.
    """
    lines = ["" if line.lstrip().startswith("#") else line for line in text.split("\n")]
    separator = ","
    first = next((i for i, line in enumerate(lines) if line.strip()), 0)
    declared = re.fullmatch(r"sep=(.)\s*", lines[first])
    if declared:
        separator, lines[first] = declared[1], ""
    else:
        begin = [line for line in lines if line.strip()][:_TITLES]
        heads = {
            mark: max((_count_headings(line.split(mark)) for line in begin), default=0) for mark in _MARKS
        }
        separator = max(_MARKS, key=lambda mark: (heads[mark] > 1, _field_count(lines[first], mark)))
    return separator, list(_records(path, lines, separator))


def _field_count(line: str, separator: str) -> int:
    return len(re.sub(r'"[^"]*"', "", line).split(separator))


def _records(path: Path, lines: list[str], separator: str) -> Iterator[_Record]:
    reader = csv.reader(
        (f"{line}\n" for line in lines), delimiter=separator, strict=True, skipinitialspace=True
    )
    start = 1
    try:
        for cells in reader:
            yield start, [cell.strip() for cell in cells]
            start = reader.line_num + 1
    except csv.Error as cause:
        fix = "close the quotes, and double any quote inside a quoted cell"
        raise bad_file(path, f"a quoted cell is broken ({cause})", fix, start) from cause


def plain_name(name: str) -> str:
    """A column name with small letters and underscores only."""
    return re.sub(r"[\s_]+", "_", name.strip()).casefold()


def _build(path: Path, records: Sequence[_Record], separator: str | None, numbers: tuple[str, ...]) -> Table:
    (line, names), *records = records
    names = [plain_name(name) for name in names]
    problems = [
        Problem(str(path), line, f"two columns are called {name!r}", "rename or delete one")
        for name, count in Counter(names).items()
        if name and count > 1
    ]
    for at, cells in records:
        if any(cells[len(names) :]):
            problems.append(Problem(str(path), at, *_too_many(cells, len(names), separator)))
        elif stray := [
            i + 1 for i, (name, cell) in enumerate(zip(names, cells, strict=False)) if cell and not name
        ]:
            problems.append(Problem(str(path), at, f"column {stray[0]} has no name", "name it or empty it"))
    if problems:
        raise BadFile(problems)
    padding = [""] * len(names)
    rows: list[Row] = []
    cleaned: dict[tuple[int, str], Problem] = {}
    for at, cells in records:
        told = {name: cell for name, cell in zip(names, cells + padding, strict=False) if name}
        cleaned |= _cell_problems(path, at, told)
        rows.append(Row(at, {name: _cell_text(name, cell) for name, cell in told.items()}))
    columns = tuple(filter(None, names))
    sure = _sure_marks(rows, numbers)
    decimal = _decimal_mark(rows, sure, separator, numbers)
    return Table(path, columns, tuple(rows), line, decimal, cleaned, sure, separator is not None)


def _too_many(cells: Sequence[str], names: int, separator: str | None) -> tuple[str, str]:
    """What is wrong with a line that has more cells than there are names, and how to fix it."""
    what = f"has {len(cells)} cells but there are {names} column names"
    halves = [(one, other) for one, other in itertools.pairwise(cells) if _may_be_number(one, other)]
    if separator != "," or not halves:
        return what, "quote the cell that holds the separator, or name the column"
    one, other = halves[-1]
    return (
        f"{what}: the comma that separates them seems to mark decimals too, as in {one},{other}",
        f'write {one}.{other}, or "{one},{other}" in quotes, or save the sheet with semicolons between cells',
    )


def _may_be_number(one: str, other: str) -> bool:
    return re.fullmatch(r"[+-]?\d+", one) is not None and re.fullmatch(r"\d+", other) is not None


_FILE_COLUMNS = ("log",)  # cells that name a file stay as the disk spells it


def _cell_text(name: str, cell: str) -> str:
    if cell.isascii() and cell.isprintable() and not cell.startswith("'"):
        return cell
    text = clean_text(cell)
    return unguard_cell(
        cell if name in _FILE_COLUMNS and text == unicodedata.normalize("NFC", cell) else text
    )


def _cell_problems(path: Path, line: int, cells: Mapping[str, str]) -> dict[tuple[int, str], Problem]:
    wrong = {}
    for name, cell in cells.items():
        told = "" if cell.isprintable() else judge_text(cell, TextKind.NOTE)
        if isinstance(told, TextProblem) and MARK in clean_text(cell.replace(MARK, "")):
            fix = f"type the cell again; until then it is read with {MARK} there"
            wrong[line, name] = Problem(str(path), line, f"{name}: {told.what}", fix)
    return wrong


def _sure_marks(rows: Sequence[Row], numbers: tuple[str, ...]) -> dict[str, tuple[int, str, str]]:
    """Line, column and text of the first number that shows each decimal mark beyond doubt."""
    found: dict[str, tuple[int, str, str]] = {}
    for row in rows:
        for name in numbers:
            if mark := mark_of(row.cells.get(name, "")):
                found.setdefault(mark, (row.line, name, row.cells[name]))
    return found


def _decimal_mark(
    rows: Sequence[Row], sure: Mapping[str, object], separator: str | None, numbers: tuple[str, ...]
) -> str | None:
    """The mark some number shows beyond doubt; else a comma where semicolons separate and no points are."""
    if sure:
        return next(iter(sure)) if len(sure) == 1 else None
    cells = [row.cells.get(name, "") for row in rows for name in numbers]
    pointed = any(PLAIN_NUMBER.fullmatch(split_number(cell)[0]) and "." in cell for cell in cells)
    return "," if separator == ";" and not pointed else None
