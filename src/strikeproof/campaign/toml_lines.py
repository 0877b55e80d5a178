"""Where in a TOML text a key is: the parser gives values without their lines."""

from __future__ import annotations

import re
from collections.abc import Sequence
from functools import lru_cache

__all__ = ["find_line"]

_Lines = dict[tuple[str | int, ...], int]

_HEADER = re.compile(r"\s*+(\[\[?)([^\]]++)\]")  # in proportion to the line, whatever is in it
_KEY = re.compile(r"\s*([A-Za-z0-9_\-]+|\"[^\"]*\")\s*(?:=|\.)")

_MULTI_LINE = re.compile(r'"""(?:[^\\]|\\.)*?"""|\'\'\'.*?\'\'\'', re.DOTALL)


def find_line(text: str, place: Sequence[str | int]) -> int | None:
    """Line (from 1) of the key at `place`, of the first inside it, or of the nearest table around it.

    Parameters
    ----------
    text
        The TOML text.
    place
        Names and positions from the top, such as ("article", 2, "price").
    """
    wanted = tuple(place)
    around, inside = _first_lines(text)
    if wanted in inside:
        return inside[wanted]
    outer = (wanted[:depth] for depth in range(len(wanted) - 1, 0, -1))
    return next((around[each] for each in outer if each in around), None)


@lru_cache(maxsize=2)  # every problem of a file asks for its line in the same text
def _first_lines(text: str) -> tuple[_Lines, _Lines]:
    """The first line of each place that has one of its own, and of each place with what is inside it."""
    around: _Lines = {}
    inside: _Lines = {}
    for number, place in _places(text):
        around.setdefault(place, number)
        for depth in range(1, len(place) + 1):
            inside.setdefault(place[:depth], number)
    return around, inside


def _places(text: str) -> list[tuple[int, tuple[str | int, ...]]]:
    """Each header and key line with its full place; arrays of tables are counted from 0."""
    found: list[tuple[int, tuple[str | int, ...]]] = []
    counts: dict[tuple[str | int, ...], int] = {}
    table: tuple[str | int, ...] = ()
    for number, line in enumerate(_MULTI_LINE.sub(_blank, text).split("\n"), start=1):
        header = _HEADER.match(line)
        if header:
            table = _enter(header[2].strip(), counts, array=header[1] == "[[")
            found.append((number, table))
        elif key := _KEY.match(line):
            found.append((number, (*table, key[1].strip('"'))))
    return found


def _blank(quoted: re.Match[str]) -> str:
    """What is in a text of several lines is no key of the file."""
    return "\n" * quoted[0].count("\n")


def _enter(name: str, counts: dict[tuple[str | int, ...], int], *, array: bool) -> tuple[str | int, ...]:
    place: tuple[str | int, ...] = ()
    words = [word.strip().strip('"') for word in name.split(".")]
    for depth, word in enumerate(words, start=1):
        place = (*place, word)
        if array and depth == len(words):
            counts[place] = counts.get(place, -1) + 1
        if place in counts:
            place = (*place, counts[place])
    return place
