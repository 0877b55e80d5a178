"""Progress of long work on standard error: a bar on a terminal, one line a step anywhere else."""

from __future__ import annotations

import sys
from collections.abc import Callable, Iterator
from contextlib import contextmanager

__all__ = ["show_progress"]


@contextmanager
def show_progress(title: str) -> Iterator[Callable[[int, int, str], None]]:
    """A callback for (done, total, name of the step)."""
    if not sys.stderr.isatty():
        yield lambda done, total, name: print(f"{title} {done}/{total} {name}".rstrip(), file=sys.stderr)
        return
    from rich.console import Console
    from rich.progress import Progress

    with Progress(console=Console(stderr=True), transient=True) as bar:
        task = bar.add_task(title, total=None)
        yield lambda done, total, name: bar.update(
            task, total=total, completed=done, description=f"{title} {name}"
        )
