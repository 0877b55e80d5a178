"""How long a connection may take for what it does; the clock is put forward instead of waited for."""

from __future__ import annotations

import asyncio
from collections.abc import Awaitable, Callable
from typing import Any

import pytest
import uvicorn

from strikeproof.web import connections
from strikeproof.web.connections import LARGEST_HEADER, Connection

Doing = Callable[
    [asyncio.StreamReader, asyncio.StreamWriter, Callable[[float], Awaitable[None]]], Awaitable[Any]
]


async def _application(scope: Any, receive: Any, send: Any) -> None:
    if scope["path"] == "/reads":
        while (await receive()).get("more_body"):
            pass
    if scope["path"] == "/thinks":
        await asyncio.sleep(0.1)
    size = 2**24 if scope["path"] == "/large" else 2
    await send({"type": "http.response.start", "status": 200, "headers": [(b"content-length", b"%d" % size)]})
    await send({"type": "http.response.body", "body": b"x" * size})


def _client(doing: Doing) -> Any:
    """Do something as a client of a small server; its third argument puts the server's clock forward."""

    async def run() -> Any:
        config = uvicorn.Config(
            _application,
            port=0,
            http=Connection,
            h11_max_incomplete_event_size=LARGEST_HEADER,
            lifespan="off",
            log_config=None,
        )
        server = uvicorn.Server(config)
        config.load()
        server.lifespan = config.lifespan_class(config)
        await server.startup()
        port = server.servers[0].sockets[0].getsockname()[1]

        async def later(seconds: float) -> None:
            await asyncio.sleep(0.05)
            now = asyncio.get_running_loop().time()
            for each in list(server.server_state.connections):
                each.look(now + 0.001)
                each.look(now + seconds)

        reader, writer = await asyncio.open_connection("127.0.0.1", port)
        try:
            return await doing(reader, writer, later)
        finally:
            writer.close()
            await server.shutdown()

    return asyncio.run(run())


async def _rest(reader: asyncio.StreamReader) -> bytes | None:
    """What comes until the end; None when the end was hard."""
    try:
        return await asyncio.wait_for(reader.read(), 1.0)
    except ConnectionError:
        return None


ASK = b"GET / HTTP/1.1\r\nHost: here\r\n\r\n"
SEND = b"POST /reads HTTP/1.1\r\nHost: here\r\nContent-Length: 1000000\r\n\r\n" + b"x" * 1_000_000


@pytest.mark.parametrize("sent", [b"", ASK[:8], ASK + ASK[:8], SEND[:99], SEND[:99].replace(b"/reads", b"/")])
def test_what_never_becomes_whole_ends(sent: bytes) -> None:
    async def doing(reader: Any, writer: Any, later: Any) -> None:
        writer.write(sent)
        await later(21.0)
        await _rest(reader)  # it comes to its end

    _client(doing)


@pytest.mark.parametrize(
    ("whole", "first", "seconds"), [(ASK, 8, 9.0), (SEND, 99, 19.0), (SEND, 900_000, 60.0)]
)
def test_what_comes_slowly_is_waited_for(whole: bytes, first: int, seconds: float) -> None:
    async def doing(reader: Any, writer: Any, later: Any) -> bytes:
        writer.write(whole[:first])
        await later(seconds)
        writer.write(whole[first:])
        return bytes(await asyncio.wait_for(reader.readexactly(12), 2.0))

    assert _client(doing) == b"HTTP/1.1 200"


def test_an_answer_may_take_its_time() -> None:
    async def doing(reader: Any, writer: Any, later: Any) -> bytes:
        writer.write(ASK.replace(b"/ ", b"/thinks ", 1))
        await later(3600.0)
        return bytes(await asyncio.wait_for(reader.readexactly(12), 2.0))

    assert _client(doing) == b"HTTP/1.1 200"


def test_an_answer_that_nobody_takes_is_given_up() -> None:
    async def doing(reader: Any, writer: Any, later: Any) -> bytes | None:
        reader._limit = 1024  # the client's end holds back
        writer.write(ASK.replace(b"/ ", b"/large ", 1))
        await later(31.0)
        return await _rest(reader)

    got = _client(doing)
    assert got is None or len(got) < 2**24


def test_a_new_connection_takes_the_place_of_the_one_that_waits_longest(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    monkeypatch.setattr(connections, "MOST_CONNECTIONS", 2)

    async def doing(reader: Any, writer: Any, later: Any) -> tuple[bytes | None, bytes]:
        port = writer.get_extra_info("peername")[1]
        others = [await asyncio.open_connection("127.0.0.1", port) for _ in range(2)]
        await later(0.0)
        others[-1][1].write(ASK)
        answer = await asyncio.wait_for(others[-1][0].readexactly(12), 2.0)
        for _, other in others:
            other.close()
        return await _rest(reader), answer

    first, last = _client(doing)
    assert not first and last == b"HTTP/1.1 200"


def test_more_websockets_than_there_is_room_for_are_turned_away(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(connections, "MOST_SOCKETS", 0)

    async def doing(reader: Any, writer: Any, later: Any) -> bytes | None:
        writer.write(ASK.replace(b"Host", b"Connection: Upgrade\r\nUpgrade: websocket\r\nHost"))
        return await _rest(reader)

    answer = _client(doing)
    assert answer is not None and answer.startswith(b"HTTP/1.1 503")
