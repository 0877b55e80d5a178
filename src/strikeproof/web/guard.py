"""Who may ask what: the first thing that meets every request and every WebSocket.

A server on this machine is within reach of every page that its browser has open. A name that suddenly
points here (DNS rebinding) shows in Host, a strange page shows in Origin and Sec-Fetch-Site, and where the
server asks for a token the cookie must name a session.
"""

from __future__ import annotations

import contextlib
import ipaddress
import re
import socket
from collections.abc import Awaitable, Callable, MutableMapping
from typing import Any, Final

from starlette.requests import ClientDisconnect

from strikeproof.web.looking import LOOKS_ONLY, Looking, looks_only, may_ask
from strikeproof.web.sessions import Door, Session, cookie_name
from strikeproof.web.site import LOOPBACK, Site
from strikeproof.web.work import PERSON

__all__ = ["LARGEST_BODY", "LARGEST_UPLOAD", "UPLOADS", "Guard", "cookie_of"]

UPLOADS: Final = "/upload/"
"""Below this path bodies may be large; whoever answers there writes them to disk as they come."""
LARGEST_BODY: Final = 2**20
LARGEST_UPLOAD: Final = 2**30
OPEN_PATHS: Final = ("/sign-in", "/assets/sign-in.js", "/assets/look.css", "/favicon.ico")

Scope = MutableMapping[str, Any]
Message = MutableMapping[str, Any]
Receive = Callable[[], Awaitable[Message]]
Send = Callable[[Message], Awaitable[None]]
App = Callable[[Scope, Receive, Send], Awaitable[None]]

_WORKED_OUT: Final = ("/data/", "/published/")
"""Below these paths an answer may take work, so that no other page may even open them."""

_TOO_MUCH = "This is more than the server takes at once."
_READING = ("GET", "HEAD", "OPTIONS")


class Guard:
    """ASGI middleware around the whole application."""

    def __init__(self, app: App, site: Site, door: Door) -> None:
        self.app = app
        self.site = site
        self.door = door

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        """Answer a request that may not pass, else hand it on with limits and with safe headers."""
        if scope["type"] not in ("http", "websocket"):
            await self.app(scope, receive, send)
            return
        scope["headers"] = [
            pair for pair in scope["headers"] if not pair[0].lower().startswith(b"x-forwarded-")
        ]
        headers = _headers(scope)
        session = self.door.session(cookie_of(headers.get("cookie", ""), self.site.port))
        PERSON.set(session.person if session else (scope.get("client") or ("",))[0])
        scope[LOOKS_ONLY] = session is not None and session.rights == "look"
        refusal = self._refusal(scope, headers, session)
        if refusal is not None:
            await _refuse(scope, send, *refusal)
        elif scope["type"] == "websocket":
            await self.app(scope, Looking(receive, scope["path"]) if looks_only(scope) else receive, send)
        else:
            limited = _Limited(receive, LARGEST_UPLOAD if scope["path"].startswith(UPLOADS) else LARGEST_BODY)
            await self._answer(scope, limited, send)

    def _refusal(
        self, scope: Scope, headers: dict[str, str], session: Session | None
    ) -> tuple[int, str] | None:
        """Status and reason of a request that may not pass."""
        if not self._knows_host(headers.get("host", "")):
            return 421, "This address is not the one the server was started on."
        if not _same_site(scope, headers):
            return 403, "Another page asked for this; open the address in a tab of its own."
        unsigned = self._unsigned(scope, headers, session)
        if unsigned is not None:
            return unsigned
        if _declared_size(headers) > (LARGEST_UPLOAD if scope["path"].startswith(UPLOADS) else LARGEST_BODY):
            return 413, _TOO_MUCH
        return None

    def _unsigned(
        self, scope: Scope, headers: dict[str, str], session: Session | None
    ) -> tuple[int, str] | None:
        """The same for who has not signed in, or only to look."""
        if session is None and not self.door.is_open and scope["path"] not in OPEN_PATHS:
            if (
                scope["type"] == "http"
                and scope["method"] == "GET"
                and "text/html" in headers.get("accept", "")
            ):
                return 303, "/sign-in"
            return 401, "Sign in first."
        if looks_only(scope) and not may_ask(scope):
            return 403, "You signed in with the password for looking, which changes nothing."
        return None

    def _knows_host(self, host: str) -> bool:
        name, port = _split_host(host)
        if port != self.site.port:
            return False
        if name in (self.site.host.lower(), *(LOOPBACK if self.site.host not in LOOPBACK else ())):
            return True
        if self.site.host in LOOPBACK:
            return name in LOOPBACK
        if self.site.host not in ("0.0.0.0", "::"):
            return False
        # A rebinding page can only come with a name of its own, never with a bare address.
        own = socket.gethostname().lower()
        return _is_address(name) or name in (own, f"{own}.local")

    async def _answer(self, scope: Scope, receive: _Limited, send: Send) -> None:
        """Pass the request on; the answer gets safe headers."""
        answer = _Answer(send, framed=scope["path"].startswith("/published/"))

        async def unless_too_much(message: Message) -> None:
            if receive.left >= 0 or answer.started:
                await answer.send(message)

        with contextlib.suppress(_TooMuch, ClientDisconnect):  # who leaves is no mistake of ours
            await self.app(scope, receive, unless_too_much)
        if receive.left < 0 and not answer.started:
            await _refuse(scope, send, 413, _TOO_MUCH)


class _TooMuch(Exception):
    """A body that grows beyond its limit; whatever the application would say to that is not sent."""


class _Limited:
    """A body that ends the request when it grows too large, whatever size was declared."""

    def __init__(self, receive: Receive, most: int) -> None:
        self.receive = receive
        self.left = most

    async def __call__(self) -> Message:
        message = await self.receive()
        self.left -= len(message.get("body", b""))
        if self.left < 0:
            raise _TooMuch
        return message


class _Answer:
    """An answer on its way out, with safe headers."""

    def __init__(self, send: Send, *, framed: bool) -> None:
        self.pass_on = send
        self.framed = framed
        self.started = False

    async def send(self, message: Message) -> None:
        if message["type"] == "http.response.start":
            headers = [pair for pair in message["headers"] if pair[0].lower() != b"server"]
            own_policy = any(name.lower() == b"content-security-policy" for name, _value in headers)
            message["headers"] = [*headers, *_safe_headers(framed=self.framed, own_policy=own_policy)]
            self.started = True
        await self.pass_on(message)


def _safe_headers(*, framed: bool, own_policy: bool) -> list[tuple[bytes, bytes]]:
    """Headers of every answer.

    No script is compiled in the browser, and no page holds one; charts set styles at elements, which
    takes `unsafe-inline` for styles; all else is closed.
    """
    around = "'self'" if framed else "'none'"
    policy = (
        "default-src 'none'; "
        "script-src 'self'; style-src 'self' 'unsafe-inline'; "
        "img-src 'self' data: blob:; font-src 'self'; media-src 'self' blob:; connect-src 'self'; "
        "frame-src 'self'; "
        f"form-action 'self'; base-uri 'none'; object-src 'none'; frame-ancestors {around}"
    )
    pairs = [
        ("x-content-type-options", "nosniff"),
        ("x-frame-options", "SAMEORIGIN" if framed else "DENY"),
        # Without any referrer a browser sends "null" as the origin of a form, which then cannot be checked.
        ("referrer-policy", "same-origin"),
        ("cross-origin-opener-policy", "same-origin"),
        ("cross-origin-resource-policy", "same-origin"),
        ("permissions-policy", "camera=(), geolocation=(), microphone=(self)"),
    ]
    if not own_policy:
        pairs.append(("content-security-policy", policy))
    return [(name.encode(), value.encode()) for name, value in pairs]


def _same_site(scope: Scope, headers: dict[str, str]) -> bool:
    """Whether a request comes from a page of this server, or from a person who opened its address."""
    ours = f"http://{headers.get('host', '')}"
    changes = scope["type"] == "websocket" or scope["method"] not in _READING
    if changes or "origin" in headers:
        return headers.get("origin") == ours
    if headers.get("sec-fetch-site", "none") in ("same-origin", "none"):
        return True
    if scope["path"].startswith(_WORKED_OUT):
        return False
    # A link on another page may be followed; nothing of ours may be drawn into it.
    return headers.get("sec-fetch-mode") == "navigate" and headers.get("sec-fetch-dest") == "document"


def _headers(scope: Scope) -> dict[str, str]:
    """Header names in small letters; one that comes twice with two values counts as neither."""
    found: dict[str, str] = {}
    for name, value in scope["headers"]:
        key, text = name.decode("latin-1").lower(), value.decode("latin-1")
        if key in ("host", "origin") and found.get(key, text) != text:
            text = "?"
        found[key] = f"{found[key]}; {text}" if key == "cookie" and key in found else text
    return found


def _split_host(host: str) -> tuple[str, int]:
    """Name and port of a Host header; port 80 where none is given."""
    match = re.fullmatch(r"(\[[0-9a-fA-F:.]+\]|[^\[\]:/@?#\s]+)(?::(\d{1,5}))?", host)
    return ("", -1) if match is None else (match[1].strip("[]").lower(), int(match[2] or 80))


def _is_address(name: str) -> bool:
    try:
        ipaddress.ip_address(name)
    except ValueError:
        return False
    return True


def cookie_of(header: str, port: int) -> str:
    """The session's word that a Cookie header holds, or nothing."""
    pairs = (each.strip().partition("=") for each in header.split(";"))
    return next((value for name, _sign, value in pairs if name == cookie_name(port)), "")


def _declared_size(headers: dict[str, str]) -> int:
    text = headers.get("content-length", "0")
    return int(text) if text.isascii() and text.isdecimal() and len(text) < 19 else 2**62


async def _refuse(scope: Scope, send: Send, status: int, reason: str) -> None:
    if scope["type"] == "websocket":
        await send({"type": "websocket.close", "code": 1008, "reason": reason})
        return
    goes_on = status == 303
    headers = [(b"content-type", b"text/plain; charset=utf-8"), (b"cache-control", b"no-store")]
    headers += _safe_headers(framed=False, own_policy=False)
    headers += [(b"location", reason.encode())] if goes_on else [(b"connection", b"close")]
    body = b"" if goes_on else reason.encode()
    headers.append((b"content-length", str(len(body)).encode()))
    await send({"type": "http.response.start", "status": status, "headers": headers})
    await send({"type": "http.response.body", "body": body})
