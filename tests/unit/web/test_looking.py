"""A browser that signed in to look can send nothing that changes anything."""

from __future__ import annotations

import asyncio
from collections.abc import Iterator
from typing import Any

import pytest

from strikeproof.web.looking import Looking, may_ask


def _passed(path: str, *messages: dict[str, Any]) -> list[Any]:
    waiting: Iterator[dict[str, Any]] = iter([*messages, {"type": "websocket.disconnect"}])

    async def receive() -> Any:
        return next(waiting)

    async def all_of() -> list[Any]:
        looking, found = Looking(receive, path), []
        while (message := await looking())["type"] != "websocket.disconnect":
            found.append(message.get("text", message.get("bytes")))
        return found

    return asyncio.run(all_of())


def _texts(*texts: str) -> list[dict[str, Any]]:
    return [{"type": "websocket.receive", "text": text} for text in texts]


def test_at_the_rig_only_that_a_picture_came_passes() -> None:
    assert _passed("/record/wire", *_texts("a", '{"do":"arm"}', '{"do":"start"}', "2")) == ["a"]


def test_bytes_never_pass() -> None:
    assert _passed("/record/wire", {"type": "websocket.receive", "bytes": b"a"}) == []
    assert _passed("/record/wire", {"type": "websocket.receive", "text": "a", "bytes": b"x"}) == []


def test_on_any_other_socket_nothing_passes() -> None:
    assert _passed("/new/wire", *_texts("a", "2", '42["ack",1]')) == []


@pytest.mark.parametrize(
    ("method", "path", "may"),
    [
        ("GET", "/comparison", True),
        ("HEAD", "/", True),
        ("POST", "/sign-out", True),
        ("POST", "/upload/file", False),
        ("POST", "/record/sound", False),
        ("POST", "/plan/change", False),
        ("PUT", "/", False),
        ("DELETE", "/", False),
    ],
)
def test_only_reading_requests_are_let_in(method: str, path: str, *, may: bool) -> None:
    assert may_ask({"type": "http", "method": method, "path": path}) is may
