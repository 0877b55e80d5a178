"""A browser that signed in to look can send nothing that changes anything."""

from __future__ import annotations

import asyncio
from collections.abc import Iterator
from typing import Any

import pytest
from socketio.packet import Packet

from strikeproof.web.looking import Looking, may_ask

WS = "/_nicegui_ws/socket.io/"
THERE = ["2", "3", "3probe", "5", "40", "41", '420["handshake",{"client_id":"x"}]', '42["ack",{"next":1}]']
PRESSES = [
    '42["event",{"client_id":"x"}]',
    '421["event",{}]',
    '42["javascript_response",{}]',
    '42["log",{}]',
    '42/,["event",{}]',
    '42/other,["handshake",{}]',
    '451-["event",{"_placeholder":true,"num":0}]',
    '42 ["event",{}]',
    '42["handshake"]',
    '42["\\u0065vent",{}]',
    '43["event"]',
    "1",
    "",
    '2\n42["event",{}]',
    '42["handshake",{}]\x1e42["event",{}]x',
]


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


def test_a_page_may_say_that_it_is_there_and_no_press_passes() -> None:
    assert _passed(WS, *_texts(*THERE, *PRESSES)) == THERE


def test_whatever_passes_is_read_as_one_of_the_two_events_that_press_nothing() -> None:
    for text in _passed(WS, *_texts(*THERE, *PRESSES)):
        if text.startswith("42"):
            assert Packet(encoded_packet=text[1:]).data[0] in ("handshake", "ack")


def test_bytes_never_pass() -> None:
    assert _passed(WS, {"type": "websocket.receive", "bytes": b'42["ack",1]'}) == []
    assert _passed(WS, {"type": "websocket.receive", "text": "2", "bytes": b"x"}) == []


def test_at_the_rig_only_that_a_picture_came_passes() -> None:
    assert _passed("/record/wire", *_texts("a", '{"do":"arm"}', '{"do":"start"}', "2")) == ["a"]


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
        ("POST", "/_nicegui_ws/socket.io/", False),
        ("PUT", "/", False),
        ("DELETE", "/", False),
    ],
)
def test_only_reading_requests_are_let_in(method: str, path: str, *, may: bool) -> None:
    assert may_ask({"type": "http", "method": method, "path": path}) is may
