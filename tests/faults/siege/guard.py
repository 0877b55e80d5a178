"""No test of faults may write outside its own folder: an audit hook of the interpreter sees to it.

The hook sees what Python itself opens, removes and renames in this process, which is where a test's own
mistake would be. Processes that a test starts are given folders inside its own.
"""

from __future__ import annotations

import functools
import os
import sys
import tempfile
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import Any

__all__ = ["OutsideError", "guarded"]

_WRITING = os.O_WRONLY | os.O_RDWR | os.O_CREAT | os.O_TRUNC | os.O_APPEND
_PATHS = {
    "os.remove": (0,), "os.rename": (0, 1), "os.rmdir": (0,), "os.link": (1,), "os.symlink": (1,),
    "shutil.rmtree": (0,), "shutil.move": (0, 1), "shutil.copytree": (1,),
}  # fmt: skip
_SYSTEM = (Path("/dev"), Path("/proc"))
_allowed: list[tuple[Path, ...]] = []


class OutsideError(Exception):
    """A test reached for a path outside its own folder."""


def _watch(event: str, given: tuple[Any, ...]) -> None:
    if not _allowed:
        return
    if event == "open":
        path, mode, flags = given
        writes = any(each in mode for each in "wax+") if isinstance(mode, str) else flags & _WRITING
        if writes:
            _require_inside(event, path)
    elif event in _PATHS and not any(_is_handle(each) for each in given[1:]):
        for place in _PATHS[event]:
            _require_inside(event, given[place])


def _is_handle(given: Any) -> bool:
    """Whether a path counts from an open folder: then that folder was let through."""
    return isinstance(given, int) and given >= 0


def _require_inside(event: str, path: Any) -> None:
    if isinstance(path, int) or path is None:
        return
    where = Path.cwd() / os.fsdecode(path)
    if not any(where.is_relative_to(each) for each in (*_allowed[-1], *_SYSTEM)) and not _is_cache(where):
        raise OutsideError(f"{event} of {where}")


def _is_cache(path: Path) -> bool:
    """What the interpreter and the compiler of kernels keep beside the code."""
    return "__pycache__" in path.parts


@contextmanager
def guarded(*folders: Path) -> Iterator[None]:
    """While the block runs nothing outside of these folders is written; temporary files lie in the first."""
    _hook()
    before = tempfile.tempdir
    temporary = folders[0] / "temporary"
    temporary.mkdir(exist_ok=True)
    tempfile.tempdir = str(temporary)
    _allowed.append((*folders, *(each.resolve() for each in folders)))
    try:
        yield
    finally:
        _allowed.pop()
        tempfile.tempdir = before


@functools.cache
def _hook() -> None:
    sys.addaudithook(_watch)  # it cannot be taken away again, and does nothing outside such a block
