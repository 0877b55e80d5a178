"""Everything that is wrong with a file of wishes, gathered so that a person fixes it in one go."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from typing import Any, TypeAlias, TypeVar

from strikeproof.errors import BadFile, Problem, StrikeproofError, nearest
from strikeproof.parts.fields import Fields, Range

__all__ = ["Finder", "Mistakes", "Place", "Table", "no_line"]

Place: TypeAlias = tuple[str | int, ...]
"""Names and positions from the top of the file, such as ("stock", 0, "item")."""
Finder: TypeAlias = Callable[[Sequence[str | int]], int | None]
"""Line of a place in the file; None where it is not known."""
T = TypeVar("T")
S = TypeVar("S")


def no_line(_place: Sequence[str | int]) -> None:
    """For tables that come from no file."""
    return


@dataclass(slots=True)
class Mistakes:
    """What was found wrong so far with one file."""

    file: str
    line_of: Finder = no_line
    found: list[Problem] = field(default_factory=list)

    def add(self, place: Place, problem: str, fix: str) -> None:
        """One more thing wrong.

        Parameters
        ----------
        place
            Where in the file.
        problem
            In words.
        fix
            What to do, in words.
        """
        self.found.append(Problem(self.file, self.line_of(place), problem, fix))

    def attempt(self, place: Place, read: Callable[[], T], instead: S, where: str = "") -> T | S:
        """What `read` gives; `instead` when it cannot, which is noted, with `where` before it.

        Parameters
        ----------
        place
            Where in the file.
        read
            Raises what a person can act on when it cannot.
        instead
            Given where it cannot.
        where
            Put before what is wrong.
        """
        try:
            return read()
        except BadFile as wrong:
            self.found.extend(wrong.problems)
        except StrikeproofError as wrong:
            self.add(place, f"{where}: {wrong.problem}" if where else wrong.problem, wrong.fix)
        return instead

    def settle(self) -> None:
        """End with all that is wrong.

        Raises
        ------
        BadFile
            If anything is.
        """
        if self.found:
            raise BadFile(self.found)


@dataclass(frozen=True, slots=True)
class Table:
    """A table read key by key; what cannot be used is noted and counts as a harmless value meanwhile."""

    fields: Fields
    place: Place
    mistakes: Mistakes

    @classmethod
    def open(
        cls,
        raw: Any,
        place: Place,
        mistakes: Mistakes,
        ranges: Mapping[str, Range],
        words: Sequence[str],
    ) -> Table:
        """The table `raw`, every unknown key noted; one that looks like a known key is read as that.

        So a misspelt key is named once, and its value is judged too.

        Parameters
        ----------
        raw
            As it was read from the file; noted when it is no table.
        place
            Where in the file.
        mistakes
            Gathers what is wrong.
        ranges
            Every key that takes a number.
        words
            Every other key.
        """
        where = _told(place)
        if not isinstance(raw, Mapping):
            mistakes.add(place, f"{where}: {raw!r} is no table", f"write [{place[0]}] above its keys")
            raw = {}
        known = (*ranges, *words)
        kept = {key: value for key, value in raw.items() if key in known}
        for key, value in raw.items():
            if key in known:
                continue
            hint = nearest(str(key), [each for each in known if each not in raw]) or nearest(str(key), known)
            fix = f"did you mean {hint!r}?" if hint else f"known: {', '.join(known)}"
            problem = f"{where}: unknown key {key!r}" if place else f"unknown table {key!r}"
            mistakes.add((*place, str(key)), problem, fix)
            if hint is not None:
                kept.setdefault(hint, value)
        return cls(Fields(kept, where, ranges, words), place, mistakes)

    def __contains__(self, key: str) -> bool:
        return key in self.fields

    def note(self, key: str, problem: str, fix: str) -> None:
        """Something wrong with the value of a key.

        Parameters
        ----------
        key
            Of the table.
        problem
            In words.
        fix
            What to do, in words.
        """
        self.mistakes.add((*self.place, key), f"{self.fields.where}: {problem}", fix)

    def number(self, key: str, default: float | None = None) -> float:
        """The number under a key in SI; `default` is too. NaN when it cannot be used."""
        return self.mistakes.attempt(
            (*self.place, key), lambda: self.fields.number(key, default), float("nan")
        )

    def maybe(self, key: str) -> float | None:
        """The number under a key in SI; None when it is not there or cannot be used."""
        return self.mistakes.attempt((*self.place, key), lambda: self.fields.maybe(key), None)

    def whole(self, key: str, default: int) -> int:
        """A whole number; `default` when it cannot be used."""
        value = self.maybe(key)
        if value is not None and value != int(value):
            self.note(key, f"{key} = {value:g}", "write a whole number")
        return default if value is None else int(value)

    def text(self, key: str, default: str | None = None) -> str:
        """The text under a key; empty when it cannot be used."""
        return self.mistakes.attempt((*self.place, key), lambda: self.fields.text(key, default), "")

    def choice(self, key: str, choices: Sequence[str], default: str) -> str:
        """The word under a key; `default` when it is not there or cannot be used.

        Parameters
        ----------
        key
            Of the table.
        choices
            Every word that is taken.
        default
            One of them.
        """
        return self.mistakes.attempt(
            (*self.place, key), lambda: self.fields.choice(key, choices, default), default
        )

    def names(self, key: str, among: Sequence[str] | None = None) -> tuple[str, ...]:
        """The list of texts under `key`, each one of `among` where that is given; empty when not there."""
        raw = self.fields.table.get(key, ())
        if isinstance(raw, str) or not isinstance(raw, Sequence):
            self.note(key, f"{key} = {raw!r}", f'write a list: {key} = ["...", "..."]')
            return ()
        good = []
        for each in raw:
            if not isinstance(each, str) or not each.strip():
                self.note(key, f"{key} holds {each!r}", "write every name in quotes")
            elif among is not None and each not in among:
                hint = nearest(each, among)
                listed = ", ".join(among) or "there is none"
                self.note(
                    key, f"{key} holds {each!r}", f"did you mean {hint!r}?" if hint else f"use: {listed}"
                )
            elif each not in good:
                good.append(each)
        return tuple(good)

    def rows(self, key: str) -> Iterator[tuple[Place, Any]]:
        """Every table of the list under `key`, with its place."""
        raw = self.mistakes.attempt((*self.place, key), lambda: self.fields.tables(key), ())
        for number, each in enumerate(raw):
            yield (*self.place, key, number), each


def _told(place: Place) -> str:
    """A place as a person counts: ("envelope", "pocket", 0) is "envelope.pocket.1"."""
    return ".".join(str(each + 1) if isinstance(each, int) else each for each in place)
