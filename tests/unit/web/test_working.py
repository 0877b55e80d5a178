"""Long work that fails is shown in its place, whatever went wrong: no bar is left that never ends."""

from __future__ import annotations

import asyncio
from types import TracebackType
from typing import Any

import pytest

from strikeproof.errors import StoreError, StrikeproofError
from strikeproof.web import work, working
from strikeproof.web.work import Job, WorkFailed


class _Place:
    """Stands in for an element of the page."""

    is_deleted = False
    cleared = 0

    def clear(self) -> None:
        self.cleared += 1

    def __enter__(self) -> _Place:
        return self

    def __exit__(
        self, kind: type[BaseException] | None, error: BaseException | None, where: TracebackType | None
    ) -> None: ...


def shown(monkeypatch: pytest.MonkeyPatch, error: BaseException | None, show: Any = None) -> tuple[str, ...]:
    """What stands in the place when a job ended with this error, or showing its result fails."""
    said: list[StrikeproofError] = []
    buttons: list[str] = []
    monkeypatch.setattr(working, "show_error", said.append)
    monkeypatch.setattr(working, "button", lambda text, *_given: buttons.append(text))
    place: Any = _Place()

    async def run() -> None:
        job = Job(("work",), result=1, error=error)
        job.ended.set()
        monkeypatch.setattr(working.WORK, "start", lambda *_given, **_named: job)
        await working.working(place, "Comparing", show, len)

    asyncio.run(run())
    assert place.cleared > 1
    return (*(str(each) for each in said), *buttons)


def fail(*_given: object) -> None:
    raise KeyError("tool")


def test_a_mistake_of_the_program_is_shown_in_plain_words(monkeypatch: pytest.MonkeyPatch) -> None:
    text, again = shown(monkeypatch, WorkFailed("UndefinedError: no attribute 'verdict'"))
    assert text.startswith("this is a mistake of the program (UndefinedError: no attribute 'verdict'); ")
    assert again == "Try again"


def test_a_result_that_cannot_be_drawn_says_so_too(monkeypatch: pytest.MonkeyPatch) -> None:
    (text,) = shown(monkeypatch, None, fail)
    assert text.startswith("this is a mistake of the program (KeyError: 'tool'); ")


def test_what_a_person_can_fix_keeps_its_own_words(monkeypatch: pytest.MonkeyPatch) -> None:
    assert shown(monkeypatch, StoreError("the disk is full", "free some")) == (
        "the disk is full; free some",
        "Try again",
    )


def test_an_unforeseen_error_in_a_work_process_comes_home_as_words() -> None:
    pipe: Any = None
    kind, error = work._called(pipe, fail, (), {})
    assert (kind, type(error), str(error)) == ("error", WorkFailed, "KeyError: 'tool'")
