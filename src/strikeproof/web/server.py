"""The server process: the application, where it listens, and how it ends."""

from __future__ import annotations

import asyncio
import contextlib
import logging
import signal
import socket
import webbrowser
from collections.abc import Callable, Iterator
from dataclasses import replace
from pathlib import Path
from typing import Any

import uvicorn
from fastapi import FastAPI
from starlette.middleware.gzip import GZipMiddleware
from starlette.responses import Response
from starlette.routing import Mount
from starlette.staticfiles import StaticFiles

from strikeproof.errors import StoreError
from strikeproof.plain_text import show_codes
from strikeproof.web.connections import LARGEST_HEADER, Connection, supervise
from strikeproof.web.drawings import register_chart_files
from strikeproof.web.guard import App, Guard
from strikeproof.web.navigation import register_pages
from strikeproof.web.sessions import Door
from strikeproof.web.signing_in import sign_in_routes
from strikeproof.web.site import LOOPBACK, Site
from strikeproof.web.work import WORK

__all__ = ["ASSETS", "make_application", "serve"]

ASSETS = Path(__file__).with_name("assets")
_LONGEST_LINE = 1000
_OF_FRAMES = ("engineio", "socketio")


def make_application(site: Site) -> App:
    """The whole application behind its guard; made once a process, as the pages register themselves."""
    from nicegui import core, ui

    door = Door(site.token, site.look_token)
    inner = FastAPI(docs_url=None, redoc_url=None, openapi_url=None)
    inner.router.routes += [
        Mount("/assets", _Assets(directory=ASSETS)),
        *sign_in_routes(site, door),
    ]
    register_chart_files(site)
    register_pages(site)
    core.app.config.socket_io_js_transports = ["websocket"]
    ui.run_with(
        inner,
        title="Strikeproof",
        favicon=ASSETS / "mark.svg",
        dark=None,
        language="en-US",
        tailwind=False,
        gzip_middleware_factory=None,  # compressed outside the guard, which still has to read the page
        show_welcome_message=False,
        reconnect_timeout=30.0,
        binding_refresh_interval=0.5,
    )
    return GZipMiddleware(Guard(inner, site, door), minimum_size=1000, compresslevel=4)


def serve(site: Site, *, say: Callable[[str], None], open_browser: bool = False) -> None:
    """Serve until Ctrl-C.

    Parameters
    ----------
    say
        Told the address once the server answers.

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
        is_frame = self.name.startswith(_OF_FRAMES) or str(self.msg).startswith("Invalid UTF-8 sequence")
        if self.exc_info and self.exc_info[0] and is_frame:  # what a client sent is no mistake of ours
            self.msg, self.exc_info = f"{self.msg} ({self.exc_info[0].__name__})", None

    def getMessage(self) -> str:  # noqa: N802  # the library's name
        return show_codes(super().getMessage()).replace("\n", "\\n")[:_LONGEST_LINE]


def _greeting(site: Site) -> Iterator[str]:
    yield site.address
    if site.token is not None:
        yield f"token  {site.token}"
    if site.look_token is not None:
        yield f"to look and change nothing  {site.address_with(site.look_token)}"
    if site.host not in LOOPBACK:
        yield (
            f"This server listens on {site.host}: other machines can reach it, and only who has the token "
            "gets in. What it sends is not encrypted; use a network that you trust."
        )
    elif site.token is None:
        yield (
            "Every program and every user of this machine can open this address and do all that you can. "
            "On a machine that others use, start it with --ask-token."
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
            "name another --port, or 0 for any that is free",
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
