"""Limits of every connection: how large a header may be, how long anything may take, and how many there are.

The parser is h11, which bounds the header (and the trailer of a chunked body) before it reads it; the quicker
one that uvicorn takes by default collects a header of any length. One look a second at all connections ends
those that wait without need, and a new one that finds no room takes the place of the one that waits longest.
"""

from __future__ import annotations

import asyncio
from collections.abc import Iterable
from typing import Any, Final

import h11
from uvicorn.protocols.http.h11_impl import H11Protocol

__all__ = ["LARGEST_HEADER", "MOST_CONNECTIONS", "MOST_SOCKETS", "Connection", "supervise"]

LARGEST_HEADER: Final = 32 << 10
"""Bytes of the request line and all header lines together."""
MOST_CONNECTIONS: Final = 256
"""Open at once, WebSockets among them; a browser keeps some six for each open page."""
MOST_SOCKETS: Final = 160
"""WebSockets of these: one for each open page, two at the rig."""

_HEADER_S: Final = 10.0  # from the first byte, or from the start of the connection, to the end of the header
_BODY_S: Final = 20.0  # a body may take this long and one second more for each ...
_SLOWEST: Final = 16 << 10  # ... bytes that came: a slow radio line sends more
_TAKING_S: Final = 30.0  # an answer of which nothing is taken for so long is given up
_LOOK_S: Final = 1.0
_FULL: Final = (
    b"HTTP/1.1 503 Service Unavailable\r\nretry-after: 30\r\nconnection: close\r\ncontent-length: 0\r\n\r\n"
)


class Connection(H11Protocol):
    """One connection that is not a WebSocket, and when what it does now began."""

    def connection_made(self, transport: asyncio.Transport) -> None:  # type: ignore[override]  # as uvicorn has it
        """Take it; where there are too many, the one that has waited longest without a request ends."""
        self._since = self._moved = self.loop.time()
        self._came = self._unsent = 0
        self._has_asked = False
        super().connection_made(transport)
        # One that was ended stays in the set until the loop comes round, which takes many new ones before.
        standing = [each for each in self.connections if not each.transport.is_closing()]
        if len(standing) > MOST_CONNECTIONS:
            waiting = [each for each in _plain(standing) if each.waits]
            min(waiting, key=lambda each: each._since).transport.abort()

    def data_received(self, data: bytes) -> None:
        """Note when a header or a body begins, and how much of it came."""
        before = self.conn.their_state
        if before is h11.IDLE and not self._holds_part:
            self._since = self.loop.time()
        self._came += len(data)
        super().data_received(data)
        if self.conn.their_state is not before:
            self._turn()
            self._has_asked = True

    def on_response_complete(self) -> None:
        """Wait for the next request."""
        self._turn()
        super().on_response_complete()

    def send_400_response(self, msg: str) -> None:
        """Answer what is no request; where an answer is on its way already, end it."""
        if self.conn.our_state in (h11.IDLE, h11.SEND_RESPONSE):
            super().send_400_response(msg)
        else:
            self.transport.abort()

    def handle_websocket_upgrade(self, event: h11.Request) -> None:
        """Become a WebSocket, while there is room for more."""
        if len(self.connections) - len(_plain(self.connections)) >= MOST_SOCKETS:
            self.transport.write(_FULL)
            self.transport.close()
        else:
            super().handle_websocket_upgrade(event)

    def _turn(self) -> None:
        self._since, self._came = self.loop.time(), 0

    @property
    def _holds_part(self) -> bool:
        return bool(self.conn.trailing_data[0])

    @property
    def waits(self) -> bool:
        """Whether it holds its place without a request under way."""
        return self.conn.their_state is h11.IDLE

    def look(self, now: float) -> None:
        """End it when the other side takes too long."""
        unsent = self.transport.get_write_buffer_size()
        if unsent == 0 or unsent < self._unsent:
            self._moved = now
        self._unsent = unsent
        if self._is_late(now) or now - self._moved > _TAKING_S:
            self.transport.abort()

    def _is_late(self, now: float) -> bool:
        if self.flow.read_paused:  # it is this side that takes its time
            self._turn()
        elif self.conn.their_state is h11.SEND_BODY:
            return now - self._since > _BODY_S + self._came / _SLOWEST
        elif self.waits and (self._holds_part or not self._has_asked):
            return now - self._since > _HEADER_S
        return False


def _plain(connections: Iterable[Any]) -> list[Connection]:
    return [each for each in connections if isinstance(each, Connection)]


async def supervise(connections: set[Any]) -> None:
    """Look at all connections once a second, until cancelled."""
    loop = asyncio.get_running_loop()
    while True:
        await asyncio.sleep(_LOOK_S)
        for each in _plain(connections):
            each.look(loop.time())
