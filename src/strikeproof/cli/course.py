"""How far a command has come, over all of its phases: one bar on a terminal, else a line now and then."""

from __future__ import annotations

import sys
import time
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from contextvars import ContextVar
from typing import TYPE_CHECKING, Final

from strikeproof.plain_text import show_codes

if TYPE_CHECKING:
    from rich.progress import Progress

__all__ = ["Course", "begin_command", "progress"]

QUIET_S: Final = 10.0
"""Off a terminal no two lines come closer together than this, the last one excepted. [s]"""


class Course:
    """The way of one command from its start to its end.

    Parameters
    ----------
    clock
        Seconds that only go forward.
    """

    def __init__(self, clock: Callable[[], float] = time.monotonic) -> None:
        self._clock = clock
        self._began = self._said = clock()
        self.fraction = 0.0

    @property
    def elapsed(self) -> float:
        """Time since the command began. [s]"""
        return self._clock() - self._began

    @property
    def remaining(self) -> float | None:
        """Time until its end, at the pace so far; None while nothing is done. [s]"""
        return self.elapsed * (1.0 / self.fraction - 1.0) if self.fraction > 0.0 else None

    def advance(self, done: int, total: int, part: tuple[float, float]) -> None:
        """Step `done` of `total` in this part of the whole; a bar never goes back."""
        share = min(max(done / total, 0.0), 1.0) if total > 0 else 0.0
        self.fraction = max(self.fraction, part[0] + (part[1] - part[0]) * share)

    def is_due(self) -> bool:
        """Whether enough time has gone by for another line; asking counts as saying it."""
        due = self._clock() - self._said >= QUIET_S
        if due:
            self._said = self._clock()
        return due


_COURSE: ContextVar[Course | None] = ContextVar("course", default=None)


def begin_command() -> None:
    """From here on phases belong to a new command."""
    _COURSE.set(Course())


@contextmanager
def progress(
    title: str, part: tuple[float, float] = (0.0, 1.0), *, course: Course | None = None
) -> Iterator[Callable[..., None]]:
    """A callback for (done, total) and, where steps have one, the name of the step.

    Parameters
    ----------
    title
        What is done in this phase, as in "loading".
    part
        Where the phase begins and ends in the whole command, 0 to 1.
    course
        The command's; left out, that of the command that runs.
    """
    course = course or _COURSE.get() or Course()
    if sys.stderr.isatty():
        yield from _bar(title, part, course)
    else:
        yield from _lines(title, part, course)


def _lines(title: str, part: tuple[float, float], course: Course) -> Iterator[Callable[..., None]]:
    last = ""

    def step(done: int, total: int, name: str = "") -> None:
        nonlocal last
        course.advance(done, total, part)
        last = f"{title} {done}/{total} {name}".rstrip()
        if course.is_due():
            print(show_codes(last), file=sys.stderr)
            last = ""

    yield step
    if last:
        print(show_codes(last), file=sys.stderr)


def _bar(title: str, part: tuple[float, float], course: Course) -> Iterator[Callable[..., None]]:
    from rich.markup import escape

    with _drawn(course) as bar:
        task = bar.add_task(escape(title), total=1.0)
        bar.update(task, completed=course.fraction)

        def step(done: int, total: int, name: str = "") -> None:
            course.advance(done, total, part)
            words = escape(show_codes(f"{title} {name}".rstrip()))
            bar.update(task, completed=course.fraction, description=words)

        yield step


def _drawn(course: Course) -> Progress:
    from rich.console import Console
    from rich.progress import BarColumn, Progress, ProgressColumn, Task, TextColumn
    from rich.text import Text

    class Times(ProgressColumn):
        """Elapsed and remaining time of the whole command."""

        def render(self, task: Task) -> Text:
            left = course.remaining
            return Text(f"{_clock_words(course.elapsed)}, {_clock_words(left) if left else '-:--'} left")

    columns = (
        TextColumn("{task.description}"),
        BarColumn(),
        TextColumn("{task.percentage:>3.0f} %"),
        Times(),
    )
    return Progress(*columns, console=Console(stderr=True), transient=True)


def _clock_words(seconds: float) -> str:
    minutes, rest = divmod(round(seconds), 60)
    return f"{minutes // 60}:{minutes % 60:02d}:{rest:02d}" if minutes >= 60 else f"{minutes}:{rest:02d}"
