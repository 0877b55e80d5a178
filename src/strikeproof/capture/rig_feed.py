"""From what arrives on a port to samples on one time line, over unplugging and plugging in again.

Text lines hold a number, or numbers in columns with a time stamp first or without. How they are written is
settled on the first few that hold numbers; what does not fit later is garbage. What comes before the first
line end is not read as numbers: the line was opened in the middle of a number.
"""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import replace

import numpy as np

from strikeproof.capture.line_form import LineForm, find_form
from strikeproof.capture.received import Dialect, LineFlag, Received, join_received, merge_line_flags
from strikeproof.capture.rig_clock import Placed, RigClock
from strikeproof.capture.rig_frames import FrameParser, find_frame
from strikeproof.capture.rig_port import Arrived
from strikeproof.language import say
from strikeproof.quantity import FloatArray

__all__ = ["LineParser", "RigFeed", "RigParser"]


class RigFeed:
    """Samples numbered and timed from the first one on; what arrives is given to it, it asks no clock.

    A line that was unplugged begins again: its protocol is found again, and its time goes on by the wait. One
    that comes back with other channels keeps those it had; what is missing has no value.

    Attributes
    ----------
    is_simulated
        Whether the rig has said that its readings are simulated.
    """

    def __init__(self, rate_hz: float | None = None) -> None:
        self._rate_hz = rate_hz
        self._parser = RigParser()
        self._clock = RigClock(rate_hz)
        self._dialect: Dialect | None = None
        self._count = 0
        self._skew = 0
        self._last_at: float | None = None
        self._pending: list[LineFlag] = []
        self.is_simulated = False

    @property
    def dialect(self) -> Dialect | None:
        """How the rig spoke first, None until that is known; the channels stay those."""
        return self._dialect

    @property
    def rate_hz(self) -> float | None:
        """Samples a second, once known. [Hz]"""
        return self._clock.rate_hz

    @property
    def is_lost(self) -> bool:
        """Whether much has come and no protocol was found."""
        return self._parser.unknown_bytes > 8192

    def hear(self, arrived: Arrived) -> Placed:
        """The samples that this adds."""
        if arrived.news:
            self._take_news(arrived)
            return self._empty()
        received = self._parser.feed(arrived.data)
        self.is_simulated |= self._parser.is_simulated
        spoken = self._parser.dialect
        if spoken is None:
            self._pending += [replace(each, at=self._count) for each in received.line_flags]
            return self._empty()
        if self._dialect is None:
            self._dialect = spoken
        return self._number(self._clock.place(self._fit(received), spoken, arrived.at), arrived.at)

    def _number(self, placed: Placed, at: float) -> Placed:
        """With the numbers of the whole time line in place of those since the line was plugged in."""
        moved = tuple(replace(each, at=each.at + self._skew) for each in placed.line_flags)
        first = self._count
        if len(placed.time):
            moved, self._pending = (*self._pending, *moved), []
            self._count += len(placed.time)
            self._last_at = at
        elif moved:
            self._pending += moved
            moved = ()
        return Placed(first, placed.time, placed.values, moved)

    def _fit(self, received: Received) -> Received:
        width = len(self._dialect.names) if self._dialect else received.values.shape[1]
        lacking = width - received.values.shape[1]
        if not lacking:
            return received
        values = np.pad(received.values, ((0, 0), (0, max(lacking, 0))), constant_values=np.nan)[:, :width]
        return replace(received, values=values)

    def _take_news(self, arrived: Arrived) -> None:
        if arrived.news == "unplugged":
            self._pending.append(LineFlag("unplugged", self._count, 1, say("the rig's line was unplugged")))
        elif arrived.news == "overrun":
            self._pending.append(LineFlag("gap", self._count, 1, arrived.detail))
        if arrived.news in ("unplugged", "overrun") or self._last_at is None:
            return
        self._begin_anew(arrived.at)

    def start_again(self, at: float, detail: str) -> Placed:
        """Read on as after unplugging, for what came could not be read; `detail` says why."""
        self._pending.append(LineFlag("garbage", self._count, 1, detail))
        self._begin_anew(at)
        return self._empty()

    def _begin_anew(self, at: float) -> None:
        waited = 0.0 if self._last_at is None else at - self._last_at
        self._parser = RigParser()
        self._clock = RigClock(self._rate_hz, self._clock.last + waited)
        self._skew = self._count

    def _empty(self) -> Placed:
        width = len(self._dialect.names) if self._dialect else 1
        return Placed(self._count, np.empty(0), np.empty((0, width)))


_LINES = 3
_MOST_UNKNOWN = 1 << 16
_SAMPLE_LINE = re.compile(rb"(?=[^\n]*\d)[\t\x20-\x7e\xa0-\xff]{1,256}")


class RigParser:
    """Bytes in; once the protocol is known, samples out. Any cut of a stream gives the same samples.

    The protocol is that of whichever is complete first: a frame whose check holds, or three lines in a row
    that are printable and hold digits.
    """

    def __init__(self) -> None:
        self._parser: FrameParser | LineParser | None = None
        self._unknown = b""

    @property
    def dialect(self) -> Dialect | None:
        """How the rig speaks, once known."""
        return self._parser.dialect if self._parser else None

    @property
    def is_simulated(self) -> bool:
        """Whether the rig has said that its readings are simulated."""
        return self._parser is not None and self._parser.is_simulated

    @property
    def unknown_bytes(self) -> int:
        """How many bytes wait for a protocol to be found."""
        return len(self._unknown)

    def feed(self, data: bytes) -> Received:
        """What these bytes add."""
        if self._parser is not None:
            return self._parser.feed(data)
        self._unknown += data
        dropped: list[Received] = []
        while self._parser is None and self._unknown:
            head = self._unknown[:_MOST_UNKNOWN]
            self._parser = _tell(head)
            if self._parser is not None:
                received = self._parser.feed(self._unknown)
                self._unknown = b""
                return join_received([received, *dropped]) if dropped else received
            if len(self._unknown) < _MOST_UNKNOWN:
                break
            self._unknown = self._unknown[_MOST_UNKNOWN // 2 :]
            dropped.append(_garbage(_MOST_UNKNOWN // 2))
        return join_received(dropped) if dropped else _garbage(0)

    def close(self) -> Received:
        """What a stream that has ended still holds."""
        if self._parser is None:
            self._parser = LineParser()
            received = self._parser.feed(self._unknown)
            return join_received([received, self._parser.close()])
        return self._parser.close() if isinstance(self._parser, LineParser) else self._parser.feed(b"")


def _garbage(count: int) -> Received:
    told = (LineFlag("garbage", 0, count, say("bytes in no protocol that is known")),) if count else ()
    return Received(0, None, np.empty((0, 1)), (), told)


def _tell(head: bytes) -> FrameParser | LineParser | None:
    at, header = find_frame(head)
    frame_end = at + header.size if header is not None else None
    lines_end = _end_of_lines(head)
    if frame_end is not None and (lines_end is None or frame_end < lines_end):
        return FrameParser()
    return None if lines_end is None else LineParser()


def _end_of_lines(head: bytes) -> int | None:
    """Where the third line in a row ends that may hold a sample."""
    good, begin = 0, 0
    plain = head.replace(b"\r", b"\n")
    while (end := plain.find(b"\n", begin)) >= 0:
        line = plain[begin:end]
        if line.strip():
            good = good + 1 if _SAMPLE_LINE.fullmatch(line) else 0
        begin = end + 1
        if good >= _LINES:
            return begin
    return None


_LINES_TO_SETTLE = 8
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

    def feed(self, data: bytes) -> Received:
        """What these bytes add."""
        lines = self._cut(data)
        self.is_simulated |= any(line.strip() == _SIMULATED for line in lines)
        if self._form is None:
            lines = self._settle(lines)
        return self._read(lines)

    def close(self) -> Received:
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
            if numbers < _LINES_TO_SETTLE and len(self._waiting) < _MOST_WAITING:
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

    def _read(self, lines: Sequence[bytes]) -> Received:
        form, first = self._form, self._count
        width = form.width if form else 1
        rows: FloatArray = np.empty((0, width))
        line_flags: list[LineFlag] = []
        if form is not None and lines:
            quick = form.read_quickly(lines)
            rows = self._read_each(form, lines, line_flags) if quick is None else quick
        self._count += len(rows)
        if form is not None and form.has_ticks:
            return Received(first, rows[:, 0], rows[:, 1:], (), merge_line_flags(line_flags))
        return Received(first, None, rows, (), merge_line_flags(line_flags))

    def _read_each(self, form: LineForm, lines: Sequence[bytes], line_flags: list[LineFlag]) -> FloatArray:
        rows: list[list[float]] = []
        for line in lines:
            row = form.read_line(line)
            if row is not None:
                rows.append(row)
            elif not form.is_talk(line):
                line_flags.append(
                    LineFlag("garbage", self._count + len(rows), 1, say("lines that hold no sample"))
                )
        return np.array(rows, dtype=np.float64).reshape(-1, form.width)


def _holds_number(line: bytes) -> bool:
    return not line.lstrip().startswith(b"#") and any(48 <= byte <= 57 for byte in line)


def _names(line: bytes) -> bool:
    """Whether a first line looks like names of columns rather than the end of a number."""
    head = line.lstrip()[:1]
    return head.isalpha() or head in (b"#", b'"')
