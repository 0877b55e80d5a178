"""The first filled sheet of a workbook (XLSX, XLS, ODS) as plain rows of cells."""

from __future__ import annotations

import datetime
import io
import re
import zipfile
from pathlib import Path
from typing import TypeAlias
from xml.parsers.expat import ExpatError, ParserCreate

from strikeproof.campaign.text import bad_file
from strikeproof.campaign.zip_file import DAMAGED_ZIP

__all__ = ["Cell", "is_workbook", "read_workbook", "write_cell"]

Cell: TypeAlias = (
    str | int | float | bool | datetime.date | datetime.datetime | datetime.time | datetime.timedelta | None
)

_MAGIC = (b"PK\x03\x04", b"\xd0\xcf\x11\xe0")
_LARGEST_XML = 1 << 30
_MOST_CELLS = 40_000_000
_FEW_CELLS = 2_000_000  # so many may lie in the rectangle that a few cells far out span
_CELLS_PER_BYTE = 8  # a packed cell of numbers takes one byte and more
_REFERENCE = re.compile(rb'<c [^>]*?r="([A-Z]{1,3})([0-9]{1,7})"')
_OPEN_TAG = re.compile(rb"<table:(table-row|(?:covered-)?table-cell)\b([^>]*)>")
_REPEAT = re.compile(rb'table:number-(?:rows|columns)-repeated="([0-9]{1,9})"')
_CHUNK = 1 << 20


def is_workbook(raw: bytes) -> bool:
    """Whether the bytes begin like a workbook, whatever the file is called."""
    return raw.startswith(_MAGIC)


def read_workbook(path: Path, raw: bytes) -> list[list[Cell]]:
    """Rows of the first sheet that is not empty, from its first row on, so that row i is line i + 1.

    Raises
    ------
    BadFile
        If the workbook is damaged, locked by a password, empty, or claims more cells than can be held.
    """
    from python_calamine import CalamineWorkbook

    if raw.startswith(_MAGIC[0]):
        _refuse_bomb(path, raw)
    try:
        book = CalamineWorkbook.from_filelike(io.BytesIO(raw))
        for name in book.sheet_names:
            rows = book.get_sheet_by_name(name).to_python(skip_empty_area=False)
            if rows:
                return [list(row) for row in rows]
    except (KeyboardInterrupt, SystemExit, MemoryError):
        raise
    except BaseException as cause:  # the reader's own failures arrive as panics, outside Exception
        raise bad_file(
            path, f"is a damaged or locked workbook ({cause})", "open and save it again, or export CSV"
        ) from cause
    raise bad_file(path, "is a workbook without a filled sheet", "fill the sheet, or export it again")


def _refuse_bomb(path: Path, raw: bytes) -> None:
    """A few bytes may claim a sheet of 1.7e10 cells, which the reader would lay out in memory."""
    try:
        with zipfile.ZipFile(io.BytesIO(raw)) as book:
            members = [each for each in book.infolist() if each.filename.endswith((".xml", ".rels", ".bin"))]
            total = sum(each.file_size for each in members)
            cells = (
                0 if total > _LARGEST_XML else max((_count_cells(book, each) for each in members), default=0)
            )
    except (*DAMAGED_ZIP, ExpatError) as cause:
        raise bad_file(path, f"is a damaged workbook ({cause})", "copy or save it again") from cause
    if total > _LARGEST_XML or cells > min(_MOST_CELLS, max(_FEW_CELLS, _CELLS_PER_BYTE * len(raw))):
        raise bad_file(path, "is a workbook too large to read", "delete stray cells far out, or export CSV")


def _count_cells(book: zipfile.ZipFile, member: zipfile.ZipInfo) -> int:
    """Cells of the rectangle that the filled cells of one sheet span."""
    if member.filename == "content.xml":
        content = book.read(member)
        ParserCreate().Parse(content, True)  # cut off between two rows, it would keep the reader for ever
        return _count_repeated_cells(content)
    if "worksheets/" not in member.filename:
        return 0
    bottom = right = 0
    rest = b""
    with book.open(member) as stream:
        while chunk := stream.read(_CHUNK):
            text = rest + chunk
            for column, row in _REFERENCE.findall(text):
                bottom, right = max(bottom, int(row)), max(right, _column_number(column))
            rest = text[-256:]
    return bottom * right


def _count_repeated_cells(content: bytes) -> int:
    """As `_count_cells` for ODS, where one tag means any number of equal rows or cells."""
    filled = empty = right = column = 0  # rows so far, empty rows since, the widest row, place in this row
    row_is_filled = False
    for kind, attributes in _OPEN_TAG.findall(content):
        found = _REPEAT.search(attributes)
        count = int(found[1]) if found else 1
        if kind == b"table-row":
            column, row_is_filled = 0, False
            empty += count
            continue
        column += count
        if b"value-type" in attributes:
            right = max(right, column)
            if not row_is_filled:
                filled, empty, row_is_filled = filled + empty, 0, True
    return filled * right


def _column_number(letters: bytes) -> int:
    number = 0
    for letter in letters:
        number = number * 26 + letter - 64
    return number


def write_cell(cell: Cell) -> str:
    """A cell as text: 12.0 as "12", numbers to the 15 digits a sheet keeps, dates and times in ISO 8601."""
    match cell:
        case None:
            text = ""
        case bool():
            text = "true" if cell else "false"
        case float() | int():
            text = f"{cell:.15g}"
        case datetime.datetime() if cell.time() == datetime.time():
            text = cell.date().isoformat()
        case datetime.date() | datetime.time():
            text = cell.isoformat()
        case datetime.timedelta():
            text = f"{cell.total_seconds():.15g}"
        case _:
            text = str(cell).strip()
    return text
