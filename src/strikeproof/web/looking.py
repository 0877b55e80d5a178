"""What a browser with the looking token may send: the one gate that keeps it from changing anything.

Every press at the rig comes as a message of the recorder's WebSocket; all else that changes something is a
request by another method than GET. So a browser that only looks may sign in and out, ask for pages, and say
at the rig that a picture came.
"""

from __future__ import annotations

from collections.abc import Awaitable, Callable, MutableMapping
from typing import Any, Final

__all__ = ["LOOKS_ONLY", "Looking", "looks_only", "may_ask"]

LOOKS_ONLY: Final = "strikeproof.looks_only"
"""Key of a scope that is true for a browser that only looks."""

_SIGNING: Final = ("/sign-in", "/sign-out")
_RECORDER: Final = "/record/wire"

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
        return self._path == _RECORDER and text == "a"
