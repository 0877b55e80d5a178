"""What people wrote into a calibration sheet beside its numbers: notes and comments, found and taken out."""

from __future__ import annotations

import csv
from collections.abc import Iterator
from io import StringIO
from pathlib import Path

from strikeproof.campaign.table import plain_name, read_table_of, split_sheet
from strikeproof.campaign.text import LARGEST_SHEET_BYTES, decode, find_encoding, read_file
from strikeproof.campaign.whole_file import write_whole
from strikeproof.desk.publishing.bundle.personal import PersonalItem, is_binary
from strikeproof.errors import StoreError
from strikeproof.plain_text import clean_text

__all__ = ["find_sheet_remarks", "strip_sheet_remarks"]

_NOTE = "note"


def find_sheet_remarks(path: Path) -> Iterator[PersonalItem]:
    """Every note and, in a text file, every comment of the sheet.

    Raises
    ------
    BadFile
        If it cannot be read as a sheet.
    """
    content = read_file(path, LARGEST_SHEET_BYTES)
    if not is_binary(path):
        for number, line in enumerate(_lines(path, content), start=1):
            if said := _comment(line):
                yield _remark(path, number, said)
    for row in read_table_of(path, content).rows:
        if note := row.cells.get(_NOTE):
            yield _remark(path, row.line, note)


def strip_sheet_remarks(path: Path) -> None:
    """Take them out; every other line stays as it is.

    Raises
    ------
    StoreError
        If it is no text file: nothing can be taken out of it.
    """
    if is_binary(path):
        raise StoreError(
            "the calibration sheet is no text file, so its notes cannot be taken out",
            "save it as CSV without notes and load the campaign again, or publish it with --keep",
        )
    lines = _lines(path, read_file(path, LARGEST_SHEET_BYTES))
    separator, records = split_sheet(path, "\n".join(lines))
    heading = next(cells for _line, cells in records if any(cells))
    notes = [at for at, name in enumerate(heading) if plain_name(name) == _NOTE]
    starts = [line for line, _cells in records]
    kept: list[str] = []
    for (start, cells), end in zip(records, [*starts[1:], len(lines) + 1], strict=True):
        here = [at for at in notes if at < len(cells) and cells[at] and cells is not heading]
        if here:
            kept.append(_written([("" if at in here else cell) for at, cell in enumerate(cells)], separator))
        else:
            kept += ["#" if _comment(line) else line for line in lines[start - 1 : end - 1]]
    write_whole(path, "\n".join(kept))


def _lines(path: Path, content: bytes) -> list[str]:
    return decode(path, content, find_encoding(path, content, is_sheet=True), is_sheet=True).split("\n")


def _comment(line: str) -> str:
    start = line.lstrip()
    return start[1:].strip() if start.startswith("#") else ""


def _written(cells: list[str], separator: str) -> str:
    text = StringIO()
    csv.writer(text, delimiter=separator, lineterminator="").writerow(cells)
    return text.getvalue()


def _remark(path: Path, line: int, said: str) -> PersonalItem:
    return PersonalItem("remark", f"{path.name}, line {line}", clean_text(said)[:200])
