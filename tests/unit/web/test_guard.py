"""Who gets in, asked of the real server process through plain sockets and WebSockets."""

from __future__ import annotations

import contextlib
import json
import re
import signal
import socket
import subprocess
import sys
import time
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from pathlib import Path
from urllib.parse import quote

import httpx
import pytest
from websockets.exceptions import ConnectionClosed, InvalidStatus
from websockets.sync.client import connect

TOKEN = "a token; of the tests"
LOOK = "a token % only to look"


@dataclass(frozen=True)
class Server:
    port: int
    lines: tuple[str, ...]
    log: Path

    @property
    def address(self) -> str:
        return f"http://127.0.0.1:{self.port}"


def _serving(folder: Path, *options: str) -> Iterator[Server]:
    log = folder / "server.log"
    with log.open("w") as errors:
        command = [
            sys.executable,
            "-m",
            "strikeproof",
            "serve",
            "-w",
            str(folder / "lab"),
            "--web-port",
            "0",
            *options,
        ]
        process = subprocess.Popen(command, stdout=subprocess.PIPE, stderr=errors, text=True)
        assert process.stdout is not None
        lines = []
        while not lines or not lines[-1].startswith("Ctrl-C"):
            lines.append(process.stdout.readline().strip())
            assert lines[-1], log.read_text()
        port = int(lines[0].split(":")[2].split("/")[0])
        yield Server(port, tuple(lines), log)
        process.send_signal(signal.SIGINT)
        assert process.wait(15) == 0, log.read_text()
        process.stdout.close()


@pytest.fixture(scope="module")
def server(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Server]:
    yield from _serving(tmp_path_factory.mktemp("loopback"))


@pytest.fixture(scope="module")
def guarded(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Server]:
    yield from _serving(
        tmp_path_factory.mktemp("open"), "--host", "0.0.0.0", "--password", TOKEN, "--look-password", LOOK
    )


def _raw(server: Server, request: bytes) -> bytes:
    with socket.create_connection(("127.0.0.1", server.port), timeout=10) as wire:
        wire.sendall(request)
        answer = b""
        while part := wire.recv(65536):
            answer += part
            if b"\r\n\r\n" in answer:
                break
    return answer


def _status(server: Server, path: str = "/", method: str = "GET", **headers: str) -> int:
    names = {
        "sec_fetch_site": "Sec-Fetch-Site",
        "sec_fetch_mode": "Sec-Fetch-Mode",
        "sec_fetch_dest": "Sec-Fetch-Dest",
    }
    sent = {names.get(key, key): value for key, value in headers.items()}
    return httpx.request(method, server.address + path, headers=sent, timeout=20).status_code


def test_loopback_needs_no_token_and_is_the_default(server: Server) -> None:
    assert server.lines[0] == f"{server.address}/"
    assert not any(line.startswith("password") for line in server.lines)
    assert any("every user of this machine" in line and "--ask-password" in line for line in server.lines)
    assert _status(server) == 200


def test_it_does_not_listen_on_the_machine_s_other_addresses(server: Server) -> None:
    with socket.socket(socket.AF_INET, socket.SOCK_STREAM) as wire:
        wire.settimeout(2)
        # All of 127/8 is this machine; only the one address is bound.
        assert wire.connect_ex(("127.0.0.2", server.port)) != 0


@pytest.mark.parametrize(
    "host",
    [
        "evil.example",
        "evil.example:{port}",
        "127.0.0.1",
        "127.0.0.1:1",
        "127.0.0.1.evil.example:{port}",
        "",
        "[::1",
    ],
)
def test_a_strange_host_is_turned_away(server: Server, host: str) -> None:
    name = host.format(port=server.port)
    answer = _raw(server, f"GET / HTTP/1.1\r\nHost: {name}\r\n\r\n".encode())
    assert answer.split(b" ")[1] in (b"421", b"400")
    assert b"<html" not in answer


@pytest.mark.parametrize("host", ["127.0.0.1:{port}", "localhost:{port}", "LOCALHOST:{port}"])
def test_its_own_names_are_known(server: Server, host: str) -> None:
    name = host.format(port=server.port)
    assert _raw(server, f"GET / HTTP/1.1\r\nHost: {name}\r\n\r\n".encode()).startswith(b"HTTP/1.1 200")


def test_two_hosts_in_one_request_are_turned_away(server: Server) -> None:
    request = f"GET / HTTP/1.1\r\nHost: 127.0.0.1:{server.port}\r\nHost: evil.example\r\n\r\n"
    assert _raw(server, request.encode()).split(b" ")[1] in (b"421", b"400")


@pytest.mark.parametrize(
    "origin", [None, "null", "http://evil.example", "https://127.0.0.1:{port}", "http://127.0.0.1:1"]
)
def test_what_changes_something_needs_the_own_origin(server: Server, origin: str | None) -> None:
    headers = {} if origin is None else {"Origin": origin.format(port=server.port)}
    assert httpx.post(f"{server.address}/sign-in", data={"token": "x"}, headers=headers).status_code == 403


def test_the_own_origin_may_change_something(server: Server) -> None:
    answer = httpx.post(f"{server.address}/sign-in", data={"token": "x"}, headers={"Origin": server.address})
    assert answer.status_code == 303


@pytest.mark.parametrize("site", ["cross-site", "same-site"])
def test_other_pages_get_nothing_drawn_from_here(server: Server, site: str) -> None:
    assert _status(server, sec_fetch_site=site, sec_fetch_mode="no-cors", sec_fetch_dest="image") == 403
    assert _status(server, sec_fetch_site=site, sec_fetch_mode="navigate", sec_fetch_dest="iframe") == 403
    assert _status(server, sec_fetch_site=site, sec_fetch_mode="navigate", sec_fetch_dest="document") == 200


def _socket_address(server: Server) -> str:
    return f"ws://127.0.0.1:{server.port}/record/wire"


@pytest.mark.parametrize("origin", [None, "http://evil.example", "null"])
def test_a_websocket_of_another_page_is_closed(server: Server, origin: str | None) -> None:
    with pytest.raises(InvalidStatus) as refused, connect(_socket_address(server), origin=origin, proxy=None):  # type: ignore[arg-type]  # a plain text
        pass
    assert refused.value.response.status_code == 403


def test_its_own_websocket_opens(server: Server) -> None:
    with connect(_socket_address(server), origin=server.address, proxy=None) as wire:  # type: ignore[arg-type]  # a plain text
        assert "state" in json.loads(wire.recv(10))


def test_a_body_too_large_is_refused_by_what_it_declares_and_by_what_comes(server: Server) -> None:
    headers = {"Origin": server.address}
    big = b"token=" + b"x" * 2**21
    assert httpx.post(f"{server.address}/sign-in", content=big, headers=headers).status_code == 413

    def pieces() -> Iterator[bytes]:
        for _ in range(40):
            yield b"x" * 2**16

    assert httpx.post(f"{server.address}/sign-in", content=pieces(), headers=headers).status_code == 413


def test_every_answer_carries_safe_headers(server: Server) -> None:
    for path in ("/", "/assets/look.css", "/sign-in", "/no-such-page"):
        headers = httpx.get(server.address + path).headers
        assert headers["x-content-type-options"] == "nosniff"
        assert headers["x-frame-options"] == "DENY"
        policy = headers["content-security-policy"]
        assert "default-src 'none'" in policy and "frame-ancestors 'none'" in policy
        assert "http:" not in policy
        assert "script-src 'self';" in policy  # no script is compiled in the browser, and none is in a page
        assert "server" not in headers


def test_no_page_holds_a_script_and_what_is_not_there_is_a_page_too(server: Server) -> None:
    for path, status in (("/", 200), ("/record", 200), ("/no-such-page", 404)):
        answer = httpx.get(server.address + path, headers={"accept": "text/html"})
        assert answer.status_code == status and 'class="rail"' in answer.text
        assert not re.search(r"<script(?![^>]* src=)", answer.text)


@pytest.mark.parametrize(
    "path", ["/assets/../server.py", "/assets/%2e%2e/server.py", "/assets/..%2fserver.py"]
)
def test_assets_lead_nowhere_else(server: Server, path: str) -> None:
    request = f"GET {path} HTTP/1.1\r\nHost: 127.0.0.1:{server.port}\r\n\r\n"
    answer = _raw(server, request.encode())
    assert b"import" not in answer and not answer.startswith(b"HTTP/1.1 200")


def test_off_loopback_it_says_so_and_hands_the_token_over_in_a_fragment(guarded: Server) -> None:
    assert guarded.lines[0] == f"{guarded.address}/sign-in#{quote(TOKEN, safe='')}"
    assert any(line.endswith(f"/sign-in#{quote(LOOK, safe='')}") for line in guarded.lines)
    assert any("other machines can reach it" in line for line in guarded.lines)


def test_without_the_token_there_is_only_the_form(guarded: Server) -> None:
    page = httpx.get(guarded.address, headers={"Accept": "text/html"})
    assert page.status_code == 303 and page.headers["location"] == "/sign-in"
    assert _status(guarded, "/assets/shell.js") == 401
    assert _status(guarded, "/sign-in") == 200
    name = f"strikeproof_session_{guarded.port}"
    wrong = httpx.get(guarded.address, headers={"Cookie": f"{name}={TOKEN}"})
    assert wrong.status_code == 401
    foreign = httpx.get(guarded.address, headers={"Cookie": f"{name}=\xe4".encode("latin-1")})
    assert foreign.status_code == 401
    with (
        pytest.raises(InvalidStatus) as refused,
        connect(_socket_address(guarded), origin=guarded.address, proxy=None),  # type: ignore[arg-type]  # a plain text
    ):
        pass
    assert refused.value.response.status_code == 403


@contextmanager
def _signed_in(server: Server, token: str = TOKEN) -> Iterator[httpx.Client]:
    with httpx.Client(base_url=server.address, headers={"Origin": server.address}) as browser:
        assert browser.post("/sign-in", data={"token": token}).status_code == 303
        yield browser


def test_the_right_token_gives_a_cookie_that_scripts_and_other_sites_cannot_use(guarded: Server) -> None:
    own = {"Origin": guarded.address}
    assert httpx.post(f"{guarded.address}/sign-in", data={"token": "wrong"}, headers=own).status_code == 403
    with httpx.Client() as browser:
        answer = browser.post(f"{guarded.address}/sign-in", data={"token": TOKEN}, headers=own)
        cookie = answer.headers["set-cookie"]
        assert "httponly" in cookie.lower() and "samesite=strict" in cookie.lower()
        assert str(guarded.port) in cookie.split("=")[0] and "token" not in cookie
        assert browser.get(guarded.address).status_code == 200


def test_signing_out_makes_the_cookie_worthless(guarded: Server) -> None:
    with _signed_in(guarded) as browser:
        kept = browser.cookies[f"strikeproof_session_{guarded.port}"]
        assert browser.post("/sign-out").status_code == 303
    again = {"Cookie": f"strikeproof_session_{guarded.port}={kept}"}
    assert httpx.get(guarded.address, headers=again).status_code == 401


def test_who_only_looks_gets_every_page_and_changes_nothing(guarded: Server) -> None:
    with _signed_in(guarded, LOOK) as browser:
        page = browser.get("/plan")
        assert page.status_code == 200 and "You are looking only" in page.text
        refused = browser.post("/upload/file", content=b"x")
        assert refused.status_code == 403 and "looking" in refused.text
        assert browser.post("/sign-out").status_code == 303


def test_a_bare_address_of_the_machine_is_known_but_no_other_name(guarded: Server) -> None:
    with _signed_in(guarded) as browser:
        kept = browser.cookies[f"strikeproof_session_{guarded.port}"]
    cookie = f"Cookie: strikeproof_session_{guarded.port}={kept}"
    for host, expected in ((f"192.0.2.7:{guarded.port}", b"200"), (f"evil.example:{guarded.port}", b"421")):
        answer = _raw(guarded, f"GET / HTTP/1.1\r\nHost: {host}\r\n{cookie}\r\n\r\n".encode())
        assert answer.split(b" ")[1] == expected


def test_a_query_never_signs_in(guarded: Server) -> None:
    query = f"token={quote(TOKEN)}"
    assert _status(guarded, f"/?{query}") == 401
    assert _status(guarded, f"/sign-in?{query}") == 200
    assert "set-cookie" not in httpx.get(f"{guarded.address}/sign-in?{query}").headers


def test_the_token_is_in_no_log(guarded: Server) -> None:
    httpx.post(f"{guarded.address}/sign-in", data={"token": TOKEN}, headers={"Origin": guarded.address})
    log = guarded.log.read_text()
    assert TOKEN not in log and LOOK not in log
    assert "127.0.0.1 signed in" in log and "a wrong password came from 127.0.0.1" in log


def test_what_somebody_asks_for_writes_one_plain_line_into_the_log(server: Server) -> None:
    for path in ("/a%1b%5b2Jc", "/d" * 5000):
        assert _status(server, path) == 404
    log = server.log.read_text()
    assert "/a\\x1b[2Jc not found" in log and "\x1b" not in log
    assert max(map(len, log.splitlines())) <= 1000


def test_who_leaves_or_sends_odd_frames_fills_no_log_with_stacks(server: Server) -> None:
    head = f"Host: 127.0.0.1:{server.port}\r\nOrigin: {server.address}\r\nContent-Length: 9\r\n\r\n"
    with socket.create_connection(("127.0.0.1", server.port)) as wire:
        wire.sendall(f"POST /sign-in HTTP/1.1\r\n{head}tok".encode())
    for frame in (b"\xff\xfe", "42" + "[" * 20_000, "4" * 60_000):
        with connect(_socket_address(server), origin=server.address, proxy=None) as wire:  # type: ignore[arg-type]
            wire.recv(10)
            wire.send(frame)
            with contextlib.suppress(ConnectionClosed, TimeoutError):
                wire.recv(0.3)
    time.sleep(0.3)
    assert _status(server) == 200
    log = server.log.read_text()
    assert "Traceback" not in log


def test_guesses_are_slowed_down_and_the_right_token_waits_too(guarded: Server) -> None:
    own = {"Origin": guarded.address}

    def guess(token: str) -> httpx.Response:
        return httpx.post(f"{guarded.address}/sign-in", data={"token": token}, headers=own)

    answers = [guess(f"wrong {number}") for number in range(6)]
    assert [answer.status_code for answer in answers[:3]] == [403, 403, 403]
    assert answers[-1].status_code == 429 and int(answers[-1].headers["retry-after"]) >= 1
    assert guess(TOKEN).status_code == 429


def test_a_short_token_is_refused(tmp_path: Path) -> None:
    command = [sys.executable, "-m", "strikeproof", "serve", "-w", str(tmp_path), "--password", "short"]
    done = subprocess.run(command, capture_output=True, text=True, timeout=60, check=False)
    assert done.returncode == 2 and "--password" in done.stderr and "Traceback" not in done.stderr


def test_off_loopback_a_token_is_made_when_none_is_given(tmp_path: Path) -> None:
    (one,) = (server.lines[0] for server in _serving(tmp_path, "--host", "0.0.0.0"))
    assert len(one.split("#")[1]) >= 32


def test_on_loopback_too_it_asks_for_a_token_when_it_should(tmp_path: Path) -> None:
    for server in _serving(tmp_path, "--ask-password"):
        assert len(server.lines[0].split("#")[1]) >= 32
        assert not any("every user" in line or "other machines" in line for line in server.lines)
        assert _status(server) == 401


def test_a_link_on_another_page_cannot_start_work(server: Server) -> None:
    sent = {"sec_fetch_site": "cross-site", "sec_fetch_mode": "navigate", "sec_fetch_dest": "document"}
    for path in ("/data/chart/scores.svg", "/published/page.html", "/published/film/a"):
        assert _status(server, path, **sent) == 403


def test_a_port_in_use_is_told(server: Server, tmp_path: Path) -> None:
    command = [
        sys.executable,
        "-m",
        "strikeproof",
        "serve",
        "-w",
        str(tmp_path),
        "--web-port",
        str(server.port),
    ]
    done = subprocess.run(command, capture_output=True, text=True, timeout=60, check=False)
    assert done.returncode == 2 and "cannot listen" in done.stderr and "--web-port" in done.stderr
