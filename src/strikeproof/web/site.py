"""What one running server knows: its workspace, where it listens, and who may come in."""

from __future__ import annotations

import secrets
from dataclasses import dataclass, field
from pathlib import Path

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
    """

    workspace: Path
    host: str
    port: int
    token: str | None = field(repr=False)

    @property
    def campaigns(self) -> Path:
        """Where the browser puts campaign folders, and the only place it loads them from."""
        return self.workspace / "campaigns"

    @property
    def address(self) -> str:
        """What to open; the token stands in its fragment, which no browser sends to a server."""
        shown = "127.0.0.1" if self.host in ("0.0.0.0", "::") else self.host
        place = f"http://{f'[{shown}]' if ':' in shown else shown}:{self.port}/"
        return place if self.token is None else f"{place}sign-in#{self.token}"


def open_site(workspace: Path, host: str, port: int, token: str | None) -> Site:
    """A site; on any address but loopback it gets a token when none is given.

    Raises
    ------
    BadInput
        If the token is too short to keep anybody out.
    """
    if token is not None and len(token) < _SHORTEST_TOKEN:
        raise BadInput(
            f"the token has {len(token)} letters",
            where="--token",
            allowed=f"at least {_SHORTEST_TOKEN}",
            mend="leave it out to have one made",
        )
    if token is None and host not in LOOPBACK:
        token = secrets.token_urlsafe(24)
    return Site(workspace.resolve(), host, port, token)
