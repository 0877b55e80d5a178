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
from strikeproof.capture.layout import Layout
from strikeproof.capture.log import Finding

__all__ = ["read_body", "read_numbers"]

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
    if _needs_mending(body):
        body = _mend(body, layout)
    parsed = _single_blanks(body, layout)
    sound = not _has_two_meanings(parsed, layout)
    try:
        table = _parse(parsed, layout, typed=sound)
    except pa.ArrowInvalid:
        table, parsed = _parse_unsound(path, body, layout)
        sound = False
    of_kind = {i: table.column(i) for i, kind in enumerate(layout.kinds) if kind != "text"}
    are_numbers = {i for i in of_kind if layout.kinds[i] == "number"}
    read = _sound_numbers if sound else read_numbers
    return Columns(
        names=layout.names,
        units=layout.units,
        kinds=layout.kinds,
        has_header=layout.has_header,
        sample_rate_hz=layout.sample_rate_hz,
        numbers={i: read(of_kind[i]) for i in sorted(are_numbers)},
        texts={i: column.combine_chunks() for i, column in of_kind.items() if i not in are_numbers},
        findings=findings,
        find_lines=partial(row_lines, parsed, layout.first_line),
    )


_NO_THOUSANDS = re.compile(rb"(?<![\d.,])0,|,\d{0,2}(?!\d)|,\d{4}")
_BEGINNING = 1 << 16


def _has_two_meanings(body: bytes, layout: Layout) -> bool:
    """Whether every comma may be one of thousands, so that cells are to be looked at as they are written."""
    return layout.decimal == "," and layout.separator != "," and not _NO_THOUSANDS.search(body[:_BEGINNING])


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
    mended = _mend(body, layout)
    parsed = _single_blanks(mended, layout)
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


def _needs_mending(body: bytes) -> bool:
    """Whether lines hold comments or a quote that is never closed, which would swallow the rows after it."""
    if b"#" in body and b"\n#" in body:  # one byte is sought far faster than two
        return True
    if b'"' not in body:
        return False
    data = np.frombuffer(body, dtype=np.uint8)
    quotes = np.flatnonzero(data == 34)
    before = np.searchsorted(quotes, np.flatnonzero(data == 10))
    return bool(quotes.size % 2 or np.any(before % 2))


def _mend(body: bytes, layout: Layout) -> bytes:
    """Every line made a row of the right width: cells that are not there, or cannot be placed, become NaN.

    The lines keep their numbers; comments become blank lines.
    """
    width = len(layout.kinds)
    separator = layout.separator
    lines = body.decode("utf-8", "replace").split("\n")
    for i, line in enumerate(lines):
        if not line.strip() or _is_comment(line, separator, width):
            lines[i] = ""
        elif '"' in line or line.count(separator) != width - 1 or separator == " ":
            lines[i] = _mend_line(line, separator, width)
    return "\n".join(lines).encode()


def _is_comment(line: str, separator: str, width: int) -> bool:
    """Whether a line begins with # and is no row whose first cell is an overload, such as ###."""
    if not line.lstrip().startswith("#"):
        return False
    cells = split_line(line, separator)
    return len(cells) != width or cell_kind(cells[0]) != "overflow"


def _mend_line(line: str, separator: str, width: int) -> str:
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


def _sound_numbers(column: Any) -> Numbers:
    return find_numbers(np.array(column.to_numpy(), dtype=np.float64))


_NO_NUMBER = "?"
_WHOLE_THOUSANDS = r"^[+-]?[1-9]\d{0,2}(?:,\d{3})+$"
_GROUPING = r"['\x{a0}\x{202f}]"
_NUMBER = r"^[+-]?(?:\d+\.?\d*|\.\d+)(?:[eE][+-]?\d+)?$"


def read_numbers(column: Any) -> Numbers:
    """A column of text cells as numbers, with the decimal mark that most of them show."""
    cells = pc.utf8_trim_whitespace(
        column.combine_chunks() if isinstance(column, pa.ChunkedArray) else column
    )
    overflow = np.asarray(_matches(cells, OVERFLOW_PATTERN))
    plain = _plain_numbers(cells)
    ok = _matches(plain, _NUMBER)
    values = np.array(pc.if_else(ok, plain, None).cast(pa.float64()).to_numpy(zero_copy_only=False))
    huge = np.isinf(values)
    values[huge] = np.nan
    return Numbers(values, overflow | huge, cells)


def _plain_numbers(cells: Any) -> Any:
    """Decimal points only, no grouping, no leading plus."""
    commas, points = (pc.sum(pc.match_substring(cells, mark)).as_py() or 0 for mark in ",.")
    mark, other = (",", ".") if commas >= points and commas else (".", ",")
    thousands = mark == "," and not points and _may_be_thousands(cells)
    if thousands:
        mark, other = ".", ","
    if (commas and points) or thousands or pc.any(pc.match_substring_regex(cells, _GROUPING)).as_py():
        group = rf"['\x{{a0}}\x{{202f}}{other if _groups(cells, mark, other) else ''}]"
        grouped = _matches(cells, rf"^[+-]?[1-9]\d{{0,2}}(?:{group}\d{{3}})+(?:[{mark}]\d*)?$")
        cells = pc.if_else(grouped, pc.replace_substring_regex(cells, group, ""), cells)
        cells = pc.if_else(_matches(cells, rf"^[+-]?\d{{1,3}}(?:[{other}]\d{{3}})+$"), _NO_NUMBER, cells)
    if mark == ",":
        cells = pc.replace_substring(cells, ",", ".")
    return pc.replace_substring_regex(cells, r"^\+([\d.])", r"\1")


def _may_be_thousands(cells: Any) -> bool:
    """Whether every comma stands as one of thousands does, among whole numbers of less than a thousand."""
    bare, grouped = _matches(cells, r"^[+-]?\d{1,3}$"), _matches(cells, _WHOLE_THOUSANDS)
    others = pc.and_(pc.match_substring(cells, ","), pc.invert(grouped))
    return bool(pc.any(bare).as_py()) and not pc.any(others).as_py()


def _groups(cells: Any, mark: str, other: str) -> bool:
    """Whether `other` groups thousands: some cell has both marks, or very many have it and none the other.

    Of fifty readings with three decimals, some end in a zero that would have been dropped. Else 12,345 among
    readings such as 12.310 may as well be such a reading, and is not believed.
    """
    both = rf"^[+-]?[1-9]\d{{0,2}}(?:[{other}]\d{{3}})+[{mark}]\d*$"
    if pc.any(_matches(cells, both)).as_py():
        return True
    return (
        other == "," and _may_be_thousands(cells) and pc.sum(_matches(cells, _WHOLE_THOUSANDS)).as_py() >= 50
    )


def _matches(cells: Any, pattern: str) -> Any:
    return pc.fill_null(pc.match_substring_regex(cells, pattern), False)
