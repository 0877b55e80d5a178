"""How a rig writes its text lines: separator, decimal mark, columns, and whether the first one is a time."""

from __future__ import annotations

import re
from collections import Counter
from collections.abc import Iterable, Sequence
from dataclasses import dataclass

import numpy as np

from strikeproof.capture.cells import cell_kind
from strikeproof.capture.heading import clean_names, find_names, is_time_name
from strikeproof.capture.received import Dialect
from strikeproof.capture.stamps import is_time_unit, read_number_stamps
from strikeproof.quantity import FloatArray

__all__ = ["LineForm", "find_form"]

_UNIT = r"\s*(?P<unit>[^\s\d;,|.+-][^\s\d;,|]{0,9})?"
_NUMBER = re.compile(rf"\s*(?P<number>[+-]?(?:\d+\.?\d*|\.\d+)(?:[eE][+-]?\d+)?){_UNIT}\s*", re.ASCII)
_SPACED_SIGN = re.compile(r"([+-])\s+(?=[\d.,])")
_CLOCK = re.compile(
    r"\s*(?:\d{4}-\d\d-\d\d[T ])?(?P<h>\d{1,2}):(?P<m>\d\d):(?P<s>\d\d(?:\.\d+)?)Z?\s*", re.ASCII
)
_PLAIN = b"0123456789+-.eE"
_SEPARATOR_WORDS = {";": "semicolons", "\t": "tabs", "|": "bars", ",": "commas", " ": "blanks"}


@dataclass(frozen=True, slots=True)
class LineForm:
    """How lines are cut and read; `separator` is a blank for any run of blanks, None for a lone number.

    Once `units` are known a number in another unit is no sample: kN that turn into N would be a wrong value.
    """

    separator: str | None
    decimal: str
    width: int
    has_ticks: bool = False
    units: tuple[str | None, ...] | None = None

    def cells(self, line: str) -> list[str]:
        """The cells of one line, with a decimal point."""
        line = _SPACED_SIGN.sub(r"\1", line.strip())
        if self.separator is None:
            cells = [line]
        elif self.separator == " ":
            cells = _join_units(line.split())
        else:
            cells = line.split(self.separator)
            cells = cells[:-1] if len(cells) == self.width + 1 and not cells[-1].strip() else cells
        return [cell.replace(",", ".") for cell in cells] if self.decimal == "," else cells

    def read_line(self, line: bytes) -> list[float] | None:
        """The numbers of one line, NaN where a cell says that there is none; None when it is no sample."""
        cells = self.cells(line.decode("utf-8", "replace"))
        if len(cells) != self.width:
            return None
        if self.units is not None and any(
            unit != usual and _NUMBER.fullmatch(cell)
            for cell, unit, usual in zip(cells, map(_unit_of, cells), self.units, strict=True)
        ):
            return None
        row = [_read_cell(cell, is_first=place == 0 and self.has_ticks) for place, cell in enumerate(cells)]
        if any(value is None for value in row) or (self.has_ticks and not np.isfinite(row[0] or 0.0)):
            return None
        return [value for value in row if value is not None]

    def read_quickly(self, lines: Sequence[bytes]) -> FloatArray | None:
        """(n, width) numbers of lines that hold nothing else; None when some line needs a closer look."""
        text = b"\n".join(lines)
        if self.decimal == ",":
            text = text.replace(b",", b".")
        mark = b" \t" if self.separator in (None, " ") else (self.separator or "").encode() + b" "
        if text.translate(None, _PLAIN + mark + b"\n"):
            return None
        by = None if self.separator in (None, " ") else mark[:1]
        cells = [line.split(by) for line in text.split(b"\n")]
        if any(len(row) != self.width for row in cells):
            return None
        try:
            rows = np.array(cells).astype(np.float64)
        except ValueError:
            return None
        return None if self.has_ticks and not np.isfinite(rows[:, 0]).all() else rows

    def is_talk(self, line: bytes) -> bool:
        """Whether a line says something to people: a comment or a heading, which is no garbage."""
        text = line.strip()
        return text.startswith(b"#") or not any(48 <= byte <= 57 for byte in text)

    def describe(self, lines: Sequence[bytes]) -> Dialect:
        """What the first lines say about the channels and the clock."""
        text = [line.decode("utf-8", "replace") for line in lines]
        first = next(place for place, line in enumerate(lines) if self.read_line(line) is not None)
        names, taken = find_names(text[:first], self.separator or " ", self.width)
        named = zip(names, self.cells(text[first]), strict=True)
        names, _odd = clean_names([(name, unit or _unit_of(cell)) for (name, unit), cell in named])
        units = [unit for _, unit in names]
        called = [
            name if taken else f"channel {place}"
            for place, (name, _) in enumerate(names, 0 if self.has_ticks else 1)
        ]
        skip = 1 if self.has_ticks else 0
        shown = ("load",) if self.width - skip == 1 and not taken else tuple(called[skip:])
        return Dialect(
            self.words, shown, tuple(units[skip:]), None, self._tick_s(units[0], text), self.has_ticks
        )

    def _tick_s(self, unit: str | None, text: Iterable[str]) -> float | None:
        """What a step of the stamps lasts where the rig says: their unit, or clock times. [s]"""
        if not self.has_ticks:
            return None
        if any(_CLOCK.fullmatch(self.cells(line)[0]) for line in text if self.cells(line)):
            return 1.0
        if unit is None or not is_time_unit(unit):
            return None
        two = read_number_stamps(np.array([0.0, 1.0]), unit, None).seconds
        return float(two[1] - two[0])

    @property
    def words(self) -> str:
        """For a person."""
        columns = (
            ""
            if self.separator is None
            else f", {self.width} columns between {_SEPARATOR_WORDS[self.separator]}"
        )
        mark = ", decimal comma" if self.decimal == "," else ""
        return f"text lines{columns}{mark}{', the first is the time' if self.has_ticks else ''}"


def _join_units(words: list[str]) -> list[str]:
    """Between blanks a unit is apart from its number: join it to the one before."""
    joined: list[str] = []
    for word in words:
        if joined and word[:1].isalpha() and cell_kind(word) == "text":
            joined[-1] += " " + word
        else:
            joined.append(word)
    return joined


def _read_cell(cell: str, *, is_first: bool) -> float | None:
    """A number, NaN for a value that the rig says it has not, None for anything else."""
    match = _NUMBER.fullmatch(cell)
    if match:
        return float(match["number"])
    clock = _CLOCK.fullmatch(cell) if is_first else None
    if clock:
        return int(clock["h"]) * 3600.0 + int(clock["m"]) * 60.0 + float(clock["s"])
    return float("nan") if cell_kind(cell.strip()) in ("missing", "overflow") else None


def _unit_of(cell: str) -> str | None:
    match = _NUMBER.fullmatch(cell)
    return match["unit"] if match else None


def find_form(lines: Sequence[bytes]) -> LineForm | None:
    """How these lines are written, None when fewer than three quarters of those with digits agree."""
    text = [line.decode("utf-8", "replace") for line in lines if not line.lstrip().startswith(b"#")]
    above = [line for line in text[:4] if not re.search(r"\d", line)]
    text = [line for line in text if re.search(r"\d", line)]
    best: tuple[int, LineForm] | None = None
    for form in _candidates(text):
        widths = Counter(len(form.cells(line)) for line in text)
        for width, _ in widths.most_common(2):
            tried = _with_ticks(LineForm(form.separator, form.decimal, width), text, above)
            fits = sum(1 for line in text if tried.read_line(line.encode()) is not None)
            if fits >= 2 and 4 * fits >= 3 * len(text) and (best is None or fits > best[0]):
                best = (fits, tried)
    return _with_units(best[1], text) if best else None


def _with_units(form: LineForm, text: Sequence[str]) -> LineForm:
    """With the units that most lines write behind their numbers."""
    rows = [form.cells(line) for line in text if form.read_line(line.encode()) is not None]
    usual = Counter(tuple(map(_unit_of, row)) for row in rows).most_common(1)[0][0]
    return LineForm(form.separator, form.decimal, form.width, form.has_ticks, usual)


def _candidates(text: Sequence[str]) -> list[LineForm]:
    """Separators and decimal marks that these lines may mean, the likeliest first."""
    whole = "\n".join(text)
    for mark in ";\t|":
        if mark in whole:
            comma = "," in whole and "." not in re.sub(r"\d{4}-\S*|:\d\d\.\d+", "", whole)
            return [LineForm(mark, "," if comma else ".", 0)]
    if "," not in whole:
        return [LineForm(None, ".", 1), LineForm(" ", ".", 0)]
    decimal = [LineForm(None, ",", 1), LineForm(" ", ",", 0)]
    return [LineForm(",", ".", 0), *decimal] if _comma_separates(text) else [*decimal, LineForm(",", ".", 0)]


def _comma_separates(text: Sequence[str]) -> bool:
    """Whether commas stand between columns: beside points, before blanks, twice in a word, after a clock."""
    if any("." in line or re.search(r",\s|,[^,\s]*,|:\d\d,", line) for line in text):
        return True
    halves = [re.fullmatch(r"\s*(\d+),(\d+)\s*", line) for line in text]
    if len(halves) < 3 or not all(halves):
        return False
    steps = np.diff(np.array([half[1] for half in halves if half], dtype=np.float64))
    seconds = {half[2] for half in halves if half}
    if steps.min() <= 0 or any(len(each) > 1 and each[0] == "0" for each in seconds):
        return False  # nobody writes a column's numbers as 05, but decimals are
    spread = steps.max() - steps.min()
    return bool(spread == 0 or (spread <= 1 and len({len(each) for each in seconds}) > 1))


def _with_ticks(form: LineForm, text: Sequence[str], above: Sequence[str]) -> LineForm:
    """With a first column of times where there are several and it is called or behaves so."""
    if form.width < 2:
        return form
    stamped = LineForm(form.separator, form.decimal, form.width, has_ticks=True)
    rows = [row for line in text if (row := stamped.read_line(line.encode())) is not None]
    if len(rows) < 2:
        return form
    first = np.array(rows)[:, 0]
    has_clock = any(_CLOCK.fullmatch(stamped.cells(line)[0]) for line in text)
    unit = _unit_of(stamped.cells(text[-1])[0])
    (name, heading), *_others = find_names(above, form.separator or " ", form.width)[0]
    called = is_time_name(name) or any(each is not None and is_time_unit(each) for each in (unit, heading))
    return stamped if has_clock or called or _rises_evenly(first) else form


def _rises_evenly(values: FloatArray) -> bool:
    """Whether values go on as a clock's do: never back, and no step far beyond the usual one."""
    steps = np.diff(values)
    forward = steps[steps > 0]
    return bool(np.all(steps >= 0) and forward.size and forward.max() <= 3 * np.median(forward) + 1e-12)
