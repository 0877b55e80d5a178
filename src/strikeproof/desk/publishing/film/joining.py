"""Finished parts joined to one film without packing them again."""

from __future__ import annotations

import heapq
import os
from collections.abc import Iterator, Sequence
from fractions import Fraction
from pathlib import Path
from typing import Any

from strikeproof.capture.clip import load_av

__all__ = ["join_parts"]


def join_parts(parts: Sequence[Path], sound: Path | None, rate: Fraction, container: str, out: Path) -> None:
    """Put parts behind each other, with a sound track where there is one.

    Parameters
    ----------
    rate
        Pictures a second of all parts.
    container
        Its name, as the library knows it.
    out
        Where to write; in the end it is on disk.
    """
    av = load_av()
    with av.open(str(out), "w", format=container, options=_OPTIONS.get(container, {})) as target:
        with av.open(str(parts[0])) as first:
            picture = target.add_stream_from_template(first.streams.video[0])
        if container == "webm":
            picture.metadata["alpha_mode"] = "1"
        tracks = [_pictures(av, parts, picture, rate)]
        source = None
        if sound is not None:
            source = av.open(str(sound))
            heard = target.add_stream_from_template(source.streams.audio[0])
            tracks.append(_sounds(source, heard))
        try:
            for _time, _track, packet in heapq.merge(*tracks, key=lambda each: each[:2]):
                target.mux(packet)
        finally:
            if source is not None:
                source.close()
    with out.open("rb") as written:
        os.fsync(written.fileno())


_OPTIONS = {"mp4": {"movflags": "+faststart"}, "mov": {"movflags": "+faststart"}}


def _pictures(
    av: Any, parts: Sequence[Path], stream: Any, rate: Fraction
) -> Iterator[tuple[float, int, Any]]:
    number = 0
    for part in parts:
        with av.open(str(part)) as source:
            for packet in source.demux(source.streams.video[0]):
                if packet.size == 0:
                    continue
                packet.time_base, packet.pts, packet.dts = 1 / rate, number, number
                packet.duration = 1
                packet.stream = stream
                yield float(number / rate), 0, packet
                number += 1


def _sounds(source: Any, stream: Any) -> Iterator[tuple[float, int, Any]]:
    for packet in source.demux(source.streams.audio[0]):
        if packet.size == 0 or packet.dts is None:
            continue
        time = float(packet.dts * packet.time_base)
        packet.stream = stream
        yield time, 1, packet
