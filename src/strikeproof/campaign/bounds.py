"""What reading one file may take of memory and time, set by the kernel on the process that reads it."""

from __future__ import annotations

import math
import os
import signal
import sys
import threading
import time
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from pathlib import Path

if sys.platform != "win32":
    import resource

__all__ = ["Bounds", "bounded", "bounds_for", "data_bytes", "uncounted"]

BEYOND_BYTES = 1_000_000_000
COPIES = 8  # a long log of text is held as bytes, as cells and as numbers before it is a trace
SECONDS = 3.0  # of the processor: any log of the usual size takes a hundredth of it
SECONDS_PER_MB = 1.0
MOST_SECONDS = 300.0
PATIENCE_S = 1.0  # more by the clock on the wall; a file of megabytes gets more, as others need the processor
_LOOK_S = 0.02
_TURN_S = 0.1  # how often it is looked whether this process has its turn
_ALARM = threading.Lock()  # whoever changes the alarm holds it


@dataclass(frozen=True, slots=True)
class Bounds:
    """Memory [bytes] beyond what the process has, seconds of its processors, seconds on the wall."""

    memory: int
    processor_s: float
    wall_s: float


def bounds_for(size: int) -> Bounds:
    """What reading a file of `size` bytes may take."""
    processor = min(SECONDS + SECONDS_PER_MB * size / 1e6, MOST_SECONDS)
    return Bounds(max(BEYOND_BYTES, COPIES * size), processor, 3 * processor - 2 * SECONDS + PATIENCE_S)


@contextmanager
def bounded(bounds: Bounds) -> Iterator[None]:
    """Bounds on this process while the block runs, which nothing in it can put off.

    Memory beyond them is a MemoryError; time beyond them ends the process by SIGXCPU or SIGALRM, also inside
    a library that never comes back. While a busy machine gives the process no turn, the clock on the wall is
    put off. Without `/proc` (macOS, BSD) not every system's limit covers all memory,
    so there a thread looks as well, and ends the process by SIGKILL.
    """
    before = _soft(resource.RLIMIT_DATA), _soft(resource.RLIMIT_CPU)
    used, over = data_bytes(), threading.Event()
    most = (used or _peak_bytes()) + bounds.memory
    _set_soft(resource.RLIMIT_DATA, most)
    _set_soft(resource.RLIMIT_CPU, math.ceil(time.process_time() + bounds.processor_s))
    signal.signal(signal.SIGALRM, signal.SIG_DFL)
    signal.setitimer(signal.ITIMER_REAL, bounds.wall_s)
    threading.Thread(target=_wait_for_turns, args=(over,), daemon=True).start()
    if not used:
        threading.Thread(target=_end_beyond, args=(most, over), daemon=True).start()
    try:
        yield
    finally:
        over.set()
        with _ALARM:
            signal.setitimer(signal.ITIMER_REAL, 0)
        _set_soft(resource.RLIMIT_DATA, before[0])
        _set_soft(resource.RLIMIT_CPU, before[1])


def _wait_for_turns(over: threading.Event) -> None:
    """Put the alarm off by what this thread wakes too late: so long the process had no turn.

    A library that holds the interpreter keeps the thread from it, and is ended on time.
    """
    begun = time.monotonic()
    while not over.wait(_TURN_S):
        now = time.monotonic()
        with _ALARM:
            left, _ = signal.getitimer(signal.ITIMER_REAL)
            if left and not over.is_set():
                signal.setitimer(signal.ITIMER_REAL, left + max(now - begun - _TURN_S, 0.0))
        begun = now


def _end_beyond(most: int, over: threading.Event) -> None:
    while not over.wait(_LOOK_S):
        if _peak_bytes() > most:
            os.kill(os.getpid(), signal.SIGKILL)


def _peak_bytes() -> int:
    """Most memory that this process ever had in use; macOS counts it in bytes, the others in kibibytes."""
    return resource.getrusage(resource.RUSAGE_SELF).ru_maxrss * (1 if sys.platform == "darwin" else 1024)


@contextmanager
def uncounted() -> Iterator[None]:
    """For the import of a library, whose time is none of the file's: the block is left out of the bounds."""
    if sys.platform == "win32" or _soft(resource.RLIMIT_CPU) == resource.RLIM_INFINITY:
        yield
        return
    limit, begun = _soft(resource.RLIMIT_CPU), time.process_time()
    _set_soft(resource.RLIMIT_CPU, resource.RLIM_INFINITY)
    with _ALARM:
        left, _ = signal.setitimer(signal.ITIMER_REAL, 0)
    try:
        yield
    finally:
        with _ALARM:
            signal.setitimer(signal.ITIMER_REAL, left)
        _set_soft(resource.RLIMIT_CPU, limit + math.ceil(time.process_time() - begun))


def data_bytes() -> int:
    """Memory of this process as RLIMIT_DATA counts it; 0 where the system does not say."""
    try:
        return int(Path("/proc/self/statm").read_text().split()[5]) * resource.getpagesize()
    except OSError:
        return 0


def _soft(kind: int) -> int:
    return resource.getrlimit(kind)[0]


def _set_soft(kind: int, wanted: int) -> None:
    """A soft limit, never above the hard one: that was set by somebody for a reason."""
    hard = resource.getrlimit(kind)[1]
    infinite = resource.RLIM_INFINITY
    if hard != infinite and (wanted == infinite or wanted > hard):
        wanted = hard
    resource.setrlimit(kind, (wanted, hard))
