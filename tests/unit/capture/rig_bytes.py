"""Streams of bytes as rigs send them, and what a parser makes of any cut of them."""

from __future__ import annotations

import itertools
from collections.abc import Iterable, Sequence

import numpy as np

from strikeproof.capture.received import LineFlag, Received, join_received, merge_line_flags
from strikeproof.capture.rig_feed import RigParser
from strikeproof.capture.rig_frames import Payload, pack_frame
from strikeproof.quantity import FloatArray


def frames(
    readings: FloatArray,
    *,
    rate_hz: float = 1000.0,
    size: int = 20,
    payload: Payload = "float32",
    scale: float = 1.0,
    lost: Iterable[int] = (),
) -> bytes:
    """Readings (n,) in frames of `size` samples, without the frames numbered in `lost`."""
    return b"".join(
        pack_frame(
            k,
            k * size,
            readings[k * size : (k + 1) * size, None],
            rate_hz=rate_hz,
            payload=payload,
            scale=scale,
        )
        for k in range(len(readings) // size)
        if k not in set(lost)
    )


def lines(rows: Sequence[str], end: str = "\r\n") -> bytes:
    """Text lines, after the end of one that was under way when the line was opened."""
    return "".join(row + end for row in ("7.5", *rows)).encode()


def hear(data: bytes, cuts: Iterable[int] = ()) -> tuple[RigParser, Received, tuple[LineFlag, ...]]:
    """What a parser hears of a stream that arrives in the pieces between `cuts`."""
    parser = RigParser()
    places = [0, *sorted(min(cut, len(data)) for cut in cuts), len(data)]
    parts = [parser.feed(data[a:b]) for a, b in itertools.pairwise(places)]
    parts = [part for part in [*parts, parser.close()] if len(part.values) or part.line_flags]
    width = max((part.values.shape[1] for part in parts if len(part.values)), default=1)
    filled = [
        part
        if len(part.values)
        else Received(part.first, part.ticks, np.empty((0, width)), part.breaks, part.line_flags)
        for part in parts
    ]
    received = join_received(filled) if filled else Received(0, None, np.empty((0, 1)))
    return parser, received, merge_line_flags(received.line_flags)
