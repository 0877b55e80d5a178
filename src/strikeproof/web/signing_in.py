"""Signing in with the token, where the server listens on more than this machine.

The token comes by a form or in the fragment of the printed address; neither stands in a log.
"""

from __future__ import annotations

from urllib.parse import parse_qs

from starlette.requests import Request
from starlette.responses import HTMLResponse, RedirectResponse, Response
from starlette.routing import Route

from strikeproof.web.guard import COOKIE, token_holds
from strikeproof.web.look import look_of, style_markup
from strikeproof.web.site import Site

__all__ = ["sign_in_routes"]

_PAGE = """<!doctype html>
<html lang="en" data-look="{look}"><head><meta charset="utf-8"><title>Sign in - Strikeproof</title>
<meta name="viewport" content="width=device-width, initial-scale=1">
{style}
<script src="/assets/sign-in.js" defer></script></head>
<body class="sign-in"><main>
<h1>Strikeproof</h1>
<p>Other machines can reach this bench, so it asks for its token, which was printed when it was started.</p>
{wrong}
<form method="post" action="/sign-in" class="stack">
<label for="token">Token</label>
<input id="token" name="token" type="password" autocomplete="current-password" required autofocus>
<button class="button primary" type="submit">Sign in</button>
</form></main></body></html>"""
_WRONG = (
    '<p class="error" role="alert">That is not the token. Look at the terminal where the server runs.</p>'
)


def sign_in_routes(site: Site) -> list[Route]:
    """The form, and what takes it."""

    def form(request: Request, wrong: str = "", status: int = 200) -> Response:
        page = _PAGE.format(wrong=wrong, look=look_of(request.cookies), style=style_markup())
        return HTMLResponse(page, status, headers={"cache-control": "no-store"})

    async def show(request: Request) -> Response:
        return form(request)

    async def take(request: Request) -> Response:
        words = parse_qs((await request.body()).decode("utf-8", "replace"))
        given = words.get("token", [""])[0].strip()
        if site.token is None:
            return RedirectResponse("/", 303)
        if not token_holds(site.token, given):
            return form(request, _WRONG, 403)
        answer = RedirectResponse("/", 303)
        answer.set_cookie(COOKIE, site.token, httponly=True, samesite="strict", path="/")
        return answer

    return [Route("/sign-in", show, methods=["GET"]), Route("/sign-in", take, methods=["POST"])]
