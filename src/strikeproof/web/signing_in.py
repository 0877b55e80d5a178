"""Signing in with a token, where the server asks for one, and signing out.

The token comes by a form or in the fragment of the printed address; neither stands in a log. What the browser
keeps is a random word that is worth nothing after signing out.
"""

from __future__ import annotations

import sys
from datetime import UTC, datetime
from math import ceil
from urllib.parse import parse_qs

from starlette.requests import Request
from starlette.responses import HTMLResponse, RedirectResponse, Response
from starlette.routing import Route

from strikeproof.web.look import look_of, style_markup
from strikeproof.web.sessions import Door, cookie_name
from strikeproof.web.site import Site

__all__ = ["sign_in_routes"]

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
<label for="token">Token</label>
<input id="token" name="token" type="password" autocomplete="current-password" required autofocus>
<button class="button primary" type="submit">Sign in</button>
</form></main></body></html>"""
_WRONG = (
    '<p class="error" role="alert">That is not the token. Look at the terminal where the server runs.</p>'
)
_WAIT = '<p class="error" role="alert">Too many wrong tokens came. The next one is looked at in {wait} s.</p>'


def sign_in_routes(site: Site, door: Door) -> list[Route]:
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
            _note(f"a wrong token came from {address}")
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
