"""A shelf, or a listing of bundles, at an address: the one place that asks a network."""

from __future__ import annotations

import http.client
import re
import time
from collections.abc import Iterable
from dataclasses import dataclass
from html.parser import HTMLParser
from pathlib import Path, PurePosixPath
from typing import Any, Final
from urllib.error import HTTPError, URLError
from urllib.parse import unquote, urljoin, urlsplit
from urllib.request import HTTPRedirectHandler, Request, build_opener

from strikeproof.errors import BadInput, StoreError

__all__ = ["Fetched", "fetch_index", "fetch_shelf", "is_address"]

_MOST_BYTES: Final = 1 << 28
_MOST_LISTING: Final = 1 << 24
_MOST_BUNDLES: Final = 1_000
_MOST_IN_ALL: Final = 1 << 32
_SILENCE_S: Final = 20.0
_LONGEST_S: Final = 300.0
_PIECE: Final = 1 << 16
_PLAIN_NAME: Final = re.compile(r"[\w(#+,@= -][\w.()#+,@= -]*\.zip(?:\.sig)?", re.ASCII)


@dataclass(frozen=True, slots=True)
class Fetched:
    """What came from an address: an index, or bundles in `folder`; every address that was asked for."""

    folder: Path
    index: Path | None
    addresses: tuple[str, ...]


class _SameHost(HTTPRedirectHandler):
    """Follows a redirect only to the same host, kind and port, or from http to https at their usual ports:
    nobody else is asked than whom a person named, and never less safely."""

    def redirect_request(
        self, req: Request, fp: Any, code: int, msg: str, headers: Any, newurl: str
    ) -> Request | None:
        here, there = urlsplit(req.full_url), urlsplit(newurl)
        schemes = (here.scheme, there.scheme)
        safer = schemes == ("http", "https") and here.port is there.port is None
        same = schemes in (("http", "http"), ("https", "https")) and here.port == there.port
        if here.hostname != there.hostname or not (same or safer):
            raise StoreError(f"{req.full_url}: leads on to {newurl}", "name that address if you trust it")
        return super().redirect_request(req, fp, code, msg, headers, newurl)


class _Links(HTMLParser):
    """The addresses that a page links to."""

    def __init__(self) -> None:
        super().__init__()
        self.found: list[str] = []

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        self.found += [value for key, value in attrs if tag == "a" and key == "href" and value]


def is_address(source: str | Path) -> bool:
    """Whether it is an http(s) address and no file."""
    return urlsplit(str(source)).scheme in ("http", "https")


def fetch_index(source: str | Path, into: Path) -> Path:
    """A file as it is; what is at an address is fetched to `into`, within bounds of size and time.

    Raises
    ------
    StoreError
        If it cannot be fetched, is too large, takes too long, or leads to another host.
    """
    if not is_address(source):
        return Path(source)
    try:
        _fetch(str(source), into, _MOST_BYTES)
    except HTTPError as cause:
        raise _unreachable(str(source), cause) from cause
    return into


def fetch_shelf(address: str, room: Path) -> Fetched:
    """A shelf at an address: its index.json; where there is none, the bundles that a listing links to.

    Parameters
    ----------
    address
        Of an index, of the folder of a shelf, or of a listing of a folder with bundles.
    room
        An empty folder for what is fetched.

    Raises
    ------
    BadInput
        If neither an index nor a bundle is there.
    StoreError
        If it cannot be fetched, is too large, takes too long, or leads to another host.
    """
    index, folder = room / "index.json", room / "bundles"
    folder.mkdir()
    base = address if address.endswith(("/", ".json", ".html")) else f"{address}/"
    where = base if base.endswith(".json") else urljoin(base, "index.json")
    try:
        _fetch(where, index, _MOST_BYTES)
        return Fetched(folder, index, (where,))
    except HTTPError as cause:
        if where == base or cause.code not in (404, 410):
            raise _unreachable(where, cause) from cause
    listing = room / "listing.html"
    try:
        _fetch(base, listing, _MOST_LISTING)
    except HTTPError as cause:
        raise _unreachable(base, cause) from cause
    looked = _Links()
    looked.feed(listing.read_text("utf-8", "replace"))
    bundles = _bundles(base, looked.found)
    if not bundles:
        raise BadInput(
            "there is no index.json and no link to a bundle",
            where=base,
            allowed="a shelf, or a listing of a folder with bundles",
            fix="check the address",
        )
    return Fetched(folder, None, (where, base, *_fetch_all(bundles, folder)))


def _bundles(base: str, links: Iterable[str]) -> dict[str, str]:
    """File name and address of each bundle and signature that lies in the listed folder itself."""
    there = urljoin(base, ".")
    found: dict[str, str] = {}
    for link in links:
        try:
            full = urljoin(base, link).split("#")[0].split("?")[0]
        except ValueError:
            continue
        name = unquote(PurePosixPath(full).name)
        if urljoin(full, ".") == there and _PLAIN_NAME.fullmatch(name):
            found.setdefault(name, full)
    return found


def _fetch_all(bundles: dict[str, str], folder: Path) -> list[str]:
    if len(bundles) > _MOST_BUNDLES:
        raise StoreError(
            f"{len(bundles)} bundles are listed there, more than {_MOST_BUNDLES}", "save them yourself"
        )
    left = _MOST_IN_ALL
    for name, address in bundles.items():
        try:
            left -= _fetch(address, folder / name, left)
        except HTTPError as cause:
            raise _unreachable(address, cause) from cause
    return list(bundles.values())


def _fetch(address: str, into: Path, most: int) -> int:
    """Fetch one file and give its size; an answer that is an error stays an HTTPError."""
    ends = time.monotonic() + _LONGEST_S
    size = 0
    try:
        with (
            build_opener(_SameHost).open(Request(address), timeout=_SILENCE_S) as answer,
            into.open("xb") as out,
        ):
            while piece := answer.read1(_PIECE):  # what has come; `read` would wait for more
                size += out.write(piece)
                if size > most or time.monotonic() > ends:
                    raise StoreError(
                        f"{address}: is too large or takes too long", "save it to a file yourself"
                    )
    except HTTPError as cause:
        if cause.code in range(300, 400):
            raise _unreachable(address, cause) from cause
        raise
    except (URLError, http.client.HTTPException, OSError, ValueError) as cause:
        raise _unreachable(address, cause) from cause
    return size


def _unreachable(address: str, cause: Exception) -> StoreError:
    return StoreError(f"{address}: cannot be fetched: {cause}", "check the address and the network")
