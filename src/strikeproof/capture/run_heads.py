"""Which lines of a log belong to each of its runs: a head of its own, notes above it, its rows."""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import dataclass
from itertools import chain
from pathlib import Path

from strikeproof.campaign.text import bad_file
from strikeproof.capture.cells import cell_kind, split_line
from strikeproof.capture.heading import find_names, is_time_name, tells_names
from strikeproof.capture.layout import find_layout
from strikeproof.capture.minus_signs import plain_minus
from strikeproof.capture.unit_cells import move_units
from strikeproof.quantity import is_known_unit

__all__ = ["Part", "find_parts"]

_LONGEST_ROW = 20  # lines of a row whose last cell is a text of several lines
_IN_WORDS = re.compile(rb"[\s\"#%\[(]*[A-Za-z\x80-\xff]")


@dataclass(frozen=True, slots=True)
class Part:
    """The lines of one run in the log, counted from 0: those above its rows, and its rows.

    `own`: other lines than the log's head are above them; `names_columns`: these name the columns.
    """

    head: tuple[int, ...]
    rows: range
    own: bool = False
    names_columns: bool = False

    def take(self, lines: Sequence[bytes]) -> list[bytes]:
        """Its lines of those of the log."""
        return [lines[i] for i in chain(self.head, self.rows)]


def find_parts(
    path: Path, text: bytes, spans: Sequence[tuple[int, int]], names: Sequence[str]
) -> tuple[Part, ...]:
    """A part for each run of a log; what is below the last stays with it.

    Parameters
    ----------
    text
        UTF-8 with lines ended by a line feed.
    spans
        First and last row of each run, as lines counted from 1.
    names
        Of the log's columns.

    Raises
    ------
    BadFile
        If columns are named where no run begins, or not as many as the log has.
    """
    separator = find_layout(path, plain_minus(move_units(path, text))).separator
    width = len(names)
    raw = text.removesuffix(b"\n").split(b"\n")
    nexts = [first - 1 for first, _stop in spans[1:]]
    ends = [
        _row_end(raw, stop, separator, width, limit)
        for (_first, stop), limit in zip(spans, nexts, strict=False)
    ]
    ends.append(len(raw))
    head = tuple(range(spans[0][0] - 1))
    parts = [Part(head, range(spans[0][0] - 1, ends[0]))]
    for above, (first, _stop), end in zip(ends, spans[1:], ends[1:], strict=False):
        between = range(above, first - 1)
        rows = range(first - 1, end)
        filled = tuple(i for i in between if raw[i].strip())
        count = _names_columns([_read(raw[i]) for i in between], separator, names)
        if not filled:
            parts.append(Part(head, rows))
        elif not count:  # notes
            _refuse_other_names(path, raw, filled, head, separator)
            parts.append(Part((*filled, *head), rows, own=True))
        else:
            title = [i for i in head if raw[i].strip()][:-count] if len(filled) <= count else []
            parts.append(Part((*title, *filled), rows, own=True, names_columns=True))
    for part in parts:
        _refuse_other_names(path, raw, part.rows, part.head, separator)
    return tuple(parts)


def _read(line: bytes) -> str:
    return line.decode("utf-8", "replace")


def _row_end(raw: Sequence[bytes], stop: int, separator: str, width: int, limit: int) -> int:
    """Where a run's last row ends, which begins at line `stop`: a quoted cell may go on below it.

    Rows of numbers without a time stay with it too. The next run's rows begin at `limit`.
    """
    quotes = raw[stop - 1].count(b'"')
    end = stop
    while quotes % 2 and end < min(limit, stop + _LONGEST_ROW):
        quotes += raw[end].count(b'"')
        end += 1
    end = stop if quotes % 2 else end
    while end < limit:
        cells = split_line(_read(raw[end]), separator)
        if len(cells) != width or not any(cells) or "text" in map(cell_kind, cells):
            break
        end += 1
    return end


def _names_columns(above: Sequence[str], separator: str, names: Sequence[str]) -> int:
    """How many of the lines above a run name its columns; 0 where they are notes."""
    pairs, count = find_names(above, separator, len(names))
    known = any(
        is_time_name(name) or name in names or (unit is not None and is_known_unit(unit))
        for name, unit in pairs
    )
    return count if count and known else 0


def _refuse_other_names(
    path: Path, raw: Sequence[bytes], lines: Sequence[int], head: Sequence[int], separator: str
) -> None:
    """Columns named again where they are not those of the rows below."""
    for i in lines:
        if _IN_WORDS.match(raw[i]) is None:
            continue
        line = _read(raw[i])
        width = len(split_line(line, separator))
        if (
            width > 1
            and tells_names(line, separator, width)
            and raw[i].strip() not in {raw[k].strip() for k in head}
        ):
            what = "names other columns than the head above it, but no run of as many columns begins below"
            raise bad_file(path, what, "export each run alone, or cut the log here by hand", i + 1)
