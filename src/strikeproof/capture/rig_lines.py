"""Text lines from a rig: a number, or numbers in columns with a time stamp first or without.

How the lines are written is settled on the first few that hold numbers; what does not fit later is garbage.
What stands before the first line end is not read as numbers: the line was opened in the middle of a number.
"""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from strikeproof.capture.heard import Dialect, Heard, Oddity, merge_oddities
from strikeproof.capture.line_form import LineForm, find_form
from strikeproof.quantity import FloatArray

__all__ = ["LINES_TO_SETTLE", "LineParser"]

LINES_TO_SETTLE = 8
_LONGEST_LINE = 1024
_MOST_WAITING = 200
_SIMULATED = b"# simulated"


class LineParser:
    """Samples out of text lines; any cut of a stream gives the same samples.

    Attributes
    ----------
    is_simulated
        Whether the rig has said that its readings are.
    """

    def __init__(self) -> None:
        self.dialect: Dialect | None = None
        self.is_simulated = False
        self._rest = b""
        self._form: LineForm | None = None
        self._waiting: list[bytes] = []
        self._is_first = True
        self._count = 0

    def feed(self, data: bytes) -> Heard:
        """What these bytes add."""
        lines = self._cut(data)
        self.is_simulated |= any(line.strip() == _SIMULATED for line in lines)
        if self._form is None:
            lines = self._settle(lines)
        return self._read(lines)

    def close(self) -> Heard:
        """What is left when the stream has ended before its form was settled."""
        lines, self._waiting = self._waiting, []
        if self._form is None and lines:
            self._use(find_form(lines), lines)
            return self._read(lines if self._form else [])
        return self._read([])

    def _cut(self, data: bytes) -> list[bytes]:
        """Whole lines without blank ones, cut off where they are too long to be one."""
        parts = (self._rest + data.replace(b"\r", b"\n")).split(b"\n")
        self._rest = parts.pop()[: _LONGEST_LINE + 1]
        lines = [part[: _LONGEST_LINE + 1] for part in parts]
        if self._is_first and lines:
            self._is_first = False
            lines[0] = (
                b"" if any(48 <= byte <= 57 for byte in lines[0]) and not _names(lines[0]) else lines[0]
            )
        return [line for line in lines if line.strip()]

    def _settle(self, lines: list[bytes]) -> list[bytes]:
        """Hold lines back until enough of them hold numbers; then all that were held."""
        for place, line in enumerate(lines):
            self._waiting.append(line)
            numbers = sum(1 for each in self._waiting if _holds_number(each))
            if numbers < LINES_TO_SETTLE and len(self._waiting) < _MOST_WAITING:
                continue
            held = self._waiting
            self._use(find_form(held), held)
            if self._form is not None:
                self._waiting = []
                return held + lines[place + 1 :]
            del self._waiting[: len(self._waiting) // 2]
        return []

    def _use(self, form: LineForm | None, lines: Sequence[bytes]) -> None:
        self._form = form
        if form is not None:
            self.dialect = form.describe(lines)

    def _read(self, lines: Sequence[bytes]) -> Heard:
        form, first = self._form, self._count
        width = form.width if form else 1
        rows: FloatArray = np.empty((0, width))
        oddities: list[Oddity] = []
        if form is not None and lines:
            quick = form.read_quickly(lines)
            rows = self._read_each(form, lines, oddities) if quick is None else quick
        self._count += len(rows)
        if form is not None and form.has_ticks:
            return Heard(first, rows[:, 0], rows[:, 1:], (), merge_oddities(oddities))
        return Heard(first, None, rows, (), merge_oddities(oddities))

    def _read_each(self, form: LineForm, lines: Sequence[bytes], oddities: list[Oddity]) -> FloatArray:
        rows: list[list[float]] = []
        for line in lines:
            row = form.read_line(line)
            if row is not None:
                rows.append(row)
            elif not form.is_talk(line):
                oddities.append(Oddity("garbage", self._count + len(rows), 1, "lines that hold no sample"))
        return np.array(rows, dtype=np.float64).reshape(-1, form.width)


def _holds_number(line: bytes) -> bool:
    return not line.lstrip().startswith(b"#") and any(48 <= byte <= 57 for byte in line)


def _names(line: bytes) -> bool:
    """Whether a first line looks like names of columns rather than the end of a number."""
    head = line.lstrip()[:1]
    return head.isalpha() or head in (b"#", b'"')
