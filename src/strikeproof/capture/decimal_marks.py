"""Which mark of a column comes before the decimals and which groups thousands, where both are possible.

What a column shows itself comes first: 12,5 or 0,126 cannot be thousands. Else the other columns of the
file decide, and the other mark groups thousands. Where nothing decides, bare whole numbers beside 1.020 do:
a writer of three decimals has none, one of grouped thousands has them below 1000.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

import numpy as np
import pyarrow as pa
import pyarrow.compute as pc

from strikeproof.quantity import FloatArray

__all__ = ["Marks", "find_marks", "find_marks_and_votes", "matches", "plain_numbers"]

_GROUPING = r" '\x{2019}\x{a0}\x{2009}\x{202f}"
"""The characters, inside a class of a pattern, that can do nothing but group."""

_NO_NUMBER = "?"
_OTHER = {",": ".", ".": ","}
_SIGN = r"^[+-]?"
_POWER = r"(?:[eE][+-]?\d+)"
_SURE = {
    mark: rf"{_SIGN}(?:(?:0\d*[{mark}]\d*|\d+[{mark}](?:\d{{0,2}}|\d{{4,}})|\d{{4,}}[{mark}]\d*|[{mark}]\d+)"
    rf"{_POWER}?|\d+[{mark}]\d*{_POWER}|\d{{1,3}}(?:[{_GROUPING}{other}]\d{{3}})+[{mark}]\d*"
    rf"|[1-9]\d{{0,2}}(?:[{other}]\d{{3}}){{2,}})$"
    for mark, other in _OTHER.items()
}
_EITHER = {mark: rf"{_SIGN}[1-9]\d{{0,2}}[{mark}]\d{{3}}$" for mark in _OTHER}
_BARE = rf"{_SIGN}\d{{1,3}}$"
_MANY = 50  # readings: of so many with three decimals, some end in a zero that would have been dropped
_DAMAGED = 500  # one cell in so many may have lost digits and then shows the wrong mark


@dataclass(frozen=True, slots=True)
class Marks:
    """The decimal mark of a column and whether the other mark groups thousands there.

    `by_others`: nothing in the column says so, only the decimal mark of the file's other columns.
    """

    decimal: str
    groups: bool
    by_others: bool = False


@dataclass(frozen=True, slots=True)
class _Shown:
    """How many cells of a column show each mark beyond doubt, or may be a decimal or a grouped number."""

    sure: dict[str, int]
    either: dict[str, int]
    filled: int

    @property
    def own(self) -> str | None:
        """The mark that more cells show beyond doubt; of a draw, that of more cells; None when none does."""
        if not any(self.sure.values()):
            return None
        return max(",.", key=lambda mark: (self.sure[mark], self.either[mark]))

    @property
    def vote(self) -> str | None:
        """The mark that the column fixes for the file: one cell in a column of others may be damaged."""
        own = self.own
        return own if own and 2 * (self.sure[own] + self.either[own]) >= self.filled else None


def find_marks(columns: dict[int, Any]) -> dict[int, Marks]:
    """The marks of each column of trimmed text cells, with those that fix theirs deciding for the others."""
    return find_marks_and_votes(columns)[0]


def find_marks_and_votes(columns: dict[int, Any]) -> tuple[dict[int, Marks], set[str]]:
    """The same, and the marks that columns fix for their file."""
    shown = {i: _shown(cells) for i, cells in columns.items()}
    votes = {i: each.vote for i, each in shown.items()}
    found = {}
    for i, cells in columns.items():
        others = {vote for at, vote in votes.items() if at != i and vote}
        found[i] = _decide(cells, shown[i], others.pop() if len(others) == 1 else None)
    return found, {each for each in votes.values() if each}


def _shown(cells: Any) -> _Shown:
    return _Shown(
        {mark: _count(cells, pattern) for mark, pattern in _SURE.items()},
        {mark: _count(cells, pattern) for mark, pattern in _EITHER.items()},
        _count(cells, r"\d"),
    )


def _decide(cells: Any, shown: _Shown, elsewhere: str | None) -> Marks:
    own = shown.own
    if elsewhere and not any(shown.sure.values()) and _is_grouped(cells, shown, elsewhere):
        return Marks(_OTHER[elsewhere], groups=False)
    if elsewhere and own != elsewhere:
        other = _OTHER[elsewhere]
        grouped = shown.either[other]
        if (grouped or not own) and shown.sure[other] < max(2, (grouped + shown.sure[other]) / _DAMAGED):
            alone = grouped > 0 == shown.either[elsewhere]
            return Marks(elsewhere, alone, by_others=alone and not _count(cells, _BARE))
    if own:
        both = rf"{_SIGN}[1-9]\d{{0,2}}(?:[{_OTHER[own]}]\d{{3}})+[{own}]\d*$"
        return Marks(own, groups=_count(cells, both) > 0 or shown.either[own] == 0 < _multiple(cells, own))
    if all(shown.either.values()):
        return Marks(max(",.", key=lambda mark: shown.either[mark]), groups=False)
    mark = max(",.", key=lambda mark: shown.either[mark])
    if not shown.either[mark]:
        return Marks(".", groups=False)
    return _by_bare(cells, mark, shown.either[mark])


def _is_grouped(cells: Any, shown: _Shown, mark: str) -> bool:
    """Whether bare whole numbers beside 1.020 say that the mark groups, though other columns deny it."""
    bare, count = _count(cells, _BARE), shown.either[mark]
    return count > 0 == shown.either[_OTHER[mark]] and bare >= max(3, (bare + count) / 20)


def _multiple(cells: Any, mark: str) -> int:
    """Cells such as 1.234.567, which show that the other mark groups."""
    return _count(cells, rf"{_SIGN}[1-9]\d{{0,2}}(?:[{_OTHER[mark]}]\d{{3}}){{2,}}$")


def _by_bare(cells: Any, mark: str, count: int) -> Marks:
    """The marks of a column of nothing but cells such as 1.020 and, maybe, bare whole numbers below 1000."""
    bare = _values(cells, _BARE)
    reaches = bare.size > 0 and bare.max() > _values(cells, _EITHER[mark], mark).max()
    total = bare.size + count
    if reaches and bare.size >= total / 100:
        return Marks(_OTHER[mark], groups=count >= _MANY)
    if bare.size >= max(3, total / 20):
        return Marks(_OTHER[mark], groups=False)
    return Marks(mark, groups=False)


def _values(cells: Any, pattern: str, mark: str = ".") -> FloatArray:
    found = pc.filter(cells, matches(cells, pattern))
    plain = pc.replace_substring(pc.replace_substring_regex(found, r"^\+", ""), mark, ".")
    return np.abs(np.asarray(plain.cast(pa.float64()), dtype=np.float64))


def plain_numbers(cells: Any, marks: Marks) -> Any:
    """Trimmed text cells with decimal points only, no grouping, no plus; "?" for what may be either."""
    cells = _plain_signs(cells)
    mark, other = marks.decimal, _OTHER[marks.decimal]
    if pc.any(pc.match_substring_regex(cells, rf"[{_GROUPING}{other}]")).as_py():
        group = rf"[{_GROUPING}{other if marks.groups else ''}]"
        grouped = matches(cells, rf"{_SIGN}[1-9]\d{{0,2}}(?:{group}\d{{3}})+(?:[{mark}]\d*)?$")
        cells = pc.if_else(grouped, pc.replace_substring_regex(cells, group, ""), cells)
        left = rf"[{other}]" if marks.groups else rf"{_SIGN}\d{{1,3}}(?:[{other}]\d{{3}})+$"
        cells = pc.if_else(matches(cells, left), _NO_NUMBER, cells)
    if mark == ",":
        cells = pc.replace_substring(cells, ",", ".")
    return pc.replace_substring_regex(cells, r"^\+([\d.])", r"\1")


_SIGNS = (
    (r"^\((\d[^()+-]*)\)$", r"-\1"),
    (r"^(\d[^()+-]*)-$", r"-\1"),
    (r"^-\s+(\d[^()+-]*)$", r"-\1"),
    (r"^([+-]?\d*[.,]?\d*)[dD]([+-]\d+)$", r"\1e\2"),
)
"""Less than zero in brackets, with the sign behind or set apart; a power of ten with D."""


def _plain_signs(cells: Any) -> Any:
    for pattern, plain in _SIGNS:
        if pc.any(pc.match_substring_regex(cells, pattern)).as_py():
            cells = pc.replace_substring_regex(cells, pattern, plain)
    return cells


def _count(cells: Any, pattern: str) -> int:
    return int(pc.sum(matches(cells, pattern)).as_py() or 0)


def matches(cells: Any, pattern: str) -> Any:
    """Which cells match; one that is missing does not."""
    return pc.fill_null(pc.match_substring_regex(cells, pattern), False)
