"""Compiled kernels, and a cache of them that never outlives the sources they were compiled from.

Numba keeps a kernel's machine code on disk and stamps it with its own file only, while the kernels that it
calls are compiled into it from other files. Here every kernel is stamped with the text of all Python files of
its folder instead: after any change to one of them, however the file got there, it is compiled again.
"""

from __future__ import annotations

import hashlib
from collections.abc import Callable
from functools import cache, partial
from importlib.metadata import version
from pathlib import Path
from pickle import UnpicklingError
from typing import Any, ParamSpec, TypeVar

import numba

__all__ = ["kernel", "sources_mark", "stamp_of"]

P = ParamSpec("P")
R = TypeVar("R")


@cache
def _stamp_of_once(folder: Path) -> str:
    return stamp_of(folder)


def stamp_of(folder: Path) -> str:
    """What the Python files of a folder say, in few characters; changes with any of them."""
    digest = hashlib.blake2b(digest_size=16)
    for path in sorted(folder.glob("*.py")):
        text = path.read_bytes()
        digest.update(f"{path.name} {len(text)} ".encode())
        digest.update(text)
    return digest.hexdigest()


@cache
def sources_mark() -> str:
    """What gives the same results to the last digit: all sources of this package, and what compiles them."""
    folders = sorted({path.parent for path in Path(__file__).parent.rglob("*.py")})
    words = [stamp_of(folder) for folder in folders] + [version(name) for name in ("numba", "numpy", "scipy")]
    return hashlib.blake2b(" ".join(words).encode(), digest_size=16).hexdigest()


def _load_index(load: Callable[[], dict[Any, Any]]) -> dict[Any, Any]:
    """What is stored of a kernel; nothing where its signatures name types that are gone from the sources.

    The index is unpickled before its stamp is compared, so that an update could end the program.
    """
    try:
        return load()
    except (AttributeError, ImportError, EOFError, UnpicklingError):
        return {}


def kernel(**options: Any) -> Callable[[Callable[P, R]], Callable[P, R]]:
    """Decorator: compile a function with numba's `options` and keep the machine code on disk.

    A kernel calls kernels of its own folder only.
    """

    def compile_it(function: Callable[P, R]) -> Callable[P, R]:
        compiled: Any = numba.njit(cache=True, **options)(function)
        if compiled is not function:  # as with NUMBA_DISABLE_JIT
            folder = Path(function.__code__.co_filename).parent
            # Numba has no public way to name what a cache depends on; the tests see that this one works.
            index = compiled._cache._cache_file
            index._source_stamp = _stamp_of_once(folder)
            index._load_index = partial(_load_index, index._load_index)
        return compiled  # type: ignore[no-any-return]

    return compile_it
