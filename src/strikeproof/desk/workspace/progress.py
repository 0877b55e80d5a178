"""Progress of long work on standard error: a bar on a terminal, lines anywhere else."""

from __future__ import annotations

import sys
from collections.abc import Callable, Iterator
from contextlib import contextmanager

from strikeproof.plain_text import show_codes

__all__ = ["show_progress"]


@contextmanager
def show_progress(title: str) -> Iterator[Callable[..., None]]:
    """A callback for (done, total) and, where steps have one, the name of the step."""
    if not sys.stderr.isatty():
        yield lambda done, total, name="": _say(title, done, total, name)
        return
    from rich.console import Console
    from rich.markup import escape
    from rich.progress import Progress

    with Progress(console=Console(stderr=True), transient=True) as bar:
        task = bar.add_task(title, total=None)
        yield lambda done, total, name="": bar.update(
            task, total=total, completed=done, description=escape(show_codes(f"{title} {name}"))
        )


def _say(title: str, done: int, total: int, name: str) -> None:
    """A line for each named step, since it tells what was done; of nameless ones about twenty in all."""
    if name or done == total or done % max(1, total // 20) == 0:
        print(show_codes(f"{title} {done}/{total} {name}").rstrip(), file=sys.stderr)
