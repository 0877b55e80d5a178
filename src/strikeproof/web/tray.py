"""The tray of long work, the same on every page: what runs, how far, how long still, and what is ready.

Only work that a person has started is in it. A result that was shown on its page leaves at once; one that
nobody waited for stays until it is looked at.
"""

from __future__ import annotations

import secrets
import time
from collections.abc import Callable, Iterator
from dataclasses import dataclass, field
from typing import Any, Final
from urllib.parse import urlsplit

from starlette.requests import Request

from strikeproof.errors import StrikeproofError
from strikeproof.web.work import Cancelled, Job, Step

__all__ = ["TRAY", "Tray"]

_MOST: Final = 12
_SOON: Final = 0.05  # of the work, before which nothing can be said of the rest
_SOONEST_S: Final = 3.0
_STILL_S: Final = 10.0
_REMEMBERED_S: Final = 3600.0


@dataclass(slots=True, eq=False)
class _Entry:
    """A piece of work, with the word that stops it and the page that shows its result."""

    title: str
    page: str
    job: Job
    began: float
    word: str = field(default_factory=lambda: secrets.token_urlsafe(12))
    ended: float | None = None
    step: Step | None = None
    stepped: float = 0.0


class Tray:
    """All work that persons have started on this server, while it goes on and until its result was seen."""

    def __init__(self, clock: Callable[[], float] = time.monotonic) -> None:
        self._clock = clock
        self._entries: list[_Entry] = []

    def put(self, job: Job, title: str, request: Request) -> str:
        """The word by which the job is stopped; the same one for all who wait for it."""
        known = next((each for each in self._entries if each.job is job), None)
        if known is None:
            now = self._clock()
            known = _Entry(title, _page_of(request), job, now, stepped=now)
            self._entries = [*self._entries, known][-_MOST:]
        return known.word

    def take_out(self, job: Job) -> None:
        """Its result was shown on its page."""
        self._entries = [each for each in self._entries if each.job is not job]

    def find(self, word: str) -> Job | None:
        """The work of a word."""
        return next((each.job for each in self._entries if each.word == word), None)

    def look(self) -> Iterator[dict[str, Any]]:
        """Each piece of work, as JSON, times in seconds: `left_s` None where nothing honest can be said,
        `still_s` how long it has not moved, where that is long.
        """
        now = self._clock()
        for each in self._entries:
            if each.ended is None and each.job.ended.is_set():
                each.ended = now
            if each.step != each.job.step:
                each.step, each.stepped = each.job.step, now
        self._entries = [each for each in self._entries if not _is_over(each, now)]
        for each in self._entries:
            yield _told(each, now)


def _is_over(entry: _Entry, now: float) -> bool:
    """A wanted stop is over at once; what is ready, or went wrong, waits for somebody to look."""
    if entry.ended is None:
        return False
    return isinstance(entry.job.error, Cancelled) or now - entry.ended > _REMEMBERED_S


def _told(entry: _Entry, now: float) -> dict[str, Any]:
    step, elapsed, still = entry.job.step, (entry.ended or now) - entry.began, now - entry.stepped
    return {
        "word": entry.word,
        "title": entry.title,
        "page": entry.page,
        "state": _state(entry),
        "error": str(entry.job.error) if isinstance(entry.job.error, StrikeproofError) else "",
        "done": step.done,
        "total": step.total,
        "name": step.name,
        "elapsed_s": round(elapsed, 1),
        "still_s": round(still, 1) if still > _STILL_S else None,
        "left_s": None if still > _STILL_S else _left(step.done, step.total, elapsed),
    }


def _state(entry: _Entry) -> str:
    job = entry.job
    if job.ended.is_set():
        return "ready" if job.error is None else "failed"
    return "stopping" if job.stopping else "waits" if job.worker is None else "runs"


def _left(done: int, total: int, elapsed_s: float) -> float | None:
    """As long still as the steps so far took for their share; None too early to say. [s]"""
    share = done / total if total > 0 else 0.0
    if share < _SOON or elapsed_s < _SOONEST_S:
        return None
    return round(elapsed_s * (1.0 - share) / share, 1)


def _page_of(request: Request) -> str:
    """The page of this server that asked; the first one where the browser does not say."""
    asked = urlsplit(request.headers.get("referer", ""))
    return f"{asked.path or '/'}{'?' if asked.query else ''}{asked.query}" if asked.path[:2] != "//" else "/"


TRAY: Final = Tray()
"""One a process, as the work."""
