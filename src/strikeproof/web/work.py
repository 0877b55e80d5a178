"""Long work, in processes of its own: the server's process only waits, so every page stays quick.

A job is a function at the top of a module and plain arguments. It is called with `progress` as a keyword
where it takes one. Two pages that ask for the same job share it. One that nobody waits for any more ends, and
nobody may have more than a few under way, so that a person who asks for everything holds up nobody else.
"""

from __future__ import annotations

import asyncio
import inspect
import multiprocessing as mp
import os
import signal
import sys
import threading
from collections import OrderedDict
from collections.abc import Callable, Iterator
from contextlib import contextmanager, suppress
from contextvars import ContextVar
from dataclasses import dataclass, field
from functools import partial
from importlib import import_module
from multiprocessing.connection import Connection
from multiprocessing.process import BaseProcess
from typing import Any, TypeVar

from strikeproof.desk.workspace.parent_watch import end_with_parent
from strikeproof.errors import StrikeproofError
from strikeproof.web.tasks import Task

__all__ = ["PERSON", "WORK", "Cancelled", "Job", "Step", "TooBusy", "Work", "WorkFailed"]

T = TypeVar("T")

_SPAWN = mp.get_context("spawn")
_MOST = max(2, min(4, os.cpu_count() or 1))
_REMEMBERED = 32
_STOP = "stop"
_PATIENCE_S = 2.0  # a process that is asked to stop gets this long
_UNAWAITED_S = 5.0  # what nobody waits for goes on for so long, as somebody may come back
_PRESSED_S = (
    7200.0  # and so long what a person has started: a tablet may sleep, a page may be left and come back
)
_MOST_A_PERSON = 12
_MOST_IN_ALL = 48

PERSON: ContextVar[str] = ContextVar("person", default="")
"""Who asks, for the count of what each has under way; the guard sets it for every request and WebSocket."""


class Cancelled(StrikeproofError):
    """The person stopped the work."""

    def __init__(self) -> None:
        super().__init__("the work was stopped", "start it again; what was worked out is saved")


class WorkFailed(RuntimeError):
    """The work ended by an error that nobody foresaw, or its process died; says so in a line."""


class TooBusy(StrikeproofError):
    """More work is under way than one person, or this server, may have."""

    def __init__(self, *, own: bool) -> None:
        whose = f"{_MOST_A_PERSON} pieces of work of yours are" if own else "too much other work is"
        super().__init__(f"{whose} under way already", "wait until some of it is done, then try again")


@dataclass(frozen=True, slots=True)
class Step:
    """How far a job is: done of total, and what it is at."""

    done: int
    total: int
    name: str


@dataclass(slots=True, eq=False)
class Job:
    """Work under way; `wait` gives its result. With nobody waiting it ends after `patience_s`."""

    key: tuple[Any, ...]
    person: str = ""
    patience_s: float = _UNAWAITED_S
    step: Step = Step(0, 0, "")
    ended: asyncio.Event = field(default_factory=asyncio.Event)
    result: Any = None
    error: BaseException | None = None
    waiting: int = 0
    worker: _Worker | None = None
    keeps: bool = False
    stopping: bool = False
    queued: asyncio.Task[None] | None = None

    @contextmanager
    def awaited(self) -> Iterator[None]:
        """While somebody waits for it."""
        self.waiting += 1
        try:
            yield
        finally:
            self.waiting -= 1
            if not self.waiting and not self.ended.is_set():
                asyncio.get_running_loop().call_later(self.patience_s, self._end_unawaited)

    def pressed(self) -> Job:
        """The same job, which a person has started, and which may be left alone for longer."""
        self.patience_s = _PRESSED_S
        return self

    @property
    def is_pressed(self) -> bool:
        """Whether a person has started it."""
        return self.patience_s == _PRESSED_S

    def _end_unawaited(self) -> None:
        if not self.waiting:
            self.stop()

    async def wait(self) -> Any:
        """The result.

        Raises
        ------
        StrikeproofError
            What the job raised, or that it was stopped.
        """
        with self.awaited():
            await self.ended.wait()
        if self.error is not None:
            raise self.error
        return self.result

    def stop(self) -> None:
        """What a person's stop does: work that keeps what it finds is asked to end, a second time made to."""
        if self.keeps and not self.stopping and self.worker is not None and self.worker.began:
            self.stopping = True
            self.worker.ask()
        else:
            self.cancel()

    def cancel(self) -> None:
        """End it for everybody who waits; nothing is saved."""
        if not self.ended.is_set():
            self.error = Cancelled()
            self.ended.set()
            if self.worker is not None:
                self.worker.stop()
            elif self.queued is not None:
                self.queued.cancel()


class Work:
    """A few warm processes that do jobs one after the other, and one more for what is short.

    What a person has started may take hours; it has lanes of its own, so that no page waits behind it.
    """

    def __init__(self, most: int = _MOST) -> None:
        self._idle: list[_Worker] = []
        self._every: set[_Worker] = set()
        self._closed = False
        self._warmed = False
        self._jobs: dict[tuple[Any, ...], Job] = {}
        self._known: OrderedDict[tuple[Any, ...], Any] = OrderedDict()
        self._free = asyncio.Semaphore(most)
        self._pressed = asyncio.Semaphore(most)
        self._brief = asyncio.Semaphore(1)
        self._tasks: set[asyncio.Task[None]] = set()

    def start(self, function: Callable[..., T] | Task[T], *given: Any, state: str = "", **named: Any) -> Job:
        """Begin a job, or join the one under way that is the same.

        With a `state`, a word that changes with all that the result depends on, a result is remembered.

        Raises
        ------
        TooBusy
            If the person, or all together, have too much under way.
        """
        return self._start(function, given, named, state, self._free)

    def start_brief(self, function: Callable[..., T] | Task[T], *given: Any, **named: Any) -> Job:
        """The same for a job that is too short to show; it waits for no long one."""
        return self._start(function, given, named, "", self._brief)

    def knows(self, function: Callable[..., T] | Task[T], *given: Any, state: str = "", **named: Any) -> bool:
        """Whether the result of this job is remembered, so that to start it takes no work."""
        return _key(function, given, named, state) in self._known

    def _start(
        self,
        function: Callable[..., Any] | Task[Any],
        given: tuple[Any, ...],
        named: dict[str, Any],
        state: str,
        room: asyncio.Semaphore,
    ) -> Job:
        key = _key(function, given, named, state)
        under_way = self._jobs.get(key)
        if under_way is not None and not under_way.ended.is_set():
            return under_way
        job = Job(key, PERSON.get(), keeps=isinstance(function, Task) and function.keeps)
        if self._closed:
            job.cancel()
            return job
        if key in self._known:
            self._known.move_to_end(key)
            job.result = self._known[key]
            job.ended.set()
            return job
        self._require_room(job.person)
        self._jobs[key] = job
        doing = asyncio.get_running_loop().create_task(self._do(job, function, given, named, room))
        self._tasks.add(doing)
        doing.add_done_callback(partial(self._forget, job))
        job.queued = doing
        return job

    def _require_room(self, person: str) -> None:
        open_jobs = [job for job in self._jobs.values() if not job.ended.is_set()]
        if sum(job.person == person for job in open_jobs) >= _MOST_A_PERSON:
            raise TooBusy(own=True)
        if len(open_jobs) >= _MOST_IN_ALL:
            raise TooBusy(own=False)

    def warm(self, *modules: str) -> None:
        """Once: import what the first long work will need, in a work process that nobody waits for."""
        if not self._warmed:
            with suppress(TooBusy):
                self.start(_import_all, *modules)
                self._warmed = True

    def under_way(self, function: Callable[..., T] | Task[T], *given: Any, **named: Any) -> bool:
        """Whether just this job, begun without a state, goes on now; to start it would be to join it."""
        job = self._jobs.get(_key(function, given, named, ""))
        return job is not None and not job.ended.is_set()

    async def run(self, function: Callable[..., T] | Task[T], *given: Any, **named: Any) -> T:
        """Do a job that is too short to show, off this process all the same; it waits for no long one."""
        result: T = await self.start_brief(function, *given, **named).wait()
        return result

    def close(self) -> None:
        """End every process, those that are still starting too; nothing is begun afterwards."""
        self._closed = True
        for job in list(self._jobs.values()):
            job.cancel()
        for worker in list(self._every):
            worker.stop()
        self._idle.clear()

    def bury(self) -> None:
        """After `close`: wait until every process is gone."""
        for worker in list(self._every):
            worker.bury()

    async def _do(
        self,
        job: Job,
        function: Callable[..., Any] | Task[Any],
        given: Any,
        named: Any,
        room: asyncio.Semaphore,
    ) -> None:
        if room is self._free and job.is_pressed:  # known by now: the task begins after who started it
            room = self._pressed
        async with room:
            job.queued = None
            if not job.ended.is_set():
                await self._on_worker(job, function, given, named)

    def _forget(self, job: Job, doing: asyncio.Task[None]) -> None:
        """It is done, or was stopped before its turn."""
        self._tasks.discard(doing)
        if self._jobs.get(job.key) is job:  # not the next one, that began when this was stopped
            del self._jobs[job.key]
        if not doing.cancelled() and doing.exception() is not None:
            job.error = doing.exception()
        job.ended.set()

    def _hire(self) -> _Worker:
        self._every = {each for each in self._every if each.process.is_alive()}
        worker = _Worker()
        self._every.add(worker)
        if self._closed:  # meanwhile, and nobody may be left to stop it
            worker.stop()
        return worker

    async def _on_worker(
        self, job: Job, function: Callable[..., Any] | Task[Any], given: Any, named: Any
    ) -> None:
        worker = self._idle.pop() if self._idle else await asyncio.to_thread(self._hire)
        job.worker = worker
        if job.ended.is_set():  # stopped while its process was still starting
            worker.stop()
            return
        try:
            outcome = await asyncio.to_thread(worker.do, (function, given, named), job)
        except (EOFError, OSError):
            if job.error is None:
                job.error = WorkFailed(f"the process of {job.key[0]} ended by itself")
            worker.stop()
            return
        if job.ended.is_set():
            worker.stop()
            return
        self._idle.append(worker)
        good, value = outcome
        job.result, job.error = (value, None) if good else (None, value)
        if good and job.key[-1] and value is not None:
            self._known[job.key] = value
            while len(self._known) > _REMEMBERED:
                self._known.popitem(last=False)


def _key(
    function: Callable[..., Any] | Task[Any], given: tuple[Any, ...], named: dict[str, Any], state: str
) -> tuple[Any, ...]:
    """What makes two jobs the same."""
    task = function if isinstance(function, Task) else f"{function.__module__}.{function.__qualname__}"
    return (task, repr(given), repr(sorted(named.items())), state)


class _Worker:
    """One process and the pipe to it."""

    def __init__(self) -> None:
        self.pipe, far = _SPAWN.Pipe()
        # The child starts the program's modules afresh and must not run its command line again.
        self.process: BaseProcess = _SPAWN.Process(target=_serve, args=(far,), name="strikeproof-work")
        self.began = False
        self.process.start()
        far.close()

    def do(self, call: Any, job: Job) -> tuple[bool, Any]:
        self.began = True
        self.pipe.send(call)
        while True:
            kind, value = self.pipe.recv()
            if kind != "step":
                return kind == "result", value
            job.step = value

    def ask(self) -> None:
        """Ask the work to end with what it has."""
        with suppress(OSError):  # it is gone, and what waits for it sees that
            self.pipe.send(_STOP)

    def stop(self) -> None:
        """Ask it to end, and kill it when it does not; at once when it has no helpers of its own yet."""
        if not self.process.is_alive():
            return
        if not self.began:
            self.process.kill()
            return
        self.process.terminate()
        threading.Thread(target=self.bury, daemon=True).start()

    def bury(self) -> None:
        """Wait until it is gone; kill it when that takes long."""
        self.process.join(_PATIENCE_S)
        if self.process.is_alive():
            self.process.kill()
            self.process.join()


def _import_all(*modules: str) -> None:
    for each in modules:
        import_module(each)


def _end(*_given: object) -> None:
    """End, once: a second request while the helpers end would be a stack in the server's log."""
    signal.signal(signal.SIGTERM, signal.SIG_IGN)
    sys.exit(0)


def _serve(pipe: Connection) -> None:
    """The loop of a work process; it ends with its server, between two jobs or in the middle of one."""
    signal.signal(signal.SIGINT, signal.SIG_IGN)  # Ctrl-C is the server's to answer
    signal.signal(signal.SIGTERM, _end)  # so that helpers of its own end too
    end_with_parent()
    _answer_calls(pipe)


def _answer_calls(pipe: Connection) -> None:
    while True:
        try:
            call = pipe.recv()
        except (EOFError, OSError):
            return
        if call == _STOP:  # it came when the work was done already
            continue
        function, given, named = call
        pipe.send(_called(pipe, function, given, named))


def _called(
    pipe: Connection, task: Callable[..., Any] | Task[Any], given: tuple[Any, ...], named: dict[str, Any]
) -> tuple[str, Any]:
    function = task.find() if isinstance(task, Task) else task
    if "progress" in inspect.signature(function).parameters:
        named = {
            **named,
            "progress": lambda done, total, name="": pipe.send(("step", Step(done, total, name))),
        }
    if isinstance(task, Task) and task.keeps:
        named = {**named, "cancelled": _Asked(pipe)}
    try:
        return "result", function(*given, **named)
    except StrikeproofError as error:
        return "error", error
    except Exception as error:
        error.add_note(f"in the work process, at {function.__module__}.{function.__qualname__}")
        return "error", WorkFailed(f"{type(error).__name__}: {error}")


class _Asked:
    """Whether the work was asked to end; once true it stays so."""

    def __init__(self, pipe: Connection) -> None:
        self._pipe = pipe
        self._asked = False

    def __call__(self) -> bool:
        if not self._asked and self._pipe.poll():
            self._asked = self._pipe.recv() == _STOP
        return self._asked


WORK = Work()
