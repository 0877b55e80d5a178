"""Sending a file to the workspace: a plain field, streamed to disk as it comes."""

from __future__ import annotations

import secrets
from collections.abc import Callable
from pathlib import Path
from typing import Any

from nicegui import app
from nicegui.element import Element
from starlette.requests import ClientDisconnect, Request
from starlette.responses import JSONResponse, Response

from strikeproof.web.site import Site

__all__ = ["Upload", "register_uploads"]

_INCOMING = "incoming"


class Upload(Element, component=Path(__file__).with_name("assets") / "upload.js"):
    """A field for one file; `told` gets the name under which it came in."""

    def __init__(self, label: str, *, accept: str, told: Callable[[str], Any]) -> None:
        super().__init__()
        self._props["label"] = label
        self._props["accept"] = accept
        self.on("uploaded", lambda event: told(str(event.args)))


def register_uploads(site: Site) -> None:
    """Make the route that takes a file; what is cut off leaves nothing behind."""

    @app.post("/upload/file")
    async def take(request: Request) -> Response:
        folder = site.workspace / _INCOMING
        folder.mkdir(parents=True, exist_ok=True)
        name = secrets.token_hex(16)
        path = folder / name
        try:
            with path.open("xb") as stream:
                async for piece in request.stream():
                    stream.write(piece)
        except (ClientDisconnect, OSError) as cause:
            path.unlink(missing_ok=True)
            return JSONResponse({"problem": f"the file did not come whole ({type(cause).__name__})"}, 400)
        except BaseException:
            path.unlink(missing_ok=True)
            raise
        return JSONResponse({"name": name})
