"""What one running server knows: its workspace, where it listens, and who may come in."""

from __future__ import annotations

import secrets
from dataclasses import dataclass, field
from pathlib import Path
from urllib.parse import quote

from strikeproof.errors import BadInput

__all__ = ["LOOPBACK", "Site", "open_site"]

LOOPBACK = ("127.0.0.1", "localhost", "::1")

_SHORTEST_TOKEN = 16


@dataclass(frozen=True, slots=True)
class Site:
    """One server on one workspace.

    Parameters
    ----------
    workspace
        Its folder; nothing outside it is read or written.
    host, port
        Where it listens.
    token
        What a browser has to know, or None on loopback.
    look_token
        What lets a browser look at everything and change nothing, or None.
    any_port
        Whether the recorder opens ports that the machine does not list.
    language
        What a browser is answered in that has not chosen a language, or None for the browser's own.
    """

    workspace: Path
    host: str
    port: int
    token: str | None = field(repr=False)
    look_token: str | None = field(default=None, repr=False)
    any_port: bool = False
    language: str | None = None

    @property
    def campaigns(self) -> Path:
        """Where the browser puts campaign folders, and the only place it loads them from."""
        return self.workspace / "campaigns"

    @property
    def address(self) -> str:
        """What to open; the token is in its fragment, which no browser sends to a server."""
        return self.address_with(self.token)

    def address_with(self, token: str | None) -> str:
        """The address to open in a browser, with a token to sign in by."""
        shown = "127.0.0.1" if self.host in ("0.0.0.0", "::") else self.host
        place = f"http://{f'[{shown}]' if ':' in shown else shown}:{self.port}/"
        return place if token is None else f"{place}sign-in#{quote(token, safe='')}"


def open_site(
    workspace: Path,
    host: str,
    port: int,
    token: str | None,
    *,
    look_token: str | None = None,
    ask: bool = False,
    any_port: bool = False,
    language: str | None = None,
) -> Site:
    """A site; on any address but loopback, or to `ask`, it gets a token when none is given.

    Raises
    ------
    BadInput
        If a token is too short to keep anybody out, or cannot be typed.
    """
    for where, given in (("--password", token), ("--look-password", look_token)):
        if given is not None:
            _require_token(where, given)
    if token is None and (ask or look_token is not None or host not in LOOPBACK):
        token = secrets.token_urlsafe(24)
    if token is not None and token == look_token:
        raise BadInput(
            "it is the same as --password",
            where="--look-password",
            allowed="another one",
            fix="choose another one for those who only look",
        )
    return Site(workspace.resolve(), host, port, token, look_token, any_port, language)


def _require_token(where: str, token: str) -> None:
    if len(token) < _SHORTEST_TOKEN:
        raise BadInput(
            f"the password has {len(token)} letters",
            where=where,
            allowed=f"at least {_SHORTEST_TOKEN}",
            fix="leave it out to have one made" if where == "--password" else "choose a longer one",
        )
    if token != token.strip() or not token.isprintable():
        raise BadInput(
            "the password begins or ends with a space, or holds a character that cannot be typed",
            where=where,
            allowed="letters, digits, signs, and spaces between them",
            fix="choose another one",
        )
