"""Which protocol a rig speaks, told from its first bytes, and the parser for it."""

from __future__ import annotations

import re

import numpy as np

from strikeproof.capture.heard import Dialect, Heard, Oddity, join_heard
from strikeproof.capture.rig_frames import FrameParser, find_frame
from strikeproof.capture.rig_lines import LineParser

__all__ = ["RigParser"]

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
        """How many bytes wait for a protocol to be told."""
        return len(self._unknown)

    def feed(self, data: bytes) -> Heard:
        """What these bytes add."""
        if self._parser is not None:
            return self._parser.feed(data)
        self._unknown += data
        dropped: list[Heard] = []
        while self._parser is None and self._unknown:
            head = self._unknown[:_MOST_UNKNOWN]
            self._parser = _tell(head)
            if self._parser is not None:
                heard = self._parser.feed(self._unknown)
                self._unknown = b""
                return join_heard([heard, *dropped]) if dropped else heard
            if len(self._unknown) < _MOST_UNKNOWN:
                break
            self._unknown = self._unknown[_MOST_UNKNOWN // 2 :]
            dropped.append(_garbage(_MOST_UNKNOWN // 2))
        return join_heard(dropped) if dropped else _garbage(0)

    def close(self) -> Heard:
        """What a stream that has ended still holds."""
        if self._parser is None:
            self._parser = LineParser()
            heard = self._parser.feed(self._unknown)
            return join_heard([heard, self._parser.close()])
        return self._parser.close() if isinstance(self._parser, LineParser) else self._parser.feed(b"")


def _garbage(count: int) -> Heard:
    told = (Oddity("garbage", 0, count, "bytes in no protocol that is known"),) if count else ()
    return Heard(0, None, np.empty((0, 1)), (), told)


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
