"""Where the numbers of a text log begin, what separates them and what the columns are called.

The numbers fill the end of a log, whatever is above them. So the separator and the shape of a row
are taken from the last lines, and the first row is the first line from the top that has this shape.
"""

from __future__ import annotations

import itertools
import re
from collections import Counter
from dataclasses import dataclass
from pathlib import Path

from strikeproof.campaign.text import bad_file
from strikeproof.capture.cells import CellKind, cell_kind, split_line
from strikeproof.capture.heading import find_names, find_sample_rate, tells_names
from strikeproof.capture.stamps import is_time_unit
from strikeproof.quantity import is_known_unit

__all__ = ["Layout", "find_layout"]

_TAIL_BYTES = 1 << 15
_TAIL_LINES = 40
_FEW_LINES = 8
_SEPARATORS = ";\t|, "
_SET_APART = re.compile(r"^\S*\d[ \u2009]\d{3}\b", re.ASCII)  # 1 234, or 1 and 234 where a blank separates


@dataclass(frozen=True, slots=True)
class Layout:
    """The shape of a text log.

    `offset` and `first_line` are where the first row of numbers begins, `kinds` what the columns hold,
    `sample_rate_hz` what the lines above state.
    """

    separator: str
    decimal: str
    names: tuple[str, ...]
    units: tuple[str | None, ...]
    kinds: tuple[CellKind, ...]
    has_header: bool
    first_line: int
    offset: int
    sample_rate_hz: float | None


def find_layout(path: Path, raw: bytes) -> Layout:
    """The layout of UTF-8 text with lines ended by a line feed.

    Raises
    ------
    BadFile
        If no lines of numbers are found.
    """
    tail = _tail_lines(raw)
    separator, width = _find_shape(tail)
    if width == 0:
        fix = "check that it is the log and that the export was finished"
        raise bad_file(path, "holds no rows of numbers", fix)
    rows = [cells for line in tail if len(cells := split_line(line, separator)) == width and _worth(cells)]
    above, offset = _find_first_row(raw, separator, _column_kinds(rows, width))
    names, header_lines = _name_columns(above, separator, rows)
    if separator == "," and header_lines == 0 and _is_decimal_comma(rows, above):
        separator, width, rows = ";", 1, [[",".join(cells)] for cells in rows]
        above, offset = _find_first_row(raw, separator, ("number",))
        names, header_lines = _name_columns(above, separator, rows)
    if separator == "," and header_lines == 0:
        _refuse_two_meanings(path, above, rows)
    return Layout(
        separator=separator,
        decimal=_find_decimal(rows, separator),
        names=tuple(name for name, _ in names),
        units=tuple(unit for _, unit in names),
        kinds=_measured(_column_kinds(rows, width), [unit for _, unit in names]),
        has_header=header_lines > 0,
        first_line=len(above) + 1,
        offset=offset,
        sample_rate_hz=find_sample_rate(above),
    )


def _tail_lines(raw: bytes) -> list[str]:
    """The last lines, without blank ones, and without the very last, which may be cut off."""
    start = max(len(raw) - _TAIL_BYTES, 0)
    lines = raw[start:].decode("utf-8", "replace").split("\n")[1 if start else 0 :]
    recent = lines[-4 * _TAIL_LINES :]
    lines = [line for line in recent if line.strip() and not line.lstrip().startswith("#")]
    return lines[-_TAIL_LINES - 1 : -1] if len(lines) > _FEW_LINES else lines


def _find_shape(lines: list[str]) -> tuple[str, int]:
    """The separator and number of columns that make most lines rows of values; width 0 when none does."""
    scores: list[tuple[float, bool, int, str, int]] = []
    for rank, separator in enumerate(_SEPARATORS):
        by_width: dict[int, float] = {}
        for line in lines:
            cells = split_line(line, separator)
            if separator == "," and '"' not in line and "." not in line:  # with a point it separates
                cells = ["?" if _SET_APART.search(cell) else cell for cell in cells]
            by_width[len(cells)] = by_width.get(len(cells), 0.0) + _worth(cells)
        for width, score in by_width.items():
            scores.append((round(score, 6), width > 1, -rank, separator, width))
    best = max(scores, default=(0.0,))
    return (best[3], best[4]) if len(best) == 5 and best[0] > 0 else (",", 0)


def _worth(cells: list[str]) -> float:
    """How much a line speaks for being a row of numbers, 0 to 1; one of mostly words does not at all."""
    kinds = [cell_kind(cell) for cell in cells]
    texts = kinds.count("text")
    values = len(kinds) - texts - kinds.count("missing")
    return (values / (values + texts)) ** 2 if "number" in kinds and 3 * values >= 2 * texts else 0.0


def _column_kinds(rows: list[list[str]], width: int) -> tuple[CellKind, ...]:
    """The kind most of a column's cells are; one of missing values counts as numbers, a last blank not."""
    kinds: list[CellKind] = []
    for i in range(width):
        counted = Counter(cell_kind(row[i]) for row in rows)
        for each in ("missing", "overflow"):
            counted.pop(each, None)
        kinds.append(counted.most_common(1)[0][0] if counted else "number")
    if width > 1 and not any(row[-1] for row in rows):
        kinds[-1] = "text"  # rows that end with a separator
    return tuple(kinds)


def _measured(kinds: tuple[CellKind, ...], units: list[str | None]) -> tuple[CellKind, ...]:
    """The kinds, where a column with a unit is one of numbers also if none of its cells can be read.

    Else it would be gone, and another column be taken for the only one.
    """
    return tuple(
        "number" if kind == "text" and unit and _is_measure(unit) else kind
        for kind, unit in zip(kinds, units, strict=True)
    )


def _is_measure(unit: str) -> bool:
    return any(each.isalpha() for each in unit) and is_known_unit(unit) and not is_time_unit(unit)


_MOST_ROWS_ABOVE = 50  # numbers above the names, such as a table of ranges


def _find_first_row(raw: bytes, separator: str, kinds: tuple[CellKind, ...]) -> tuple[list[str], int]:
    """The lines above the first row, and the byte at which it begins; numbers above the names are no rows."""
    above, offset = _skip_to_row(raw, 0, separator, kinds)
    if any(tells_names(line, separator, len(kinds)) for line in above[-_FEW_LINES:]):
        return above, offset
    at, lines = offset, list(above)
    for _ in range(_MOST_ROWS_ABOVE):
        end = raw.find(b"\n", at)
        if end < 0:
            break
        lines.append(raw[at : min(end, at + 10_000)].decode("utf-8", "replace"))
        at = end + 1
        if tells_names(lines[-1], separator, len(kinds)):
            below, begin = _skip_to_row(raw, at, separator, kinds)
            return [*lines, *below], begin
    return above, offset


def _skip_to_row(
    raw: bytes, offset: int, separator: str, kinds: tuple[CellKind, ...]
) -> tuple[list[str], int]:
    above: list[str] = []
    while offset < len(raw):
        end = raw.find(b"\n", offset)
        end = len(raw) if end < 0 else end
        line = raw[offset : min(end, offset + 10_000)].decode("utf-8", "replace")
        if _is_row(split_line(line, separator), kinds):
            break
        above.append(line)
        offset = end + 1
    return above, min(offset, len(raw))


def _is_row(cells: list[str], kinds: tuple[CellKind, ...]) -> bool:
    """Whether the cells are a row: the first column that is no text fits, and so do half of the others.

    One unreadable cell must not turn the first row into a header.
    """
    if len(cells) != len(kinds):
        return False
    judged = [(cell_kind(cell), kind) for cell, kind in zip(cells, kinds, strict=True) if kind != "text"]
    fits = [have in (kind, "missing", "overflow") for have, kind in judged]
    filled = any(have == kind for have, kind in judged)
    return bool(fits) and filled and fits[0] and 2 * sum(fits) >= len(fits)


def _name_columns(
    above: list[str], separator: str, rows: list[list[str]]
) -> tuple[list[tuple[str, str | None]], int]:
    """As `find_names`, also where the header names one column less: a last blank one, or a date."""
    width = len(rows[0])
    names, header_lines = find_names(above, separator, width)
    if header_lines or width == 1:
        return names, header_lines
    kinds = _column_kinds(rows, width)
    pairs = [i for i in range(width - 1) if kinds[i : i + 2] == ("date", "clock")]
    blank_end = not any(row[-1] for row in rows)
    numbered = _counts_up([row[0] for row in rows])
    if pairs or blank_end or numbered:
        names, header_lines = find_names(above, separator, width - 1)
        if not header_lines and not pairs and not blank_end:
            return find_names(above, separator, width)
        name = "date" if pairs else "blank" if blank_end else "row"
        names.insert(pairs[0] if pairs else width if blank_end else 0, (name, None))
    return names, header_lines


def _counts_up(cells: list[str]) -> bool:
    """Whether the cells are 0, 1, 2 and so on, from any number on."""
    if len(cells) < 2 or not all(cell.isdecimal() for cell in cells):
        return False
    return all(int(b) == int(a) + 1 for a, b in itertools.pairwise(cells))


def _are_whole(rows: list[list[str]]) -> bool:
    return all(cell.lstrip("+-").isdigit() for row in rows for cell in row)


def _is_decimal_comma(rows: list[list[str]], above: list[str]) -> bool:
    """Whether two columns of whole numbers are one column of numbers with a decimal comma."""
    if len(rows[0]) != 2 or not _are_whole(rows):
        return False
    led_by_zero = any(len(row[1]) > 1 and row[1].startswith("0") for row in rows)
    return led_by_zero or find_names(above, ";", 1)[1] > 0


def _refuse_two_meanings(path: Path, above: list[str], rows: list[list[str]]) -> None:
    """A comma that both separates and marks the decimals cannot be read."""
    width = len(rows[0])
    least = width - _halved(rows)
    for count in range(max(least, 2), width):
        if find_names(above, ",", count)[1]:
            what = f"has {count} names for {width} cells in a row: the comma seems to mark decimals too"
            raise bad_file(path, what, "export it with semicolons or with decimal points", len(above) + 1)


def _halved(rows: list[list[str]]) -> int:
    """How many pairs of neighbouring columns hold whole numbers only, as the halves of a number would be."""
    whole = [all(row[i].lstrip("+-").isdigit() for row in rows if i < len(row)) for i in range(len(rows[0]))]
    pairs = at = 0
    while at + 1 < len(whole):
        is_pair = whole[at] and whole[at + 1]
        pairs, at = pairs + is_pair, at + 1 + is_pair
    return pairs


def _find_decimal(rows: list[list[str]], separator: str) -> str:
    cells = [cell for row in rows for cell in row if cell_kind(cell) == "number"]
    commas = sum("," in cell for cell in cells)
    points = sum("." in cell for cell in cells)
    if commas == points == 0:
        return "," if separator == ";" else "."
    return "," if commas > points else "."
