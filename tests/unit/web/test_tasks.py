"""Every heavy task that the front names is there, and a work process gives results, errors and steps."""

from __future__ import annotations

import asyncio
import multiprocessing
import os
import subprocess
import time
from collections.abc import Callable
from pathlib import Path

import pytest
from tests.unit.web.long_work import take_long

from strikeproof.desk.demo import make_demo
from strikeproof.errors import StoreError
from strikeproof.web import tasks
from strikeproof.web.tasks import Task
from strikeproof.web.work import PERSON, Cancelled, Job, TooBusy, Work

TASKS = [getattr(tasks, name) for name in tasks.__all__ if name != "Task"]


@pytest.mark.parametrize("task", TASKS, ids=lambda task: task.name)
def test_a_task_is_a_function_of_the_desk(task: Task[object]) -> None:
    assert callable(task.find())


def _with(work: Work, doing: Callable[[], object]) -> object:
    async def do() -> object:
        try:
            return await doing()  # type: ignore[misc]  # a coroutine
        finally:
            work.close()

    return asyncio.run(do())


def test_work_is_done_in_another_process_and_remembered_by_its_state() -> None:
    work = Work(1)

    async def twice() -> tuple[int, int]:
        first = await work.start(os.getpid, state="a").wait()
        return first, await work.start(os.getpid, state="a").wait()

    first, second = _with(work, twice)  # type: ignore[misc]  # a pair
    assert first == second != os.getpid()


def test_an_error_a_person_can_fix_comes_back_as_itself(tmp_path: Path) -> None:
    (tmp_path / "full").write_text("")
    work = Work(1)
    with pytest.raises(StoreError) as told:
        _with(work, lambda: work.run(make_demo, tmp_path, 1))
    assert told.value.fix


def test_work_that_is_stopped_ends_at_once_and_leaves_room_for_more() -> None:
    work = Work(1)

    async def stopped() -> int:
        job = work.start(take_long)
        while not job.step.total:
            await asyncio.sleep(0.05)
        job.cancel()
        with pytest.raises(Cancelled):
            await job.wait()
        return await work.run(os.getpid)

    assert _with(work, stopped) != os.getpid()


def test_closing_ends_a_process_that_is_still_starting(tmp_path: Path) -> None:
    work, others = Work(1), set(multiprocessing.active_children())

    async def begun() -> float:
        work.start(make_demo, tmp_path / "demo", 1)
        await asyncio.sleep(0)  # its process is asked for, and no more
        work.close()
        before = time.monotonic()
        with pytest.raises(Cancelled):
            await work.run(os.getpid)
        return before

    before = asyncio.run(begun())  # which waits for the thread that starts it
    work.bury()
    assert time.monotonic() - before < 5.0
    assert set(multiprocessing.active_children()) <= others


def test_short_work_does_not_wait_for_long_work() -> None:
    work = Work(1)

    async def both() -> bool:
        job = work.start(take_long)
        while not job.step.total:
            await asyncio.sleep(0.05)
        await work.run(os.getpid)
        return job.ended.is_set()

    assert _with(work, both) is False


def test_work_that_nobody_waits_for_any_more_ends(tmp_path: Path) -> None:
    work = Work(1)

    async def left() -> tuple[Job, Job]:
        jobs = (work.start(make_demo, tmp_path / "demo", 1), work.start(subprocess.call, ("sleep", "60")))
        for job in jobs:  # the second one has not begun when its asker goes
            job.patience_s = 0.05
            asker = asyncio.create_task(job.wait())
            await asyncio.sleep(0)
            asker.cancel()
        async with asyncio.timeout(5.0):
            await asyncio.gather(*(job.ended.wait() for job in jobs))
            await work.run(os.getpid)
        return jobs

    assert all(isinstance(job.error, Cancelled) for job in _with(work, left))  # type: ignore[attr-defined]


def test_work_that_somebody_still_waits_for_or_has_pressed_goes_on() -> None:
    work = Work(1)

    async def shared() -> tuple[object, bool]:
        job = work.start(subprocess.call, ("sleep", "0.4"))
        job.patience_s = 0.05
        one, other = (asyncio.create_task(job.wait()) for _ in range(2))
        pressed = work.start_brief(subprocess.call, ("sleep", "9")).pressed()
        leaving = asyncio.create_task(pressed.wait())
        await asyncio.sleep(0)
        one.cancel()
        leaving.cancel()
        return await other, pressed.ended.is_set()

    assert _with(work, shared) == (0, False)


def test_nobody_may_have_more_than_a_few_under_way() -> None:
    work = Work(1)

    async def ask() -> tuple[TooBusy, TooBusy]:
        PERSON.set("one")
        jobs = [work.start(subprocess.call, ("sleep", "60"), number) for number in range(12)]
        with pytest.raises(TooBusy) as own:
            work.start(subprocess.call, "more")
        assert work.start(subprocess.call, ("sleep", "60"), 0) is jobs[0]  # to join is no more work
        for other in "abc":
            PERSON.set(other)
            for number in range(12):
                work.start(subprocess.call, other, number)
        PERSON.set("last")
        with pytest.raises(TooBusy) as of_all:
            work.start(subprocess.call, "more")
        jobs[5].cancel()
        work.start(subprocess.call, "more")
        return own.value, of_all.value

    own, of_all = _with(work, ask)  # type: ignore[misc]  # a pair
    assert "yours" in own.problem and "other" in of_all.problem and own.fix


def test_a_job_that_was_stopped_is_not_joined(tmp_path: Path) -> None:
    work = Work(1)

    async def again() -> tuple[bool, int]:
        first = work.start(os.getpid)
        first.cancel()
        second = work.start(os.getpid)
        return second is first, await second.wait()

    joined, process = _with(work, again)  # type: ignore[misc]  # a pair
    assert not joined and process
