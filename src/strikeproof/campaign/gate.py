"""The one gate through which files from elsewhere come in: they are read in a process of their own.

A file may be made to do harm, and the libraries that read some kinds were not written for that. Whatever a
file does there (takes all memory, never ends, breaks the reader down) becomes one problem of that file. The
reading processes are started when first needed and stay warm; they hold no file of ours open but a socket.
"""

from __future__ import annotations

import atexit
import os
import signal
import socket
import stat
import subprocess
import sys
import threading
import time
from collections.abc import Callable, Generator, Iterable
from contextlib import suppress
from dataclasses import dataclass
from multiprocessing.connection import Connection, wait
from pathlib import Path
from typing import Any, Final

from strikeproof.campaign.bounds import Bounds, bounds_for
from strikeproof.errors import BadFile, Problem, StrikeproofError

__all__ = ["Job", "read_bounded", "read_each", "read_small"]

BEGUN: Final = "begun"
RESULT: Final = "result"
PROBLEM: Final = "problem"
MEMORY: Final = "memory"
BROKEN: Final = "broken"

SMALL_BYTES: Final = 1 << 14
"""Plain text up to here is read in place: nothing that it can hold takes long."""
_PACKED = (b"\x1f\x8b", b"PK", b"\xd0\xcf\x11\xe0")
_START_S = 120.0
_GRACE_S = (
    30.0  # after which a reader that the kernel did not end is ended from here; imports are not counted
)
_OVERTIME = (signal.SIGXCPU, signal.SIGALRM)


@dataclass(frozen=True, slots=True)
class Job:
    """One file to be read: `function(*given)`, a function at the top of a module; `path` names it.

    `bounds` are those of the file's size where none are given.
    """

    path: Path
    function: Callable[..., Any]
    given: tuple[Any, ...]
    bounds: Bounds | None = None


def read_bounded(path: Path, function: Callable[..., Any], *given: Any) -> Any:
    """What `function(*given)` makes of the file at `path`, called in a process with bounds.

    Raises
    ------
    BadFile
        If it takes too much memory or time, or the reader breaks down on it.
    StrikeproofError
        Whatever the function raises.
    """
    if _POOL.is_inside:
        return function(*given)
    (outcome,) = read_each([Job(path, function, given)])
    if isinstance(outcome, StrikeproofError):
        raise outcome
    return outcome


def read_small(path: Path, content: bytes, function: Callable[..., Any], *given: Any) -> Any:
    """The same, but in place where `content`, the file's bytes, is a little plain text.

    Raises
    ------
    BadFile, StrikeproofError
        As `read_bounded`.
    """
    if _POOL.is_inside or len(content) > SMALL_BYTES or content.startswith(_PACKED):
        return read_bounded(path, function, *given)
    try:
        return function(*given)
    except StrikeproofError:
        raise
    except Exception as cause:
        raise _broken(path, describe(cause)) from cause


def read_each(jobs: Iterable[Job], most: int = 1) -> Generator[Any, None, None]:
    """The outcome of each job in their order, `most` of them at the same time.

    An outcome is what the function returns, or the StrikeproofError in its place.
    """
    todo = enumerate(jobs)
    busy: dict[Connection, tuple[int, _Reader]] = {}
    done: dict[int, Any] = {}
    wanted = 0
    try:
        while True:
            while len(busy) < most and (job := next(todo, None)) is not None:
                reader = _POOL.take()
                busy[reader.pipe] = job[0], reader
                reader.begin(job[1])
            while wanted in done:
                yield done.pop(wanted)
                wanted += 1
            if not busy:
                return
            soonest = min(reader.until for _number, reader in busy.values())
            ready = wait(list(busy), timeout=max(soonest - time.monotonic(), 0.0))
            for pipe, (number, reader) in list(busy.items()):
                over = reader.hear() if pipe in ready else reader.is_late()
                if over:
                    done[number] = reader.outcome
                    del busy[pipe]
                    _POOL.give_back(reader)
                elif reader.pipe is not pipe:  # a fresh process took its place
                    busy[reader.pipe] = busy.pop(pipe)
    finally:
        for _number, reader in busy.values():
            reader.end()


class _Reader:
    """One reading process, and the job that it is at."""

    def __init__(self) -> None:
        self._start()

    def _start(self) -> None:
        ours, theirs = socket.socketpair()
        with theirs:
            self._process = subprocess.Popen(
                [sys.executable, "-P", "-m", "strikeproof.campaign.gate_process", str(theirs.fileno())],
                pass_fds=(theirs.fileno(),),
                stdin=subprocess.DEVNULL,
                stdout=subprocess.DEVNULL,
                stderr=subprocess.DEVNULL,
                env={**os.environ, **_ENVIRONMENT, "PYTHONPATH": os.pathsep.join(filter(None, sys.path))},
            )
        self.pipe = Connection(ours.detach())
        self._used = False
        self.is_fresh = True

    def begin(self, job: Job) -> None:
        self._job = job
        self._bounds = job.bounds or bounds_for(_size(job.path))
        self.until = time.monotonic() + _START_S
        self._begun = False
        self.outcome: Any = None
        with suppress(OSError):  # it has ended meanwhile, which shows when an answer is sought
            self.pipe.send((job.function, job.given, self._bounds))

    def hear(self) -> bool:
        """Take what came from the process; whether the job is over."""
        try:
            kind, value, *rest = self.pipe.recv()
        except (EOFError, OSError):
            return self._ended()
        if kind == BEGUN:
            self._begun = self._used = True
            self.until = time.monotonic() + self._bounds.wall_s + _GRACE_S
            return False
        self.is_fresh = rest[0]
        if kind == MEMORY:
            value = _too_much(self._job.path, self._bounds)
        elif kind == BROKEN:
            value = _broken(self._job.path, value)
        self.outcome = value
        return True

    def is_late(self) -> bool:
        """Whether its time is over by far; then it is ended."""
        if time.monotonic() < self.until:
            return False
        self.end()
        self.outcome = _too_long(self._job.path, self._bounds)
        return True

    def _ended(self) -> bool:
        """The process is gone, which says what became of the job; one that never began gets another."""
        code = self.end(patience=1.0)
        if not self._begun and self._used:  # it was idle for so long that it went home
            self._start()
            self.begin(self._job)
            return False
        if not self._begun:
            raise RuntimeError(f"the process that reads files does not start (exit code {code})")
        self.outcome = _end_of(self._job.path, code, self._bounds)
        return True

    def end(self, patience: float = 0.0) -> int:
        """Let the process end, and kill it when that takes longer than `patience` [s]; its exit code."""
        self.is_fresh = False
        self.pipe.close()
        try:
            return self._process.wait(patience)
        except subprocess.TimeoutExpired:
            self._process.kill()
            return self._process.wait()

    def forget(self) -> None:
        """In a fork of the asker: leave the process alone, which belongs to the other."""
        self.pipe.close()
        self._process.returncode = 0


_ENVIRONMENT = {
    "OPENBLAS_NUM_THREADS": "1",
    "ARROW_DEFAULT_MEMORY_POOL": "system",  # the others reserve far more than they use
    "PYTHONWARNINGS": "ignore",
}


class _Pool:
    """The reading processes with nothing to do just now; `is_inside` one of them nothing is passed on."""

    def __init__(self) -> None:
        self._lock = threading.Lock()
        self._idle: list[_Reader] = []
        self.is_inside = False

    def take(self) -> _Reader:
        with self._lock:
            return self._idle.pop() if self._idle else _Reader()

    def give_back(self, reader: _Reader) -> None:
        with self._lock:
            if reader.is_fresh and len(self._idle) < (os.cpu_count() or 1):
                self._idle.append(reader)
                return
        reader.end()

    def end_all(self) -> None:
        with self._lock:
            while self._idle:
                self._idle.pop().end()

    def forget_all(self) -> None:
        """In a fork of this process, to which the readers do not belong."""
        self._lock = threading.Lock()  # another thread may have held it
        while self._idle:
            self._idle.pop().forget()


_POOL = _Pool()
atexit.register(_POOL.end_all)
os.register_at_fork(after_in_child=_POOL.forget_all)


def enter() -> None:
    """Say that this process is one that reads: what it is asked to read it reads itself."""
    _POOL.is_inside = True


def describe(wrong: BaseException) -> str:
    """A foreign exception in one line."""
    said = " ".join(str(wrong).split())
    return f"{type(wrong).__name__}: {said}"[:160]


def _size(path: Path) -> int:
    try:
        found = path.stat()
    except (OSError, ValueError):
        return 0
    return found.st_size if stat.S_ISREG(found.st_mode) else 0


def _end_of(path: Path, code: int, bounds: Bounds) -> BadFile:
    if -code in _OVERTIME:
        return _too_long(path, bounds)
    if -code == signal.SIGKILL:  # by the system, which had no memory left
        return _too_much(path, bounds)
    return _broken(path, signal.strsignal(-code) or f"signal {-code}" if code < 0 else f"exit code {code}")


def _too_much(path: Path, bounds: Bounds) -> BadFile:
    what = f"needs more than {bounds.memory / 1e9:.1f} GB of memory to be read"
    return BadFile([Problem(str(path), None, what, "split it, one run a file, or export it as CSV")])


def _too_long(path: Path, bounds: Bounds) -> BadFile:
    what = f"takes longer than {bounds.processor_s:.0f} s to be read"
    return BadFile([Problem(str(path), None, what, "copy it again from the recorder, or export it as CSV")])


def _broken(path: Path, said: str) -> BadFile:
    what = f"the reader broke down on this file ({said})"
    return BadFile([Problem(str(path), None, what, "copy it again from the recorder, or export it as CSV")])
