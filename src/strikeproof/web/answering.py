"""Files that take work: the result while somebody waits for it, and what is answered instead."""

from __future__ import annotations

import asyncio
from typing import Any

from starlette.requests import Request
from starlette.responses import JSONResponse, Response

from strikeproof.errors import StrikeproofError
from strikeproof.web.work import Cancelled, Job, TooBusy

__all__ = ["outcome", "refusal"]

_TRY_AGAIN_S = 10


async def outcome(request: Request, job: Job) -> Any:
    """The result of a job, while the one who asked for it is there; nobody waits for it afterwards.

    Raises
    ------
    StrikeproofError
        What the job raised, or that nobody takes the answer.
    """
    gone = asyncio.ensure_future(_until_gone(request))
    result = asyncio.ensure_future(job.wait())
    try:
        await asyncio.wait((gone, result), return_when=asyncio.FIRST_COMPLETED)
        if result.done():
            return result.result()
        raise Cancelled
    finally:
        gone.cancel()
        result.cancel()


async def _until_gone(request: Request) -> None:
    while (await request.receive())["type"] != "http.disconnect":
        pass


def refusal(error: StrikeproofError) -> Response:
    """What is wrong and how to fix it, as JSON; 503 where to wait is all it takes."""
    words = {"problem": error.problem, "fix": error.fix}
    if isinstance(error, TooBusy):
        return JSONResponse(words, 503, headers={"retry-after": str(_TRY_AGAIN_S)})
    return JSONResponse(words, 404)
