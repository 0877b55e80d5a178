"""Work that fails is shown in its place, whatever went wrong, in words that a person can read."""

from __future__ import annotations

from typing import Any

from strikeproof.errors import StoreError
from strikeproof.web import work
from strikeproof.web.plain import as_told
from strikeproof.web.work import WorkFailed


def fail(*_given: object) -> None:
    raise KeyError("tool")


def test_a_mistake_of_the_program_is_shown_in_plain_words() -> None:
    failed = as_told(WorkFailed("UndefinedError: no attribute 'verdict'"), "Comparing")
    assert str(failed).startswith(
        "this is a mistake of the program (UndefinedError: no attribute 'verdict'); "
    )
    assert str(as_told(KeyError("tool"), "Comparing")).startswith(
        "this is a mistake of the program (KeyError: 'tool'); "
    )


def test_what_a_person_can_fix_keeps_its_own_words() -> None:
    assert (
        str(as_told(StoreError("the disk is full", "free some"), "Comparing"))
        == "the disk is full; free some"
    )


def test_an_unforeseen_error_in_a_work_process_comes_home_as_words() -> None:
    pipe: Any = None
    kind, error = work._called(pipe, fail, (), {})
    assert (kind, type(error), str(error)) == ("error", WorkFailed, "KeyError: 'tool'")
