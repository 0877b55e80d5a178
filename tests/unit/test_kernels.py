"""No compiled kernel outlives the sources it was compiled from."""

from __future__ import annotations

import importlib
import os
import pickle
import sys
from collections.abc import Iterator
from pathlib import Path
from time import perf_counter
from types import ModuleType

import numba
import pytest
from numba.core.dispatcher import Dispatcher

import strikeproof
from strikeproof import kernels

_HEAD = "from strikeproof.kernels import kernel\n"
_INNER = _HEAD + "@kernel()\ndef weigh(x):\n    return 2.0 * x\n"
_OUTER = _HEAD + "from odd_room.inner import weigh\n@kernel()\ndef deliver(x):\n    return 1.0 + weigh(x)\n"


@pytest.fixture
def room(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Iterator[Path]:
    """A room with a kernel that calls one of another file."""
    folder = tmp_path / "odd_room"
    folder.mkdir()
    (folder / "__init__.py").write_text("")
    (folder / "inner.py").write_text(_INNER)
    (folder / "outer.py").write_text(_OUTER)
    monkeypatch.syspath_prepend(tmp_path)
    monkeypatch.setattr(sys, "dont_write_bytecode", True)
    yield folder
    _forget()


def _forget() -> None:
    for name in [each for each in sys.modules if each.startswith("odd_room")]:
        del sys.modules[name]
    kernels._stamp_of_once.cache_clear()
    importlib.invalidate_caches()


def _start() -> ModuleType:
    """The outer kernel as a process that starts now has it."""
    _forget()
    return importlib.import_module("odd_room.outer")


def test_a_kernel_is_compiled_again_when_one_that_it_calls_changed(room: Path) -> None:
    assert _start().deliver(3.0) == 7.0
    again = _start()
    assert again.deliver(3.0) == 7.0
    assert sum(again.deliver.stats.cache_hits.values()) == 1
    inner = room / "inner.py"
    before = inner.stat()
    inner.write_text(_INNER.replace("2.0", "5.0"))
    os.utime(inner, ns=(before.st_atime_ns, before.st_mtime_ns))  # as an installer may leave it
    assert _start().deliver(3.0) == 16.0


def test_a_kept_kernel_of_a_type_that_is_gone_is_compiled_again(room: Path) -> None:
    """Its index names the type, and is read before its stamp."""
    assert _start().deliver(3.0) == 7.0
    for index in room.rglob("*.nbi"):
        index.write_bytes(pickle.dumps(numba.__version__) + b"codd_room.outer\nGone\n.")
    assert _start().deliver(3.0) == 7.0


def test_every_kernel_is_stamped_and_calls_kernels_of_its_own_folder() -> None:
    found = 0
    root = Path(strikeproof.__file__).parent
    for path in sorted(root.rglob("*.py")):
        if path.name == "kernels.py" or "@kernel(" not in path.read_text():
            assert path.name == "kernels.py" or "njit" not in path.read_text(), path
            continue
        name = ".".join(path.relative_to(root.parent).with_suffix("").parts)
        module = vars(importlib.import_module(name))
        for each in [v for v in module.values() if isinstance(v, Dispatcher) and v.__module__ == name]:
            found += 1
            assert each._cache._cache_file._source_stamp == kernels.stamp_of(path.parent)
            called = [module.get(word) for word in each.py_func.__code__.co_names]
            for other in [v for v in called if isinstance(v, Dispatcher)]:
                assert other.__module__.rpartition(".")[0] == name.rpartition(".")[0], (name, other)
    assert found > 30


def test_stamping_costs_next_to_nothing() -> None:
    folder = Path(strikeproof.__file__).parent / "drivetrain"
    times = []
    for _ in range(5):
        start = perf_counter()
        kernels.stamp_of(folder)
        times.append(perf_counter() - start)
    assert min(times) < 0.005  # 0.5 ms on an idle desktop; common practice, no source
