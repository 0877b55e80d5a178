"""Files sent to the workspace, streamed to disk as they come.

What is on its way has a quota and a time: files that nobody took up go after a day.
"""

from __future__ import annotations

import re
import secrets
import shutil
import time
from collections.abc import Iterator
from contextlib import contextmanager, suppress
from pathlib import Path
from typing import Final

from starlette.requests import ClientDisconnect, Request
from starlette.responses import JSONResponse, Response

from strikeproof.web.guard import LARGEST_UPLOAD
from strikeproof.web.routes import app
from strikeproof.web.site import Site

__all__ = ["Incoming", "NoRoom", "register_uploads"]

_INCOMING = "incoming"
_OWN_NAME = re.compile(r"[0-9a-f]{32}|[0-9a-f]{16}")  # an upload, and what is unpacked of one
_QUOTA: Final = 4 * LARGEST_UPLOAD
_LEFT_FREE: Final = 256 << 20  # of the disk, for the recorder
_MOST_AT_ONCE: Final = 4
_EXPIRY_S: Final = 24 * 3600.0


class NoRoom(Exception):
    """An upload that finds no room now; `status` is the HTTP status, the text is for the person."""

    def __init__(self, status: int, problem: str) -> None:
        super().__init__(problem)
        self.status = status


class Incoming:
    """The folder for what is on its way, with its quota.

    Parameters
    ----------
    quota
        Of all that lies there and is still coming. [bytes]
    """

    def __init__(self, folder: Path, quota: int = _QUOTA) -> None:
        self._folder = folder
        self._quota = quota
        self._coming: dict[str, int] = {}

    @contextmanager
    def room(self, size: int) -> Iterator[Path]:
        """Where an upload of that size may be written; when the block fails nothing is left there.

        Raises
        ------
        NoRoom
            If too much lies there or comes at once.
        OSError
            If the folder cannot be made or written.
        """
        self._folder.mkdir(parents=True, exist_ok=True)
        self.expire()
        self._require_room(size)
        path = self._folder / secrets.token_hex(16)
        self._coming[path.name] = size
        try:
            yield path
        except BaseException:
            path.unlink(missing_ok=True)
            raise
        finally:
            del self._coming[path.name]

    def expire(self) -> None:
        """Delete what has lain there for a day; only what this program put there."""
        before = time.time() - _EXPIRY_S
        for path, written, _size in self._own():
            if written < before:
                shutil.rmtree(path, ignore_errors=True) if path.is_dir() else path.unlink(missing_ok=True)

    def _require_room(self, size: int) -> None:
        if len(self._coming) >= _MOST_AT_ONCE:
            raise NoRoom(
                503, "Too many files are coming at once. Wait until one has arrived, then try again."
            )
        lying = sum(size for path, _written, size in self._own() if path.name not in self._coming)
        if lying + sum(self._coming.values()) + size > self._quota:
            raise NoRoom(
                507,
                "Files sent earlier and not loaded fill the room for them. Try again tomorrow.",
            )
        if shutil.disk_usage(self._folder).free - sum(self._coming.values()) - size < _LEFT_FREE:
            raise NoRoom(
                507, "The disk of the workspace has no room for this file. Make room, then try again."
            )

    def _own(self) -> Iterator[tuple[Path, float, int]]:
        """What this program put there: path, when it was written [s], size [bytes]."""
        for path in list(self._folder.iterdir()) if self._folder.is_dir() else ():
            if _OWN_NAME.fullmatch(path.name) and not path.is_symlink():
                with suppress(FileNotFoundError):  # a work process has just taken it up
                    found = path.lstat()
                    yield path, found.st_mtime, found.st_size


def register_uploads(site: Site) -> None:
    """Make the route that takes a file; what is cut off leaves nothing behind."""
    incoming = Incoming(site.workspace / _INCOMING)
    incoming.expire()

    @app.post("/upload/file")
    async def take(request: Request) -> Response:
        declared = request.headers.get("content-length", "")
        if not declared.isdecimal():
            return JSONResponse({"problem": "The size of the file was not given."}, 411)
        try:
            with incoming.room(int(declared)) as path, path.open("xb") as stream:
                async for piece in request.stream():
                    stream.write(piece)
        except NoRoom as full:
            headers = {"connection": "close", "retry-after": "60"}
            return JSONResponse({"problem": str(full)}, full.status, headers=headers)
        except (ClientDisconnect, OSError) as cause:
            return JSONResponse({"problem": f"the file did not come whole ({type(cause).__name__})"}, 400)
        return JSONResponse({"name": path.name})
