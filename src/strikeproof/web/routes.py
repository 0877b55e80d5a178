"""Where the pages put their routes, and what is closed when the server ends."""

from __future__ import annotations

from collections.abc import AsyncIterator, Awaitable, Callable
from contextlib import asynccontextmanager

from fastapi import FastAPI

__all__ = ["app", "at_end"]

_AT_END: list[Callable[[], Awaitable[None]]] = []


@asynccontextmanager
async def _life(_app: FastAPI) -> AsyncIterator[None]:
    yield
    for close in _AT_END:
        await close()


app = FastAPI(docs_url=None, redoc_url=None, openapi_url=None, lifespan=_life)
"""One a process: every page registers itself once."""


def at_end(close: Callable[[], Awaitable[None]]) -> None:
    """Call this when the server ends."""
    _AT_END.append(close)
