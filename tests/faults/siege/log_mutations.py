"""What is done to a good log: blind damage of its bytes, and damage after which the right reading is known.

Of the second kind each says what may be read without a word: all that was there, its beginning, or nothing.
What is refused or flagged is always right; other values, other times or another unit without a word never.
"""

from __future__ import annotations

import gzip
from collections.abc import Callable
from dataclasses import dataclass
from typing import Final, Literal

import numpy as np
from tests.faults.siege.log_seeds import Seed
from tests.unit.capture.formats import Format

__all__ = ["BINARY", "TEXT", "Damaged", "damage_blindly"]

Allowed = Literal["all", "beginning", "nothing", "anything"]
Rng = np.random.Generator

TOKENS: Final = (
    b"\n", b'"', b",", b";", b"\t", b"9" * 30, b"#", b"-", b"\x00", b"\xff\xfe", b"nan", b"1e400", b"OL",
    b"12:61:99", b"\x1b[2J", "١٢".encode(), b"\r", b"0x1p3", b"\xff" * 8, b"\x7f\xff\xff\xff", b"PAR1",
    b"PK\x03\x04", b"\x1f\x8b\x08",
)  # fmt: skip
WORDS: Final = (
    "slip", "", "nan", "OL", "-", "--", "ERR", "###", "12O.5", "1l.5", "1.2.3", "0x12", "1e", "e5", "1_0",
    "١٢", "12 5", "inf", "1e400", "=1+1", "'5", "5 kN", "5%", "+-5", "0b1", "TRUE",
)  # fmt: skip
"""None of them a number that a recorder writes, so none may become one."""
FOOTERS: Final = (
    "End of recording", "Max{s}156.19", "mean{s}{s}", "*** power lost ***", "{s}{s}", "Samples: 24",
    "Sum{s}1{d}0{s}2{d}0", "------",
)  # fmt: skip


@dataclass(frozen=True, slots=True)
class Damaged:
    """What is read in place of the good log, and what of its values may come without a word."""

    name: str
    raw: bytes
    allowed: Allowed


def damage_blindly(rng: Rng, seed: Seed, other: Seed) -> Damaged:
    """Bytes changed, cut out, doubled, moved, replaced by awkward ones or by a piece of another log."""
    found = bytearray(seed.raw)
    for _ in range(rng.integers(1, 6)):
        at = int(rng.integers(len(found) + 1))
        end = min(at + int(rng.choice([1, 2, 4, 16, 200])), len(found))
        match rng.integers(8):
            case 0:
                found[at:end] = rng.bytes(end - at)
            case 1:
                del found[at:end]
            case 2:
                found[at:at] = found[at:end] * int(rng.integers(1, 4))
            case 3:
                token = TOKENS[rng.integers(len(TOKENS))]
                found[at : at + (len(token) if rng.random() < 0.5 else 0)] = token
            case 4 if at < len(found):
                found[at] ^= 1 << int(rng.integers(8))
            case 5:
                place = int(rng.integers(len(found) + 1))
                found[place:place] = found[at:end]
            case 6:
                piece = int(rng.integers(len(other.raw)))
                found[at:end] = other.raw[piece : piece + end - at]
            case _ if rng.random() < 0.3:
                del found[at:]
    raw = bytes(found)
    intact = seed.is_sealed and raw[:4] == seed.raw[:4]
    return Damaged("bytes", raw, "beginning" if intact else "anything")


@dataclass(slots=True)
class _Sheet:
    """A log of text as lines above, rows of cells, and how they are written."""

    form: Format
    above: list[str]
    rows: list[list[str]]

    @property
    def first_value(self) -> int:
        return 0 if self.form.time == "none" else 2 if self.form.time == "date and clock" else 1

    def row(self, cells: list[str]) -> str:
        return self.form.separator.join(f'"{cell}"' for cell in cells) if self.form.quoted else (
            self.form.separator.join(cells))  # fmt: skip

    def raw(self, lines: list[str] | None = None, end: str | None = None) -> bytes:
        lines = [*self.above, *map(self.row, self.rows)] if lines is None else lines
        text = self.form.line_end.join([*lines, ""]) if end is None else self.form.line_end.join(lines) + end
        return (
            gzip.compress(text.encode(), 1)
            if self.form.encoding == "gzip"
            else text.encode(self.form.encoding)
        )


def _take_apart(seed: Seed) -> _Sheet:
    form = seed.form
    assert form is not None
    text = gzip.decompress(seed.raw).decode() if form.encoding == "gzip" else seed.raw.decode(form.encoding)
    lines = text.split(form.line_end)[:-1]
    count = len(seed.time)
    rows = [line.split(form.separator) for line in lines[-count:]]
    return _Sheet(form, lines[:-count], [[cell.strip('"') for cell in row] for row in rows])


def _lines(sheet: _Sheet) -> list[str]:
    return [*sheet.above, *map(sheet.row, sheet.rows)]


def _cut(rng: Rng, seed: Seed, sheet: _Sheet) -> tuple[bytes, Allowed]:
    """Anywhere behind the third row."""
    whole = len(sheet.raw([*sheet.above, *map(sheet.row, sheet.rows[:3])]))
    if sheet.form.encoding == "gzip":
        return seed.raw[: int(rng.integers(len(seed.raw)))], "beginning"
    return seed.raw[: int(rng.integers(min(whole, len(seed.raw)), len(seed.raw) + 1))], "beginning"


def _as_it_is(_rng: Rng, seed: Seed, _sheet: _Sheet) -> tuple[bytes, Allowed]:
    return seed.raw, "all"


def _one_separator(rng: Rng, _seed: Seed, sheet: _Sheet) -> tuple[bytes, Allowed]:
    """Of one row another sign stands between two cells, or none."""
    at = int(rng.integers(len(sheet.rows)))
    lines = _lines(sheet)
    other = str(rng.choice([each for each in (";", "\t", "|", "/", "") if each != sheet.form.separator]))
    place = len(sheet.above) + at
    lines[place] = lines[place].replace(sheet.form.separator, other, 1)
    return sheet.raw(lines), "all"


def _footer(rng: Rng, _seed: Seed, sheet: _Sheet) -> tuple[bytes, Allowed]:
    footers = [str(rng.choice(FOOTERS)).format(s=sheet.form.separator, d=sheet.form.decimal)
               for _ in range(rng.integers(1, 4))]  # fmt: skip
    return sheet.raw([*_lines(sheet), *footers]), "all"


def _garbage_row(rng: Rng, _seed: Seed, sheet: _Sheet) -> tuple[bytes, Allowed]:
    """A row of words among the others, or behind them."""
    cells = [f"x{rng.integers(100)}y" for _ in sheet.rows[0]]
    sheet.rows.insert(int(rng.integers(1, len(sheet.rows) + 1)), cells)
    return sheet.raw(), "nothing"


def _word(rng: Rng, _seed: Seed, sheet: _Sheet) -> tuple[bytes, Allowed]:
    """Words in one to three cells of the judged column."""
    words = [
        word
        for word in WORDS
        if sheet.form.separator not in word and (word != "12 5" or sheet.form.separator != "  ")
    ]
    if sheet.form.separator == "  ":
        words = [word for word in words if word and " " not in word]
    if sheet.form.encoding in ("latin-1", "cp1252"):
        words = [word for word in words if word.isascii()]
    for _ in range(rng.integers(1, 4)):
        sheet.rows[rng.integers(len(sheet.rows))][sheet.first_value] = words[rng.integers(len(words))]
    return sheet.raw(), "nothing"


def _other_mark(rng: Rng, seed: Seed, sheet: _Sheet) -> tuple[bytes, Allowed]:
    """One reading has the other decimal mark than all others."""
    other = "," if sheet.form.decimal == "." else "."
    if other == sheet.form.separator and not sheet.form.quoted:
        return seed.raw, "all"
    row = sheet.rows[rng.integers(len(sheet.rows))]
    row[sheet.first_value] = row[sheet.first_value].replace(sheet.form.decimal, other)
    return sheet.raw(), "all"


def _double_column(rng: Rng, _seed: Seed, sheet: _Sheet) -> tuple[bytes, Allowed]:
    """The judged column stands there twice, its heading too."""
    at = sheet.first_value
    for row in sheet.rows:
        row.insert(at, row[at])
    names = 2 if sheet.form.heading == "unit row" else 1
    for place in range(len(sheet.above) - names, len(sheet.above)):
        cells = sheet.above[place].split(sheet.form.separator)
        cells.insert(at, cells[at].removeprefix("# "))
        sheet.above[place] = sheet.form.separator.join(cells)
    return sheet.raw(), "all"


def _double_row(rng: Rng, seed: Seed, sheet: _Sheet) -> tuple[bytes, Allowed]:
    at = int(rng.integers(len(sheet.rows)))
    sheet.rows.insert(at, list(sheet.rows[at]))
    return sheet.raw(), "nothing" if sheet.form.time != "none" else "anything"


def _rows_missing(rng: Rng, seed: Seed, sheet: _Sheet) -> tuple[bytes, Allowed]:
    """Two to five rows in the middle are gone."""
    at = int(rng.integers(3, len(sheet.rows) - 8))
    del sheet.rows[at : at + int(rng.integers(2, 6))]
    return sheet.raw(), "nothing" if sheet.form.time != "none" else "anything"


def _rows_swapped(rng: Rng, seed: Seed, sheet: _Sheet) -> tuple[bytes, Allowed]:
    at, to = rng.choice(len(sheet.rows), 2, replace=False)
    sheet.rows[at], sheet.rows[to] = sheet.rows[to], sheet.rows[at]
    return sheet.raw(), "nothing" if sheet.form.time != "none" else "anything"


def _begun_again(rng: Rng, seed: Seed, sheet: _Sheet) -> tuple[bytes, Allowed]:
    """The recorder started again: heading and rows once more."""
    lines = _lines(sheet)
    return sheet.raw([*lines, *(lines if rng.random() < 0.5 else lines[len(sheet.above) :])]), (
        "nothing" if sheet.form.time != "none" else "anything")  # fmt: skip


def _nothing_at_the_end(rng: Rng, seed: Seed, sheet: _Sheet) -> tuple[bytes, Allowed]:
    """A block of zeros where the disk had room for more."""
    return seed.raw + b"\0" * int(rng.choice([1, 2, 512, 4096])), "all"


def _comments(rng: Rng, seed: Seed, sheet: _Sheet) -> tuple[bytes, Allowed]:
    lines = _lines(sheet)
    for _ in range(rng.integers(1, 4)):
        lines.insert(
            int(rng.integers(len(sheet.above), len(lines) + 1)), str(rng.choice(["", "# pause", "#"]))
        )
    return sheet.raw(lines), "all"


def _cells_missing(rng: Rng, seed: Seed, sheet: _Sheet) -> tuple[bytes, Allowed]:
    """A row in the middle broke off."""
    row = sheet.rows[rng.integers(1, len(sheet.rows) - 1)]
    del row[int(rng.integers(1, len(row))) :]
    return sheet.raw(), "nothing"


def _cell_too_many(rng: Rng, seed: Seed, sheet: _Sheet) -> tuple[bytes, Allowed]:
    row = sheet.rows[rng.integers(1, len(sheet.rows) - 1)]
    row.insert(int(rng.integers(len(row) + 1)), "7")
    return sheet.raw(), "nothing"


def _quote(rng: Rng, seed: Seed, sheet: _Sheet) -> tuple[bytes, Allowed]:
    """A stray quote before, in or behind a reading."""
    row = sheet.rows[rng.integers(len(sheet.rows))]
    cell = row[sheet.first_value]
    at = int(rng.integers(len(cell) + 1))
    row[sheet.first_value] = cell[:at] + '"' + cell[at:]
    return sheet.raw(), "all"


def _columns_swapped(rng: Rng, seed: Seed, sheet: _Sheet) -> tuple[bytes, Allowed]:
    """The two channels change places, their headings with them."""
    at = sheet.first_value
    for row in sheet.rows:
        row[at], row[at + 1] = row[at + 1], row[at]
    names = 2 if sheet.form.heading == "unit row" else 1
    for place in range(len(sheet.above) - names, len(sheet.above)):
        mark = "# " if sheet.above[place].startswith("# ") else ""
        cells = sheet.above[place].removeprefix("# ").split(sheet.form.separator)
        cells[at], cells[at + 1] = cells[at + 1], cells[at]
        sheet.above[place] = mark + sheet.form.separator.join(cells)
    return sheet.raw(), "all"


def _lines_joined(rng: Rng, seed: Seed, sheet: _Sheet) -> tuple[bytes, Allowed]:
    """The end of one line is lost, so that two rows are one."""
    lines = _lines(sheet)
    at = int(rng.integers(len(sheet.above) + 1, len(lines) - 1))
    lines[at : at + 2] = [lines[at] + lines[at + 1]]
    return sheet.raw(lines), "nothing"


TextDamage = Callable[[Rng, Seed, _Sheet], tuple[bytes, Allowed]]
TEXT: Final[tuple[TextDamage, ...]] = (
    _as_it_is, _cut, _one_separator, _footer, _garbage_row, _word, _other_mark, _double_column, _double_row,
    _rows_missing, _rows_swapped, _begun_again, _nothing_at_the_end, _comments, _cells_missing,
    _cell_too_many, _quote, _columns_swapped, _lines_joined,
)  # fmt: skip


def damage_text(rng: Rng, seed: Seed) -> Damaged:
    """One damage whose right reading is known."""
    way = TEXT[rng.integers(len(TEXT))]
    raw, allowed = way(rng, seed, _take_apart(seed))
    return Damaged(way.__name__[1:].replace("_", " "), raw, allowed)


def _cut_file(rng: Rng, seed: Seed) -> bytes:
    return seed.raw[: int(rng.integers(len(seed.raw)))]


def _more_behind(rng: Rng, seed: Seed) -> bytes:
    tail = (
        rng.bytes(int(rng.choice([1, 4, 300]))) if rng.random() < 0.5 else b"\0" * int(rng.choice([1, 512]))
    )
    return seed.raw + tail


def _in_a_gzip(_rng: Rng, seed: Seed) -> bytes:
    return gzip.compress(seed.raw, 1)


def _whole(_rng: Rng, seed: Seed) -> bytes:
    return seed.raw


BINARY: Final[tuple[tuple[Callable[[Rng, Seed], bytes], Allowed], ...]] = (
    (_cut_file, "beginning"), (_more_behind, "all"), (_in_a_gzip, "all"), (_whole, "all"),
)  # fmt: skip


def damage_binary(rng: Rng, seed: Seed) -> Damaged:
    """The same for a format that is no text."""
    way, allowed = BINARY[rng.integers(len(BINARY))]
    return Damaged(way.__name__[1:].replace("_", " "), way(rng, seed), allowed)
