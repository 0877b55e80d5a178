"""What a browser with the looking token may send: the one gate that keeps it from changing anything.

Every press on a page comes as a message of the framework's WebSocket, every press at the rig as one of the
recorder's; all else that changes something is a request by another method than GET. So a browser that only
looks may sign in and out, ask for pages, and answer on its sockets that it is there.
"""

from __future__ import annotations

import re
from collections.abc import Awaitable, Callable, MutableMapping
from typing import Any, Final

__all__ = ["FRAMEWORK", "LOOKS_ONLY", "Looking", "looks_only", "may_ask"]

LOOKS_ONLY: Final = "strikeproof.looks_only"
"""Key of a scope that is true for a browser that only looks."""

_SIGNING: Final = ("/sign-in", "/sign-out")
FRAMEWORK: Final = "/_nicegui_ws/"
_RECORDER: Final = "/record/wire"

# Engine.IO: 2 and 3 are ping and pong; 4 is a message of Socket.IO, there 0 connects, 1 disconnects, 2 is an
# event of a name. Pressing is the event "event"; these two say that the page is there, and how far.
_THERE: Final = re.compile(r'[23](probe)?|5|4[01](\{.*\})?|42[0-9]{0,9}\["(handshake|ack)",.*\]', re.DOTALL)

Message = MutableMapping[str, Any]


def looks_only(scope: MutableMapping[str, Any]) -> bool:
    """Whether a request or a WebSocket comes from a browser that only looks."""
    return scope.get(LOOKS_ONLY) is True


def may_ask(scope: MutableMapping[str, Any]) -> bool:
    """Whether a browser that only looks may ask this."""
    return scope["type"] == "websocket" or scope["method"] in ("GET", "HEAD") or scope["path"] in _SIGNING


class Looking:
    """The messages of a WebSocket without those that could change something."""

    def __init__(self, receive: Callable[[], Awaitable[Message]], path: str) -> None:
        self._receive = receive
        self._path = path

    async def __call__(self) -> Message:
        """The next message that may pass."""
        while True:
            message = await self._receive()
            if message["type"] != "websocket.receive" or self._may_pass(message):
                return message

    def _may_pass(self, message: Message) -> bool:
        text = message.get("text")
        if not isinstance(text, str) or message.get("bytes") is not None:
            return False
        if self._path.startswith(FRAMEWORK):
            return _THERE.fullmatch(text) is not None
        return self._path == _RECORDER and text == "a"
