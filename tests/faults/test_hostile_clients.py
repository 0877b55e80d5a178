"""Clients that mean harm, against one real server process: it answers others as if they were not there."""

from __future__ import annotations

import contextlib
import socket
import time
from collections.abc import Iterator
from contextlib import ExitStack
from pathlib import Path

import httpx
import pytest
from tests.browser.web_bench import Server, serving

SOON_S = 5.0  # what a person would still take for an answer, on a busy machine of two cores


@pytest.fixture(scope="module")
def server(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Server]:
    with serving(tmp_path_factory.mktemp("hostile") / "lab") as made:
        assert httpx.get(f"{made.address}/assets/look.css").status_code == 200
        yield made


def _open(server: Server) -> socket.socket:
    name, port = server.address.removeprefix("http://").split(":")
    return socket.create_connection((name, int(port)), timeout=10)


def _answers(server: Server) -> float:
    began = time.monotonic()
    assert httpx.get(f"{server.address}/assets/look.css", timeout=30).status_code == 200
    return time.monotonic() - began


def _told(wire: socket.socket) -> bytes:
    """All that comes until the other side closes."""
    answer = b""
    with contextlib.suppress(ConnectionError):
        while part := wire.recv(65536):
            answer += part
    return answer


def test_a_header_of_megabytes_is_turned_away_and_holds_up_nobody(server: Server) -> None:
    with _open(server) as wire:
        wire.sendall(b"GET / HTTP/1.1\r\nHost: here\r\nX-Long: ")
        with contextlib.suppress(ConnectionError):
            for _ in range(20):
                wire.sendall(b"x" * 2**20)
        assert _answers(server) < SOON_S
        assert _told(wire)[:12] in (b"HTTP/1.1 400", b"")


@pytest.mark.parametrize("lines", [b"X: y\r\n" * 20_000, b"X" * 100_000 + b": y\r\n"])
def test_many_header_lines_and_a_long_name_are_turned_away(server: Server, lines: bytes) -> None:
    with _open(server) as wire, contextlib.suppress(ConnectionError):
        wire.sendall(b"GET / HTTP/1.1\r\nHost: here\r\n" + lines + b"\r\n")
        assert not _told(wire).startswith(b"HTTP/1.1 200")


def test_half_open_connections_take_no_room_from_others(server: Server) -> None:
    with ExitStack() as stack:
        for _ in range(400):
            stack.enter_context(_open(server)).sendall(b"GET / HT")
        assert _answers(server) < SOON_S
        descriptors = len(list(Path(f"/proc/{server.process.pid}/fd").iterdir()))
        assert descriptors < 350  # 256 connections, and what the process needs itself
