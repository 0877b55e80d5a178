"""From the rows of a text log to columns: the fast way when all cells are sound, else cell by cell."""

from __future__ import annotations

import re
from functools import partial
from pathlib import Path
from typing import Any

import numpy as np
import pyarrow as pa
import pyarrow.compute as pc
from pyarrow import csv

from strikeproof.campaign.text import bad_file
from strikeproof.capture.cells import MISSING, OVERFLOW_PATTERN, cell_kind, split_line
from strikeproof.capture.columns import Columns, Numbers, find_numbers, row_lines
from strikeproof.capture.decimal_marks import Marks, find_marks, find_marks_and_votes, matches, plain_numbers
from strikeproof.capture.layout import Layout
from strikeproof.capture.log import Finding

__all__ = ["read_body", "read_number_columns"]

_BLOCK = 1 << 24
_DECIMALS = re.compile(r"[.,](\d+)$", re.ASCII)


def read_body(path: Path, raw: bytes, layout: Layout) -> Columns:
    """The columns of the rows in `raw`, which begin at the layout's offset.

    Raises
    ------
    BadFile
        If the rows cannot be taken apart.
    """
    body, findings = _cut_last_line(raw[layout.offset :], layout)
    if _needs_repair(body):
        body = _fix(body, layout)
    parsed = _single_blanks(body, layout)
    sound = _shows_mark(parsed, layout)
    try:
        table = _parse(parsed, layout, typed=sound)
    except pa.ArrowInvalid:
        table, parsed = _parse_unsound(path, body, layout)
        sound = False
    of_kind = {i: table.column(i) for i, kind in enumerate(layout.kinds) if kind != "text"}
    are_numbers = {i for i in of_kind if layout.kinds[i] == "number"}
    found = {i: of_kind[i] for i in sorted(are_numbers)}
    return Columns(
        names=layout.names,
        units=layout.units,
        kinds=layout.kinds,
        has_header=layout.has_header,
        sample_rate_hz=layout.sample_rate_hz,
        numbers=_sound_columns(found) if sound else read_number_columns(found),
        texts={i: column.combine_chunks() for i, column in of_kind.items() if i not in are_numbers},
        findings=findings,
        find_lines=partial(row_lines, parsed, layout.first_line),
    )


_SAMPLE = 1 << 15


def _shows_mark(body: bytes, layout: Layout) -> bool:
    """Whether no number can be grouped in thousands by what looks like its decimal mark.

    Else the cells are to be looked at as they are written.
    """
    if layout.decimal.encode() not in body:
        return True
    text = "".join(part.decode("utf-8", "replace") for part in _samples(body))
    columns = _split_cells(text, layout)
    marked = {i: each for i, each in columns.items() if _has(each, layout.decimal)}
    marks, votes = find_marks_and_votes(columns)
    agree = all(each.decimal == layout.decimal for i, each in marks.items() if i in marked)
    return agree and layout.decimal in votes


def _split_cells(text: str, layout: Layout) -> dict[int, Any]:
    """The trimmed cells of each column of numbers, of the lines that have as many cells as there are columns.

    Lines with quotes, or with blanks between cells, are taken apart one by one, which takes four times as
    long.
    """
    width = len(layout.kinds)
    if '"' in text or layout.separator == " ":
        rows = [
            cells for line in text.split("\n") if len(cells := split_line(line, layout.separator)) == width
        ]
        flat = pa.array([cell for row in rows for cell in row], pa.string())
    else:
        lines = pc.split_pattern(pa.array([text], pa.string()), "\n").flatten()
        cells = pc.split_pattern(lines, layout.separator)
        whole = cells.filter(pc.equal(pc.list_value_length(cells), width))
        flat = pc.utf8_trim_whitespace(whole.flatten())
    places = range(0, len(flat), width)
    return {
        i: flat.take(pa.array(np.asarray(places) + i, pa.int64()))
        for i, kind in enumerate(layout.kinds)
        if kind == "number"
    }


def _samples(body: bytes) -> list[bytes]:
    """Complete lines of the beginning, the middle and the end: a load at rest has no thousands yet."""
    if len(body) <= 3 * _SAMPLE:
        return [body]
    starts = (0, body.find(b"\n", len(body) // 2) + 1, body.find(b"\n", len(body) - _SAMPLE) + 1)
    return [body[at : body.rfind(b"\n", at, at + _SAMPLE) + 1] for at in starts]


def _has(cells: Any, mark: str) -> bool:
    return bool(pc.any(pc.match_substring(cells, mark)).as_py())


def _parse(body: bytes, layout: Layout, *, typed: bool) -> Any:
    names = [str(i) for i in range(len(layout.kinds))]
    number = pa.float64() if typed else pa.string()
    types = {
        name: number if kind == "number" else pa.string()
        for name, kind in zip(names, layout.kinds, strict=True)
    }
    return csv.read_csv(
        pa.BufferReader(body),
        read_options=csv.ReadOptions(column_names=names, block_size=_BLOCK, use_threads=len(body) > _BLOCK),
        parse_options=csv.ParseOptions(delimiter=layout.separator),
        convert_options=csv.ConvertOptions(
            column_types=types, null_values=list(MISSING), decimal_point=layout.decimal, check_utf8=False
        ),
    )


def _parse_unsound(path: Path, body: bytes, layout: Layout) -> tuple[Any, bytes]:
    fixed = _fix(body, layout)
    parsed = _single_blanks(fixed, layout)
    try:
        return _parse(parsed, layout, typed=False), parsed
    except pa.ArrowInvalid as cause:
        what = f"its rows cannot be taken apart ({str(cause)[:120]})"
        raise bad_file(path, what, "export it again as CSV", layout.first_line) from cause


def _single_blanks(body: bytes, layout: Layout) -> bytes:
    """Where blanks separate, any run of them becomes one, and none is left at the ends of a line."""
    if layout.separator != " ":
        return body
    return re.sub(rb"(?m)^ | $", b"", re.sub(rb"[ \t]+", b" ", body))


def _needs_repair(body: bytes) -> bool:
    """Whether lines hold comments or a quote that is never closed, which would swallow the rows after it."""
    if b"#" in body and b"\n#" in body:  # one byte is sought far faster than two
        return True
    if b'"' not in body:
        return False
    data = np.frombuffer(body, dtype=np.uint8)
    quotes = np.flatnonzero(data == 34)
    before = np.searchsorted(quotes, np.flatnonzero(data == 10))
    return bool(quotes.size % 2 or np.any(before % 2))


def _fix(body: bytes, layout: Layout) -> bytes:
    """Every line made a row of the right width: cells that are not there, or cannot be placed, become NaN.

    The lines keep their numbers; comments become blank lines.
    """
    width = len(layout.kinds)
    separator = layout.separator
    lines = body.decode("utf-8", "replace").split("\n")
    torn = _torn_lines(lines, separator, width)
    for i, line in enumerate(lines):
        if i in torn:
            lines[i] = separator.join(["nan"] * width)
            continue
        if not line.strip() or _is_comment(line, separator, width):
            lines[i] = ""
        elif '"' in line or line.count(separator) != width - 1 or separator == " ":
            lines[i] = _fix_line(line, separator, width)
    return "\n".join(lines).encode()


_FEW, _SHARE = 3, 0.02  # rows so rare that have fewer cells than the others were cut, not written so


def _torn_lines(lines: list[str], separator: str, width: int) -> set[int]:
    """Rows that lack cells where all others have them: what is left of their last number is not sure."""
    if separator == " " or width == 1:
        return set()
    short = {
        i
        for i, line in enumerate(lines)
        if line.strip()
        and len(split_line(line, separator)) < width
        and not _is_comment(line, separator, width)
    }
    return short if len(short) <= max(_FEW, _SHARE * len(lines)) else set()


def _is_comment(line: str, separator: str, width: int) -> bool:
    """Whether a line begins with # and is no row whose first cell is an overload, such as ###."""
    if not line.lstrip().startswith("#"):
        return False
    cells = split_line(line, separator)
    return len(cells) != width or cell_kind(cells[0]) != "overflow"


def _fix_line(line: str, separator: str, width: int) -> str:
    # A cell with a stray quote must not pass for the number it may have been.
    cells = split_line(line if line.count('"') % 2 == 0 else line.replace('"', "”"), separator)
    if len(cells) > width and any(cells[width:]):
        cells = []  # which of the cells is too many is not known, so none is believed
    cells = [*cells[:width], *["nan"] * (width - len(cells))]
    if len(cells) == 1 and not cells[0]:
        return "nan"
    return separator.join(f'"{cell.replace(chr(34), "")}"' if separator in cell else cell for cell in cells)


def _cut_last_line(body: bytes, layout: Layout) -> tuple[bytes, tuple[Finding, ...]]:
    """Leave out a last line that was cut off while it was written: too few cells, or decimals missing."""
    if body.endswith(b"\n"):
        return body, ()
    lines = body[-8192:].decode("utf-8", "replace").split("\n")
    if len(lines) < 3:
        return body, ()
    before = [split_line(line, layout.separator) for line in lines[1:-1] if line.strip()]
    last = split_line(lines[-1], layout.separator)
    whole = len(last) >= len(layout.kinds) and not _is_shortened(last, before)
    if whole:
        return body, ()
    line = layout.first_line + body.count(b"\n")
    detail = f"the last line is cut off ({lines[-1][:40]!r}) and left out"
    return body[: body.rfind(b"\n") + 1], (Finding("cut-off", None, line, 1, detail),)


def _is_shortened(last: list[str], before: list[list[str]]) -> bool:
    """Whether the last cell has fewer decimals than all those above it, which agree."""
    decimals = {len(found[1]) if (found := _DECIMALS.search(cells[-1])) else 0 for cells in before if cells}
    found = _DECIMALS.search(last[-1])
    return len(decimals) == 1 and len(before) > 3 and (len(found[1]) if found else 0) < max(decimals)


def _sound_columns(columns: dict[int, Any]) -> dict[int, Numbers]:
    return {i: find_numbers(np.array(each.to_numpy(), dtype=np.float64)) for i, each in columns.items()}


_NUMBER = r"^[+-]?(?:\d+\.?\d*|\.\d+)(?:[eE][+-]?\d+)?$"


def read_number_columns(columns: dict[int, Any]) -> dict[int, Numbers]:
    """The columns of text cells of one file as numbers; each helps to say which mark is the decimal one."""
    cells = {i: _trimmed(column) for i, column in columns.items()}
    marks = find_marks(cells)
    return {i: _read_numbers(each, marks[i]) for i, each in cells.items()}


def _trimmed(column: Any) -> Any:
    return pc.utf8_trim_whitespace(column.combine_chunks() if isinstance(column, pa.ChunkedArray) else column)


def _read_numbers(cells: Any, marks: Marks) -> Numbers:
    overflow = np.asarray(matches(cells, OVERFLOW_PATTERN))
    plain = plain_numbers(cells, marks)
    ok = matches(plain, _NUMBER)
    values = np.array(pc.if_else(ok, plain, None).cast(pa.float64()).to_numpy(zero_copy_only=False))
    huge = np.isinf(values)
    values[huge] = np.nan
    return Numbers(
        values, overflow | huge, cells, decimal_by_others=marks.decimal if marks.by_others else None
    )
