"""Hostile bytes on a rig's line: streams of every kind of speech, spoilt in every way we know, from one seed.

`besiege` plays so many bytes through the reader, the clock, the buckets and the watch, as a recorder does,
and sees after every piece that nothing impossible came out. Whatever a line says, no step may raise.
"""

from __future__ import annotations

import struct
import zlib
from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np

from strikeproof.capture.buckets import Buckets
from strikeproof.capture.rig_clock import Placed
from strikeproof.capture.rig_feed import RigFeed
from strikeproof.capture.rig_frames import pack_frame
from strikeproof.capture.rig_port import Arrived
from strikeproof.capture.watch import BLOCK_S, RunWatch

__all__ = ["Siege", "besiege"]

TOKENS = (
    b"1e308",
    b"-1e308",
    b"1e400",
    b"-1e400",
    b"nan",
    b"inf",
    b"9" * 400,
    b"-0",
    b"1e-320",
    b"0x1p3",
    b"1_0",
    b"12:61:99",
    b"99:99:99.999",
    b"2025-01-01T00:00:00Z",
    b"OL",
    b"-",
    b"",
    b"\x00",
    b"\xff\xfe",
    b"\xc3",
    b"\x1b[2J",
    "١٢".encode(),
    b"# simulated",
    b"# run r1",
    b"+ 5",
    b"5 kN",
    b"5 N",
    b";;;;",
    b",,",
    b"\r",
    b"\n\n",
    b"\xd5\x3a",
)
CLOCKS = (0, 1, 2**31, 2**53, 2**63, 2**64 - 5000)
FLOATS = (0.0, 1e-45, 1e-30, 0.5, 1e3, 1e6, 2e6, 1e38, float("inf"), float("nan"), -1.0)


@dataclass(slots=True)
class Siege:
    """What was played, and what came of it."""

    sent: int = 0
    samples: int = 0
    streams: int = 0
    starts: int = 0


def besiege(size: int, seed: int) -> Siege:
    """Play at least so many bytes; raises what the reader raises, with seed and stream in its notes."""
    done = Siege()
    while done.sent < size:
        rng = np.random.default_rng([seed, done.streams])
        try:
            _play(rng, done)
        except Exception as wrong:
            wrong.add_note(f"seed {seed}, stream {done.streams}")
            raise
        done.streams += 1
    return done


def _play(rng: np.random.Generator, done: Siege) -> None:
    feed = RigFeed(None if rng.random() < 0.7 else float(rng.choice([10.0, 80.0, 1e4])))
    buckets, watch = Buckets(), RunWatch(2.0)
    data = _stream(rng)
    at, count, now = float(rng.choice([0.0, 1e6])), 0, -np.inf
    for arrived in _arrivals(rng, data, at):
        placed = feed.hear(arrived)
        _must_hold(placed, count, now)
        count += len(placed.time)
        for piece in placed.pieces(BLOCK_S):
            now = float(piece.time[-1])
            buckets.add(piece.time, piece.values[:, 0])
            if watch.look(buckets, now) in ("done", "stopped short", "false start", "unloaded"):
                done.starts += 1
                watch.reset()
    done.sent += len(data)
    done.samples += count


def _must_hold(placed: Placed, count: int, now: float) -> None:
    """Times are finite and never go back, samples are numbered without a gap, no value is endless."""
    assert placed.first == count
    assert len(placed.time) == len(placed.values)
    assert np.isfinite(placed.time).all(), "a time that is no number"
    assert (np.diff(placed.time, prepend=max(now, placed.time[0]) if len(placed.time) else 0) >= 0).all()
    assert not len(placed.time) or placed.time[0] >= now, "time went back"
    assert all(each.count >= 1 and each.at >= 0 for each in placed.line_flags)


def _arrivals(rng: np.random.Generator, data: bytes, at: float) -> Iterator[Arrived]:
    """The stream in pieces of any size, with waits, pulled plugs and overruns between them."""
    yield Arrived(at, b"", "plugged", "rig")
    begin = 0
    while begin < len(data):
        size = int(rng.choice([1, 7, 64, 512, 4096, 60_000]))
        at += float(rng.choice([0.0, 0.001, 0.05, 0.6, 30.0], p=[0.2, 0.4, 0.3, 0.08, 0.02]))
        yield Arrived(at, data[begin : begin + size])
        begin += size
        if rng.random() < 0.01:
            yield Arrived(at, b"", str(rng.choice(["unplugged", "overrun"])), "lost")
            at += 1.0
            yield Arrived(at, b"", "plugged", "rig")


def _stream(rng: np.random.Generator) -> bytes:
    """A few good pieces of one speech or of several, spoilt."""
    kinds = (_frames, _crafted_frames, _numbers, _stamped, _columns, _noise)
    usual = kinds[rng.integers(len(kinds))]
    parts = [
        (usual if rng.random() < 0.8 else kinds[rng.integers(len(kinds))])(rng)
        for _ in range(rng.integers(1, 6))
    ]
    return _spoil(rng, b"".join(parts)) if rng.random() < 0.9 else b"".join(parts)


def _readings(rng: np.random.Generator, count: int) -> np.ndarray:
    level = np.where(np.arange(count) > count // 2, 40.0, 0.0)
    return np.asarray(level + rng.normal(0.0, 0.1, count))


def _frames(rng: np.random.Generator) -> bytes:
    rate, size, channels = float(rng.choice([100.0, 2000.0, 5e4])), 50, int(rng.integers(1, 4))
    payload = ("int16", "int24", "float32")[rng.integers(3)]
    start, sequence = int(rng.choice([0, 2**40])), int(rng.integers(2**16))
    return b"".join(
        pack_frame(
            sequence + k,
            start + k * size,
            np.repeat(_readings(rng, size)[:, None], channels, axis=1),
            rate_hz=rate,
            payload=payload,  # type: ignore[arg-type]
            scale=0.01,
        )
        for k in range(20)
    )


def _crafted_frames(rng: np.random.Generator) -> bytes:
    """Frames whose checks hold and whose fields are out of this world."""
    frames = []
    rate, channels = float(rng.choice(FLOATS)), int(rng.choice([0, 1, 2, 16, 255]))
    for _ in range(10):
        count, payload = int(rng.choice([0, 1, 50, 4096, 65535])), int(rng.integers(0, 5))
        scale, clock = float(rng.choice(FLOATS)), int(rng.choice(np.array(CLOCKS, dtype=np.uint64)))
        head = struct.pack(
            "<2sBBBBHHffQ", b"\xd5\x3a", 1, payload, channels, int(rng.integers(256)),
            int(rng.integers(2**16)), count, rate, scale, clock,
        )  # fmt: skip
        size = channels * count * {1: 2, 2: 3, 3: 4}.get(payload, 1)
        body = head + struct.pack("<H", zlib.crc32(head) & 0xFFFF) + rng.bytes(min(size, 2000))
        frames.append(body + struct.pack("<I", zlib.crc32(body)))
    return b"".join(frames)


def _numbers(rng: np.random.Generator) -> bytes:
    return b"".join(b"%.3f\n" % value for value in _readings(rng, 300))


def _stamped(rng: np.random.Generator) -> bytes:
    """Stamps and readings, some of the stamps beyond what a number can hold."""
    heading = (b"", b"time [ms];load [kN]\n", b"t [s];F [N]\n", b"zeit;last\n")[rng.integers(4)]
    step = float(rng.choice([1e-3, 1.0, 1e3, 1e305]))
    start = float(rng.choice([0.0, 1e9, 1e18, 1e308]))
    return heading + b"".join(
        b"%r;%.3f\n" % (start + step * k, value) for k, value in enumerate(_readings(rng, 200))
    )


def _columns(rng: np.random.Generator) -> bytes:
    mark = (b"\t", b" ", b",", b"|")[rng.integers(4)]
    rows = [mark.join(b"%.2f" % value for value in _readings(rng, 3)) for _ in range(150)]
    return b"\r\n".join(rows) + b"\r\n"


def _noise(rng: np.random.Generator) -> bytes:
    return rng.bytes(int(rng.choice([10, 3000])))


def _spoil(rng: np.random.Generator, data: bytes) -> bytes:
    found = bytearray(data)
    for _ in range(rng.integers(1, 12)):
        at = int(rng.integers(len(found) + 1))
        end = min(at + int(rng.choice([1, 4, 40, 800])), len(found))
        match rng.integers(6):
            case 0:
                found[at:end] = rng.bytes(end - at)
            case 1:
                del found[at:end]
            case 2:
                found[at:at] = found[at:end] * int(rng.integers(1, 4))
            case 3:
                found[at:at] = TOKENS[rng.integers(len(TOKENS))]
            case 4:
                line = found.find(b"\n", at) + 1
                token = TOKENS[rng.integers(len(TOKENS))]
                found[line:line] = token + (b";" if rng.random() < 0.5 else b"") + token + b"\n"
            case _:
                place = int(rng.integers(len(found) + 1))
                found[place:place] = found[at:end]
    return bytes(found)
