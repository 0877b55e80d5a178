"""Who simulates: this process, or the workers of a Dask scheduler."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from typing import Any

from strikeproof.errors import BadInput, StrikeproofError
from strikeproof.kernels import sources_mark

__all__ = ["ALONE", "Call", "Team", "TeamLost", "call_here", "gather_team"]

ANSWER_WITHIN = 10.0  # s, for a scheduler and its first worker
LOOK_AFTER = 30.0  # s without an answer, after which is asked whether any worker is left
AHEAD = 2
"""Calls under way for each thread of a worker: it has the next at hand when it is done with one."""

Call = Callable[..., Any]
"""`call(function, *arguments)`: what the function returns, whoever ran it. Safe from several threads."""


class TeamLost(StrikeproofError):
    """The workers of a scheduler went away, and work was left."""


def call_here(function: Callable[..., Any], *arguments: Any) -> Any:
    """What the function returns, run in the thread that asks."""
    return function(*arguments)


@dataclass(frozen=True, slots=True)
class Team:
    """Who answers calls, and how many are worth having under way at once.

    Parameters
    ----------
    size
        Threads of this process that make calls. The engine's kernels run side by side in them.
    call
        In place unless it is another's: the results are the same, whoever answers.
    """

    size: int = 1
    call: Call = call_here


ALONE = Team()
"""One thread of this process."""


@contextmanager
def gather_team(scheduler: str | None, workers: int = 1) -> Iterator[Team]:
    """The team that a scheduler's address names; without one, threads of this process.

    A call whose worker dies is made again by another one. Every worker must run the same Strikeproof.

    Parameters
    ----------
    scheduler
        Address of a Dask scheduler, such as tcp://lab-server:8786.
    workers
        Threads of this process where no scheduler is named.

    Raises
    ------
    BadInput
        If Dask is not installed, nothing answers at the address, or a worker runs another Strikeproof.
    TeamLost
        In a call, if no worker is left, or one call has brought down several workers.
    """
    if scheduler is None:
        yield Team(workers)
        return
    client = _connect(scheduler)
    try:
        yield Team(AHEAD * _count_threads(client, scheduler), _Caller(client, scheduler))
    finally:
        client.close()


@dataclass(frozen=True, slots=True)
class _Caller:
    """Makes a call on some worker of the scheduler and waits for what it returns."""

    client: Any
    address: str

    def __call__(self, function: Callable[..., Any], *arguments: Any) -> Any:
        from dask.distributed import CancelledError, KilledWorker

        future = self.client.submit(function, *arguments, pure=False)
        while True:
            try:
                return future.result(timeout=LOOK_AFTER)
            except TimeoutError:
                if not self.client.nthreads():
                    raise self._lost("has no worker left") from None
            except KilledWorker as killed:
                raise self._lost("lost several workers in the same call") from killed
            except CancelledError as gone:
                raise self._lost("went away") from gone

    def _lost(self, what: str) -> TeamLost:
        return TeamLost(f"{self.address} {what}", "start its workers again, or leave --scheduler out")


def _connect(address: str) -> Any:
    try:
        from dask.distributed import Client
    except ImportError as missing:
        raise BadInput(
            f"{address} cannot be used, Dask is not installed",
            where="scheduler",
            allowed="no scheduler, or Dask's address with the extra `cluster` installed",
            fix="install strikeproof[cluster]",
        ) from missing
    try:
        made: Any = Client  # its constructor has no annotations
        return made(address, timeout=ANSWER_WITHIN, set_as_default=False)
    except (OSError, ValueError) as silent:
        raise BadInput(
            f"{address} does not answer",
            where="scheduler",
            allowed="address of a Dask scheduler that runs, such as tcp://lab-server:8786",
            fix="start it, or leave the scheduler out",
        ) from silent


def _say_mark() -> str:
    return sources_mark()


def _count_threads(client: Any, address: str) -> int:
    """Threads of all workers, each of which runs the Strikeproof that runs here."""
    try:
        client.wait_for_workers(1, timeout=ANSWER_WITHIN)
    except TimeoutError as none:
        client.close()
        raise BadInput(
            f"{address} has no workers",
            where="scheduler",
            allowed="a scheduler with one worker or more",
            fix="start a worker on it",
        ) from none
    others = [worker for worker, mark in client.run(_say_mark).items() if mark != sources_mark()]
    if others:
        client.close()
        raise BadInput(
            f"{', '.join(others)} runs another Strikeproof",
            where="scheduler",
            allowed="workers with the same version as here, for the same results",
            fix="install the same version there and start them again",
        )
    return int(sum(client.nthreads().values()))
