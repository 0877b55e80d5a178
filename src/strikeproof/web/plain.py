"""Pages that are plain routes: a template in the frame, and places that fill themselves once it is shown.

To ask for such a page takes no work, holds nothing in the server, and needs no line to it afterwards.
"""

from __future__ import annotations

import asyncio
import inspect
import json
import logging
import re
import zlib
from collections.abc import AsyncIterator, Awaitable, Callable, Mapping
from contextlib import suppress
from typing import Any
from urllib.parse import parse_qsl

from starlette.requests import Request
from starlette.responses import HTMLResponse, JSONResponse, PlainTextResponse, Response, StreamingResponse

from strikeproof.desk.workspace.opening import is_simulated
from strikeproof.errors import NotFound, StrikeproofError
from strikeproof.web.fragments import render
from strikeproof.web.frame import View, about_of, rail_markup, view_of, warm_work
from strikeproof.web.look import look_of, shell_markup
from strikeproof.web.looking import looks_only
from strikeproof.web.navigation import NEXT
from strikeproof.web.routes import app
from strikeproof.web.site import Site
from strikeproof.web.tray import TRAY
from strikeproof.web.work import Cancelled, Job, WorkFailed

__all__ = [
    "answer_press",
    "error_markup",
    "field_of",
    "plain_page",
    "show_tray",
    "stop_work",
    "stream_work",
    "take_from_tray",
    "typed_in",
    "view_of_runs",
]

_LOG = logging.getLogger(__name__)
_TICK_S = 0.25
_LINES = "application/x-ndjson"
_MOST_FIELDS = 2000
_STOPPING = "stopping and saving what was found (stop again to end at once)"

"""Jobs that a person has started, while somebody watches them, by a word that only their pages know."""


def plain_page(
    site: Site,
    path: str,
    title: str,
    nothing: tuple[str, str] | None = None,
    *,
    facts: Callable[[View], Mapping[str, Any] | Response] | None = None,
) -> None:
    """Make the template of a path's own name the page there ("start" at the root); it gets the View.

    Parameters
    ----------
    nothing
        Heading and text of what is shown while the workspace holds no such campaign; None for a page that
        needs none.
    facts
        What the template gets besides, found in a thread; what takes work belongs into a place that fills
        itself. An error that a person can fix is shown in the page's stead, and so is a response.
    """

    @app.get(path, response_class=HTMLResponse)
    async def shown(request: Request, campaign: str = "") -> Response:
        view = view_of(site, request, campaign, dict(request.query_params))
        if path != "/record":  # at the rig nothing but the recording counts
            warm_work(view)
        if campaign and view.chosen is None:
            return _framed("wrong", view, path, title, error=_missing(view, campaign))
        if view.campaign is None and nothing is not None:
            return _framed("nothing", view, path, title, heading=nothing[0], text=nothing[1])
        try:
            given = {} if facts is None else await asyncio.to_thread(facts, view)
        except StrikeproofError as error:
            return _framed("wrong", view, path, title, error=error)
        except Exception as error:  # whatever it is, a person waits for a page
            return _framed("wrong", view, path, title, 500, error=as_told(error, title))
        if isinstance(given, Response):
            return given
        return _framed(path.strip("/") or "start", view, path, title, **given)


def show_missing(site: Site) -> None:
    """Answer what leads nowhere with a page from which the others can be reached."""

    @app.exception_handler(404)
    async def missing(request: Request, _error: Exception) -> Response:
        _LOG.warning("%s not found", request.scope["path"])
        if "text/html" not in request.headers.get("accept", ""):
            return PlainTextResponse("There is nothing here.", 404)
        view = view_of(site, request, "", {})
        error = StrikeproofError("there is no page at this address", "choose one of the pages in the menu")
        return _framed("wrong", view, "", "Not found", 404, error=error)


def view_of_runs(site: Site, request: Request, campaign: str) -> View:
    """The view of what a place asks for.

    Raises
    ------
    NotFound
        If the workspace holds no runs of the campaign that is named; another one never takes its place.
    """
    view = view_of(site, request, campaign, {})
    if view.campaign is None:
        raise _missing(view, campaign)
    return view


def _missing(view: View, campaign: str) -> NotFound:
    return NotFound("campaign", campaign, view.campaigns)


def _framed(name: str, view: View, path: str, title: str, status: int = 200, /, **facts: Any) -> Response:
    about = about_of(view, path, {"campaign": "", **view.request.query_params})
    page = render(
        name,
        view=view,
        title=title,
        look=look_of(view.request.cookies),
        head=shell_markup(),
        rail=rail_markup(view, path),
        looks_only=looks_only(view.request.scope),
        onward=NEXT.get(path) if view.campaign else None,
        simulated=about is not None and is_simulated(view.site.workspace, about),
        **facts,
    )
    return HTMLResponse(page, status, headers={"cache-control": "no-store"})


def stream_work(
    request: Request, title: str, start: Callable[[], Job], show: Callable[[Any], str]
) -> Response:
    """A job's progress, a line of JSON each, then its result as markup; who leaves no longer waits for it.

    Work that a person has started (`Job.pressed`) goes on when they leave; its first line says by which word
    it is stopped.

    Parameters
    ----------
    title
        What is being done; it names the job in the log where it fails.
    start
        Begins the job.
    show
        Makes the result into markup.
    """

    async def lines() -> AsyncIterator[dict[str, Any]]:
        try:
            job = start()
            if job.is_pressed and not job.ended.is_set():
                yield {"job": TRAY.put(job, title, request), "keeps": job.keeps}
            with job.awaited():
                while not job.ended.is_set():
                    now = job.step
                    yield {"done": now.done, "total": now.total, "name": now.name} | (
                        {"says": _STOPPING} if job.stopping else {}
                    )
                    with suppress(TimeoutError):
                        async with asyncio.timeout(_TICK_S):
                            await job.ended.wait()
            yield {"markup": show(await _seen(job))}
        except Cancelled:  # which somebody wanted
            yield {"stopped": True}
        except Exception as error:  # whatever it is, a person waits for an answer in this place
            yield {"error": error_markup(as_told(error, title))}

    if "gzip" not in request.headers.get("accept-encoding", ""):
        return StreamingResponse(_plain(lines()), media_type=_LINES)
    packed = {"content-encoding": "gzip"}
    return StreamingResponse(_packed(lines()), media_type=_LINES, headers=packed)


async def _seen(job: Job) -> Any:
    """Its result or error, which is shown where it was asked for and therefore leaves the tray."""
    try:
        result = await job.wait()
    except Exception:  # not that whoever waited has left
        TRAY.take_out(job)
        raise
    TRAY.take_out(job)
    return result


async def stop_work(request: Request) -> Response:
    """End a job of which a page knows the word."""
    job = TRAY.find(request.query_params.get("job", ""))
    if job is not None:
        job.stop()
    return Response(status_code=204)


async def show_tray(_request: Request) -> Response:
    """What is in the tray of long work."""
    return JSONResponse({"work": list(TRAY.look())}, headers={"cache-control": "no-store"})


async def take_from_tray(request: Request) -> Response:
    """A result that somebody has seen, or does not want to see; work that goes on stays."""
    job = TRAY.find(request.query_params.get("job", ""))
    if job is not None and job.ended.is_set():
        TRAY.take_out(job)
    return Response(status_code=204)


async def typed_in(request: Request) -> dict[str, str]:
    """The fields of a form that was sent, by name; of a name that comes twice the last."""
    sent = (await request.body()).decode("utf-8", "replace")
    try:
        return dict(parse_qsl(sent, keep_blank_values=True, max_num_fields=_MOST_FIELDS))
    except ValueError:  # more fields than any form of ours has
        return {}


async def answer_press(
    title: str, do: Callable[[], Mapping[str, str]] | Callable[[], Awaitable[Mapping[str, str]]]
) -> Response:
    """Do what was pressed; what comes of it, or what is wrong as markup, is a line of JSON.

    Parameters
    ----------
    title
        What is being done; it names the press in the log where it fails.
    do
        Does it, in a thread where it does not wait for work, and gives `{"go": address}` to go on to, or
        `{"markup": ...}` for the place.
    """
    try:
        line = await do() if inspect.iscoroutinefunction(do) else await asyncio.to_thread(do)
    except Exception as error:  # whatever it is, a person waits for an answer in this place
        at = field_of(error)
        line = {"wrong": error_markup(as_told(error, title)), **({"at": at} if at else {})}
    return Response(json.dumps(line) + "\n", media_type=_LINES)


def error_markup(error: StrikeproofError) -> str:
    """What is wrong, where, and how to fix it, as markup."""
    return render("error", error=error)


def field_of(error: Exception) -> str:
    """How the field that an error is about is found among those typed into; empty where it names none."""
    place: tuple[str | int, ...] = getattr(error, "place", ())
    name = re.sub(r"[^\w-]", "", str(place[0])) if len(place) == 1 else ""
    return f'[data-new="{name}"], [name="{name}"]' if name else ""


def as_told(error: Exception, title: str) -> StrikeproofError:
    """The error as a person can read it; one that nobody foresaw goes into the server's log too."""
    if isinstance(error, StrikeproofError):
        return error
    _LOG.error("%s failed", title, exc_info=error)
    what = str(error) if isinstance(error, WorkFailed) else f"{type(error).__name__}: {error}"
    return StrikeproofError(
        f"this is a mistake of the program ({what})",
        "your data are as they were; try again, and report it with these words if it comes again",
    )


async def _plain(lines: AsyncIterator[dict[str, Any]]) -> AsyncIterator[bytes]:
    async for line in lines:
        yield json.dumps(line).encode() + b"\n"


async def _packed(lines: AsyncIterator[dict[str, Any]]) -> AsyncIterator[bytes]:
    """Compressed line by line, so that none waits in the packer for the next."""
    packer = zlib.compressobj(4, wbits=31)
    async for line in _plain(lines):
        yield packer.compress(line) + packer.flush(zlib.Z_SYNC_FLUSH)
    yield packer.flush()
