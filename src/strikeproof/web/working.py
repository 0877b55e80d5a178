"""The one way a page shows long work: a place that fills when the work is done, with progress and a stop."""

from __future__ import annotations

import asyncio
from collections.abc import Callable
from typing import Any, TypeVar

from nicegui import background_tasks
from nicegui.element import Element

from strikeproof.errors import StrikeproofError
from strikeproof.web.elements import button, show_error, tag
from strikeproof.web.tasks import Task
from strikeproof.web.work import WORK, Job

__all__ = ["fill", "working"]

T = TypeVar("T")

_AT_ONCE_S = 0.35  # work that ends sooner is in the page as it is first drawn
_TICK_S = 0.25


async def fill(
    title: str, show: Callable[[T], Any], function: Callable[..., T] | Task[T], *given: Any, **named: Any
) -> Element:
    """A place on the page that shows what a long task of the desk gives.

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
    await _into(place, title, show, lambda: WORK.start(function, *given, **named))
    return place


async def working(
    place: Element,
    title: str,
    show: Callable[[T], Any],
    function: Callable[..., T] | Task[T],
    *given: Any,
    **named: Any,
) -> None:
    """The same in a place that is there already, such as after a press of a button."""
    place.clear()
    await _into(place, title, show, lambda: WORK.start(function, *given, **named))


async def _into(place: Element, title: str, show: Callable[[Any], Any], start: Callable[[], Job]) -> None:
    job = start()
    try:
        async with asyncio.timeout(_AT_ONCE_S):
            await _end(place, job, title, show, start)
            return
    except TimeoutError:
        pass
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
    while not job.ended.is_set():
        _tell(job, step, bar)
        try:
            async with asyncio.timeout(_TICK_S):
                await job.ended.wait()
        except TimeoutError:
            continue
    if not place.is_deleted:
        await _end(place, job, title, show, start)


async def _end(
    place: Element, job: Job, title: str, show: Callable[[Any], Any], start: Callable[[], Job]
) -> None:
    """Show the result, or what went wrong and a way to try again."""
    try:
        result = await job.wait()
    except StrikeproofError as error:
        place.clear()

        async def again() -> None:
            place.clear()
            await _into(place, title, show, start)

        with place:
            show_error(error)
            button("Try again", again)
        return
    place.clear()
    with place:
        try:
            waiting = show(result)
            if asyncio.iscoroutine(waiting):
                await waiting
        except StrikeproofError as error:
            show_error(error)


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
        text = "stopping: what was found is kept, one moment (stop again to end at once)"
    if step._text != text:
        step._text = text
        step.update()
        bar.props["value"] = now.done / now.total
        bar.update()
