"""Every error a person can meet, each with what is wrong, where, and the fix."""

from __future__ import annotations

import difflib
from collections.abc import Iterable, Iterator, Sequence
from contextlib import contextmanager
from dataclasses import dataclass
from typing import Any

__all__ = [
    "BadFile",
    "BadInput",
    "DidNotConverge",
    "InUse",
    "NotFound",
    "Problem",
    "StoreError",
    "StrikeproofError",
    "TooFewRuns",
    "at_place",
    "end_sentence",
    "nearest",
]


@dataclass(frozen=True, slots=True)
class Problem:
    """One thing wrong with one file: where it is, what it is and how to fix it."""

    file: str
    line: int | None
    problem: str
    fix: str

    def __str__(self) -> str:
        place = self.file if self.line is None else f"{self.file}, line {self.line}"
        return f"{place}: {self.problem}; {self.fix}"


class StrikeproofError(Exception):
    """Something a person can act on; anything else that is raised is a bug.

    Parameters
    ----------
    problem
        What is wrong and where, one clause.
    fix
        What to do about it, one clause.

    Attributes
    ----------
    place
        Keys and positions of what it is about, from the outermost table; empty where it is about no key.
    """

    place: tuple[str | int, ...] = ()

    def __init__(self, problem: str, fix: str) -> None:
        super().__init__(problem, fix)
        self.problem = problem
        self.fix = fix

    def __str__(self) -> str:
        return f"{self.problem}; {self.fix}" if self.fix else self.problem

    def __reduce__(self) -> tuple[Any, ...]:
        # Errors come back from other processes, which rebuilds them without their own __init__.
        return _rebuild, (type(self), self.args, self.__dict__)


def _rebuild(kind: type[StrikeproofError], args: tuple[Any, ...], state: dict[str, Any]) -> StrikeproofError:
    error = kind.__new__(kind, *args)
    error.args = args
    error.__dict__.update(state)
    return error


class BadInput(StrikeproofError):
    """A value that cannot be used: what it is, where it is, what is allowed, the key that it is about.

    `bare` is what it is, as said beside the key's own field; the same where nothing else is given.
    """

    def __init__(
        self, what: str, *, where: str, allowed: str, fix: str = "", key: str = "", bare: str = ""
    ) -> None:
        super().__init__(f"{where}: {what} (allowed: {allowed})", fix or "change the value")
        self.what = what
        self.bare = bare or what
        self.where = where
        self.allowed = allowed
        self.key = key
        self.place = (key,) if key else ()


class BadFile(StrikeproofError):
    """A file that cannot be used, with everything that is wrong with it at once."""

    def __init__(self, problems: Sequence[Problem]) -> None:
        self.problems = tuple(problems)
        first = self.problems[0]
        more = f" (and {len(self.problems) - 1} more)" if len(self.problems) > 1 else ""
        place = first.file if first.line is None else f"{first.file}, line {first.line}"
        super().__init__(f"{place}: {first.problem}", first.fix + more)


class TooFewRuns(StrikeproofError):
    """Not enough runs, or not enough of another `kind` of thing (in the plural), for what was asked."""

    def __init__(self, what: str, *, got: int, needed: int, kind: str = "runs", fix: str = "") -> None:
        has = f"1 {kind.removesuffix('s')}" if got == 1 else f"{got} {kind}"
        fix = fix or f"add {max(needed - got, 1)} or more {kind}"
        super().__init__(f"{what}: {has}, {needed} needed", fix)
        self.got = got
        self.needed = needed


class NotFound(StrikeproofError):
    """A name that is not there, with the nearest one that is; its key is the kind of thing by itself."""

    def __init__(self, what: str, name: str, known: Iterable[str], *, key: str = "") -> None:
        names = sorted(known)
        hint = nearest(name, names)
        listed = ", ".join(names[:12]) + (", ..." if len(names) > 12 else "")
        fix = f"did you mean {hint!r}?" if hint else f"known: {listed}" if names else "there is none yet"
        super().__init__(f"no {what} {name!r}", fix)
        self.name = name
        self.key = key or what
        self.place = (self.key,)


class DidNotConverge(StrikeproofError):
    """An iteration that ended without an answer; `best` holds the best so far."""

    def __init__(self, what: str, *, best: object, fix: str) -> None:
        super().__init__(f"{what} did not converge", fix)
        self.best = best


class StoreError(StrikeproofError):
    """The workspace cannot be read or written."""


class InUse(StoreError):
    """Somebody else uses it just now; later it will do."""


@contextmanager
def at_place(*place: str | int) -> Iterator[None]:
    """Give each error raised within the place of the table it was raised in, before the place it has."""
    try:
        yield
    except StrikeproofError as wrong:
        wrong.place = (*place, *wrong.place)
        raise


def end_sentence(text: str) -> str:
    """With a capital, and a full stop where no question mark or full stop ends it."""
    end = "" if text.endswith((".", "?", "!")) or not text else "."
    return f"{text[:1].upper()}{text[1:]}{end}"


def nearest(name: str, known: Iterable[str]) -> str | None:
    """The known name that looks most like `name`, or None when nothing does."""
    plain = {each.casefold(): each for each in known}
    found = difflib.get_close_matches(name.casefold(), plain, n=1, cutoff=0.5)
    return plain[found[0]] if found else None
