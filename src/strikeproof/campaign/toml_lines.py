"""Where in a TOML text a key stands: the parser gives values without their lines."""

from __future__ import annotations

import re
from collections.abc import Sequence

__all__ = ["find_line"]

_HEADER = re.compile(r"\s*(\[\[?)\s*([^\]]+?)\s*\]")
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
    best: int | None = None
    best_depth = 0
    for number, current in _places(text):
        depth = _shared(current, place)
        if depth in (len(current), len(place)) and depth > best_depth:
            best, best_depth = number, depth
    return best


def _places(text: str) -> list[tuple[int, tuple[str | int, ...]]]:
    """Each header and key line with its full place; arrays of tables are counted from 0."""
    found: list[tuple[int, tuple[str | int, ...]]] = []
    counts: dict[tuple[str | int, ...], int] = {}
    table: tuple[str | int, ...] = ()
    for number, line in enumerate(_MULTI_LINE.sub(_blank, text).split("\n"), start=1):
        header = _HEADER.match(line)
        if header:
            table = _enter(header[2], counts, array=header[1] == "[[")
            found.append((number, table))
        elif key := _KEY.match(line):
            found.append((number, (*table, key[1].strip('"'))))
    return found


def _blank(quoted: re.Match[str]) -> str:
    """What stands in a text of several lines is no key of the file."""
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


def _shared(a: Sequence[str | int], b: Sequence[str | int]) -> int:
    depth = 0
    for left, right in zip(a, b, strict=False):
        if left != right:
            break
        depth += 1
    return depth
