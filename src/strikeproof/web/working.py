"""The one way a page shows long work: a place that fills when the work is done, with progress and a stop."""

from __future__ import annotations

import asyncio
import logging
from collections.abc import Awaitable, Callable
from contextlib import suppress
from typing import Any, TypeVar

from nicegui import background_tasks
from nicegui.element import Element

from strikeproof.errors import StrikeproofError
from strikeproof.web.elements import button, show_error, tag
from strikeproof.web.tasks import Task
from strikeproof.web.work import WORK, Job, WorkFailed

__all__ = ["as_told", "fill", "working"]

T = TypeVar("T")

_LOG = logging.getLogger(__name__)
_AT_ONCE_S = 0.35  # work that ends sooner shows no progress
_TICK_S = 0.25


async def fill(
    title: str, show: Callable[[T], Any], function: Callable[..., T] | Task[T], *given: Any, **named: Any
) -> Element:
    """A place on the page that shows what a long task of the desk gives.

    The task begins once the page has its line to the server: to ask for a page takes no work, and the line is
    only given to pages of this server.

    Parameters
    ----------
    title
        What is being done, such as "Comparing".
    show
        Draws the result into the place.
    function, given, named
        What to call in a work process: a function at the top of a module or a Task, and plain arguments. It
        may take `progress`, which is then shown. `state=` is a word that changes with all that the result
        depends on; with it the result is remembered.
    """
    place = tag("div", classes="place")

    async def begin() -> None:
        await _into(place, title, show, lambda: WORK.start(function, *given, **named))

    if place.client.has_socket_connection or WORK.knows(function, *given, **named):
        await begin()
    else:
        _once_connected(place, begin)
    return place


async def working(
    place: Element,
    title: str,
    show: Callable[[T], Any],
    function: Callable[..., T] | Task[T],
    *given: Any,
    **named: Any,
) -> None:
    """The same in a place that is there already, after a press of a button; it goes on when nobody looks."""
    place.clear()
    await _into(place, title, show, lambda: WORK.start(function, *given, **named).pressed())


def _once_connected(place: Element, begin: Callable[[], Awaitable[None]]) -> None:
    """Begin when the page has its line to the server, with its place in the page until then."""
    with place:
        tag("div", classes="working", hidden=True)
    waiting = True

    async def connected() -> None:
        nonlocal waiting
        if waiting:
            waiting = False
            await begin()

    place.client.on_connect(connected)


async def _into(place: Element, title: str, show: Callable[[Any], Any], start: Callable[[], Job]) -> None:
    try:
        job = start()
    except Exception as error:  # whatever it is, a person waits for an answer in this place
        _offer_again(place, title, show, start, error)
        return
    try:
        async with asyncio.timeout(_AT_ONCE_S):
            await _end(place, job, title, show, start)
            return
    except TimeoutError:
        pass
    place.clear()
    with place:
        step, bar = _panel(title, job)
    # The page goes out with the panel; the rest follows when the work is done.
    background_tasks.create(_follow(place, job, title, show, start, step, bar), name=title)


async def _follow(
    place: Element,
    job: Job,
    title: str,
    show: Callable[[Any], Any],
    start: Callable[[], Job],
    step: Element,
    bar: Element,
) -> None:
    with job.awaited():
        while not job.ended.is_set() and not place.is_deleted:
            _tell(job, step, bar)
            with suppress(TimeoutError):
                async with asyncio.timeout(_TICK_S):
                    await job.ended.wait()
    if not place.is_deleted:
        await _end(place, job, title, show, start)


async def _end(
    place: Element, job: Job, title: str, show: Callable[[Any], Any], start: Callable[[], Job]
) -> None:
    """Show the result, or what went wrong and a way to try again."""
    try:
        result = await job.wait()
    except Exception as error:
        _offer_again(place, title, show, start, error)
        return
    place.clear()
    with place:
        try:
            waiting = show(result)
            if asyncio.iscoroutine(waiting):
                await waiting
        except Exception as error:
            show_error(as_told(error, title))


def _offer_again(
    place: Element,
    title: str,
    show: Callable[[Any], Any],
    start: Callable[[], Job],
    error: Exception,
) -> None:
    """What went wrong, and a button."""

    async def again() -> None:
        place.clear()
        await _into(place, title, show, start)

    place.clear()
    with place:
        show_error(as_told(error, title))
        button("Try again", again)


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


def _panel(title: str, job: Job) -> tuple[Element, Element]:
    with tag("div", classes="working", role="status"):
        tag("strong", title)
        bar = tag("progress", max=1, aria_label=title)
        step = tag("span", "starting", "step")
        button("Stop and keep what is found" if job.keeps else "Stop", job.stop)
    return step, bar


def _tell(job: Job, step: Element, bar: Element) -> None:
    now = job.step
    if not now.total:
        return
    text = f"{now.done} of {now.total} {now.name}".rstrip()
    if job.stopping:
        text = "stopping and saving what was found (stop again to end at once)"
    if step._text != text:
        step._text = text
        step.update()
        bar.props["value"] = now.done / now.total
        bar.update()
