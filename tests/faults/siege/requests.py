"""Requests, good and hostile, at one real server process: it must answer others, and stay small.

Each number is one connection of a kind of its own. Some are left open, some broken off; between pieces the
server is asked how it is.
"""

from __future__ import annotations

import asyncio
import base64
import contextlib
import os
import socket
import struct
import time
from collections import deque
from collections.abc import Callable
from dataclasses import dataclass, field
from pathlib import Path
from typing import Final

import numpy as np
from tests.browser.web_bench import Server, serving
from tests.faults.bench import write_campaign
from tests.faults.siege.attack import MOST_GB, Tally

from strikeproof.desk.loading.load import load_campaign

__all__ = ["play_requests"]

SEED = int(os.environ.get("STRIKEPROOF_SEED", "1"))
SOON_S = 1.0
_AT_ONCE = 64
_PATIENCE_S = 1.5  # with hostile requests, which often wait for a body that never comes
_LEFT_OPEN = 300  # connections that are never finished
_PAGES: Final = (
    "/",
    "/runs",
    "/comparison",
    "/run?run=run-1",
    "/explanation",
    "/calibration",
    "/sign-in",
    "/plan",
    "/published",
    "/design",
    "/record",
    "/nothing",
)
_DATA: Final = (
    "/data/trace?run=run-1",
    "/data/trace.csv?run=run-2",
    "/data/trace?run=../../x",
    "/plan/sheet",
    "/data/chart/scores.svg",
    "/data/chart/x.y",
    "/published/page.html",
    "/design/sheet/x",
)
_OUTSIDE: Final = (
    "/assets/../../../../../../../../etc/passwd",
    "/assets/%2e%2e/%2e%2e/%2e%2e/%2e%2e/etc/passwd",
    "/assets/..%2f..%2f..%2f..%2f..%2fetc%2fpasswd",
    "/assets//etc/passwd",
    "/assets/%00",
    "/assets/..%5c..%5cetc",
    "/design/file/..%2f..%2f/etc%2fpasswd",
    "/published/film/..%2f..%2fetc%2fpasswd",
    "/assets/%c0%ae%c0%ae/etc/passwd",
)

Rng = np.random.Generator


@dataclass(slots=True)
class _Siege:
    """The server, what came of it, and the connections that stay open."""

    server: Server
    tally: Tally
    left_open: deque[asyncio.StreamWriter] = field(default_factory=deque)

    @property
    def host(self) -> str:
        return self.server.address.removeprefix("http://")

    @property
    def place(self) -> tuple[str, int]:
        name, port = self.host.split(":")
        return name, int(port)


def _get(path: str, host: str, *more: str, method: str = "GET") -> bytes:
    lines = [f"{method} {path} HTTP/1.1", f"Host: {host}", "Connection: close", *more]
    return ("\r\n".join(lines) + "\r\n\r\n").encode()


def _asset(rng: Rng, host: str) -> bytes:
    more = rng.choice(["Accept: */*", "Range: bytes=0-9", "Range: bytes=9999999-", "Accept-Encoding: gzip"])
    return _get("/assets/look.css", host, str(more), method=str(rng.choice(["GET", "GET", "HEAD"])))


def _page(rng: Rng, host: str) -> bytes:
    return _get(str(rng.choice(_PAGES)), host, "Accept: text/html")


def _data(rng: Rng, host: str) -> bytes:
    return _get(str(rng.choice(_DATA)), host)


def _outside(rng: Rng, host: str) -> bytes:
    return _get(str(rng.choice(_OUTSIDE)), host)


def _odd_path(rng: Rng, host: str) -> bytes:
    path = "/" + "".join(chr(each) for each in rng.integers(33, 126, int(rng.choice([1, 30, 3000]))))
    return _get(path, host)


def _odd_query(rng: Rng, host: str) -> bytes:
    junk = "&".join(
        f"{name}=%{rng.integers(256):02x}%{rng.integers(256):02x}" for name in ("campaign", "run", "tool")
    )
    return _get(f"{rng.choice([*_PAGES, *_DATA]).split('?')[0]}?{junk}", host)


def _odd_method(rng: Rng, host: str) -> bytes:
    return _get(
        "/",
        host,
        method=str(rng.choice(["TRACE", "OPTIONS", "PUT", "DELETE", "CONNECT", "PATCH", "X" * 300])),
    )


def _strange_host(rng: Rng, host: str) -> bytes:
    return _get(
        "/", str(rng.choice(["evil.example", "", "127.0.0.1:1", f"{host}.evil.example", f"evil@{host}"]))
    )


def _strange_origin(rng: Rng, host: str) -> bytes:
    body = b"token=" + b"x" * int(rng.integers(100))
    more = [
        f"Origin: {rng.choice(['http://evil.example', 'null', f'http://{host}'])}",
        f"Content-Length: {len(body)}",
    ]
    path = str(rng.choice(["/sign-in", "/sign-out", "/upload/file", "/record/sound", "/"]))
    return _get(path, host, *more, method="POST") + body


def _odd_body(rng: Rng, host: str) -> bytes:
    """Lengths that lie, chunks that are none, two lengths at once."""
    more, body = (
        (["Content-Length: -1"], b""),
        (["Content-Length: 99999999999999999999"], b"x"),
        (["Content-Length: 5", "Content-Length: 6"], b"xxxxx"),
        (["Content-Length: 5", "Transfer-Encoding: chunked"], b"0\r\n\r\n"),
        (["Transfer-Encoding: chunked"], b"zz\r\nx\r\n"),
        (["Transfer-Encoding: chunked"], b"ffffffffffffffff\r\n" + b"x" * 1000),
        (["Transfer-Encoding: chunked"], b"5;" + b"a" * 20_000 + b"\r\nxxxxx\r\n0\r\n\r\n"),
        (["Content-Length: 3000000"], b"x" * 100_000),
    )[rng.integers(8)]
    return _get("/sign-in", host, f"Origin: http://{host}", *more, method="POST") + body


def _large_header(rng: Rng, host: str) -> bytes:
    return _get(
        "/", host, *([f"X-{k}: y" for k in range(4000)] if rng.random() < 0.5 else ["X: " + "x" * 200_000])
    )


def _odd_header(rng: Rng, host: str) -> bytes:
    odd = rng.choice(
        [
            "Cookie: " + "a=b; " * 3000,
            "Cookie: \x01=\xff",
            "Accept: \x00",
            " folded: yes",
            ": none",
            "no colon",
            "Host: other",
            "X-Forwarded-For: 1.2.3.4",
            "Upgrade: h2c",
            "Expect: 100-continue",
            "Range: bytes=a-b",
            "If-Modified-Since: yesterday",
            "Content-Type: multipart/form-data",
            "Authorization: Basic x",
        ]
    )
    return _get("/", host, str(odd))


def _no_http(rng: Rng, _host: str) -> bytes:
    return (
        rng.bytes(int(rng.choice([1, 200, 20_000]))),
        b"PRI * HTTP/2.0\r\n\r\nSM\r\n\r\n",
        b"\x16\x03\x01\x02\x00\x01",
        b"GET /\r\n\r\n",
        b"\r\n" * 3000,
        b"GET / HTTP/9.9\r\n\r\n",
        b"\x00" * 5000,
    )[rng.integers(7)]


_HOSTILE: Final = (
    _outside,
    _odd_path,
    _odd_query,
    _odd_method,
    _strange_host,
    _strange_origin,
    _odd_body,
    _large_header,
    _odd_header,
    _no_http,
)


def _frame(data: bytes, code: int, *, masked: bool = True, length: int | None = None) -> bytes:
    """One WebSocket frame (RFC 6455, section 5.2), its length as it is or as is claimed."""
    size = len(data) if length is None else length
    first = bytes([0x80 | code])
    mark = 0x80 if masked else 0
    head = (
        bytes([mark | size])
        if size < 126
        else (
            bytes([mark | 126]) + struct.pack(">H", size)
            if size < 65536
            else bytes([mark | 127]) + struct.pack(">Q", size)
        )
    )
    return first + head + (b"\0\0\0\0" if masked else b"") + data


def _socket_words(rng: Rng) -> bytes:
    """What is said once the line is open: the framework's own words, and what no browser says."""
    choices: tuple[Callable[[], bytes], ...] = (
        lambda: _frame(b"40", 1),
        lambda: _frame(b'42["handshake",{"client_id":"x","tab_id":"y"}]', 1) * 3,
        lambda: _frame(b'42["event",{"id":1,"client_id":"x","listener_id":"z","args":[]}]', 1),
        lambda: _frame(b"4" * 60_000, 1),
        lambda: _frame(rng.bytes(200), 2),
        lambda: _frame(rng.bytes(200), 1),
        lambda: _frame(b"", 9) * 200,
        lambda: _frame(b"x", 1, masked=False),
        lambda: _frame(b"x" * 1000, 1, length=2**40),
        lambda: _frame(b"42" + b"[" * 20_000, 1),
        lambda: _frame(b"451-" + b'["x",{"_placeholder":true,"num":0}]', 1),
        lambda: rng.bytes(500),
    )
    return b"".join(choices[rng.integers(len(choices))]() for _ in range(rng.integers(1, 4)))


async def _ask(siege: _Siege, rng: Rng, number: int) -> None:
    kind = rng.random()
    try:
        reader, writer = await asyncio.wait_for(asyncio.open_connection(*siege.place), 10)
    except OSError:
        siege.tally.count("connections refused")
        return
    keep = False
    with contextlib.suppress(ConnectionError, TimeoutError):
        if kind < 0.45:
            way = (_asset, _data, _page)[rng.choice(3, p=[0.85, 0.1, 0.05])]
            await _exchange(siege, reader, writer, way, rng, number, hostile=False)
        elif kind < 0.85:
            way = _HOSTILE[rng.integers(len(_HOSTILE))]
            await _exchange(siege, reader, writer, way, rng, number, hostile=True)
        elif kind < 0.90:
            siege.tally.count("left half open")
            writer.write(_page(rng, siege.host)[: int(rng.integers(0, 60))])
            keep = True
        elif kind < 0.95:
            siege.tally.count("asked and dropped")
            writer.write((_page if rng.random() < 0.1 else _data)(rng, siege.host))
            await writer.drain()
            _reset(writer)
        else:
            await _speak(siege, reader, writer, rng)
    if keep:
        siege.left_open.append(writer)
        if len(siege.left_open) > _LEFT_OPEN:
            _reset(siege.left_open.popleft())
    else:
        writer.close()


def _reset(writer: asyncio.StreamWriter) -> None:
    wire = writer.get_extra_info("socket")
    if wire is not None:
        with contextlib.suppress(OSError):
            wire.setsockopt(socket.SOL_SOCKET, socket.SO_LINGER, struct.pack("ii", 1, 0))
    writer.transport.abort()


async def _exchange(
    siege: _Siege,
    reader: asyncio.StreamReader,
    writer: asyncio.StreamWriter,
    way: Callable[[Rng, str], bytes],
    rng: Rng,
    number: int,
    *,
    hostile: bool,
) -> None:
    writer.write(way(rng, siege.host))
    with contextlib.suppress(ConnectionError):
        await writer.drain()
        if hostile and rng.random() < 0.5:
            writer.write_eof()
    try:
        answer = await asyncio.wait_for(reader.read(300), _PATIENCE_S if hostile else 60)
    except TimeoutError:
        siege.tally.count("hostile ones not waited for" if hostile else "good requests without an answer")
        return
    status = answer[9:12].decode("latin-1") if answer.startswith(b"HTTP/1.1") else "nothing"
    siege.tally.count(f"answers {status[0]}xx" if status.isdigit() else "no answer")
    where = f"number {number}, {way.__name__}: {answer[:80]!r}"
    if status.startswith("5") and status != "503":
        siege.tally.fail("mistakes of the server (5xx)", where)
    if b"root:" in answer:
        siege.tally.fail("files from outside", where)
    if way is _strange_host and status == "200":
        siege.tally.fail("strange hosts let in", where)
    if not hostile and status == "nothing":
        siege.tally.count("good requests without an answer")


async def _speak(siege: _Siege, reader: asyncio.StreamReader, writer: asyncio.StreamWriter, rng: Rng) -> None:
    path = str(rng.choice(["/record/wire", "/nothing"]))
    origin = str(rng.choice([f"http://{siege.host}", "http://evil.example"], p=[0.8, 0.2]))
    key = base64.b64encode(rng.bytes(16)).decode()
    lines = [
        f"GET {path} HTTP/1.1",
        f"Host: {siege.host}",
        "Upgrade: websocket",
        "Connection: Upgrade",
        f"Origin: {origin}",
        f"Sec-WebSocket-Key: {key}",
        "Sec-WebSocket-Version: 13",
    ]
    writer.write(("\r\n".join(lines) + "\r\n\r\n").encode())
    answer = await asyncio.wait_for(reader.read(300), 60)
    is_open = b" 101 " in answer[:20]
    siege.tally.count("WebSockets opened" if is_open else "WebSockets refused")
    if is_open and "evil" in origin:
        siege.tally.fail("strange pages let in", repr(answer[:80]))
    if is_open:
        writer.write(_socket_words(rng))
        await writer.drain()
        await asyncio.wait_for(reader.read(2000), _PATIENCE_S)
        if rng.random() < 0.5:
            _reset(writer)


async def _play(siege: _Siege, first: int, count: int) -> None:
    numbers = iter(range(first, first + count))

    async def work() -> None:
        for number in numbers:
            siege.tally.count("requests")
            await _ask(siege, np.random.default_rng([SEED, number]), number)

    await asyncio.gather(*(work() for _ in range(_AT_ONCE)))
    await asyncio.sleep(0.5)
    siege.tally.see("answer after the piece, s", await _answer_s(siege))
    while siege.left_open:
        _reset(siege.left_open.popleft())


async def _answer_s(siege: _Siege) -> float:
    """The best of a few answers: other work on the machine is none of the server's."""
    took = []
    for _ in range(5):
        begun = time.monotonic()
        reader, writer = await asyncio.open_connection(*siege.place)
        writer.write(_get("/assets/look.css", siege.host))
        assert (await reader.read(12)).endswith(b"200")
        writer.close()
        took.append(time.monotonic() - begun)
    return min(took)


def _memory_gb(process: int) -> float:
    """Most memory that the server or a process of its own ever had."""
    found = [0.0]
    for place in [Path(f"/proc/{process}"), *(Path(f"/proc/{child}") for child in _children(process))]:
        with contextlib.suppress(OSError, IndexError, StopIteration):
            lines = (place / "status").read_text().splitlines()
            found.append(next(int(line.split()[1]) for line in lines if line.startswith("VmHWM")) / 1e6)
    return max(found)


def _children(process: int) -> list[int]:
    with contextlib.suppress(OSError):
        direct = Path(f"/proc/{process}/task/{process}/children").read_text().split()
        return [*map(int, direct), *(each for child in direct for each in _children(int(child)))]
    return []


def play_requests(first: int, count: int, folder: Path) -> Tally:
    """So many connections at a server that was started for them."""
    load_campaign(write_campaign(folder / "campaign", rows=200), folder / "lab")
    with serving(folder / "lab") as server:
        siege = _Siege(server, Tally())
        asyncio.run(_play(siege, first, count))
        tally = siege.tally
        tally.see("server_gb", _memory_gb(server.process.pid))
        if tally.worst["answer after the piece, s"] > SOON_S:
            tally.fail("answers later than 1 s", f"from number {first}: {tally.worst}")
        if tally.worst["server_gb"] > MOST_GB:
            tally.fail("more memory than 1.5 GB", f"from number {first}: {tally.worst}")
        if server.process.poll() is not None:
            tally.fail("deaths of the server", f"from number {first}")
        said = server.log.read_text(errors="replace")
        tally.count("stacks in its log", said.count("Traceback"))
        if "Traceback" in said:
            tally.found.append("no failure: " + said[said.index("Traceback") :][-1500:])
    return tally
