"""The server process: the application, where it listens, and how it ends.

Where it asks for a token, that comes by a form or in the fragment of the printed address, and is in no log.
What the browser saves is a random word that is worth nothing after signing out.
"""

from __future__ import annotations

import asyncio
import contextlib
import logging
import signal
import socket
import sys
import webbrowser
from collections.abc import Callable, Iterator
from dataclasses import replace
from datetime import UTC, datetime
from math import ceil
from pathlib import Path
from typing import Any
from urllib.parse import parse_qs

import uvicorn
from starlette.middleware.gzip import GZipMiddleware
from starlette.requests import Request
from starlette.responses import FileResponse, HTMLResponse, RedirectResponse, Response
from starlette.routing import Mount, Route
from starlette.staticfiles import StaticFiles

from strikeproof.errors import StoreError
from strikeproof.plain_text import show_codes
from strikeproof.web.connections import LARGEST_HEADER, Connection, supervise
from strikeproof.web.drawings import register_chart_files
from strikeproof.web.guard import App, Guard
from strikeproof.web.look import look_of, style_markup
from strikeproof.web.navigation import register_pages
from strikeproof.web.plain import show_missing, show_tray, stop_work, take_from_tray
from strikeproof.web.routes import app
from strikeproof.web.sessions import Door, cookie_name
from strikeproof.web.site import LOOPBACK, Site
from strikeproof.web.work import WORK

__all__ = ["ASSETS", "make_application", "serve"]

ASSETS = Path(__file__).with_name("assets")
_LONGEST_LINE = 1000


def make_application(site: Site) -> App:
    """The whole application behind its guard; made once a process, as the pages register themselves."""
    door = Door(site.token, site.look_token)
    app.router.routes[:0] = [
        Mount("/assets", _Assets(directory=ASSETS)),
        Route("/favicon.ico", _mark),
        *_sign_in_routes(site, door),
        Route("/data/stop", stop_work, methods=["POST"]),
        Route("/data/tray", show_tray),
        Route("/data/tray/seen", take_from_tray, methods=["POST"]),
    ]
    register_chart_files(site)
    register_pages(site)
    show_missing(site)
    return GZipMiddleware(Guard(app, site, door), minimum_size=1000, compresslevel=4)


async def _mark(_request: Request) -> Response:
    return FileResponse(ASSETS / "mark.svg", media_type="image/svg+xml")


def serve(site: Site, *, say: Callable[[str], None], open_browser: bool = False) -> None:
    """Serve until Ctrl-C.

    Parameters
    ----------
    say
        Called with the address once the server answers.

    Raises
    ------
    StoreError
        If it cannot listen there, or the workspace cannot be made.
    """
    logging.setLogRecordFactory(_PlainRecord)
    site.workspace.mkdir(parents=True, exist_ok=True)
    listening = _listen(site.host, site.port)
    site = replace(site, port=listening.getsockname()[1])
    config = uvicorn.Config(
        make_application(site),
        log_level="warning",
        access_log=False,
        proxy_headers=False,
        server_header=False,
        loop="asyncio",
        http=Connection,
        h11_max_incomplete_event_size=LARGEST_HEADER,
        ws_max_size=2**20,
        timeout_graceful_shutdown=2,
        timeout_keep_alive=30,
    )

    def started() -> None:
        for line in _greeting(site):
            say(line)
        if open_browser:
            webbrowser.open(site.address)

    try:
        _Server(config, started).run(sockets=[listening])
    finally:
        listening.close()
        WORK.close()
        WORK.bury()


class _PlainRecord(logging.LogRecord):
    """One line of the log: what somebody asked for may hold line ends, or what a terminal obeys."""

    def __init__(self, *given: Any, **named: Any) -> None:
        super().__init__(*given, **named)
        is_frame = str(self.msg).startswith("Invalid UTF-8 sequence")
        if self.exc_info and self.exc_info[0] and is_frame:  # what a client sent is no mistake of ours
            self.msg, self.exc_info = f"{self.msg} ({self.exc_info[0].__name__})", None

    def getMessage(self) -> str:  # noqa: N802  # the library's name
        return show_codes(super().getMessage()).replace("\n", "\\n")[:_LONGEST_LINE]


def _greeting(site: Site) -> Iterator[str]:
    yield site.address
    if site.token is not None:
        yield f"password  {site.token}"
    if site.look_token is not None:
        yield f"to look and change nothing  {site.address_with(site.look_token)}"
    if site.host not in LOOPBACK:
        yield (
            f"This server listens on {site.host}: other machines can reach it, and only who has the password "
            "gets in. What it sends is not encrypted; use a network that you trust."
        )
    elif site.token is None:
        yield (
            "Every program and every user of this machine can open this address and do all that you can. "
            "On a machine that others use, start it with --ask-password."
        )
    yield "Ctrl-C ends it."


def _listen(host: str, port: int) -> socket.socket:
    try:
        family = socket.getaddrinfo(host, port, type=socket.SOCK_STREAM)[0][0]
        listening = socket.socket(family, socket.SOCK_STREAM)
        listening.setsockopt(socket.SOL_SOCKET, socket.SO_REUSEADDR, 1)
        listening.bind((host, port))
    except OSError as cause:
        raise StoreError(
            f"{host}:{port}: cannot listen there: {cause.strerror or cause}",
            "name another --web-port, or 0 for any that is free",
        ) from cause
    return listening


class _Assets(StaticFiles):
    """Files that a browser asks about again each time, so that it never mixes two versions."""

    async def get_response(self, path: str, scope: Any) -> Response:
        answer = await super().get_response(path, scope)
        answer.headers["cache-control"] = "no-cache"
        return answer


class _Server(uvicorn.Server):
    """A server that says when it answers, and for which Ctrl-C is the ordinary end."""

    def __init__(self, config: uvicorn.Config, started: Callable[[], None]) -> None:
        super().__init__(config)
        self._tell = started
        self._looking: asyncio.Task[None] | None = None

    async def startup(self, sockets: list[socket.socket] | None = None) -> None:
        await super().startup(sockets)
        if self.started:
            self._looking = asyncio.create_task(supervise(self.server_state.connections))
            self._tell()

    async def shutdown(self, sockets: list[socket.socket] | None = None) -> None:
        if self._looking is not None:
            self._looking.cancel()
        WORK.close()  # first, as the loop waits for the threads that wait for work
        await super().shutdown(sockets)

    @contextlib.contextmanager
    def capture_signals(self) -> Iterator[None]:
        before: dict[int, Any] = {
            each: signal.signal(each, self.handle_exit) for each in (signal.SIGINT, signal.SIGTERM)
        }
        try:
            yield
        finally:
            for each, handler in before.items():
                signal.signal(each, handler)


_PAGE = """<!doctype html>
<html lang="en" data-look="{look}"><head><meta charset="utf-8"><title>Sign in - Strikeproof</title>
<meta name="viewport" content="width=device-width, initial-scale=1">
{style}
<script src="/assets/sign-in.js" defer></script></head>
<body class="sign-in"><main>
<h1>Strikeproof</h1>
<p>This bench asks for its token, which was printed when it was started.</p>
{wrong}
<form method="post" action="/sign-in" class="stack">
<label for="token">Password</label>
<input id="token" name="token" type="password" autocomplete="current-password" required autofocus>
<button class="button primary" type="submit">Sign in</button>
</form></main></body></html>"""
_WRONG = (
    '<p class="error" role="alert">That is not the password. Look at the terminal where the server runs.</p>'
)
_WAIT = '<p class="error" role="alert">Too many wrong passwords. Try again in {wait} s.</p>'


def _sign_in_routes(site: Site, door: Door) -> list[Route]:
    """The form, what takes it, and the way out."""
    cookie = cookie_name(site.port)

    def form(request: Request, wrong: str = "", status: int = 200, **headers: str) -> Response:
        page = _PAGE.format(wrong=wrong, look=look_of(request.cookies), style=style_markup())
        return HTMLResponse(page, status, headers={"cache-control": "no-store", **headers})

    async def show(request: Request) -> Response:
        return form(request)

    async def take(request: Request) -> Response:
        words = parse_qs((await request.body()).decode("utf-8", "replace"), max_num_fields=10)
        given = words.get("token", [""])[0].strip()
        address = request.client.host if request.client else ""
        if door.is_open:
            return RedirectResponse("/", 303)
        wait = ceil(door.guesses.wait_s(address))
        if wait:
            return form(request, _WAIT.format(wait=wait), 429, **{"retry-after": str(wait)})
        found = door.sign_in(given, request.cookies.get(cookie, ""))
        if found is None:
            door.guesses.note_wrong(address)
            _note(f"a wrong password came from {address}")
            return form(request, _WRONG, 403)
        door.guesses.note_right(address)
        _note(f"{address} signed in{'' if found[1].rights == 'all' else ' to look'}")
        answer = RedirectResponse("/", 303)
        answer.set_cookie(cookie, found[0], httponly=True, samesite="strict", path="/")
        return answer

    async def leave(request: Request) -> Response:
        door.sign_out(request.cookies.get(cookie, ""))
        answer = RedirectResponse("/" if door.is_open else "/sign-in", 303)
        answer.delete_cookie(cookie, path="/", httponly=True, samesite="strict")
        return answer

    return [
        Route("/sign-in", show, methods=["GET"]),
        Route("/sign-in", take, methods=["POST"]),
        Route("/sign-out", leave, methods=["POST"]),
    ]


def _note(what: str) -> None:
    """A line for who watches the terminal; wrong tokens are few a minute, as they are slowed down."""
    print(f"{datetime.now(UTC):%Y-%m-%dT%H:%M:%SZ}  {what}", file=sys.stderr, flush=True)
