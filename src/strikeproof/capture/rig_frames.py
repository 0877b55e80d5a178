"""Framed binary from a rig: packing a frame, and finding frames in any stream of bytes.

The layout is described in docs/rig-protocol.md.
"""

from __future__ import annotations

import math
import struct
import zlib
from dataclasses import dataclass
from typing import Literal

import numpy as np

from strikeproof.capture.received import Dialect, LineFlag, Received, merge_line_flags
from strikeproof.errors import BadInput
from strikeproof.quantity import FloatArray

__all__ = ["PAYLOADS", "SYNC", "FrameParser", "Payload", "find_frame", "pack_frame"]

Payload = Literal["int16", "int24", "float32"]
SYNC = b"\xd5\x3a"
PAYLOADS: dict[Payload, int] = {"int16": 1, "int24": 2, "float32": 3}
_BYTES = {1: 2, 2: 3, 3: 4}
_HEADER = struct.Struct("<2sBBBBHHffQ")
_CHECK = struct.Struct("<H")
_CRC = struct.Struct("<I")
_START = _HEADER.size + _CHECK.size
_VERSION = 1
_MOST_CHANNELS, _MOST_SAMPLES, _FASTEST_HZ = 16, 4096, 1e6
_SLOWEST_HZ = 0.01
_WRAP = 1 << 16
_SIMULATED = 1  # of the flags


@dataclass(frozen=True, slots=True)
class _Header:
    payload: int
    channels: int
    sequence: int
    count: int
    rate_hz: float
    scale: float
    clock: int
    simulated: bool

    @property
    def size(self) -> int:
        """Bytes of the whole frame."""
        return _START + self.channels * self.count * _BYTES[self.payload] + _CRC.size


def pack_frame(
    sequence: int,
    clock: int,
    values: FloatArray,
    *,
    rate_hz: float,
    payload: Payload,
    scale: float = 1.0,
    simulated: bool = False,
) -> bytes:
    """One frame.

    Parameters
    ----------
    sequence
        Number of the frame; it wraps at 65 536.
    clock
        Number of its first sample since the rig was switched on.
    values : (n, channels)
        In the rig's unit; integers are counts of `scale` and stop at their range.
    scale
        Worth of one count; 1 for float32.
    simulated
        Whether the readings are invented, which whoever records them must know.
    """
    count, channels = values.shape
    if not (1 <= count <= _MOST_SAMPLES and 1 <= channels <= _MOST_CHANNELS):
        raise BadInput(
            f"{count} samples of {channels} channels",
            where="frame",
            allowed=f"1 to {_MOST_SAMPLES} samples of 1 to {_MOST_CHANNELS} channels",
        )
    header = _HEADER.pack(
        SYNC,
        _VERSION,
        PAYLOADS[payload],
        channels,
        _SIMULATED * simulated,
        sequence % _WRAP,
        count,
        rate_hz,
        scale,
        clock,
    )
    body = header + _CHECK.pack(zlib.crc32(header) & 0xFFFF) + _pack_values(values, payload, scale)
    return body + _CRC.pack(zlib.crc32(body))


def _pack_values(values: FloatArray, payload: Payload, scale: float) -> bytes:
    if payload == "float32":
        return values.astype("<f4").tobytes()
    largest = 2 ** (15 if payload == "int16" else 23) - 1
    counts = np.clip(np.rint(values / scale), -largest - 1, largest)
    if payload == "int16":
        return counts.astype("<i2").tobytes()
    return np.ascontiguousarray(counts.astype("<i4").reshape(-1, 1).view("u1")[:, :3]).tobytes()


def _unpack_values(raw: bytes, header: _Header) -> FloatArray:
    shape = (header.count, header.channels)
    if header.payload == PAYLOADS["float32"]:
        with np.errstate(invalid="ignore"):  # a signalling NaN is no value, as any other
            return np.frombuffer(raw, "<f4").reshape(shape) * np.float64(header.scale)
    if header.payload == PAYLOADS["int16"]:
        return np.frombuffer(raw, "<i2").reshape(shape) * np.float64(header.scale)
    wide = np.zeros((header.count * header.channels, 4), "u1")
    wide[:, 1:] = np.frombuffer(raw, "u1").reshape(-1, 3)
    return np.asarray((wide.view("<i4").reshape(shape) >> 8) * np.float64(header.scale))


def _read_header(raw: bytes | bytearray, at: int) -> _Header | None:
    """The header at `at`, None when these bytes are none."""
    head = bytes(raw[at : at + _HEADER.size])
    if _CHECK.unpack_from(raw, at + _HEADER.size)[0] != zlib.crc32(head) & 0xFFFF:
        return None
    _sync, version, payload, channels, flags, sequence, count, rate, scale, clock = _HEADER.unpack(head)
    good = (
        version == _VERSION
        and payload in _BYTES
        and 1 <= channels <= _MOST_CHANNELS
        and 1 <= count <= _MOST_SAMPLES
        and _SLOWEST_HZ <= rate <= _FASTEST_HZ
        and math.isfinite(scale)
        and scale != 0.0
    )
    if not good:
        return None
    return _Header(payload, channels, sequence, count, rate, scale, clock, bool(flags & _SIMULATED))


def find_frame(raw: bytes | bytearray, start: int = 0) -> tuple[int, _Header | None]:
    """Where the first whole frame at or after `start` begins, and its header.

    Without a whole frame the header is None and the place is the first byte that may still begin one.
    """
    at = start
    while (at := raw.find(SYNC, at)) >= 0:
        if len(raw) < at + _START:
            return at, None
        header = _read_header(raw, at)
        if header is not None:
            end = at + header.size
            if len(raw) < end:
                return at, None
            if _CRC.unpack_from(raw, end - _CRC.size)[0] == zlib.crc32(raw[at : end - _CRC.size]):
                return at, header
        at += 1
    last = len(raw) - 1
    return (last if last >= start and raw[last:] == SYNC[:1] else len(raw)), None


class FrameParser:
    """Samples out of framed bytes; any cut of a stream gives the same samples.

    Attributes
    ----------
    is_simulated
        Whether the rig has said that its readings are.
    """

    def __init__(self) -> None:
        self.dialect: Dialect | None = None
        self.is_simulated = False
        self._rest = bytearray()
        self._count = 0
        self._next: tuple[int, int] | None = None
        self._shape: tuple[int, float] | None = None

    def feed(self, data: bytes) -> Received:
        """What these bytes add."""
        self._rest += data
        ticks: list[FloatArray] = []
        values: list[FloatArray] = []
        breaks: list[int] = []
        line_flags: list[LineFlag] = []
        first, at = self._count, 0
        while True:
            begin, header = find_frame(self._rest, at)
            is_rest = self._next is None and header is not None and begin <= header.size
            if begin > at and not is_rest:  # the rest of a frame that was under way when the line was opened
                detail = "bytes that belong to no frame"
                line_flags.append(LineFlag("garbage", self._count, begin - at, detail))
            if header is None:
                del self._rest[:begin]
                break
            at = begin + header.size
            if self._is_other(header):
                line_flags.append(
                    LineFlag("garbage", self._count, header.size, "frames of another shape or rate")
                )
                continue
            self._note_lost(header, breaks, line_flags)
            self.is_simulated |= header.simulated
            values.append(_unpack_values(bytes(self._rest[begin + _START : at - _CRC.size]), header))
            ticks.append(np.arange(header.clock, header.clock + header.count, dtype=np.float64))
            self._count += header.count
        channels = self._shape[0] if self._shape else 1
        return Received(
            first,
            np.concatenate(ticks) if ticks else np.empty(0),
            np.concatenate(values) if values else np.empty((0, channels)),
            tuple(breaks),
            merge_line_flags(line_flags),
        )

    def _is_other(self, header: _Header) -> bool:
        """Whether a frame has other channels or another rate than the first; that sets the dialect."""
        if self._shape is None:
            self._shape = (header.channels, header.rate_hz)
            names = (
                ("load",)
                if header.channels == 1
                else tuple(f"channel {i + 1}" for i in range(header.channels))
            )
            payload = next(name for name, code in PAYLOADS.items() if code == header.payload)
            columns = "" if header.channels == 1 else f", {header.channels} channels"
            self.dialect = Dialect(
                f"frames of {payload}{columns}",
                names,
                (None,) * header.channels,
                rate_hz=header.rate_hz,
                tick_s=1.0 / header.rate_hz,
                has_ticks=True,
            )
        return self._shape != (header.channels, header.rate_hz)

    def _note_lost(self, header: _Header, breaks: list[int], line_flags: list[LineFlag]) -> None:
        if self._next is not None:
            lost = (header.sequence - self._next[0]) % _WRAP
            if lost:
                samples = header.clock - self._next[1]
                breaks.append(self._count)
                text = f"{lost} frames were lost on the line"
                line_flags.append(LineFlag("gap", self._count, max(samples, 1), text))
        self._next = ((header.sequence + 1) % _WRAP, header.clock + header.count)
