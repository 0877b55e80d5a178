"""The index of another shelf, from a disk or from an address: the one place that asks a network."""

from __future__ import annotations

import http.client
import time
from pathlib import Path
from typing import Any, Final
from urllib.error import URLError
from urllib.parse import urlsplit
from urllib.request import HTTPRedirectHandler, Request, build_opener

from strikeproof.errors import StoreError

__all__ = ["fetch_index"]

_MOST_BYTES: Final = 1 << 28
_SILENCE_S: Final = 20.0
_LONGEST_S: Final = 300.0
_PIECE: Final = 1 << 16


class _SameHost(HTTPRedirectHandler):
    """Follows a redirect only to the same host: nobody else is asked than whom a person named."""

    def redirect_request(
        self, req: Request, fp: Any, code: int, msg: str, headers: Any, newurl: str
    ) -> Request | None:
        there = urlsplit(newurl)
        if there.hostname != urlsplit(req.full_url).hostname or there.scheme not in ("http", "https"):
            raise StoreError(f"{req.full_url}: leads on to {newurl}", "name that address if you trust it")
        return super().redirect_request(req, fp, code, msg, headers, newurl)


def fetch_index(source: str | Path, into: Path) -> Path:
    """A file as it is; what is at an address is fetched to `into`, within bounds of size and time.

    Raises
    ------
    StoreError
        If it cannot be fetched, is too large, takes too long, or leads to another host.
    """
    if urlsplit(str(source)).scheme not in ("http", "https"):
        return Path(source)
    ends = time.monotonic() + _LONGEST_S
    size = 0
    try:
        with (
            build_opener(_SameHost).open(Request(str(source)), timeout=_SILENCE_S) as answer,
            into.open("xb") as out,
        ):
            while piece := answer.read(_PIECE):
                size += out.write(piece)
                if size > _MOST_BYTES or time.monotonic() > ends:
                    raise StoreError(
                        f"{source}: is too large or takes too long", "save it to a file yourself"
                    )
    except (URLError, http.client.HTTPException, OSError, ValueError) as cause:
        raise StoreError(
            f"{source}: cannot be fetched: {cause}", "check the address and the network"
        ) from cause
    return into
