"""Whether the hexagons of the articles are of the size of the bolt's head."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass
from typing import Any, Final

from strikeproof.errors import BadInput
from strikeproof.joint import read_bolt_parts, usual_head

__all__ = ["Head", "find_head", "say_head_fit"]

_SAME: Final = 0.02
"""Share by which two nominal sizes may differ and still be one, as 15/16 in and 24 mm (common practice, no
source); neighbouring sizes of ISO 272 are 3 % apart or more."""


@dataclass(frozen=True, slots=True)
class Head:
    """The width across flats of a bolt's head [mm], and whether the campaign gives it itself."""

    flats_mm: float
    is_given: bool
    thread: str

    def __str__(self) -> str:
        size = f"{self.flats_mm:.4g} mm across flats"
        return size if self.is_given else f"{size}, as is usual for {self.thread} (ISO 4014)"


def find_head(bolt: Mapping[str, Any]) -> Head | None:
    """The head of a campaign's bolt by the keys of its file; None where neither it nor a usual one is
    known."""
    try:
        parts = read_bolt_parts({key: each for key, each in bolt.items() if key in ("thread", "hand")})
    except BadInput:  # said at the thread
        return None
    given = bolt.get("head_across_flats_mm")
    if isinstance(given, int | float) and given > 0:
        return Head(float(given), True, "" if parts is None else str(parts.thread))
    usual = None if parts is None else usual_head(parts.thread)
    return None if usual is None or parts is None else Head(1e3 * usual, False, str(parts.thread))


def say_head_fit(
    bolt: Mapping[str, Any],
    articles: Iterable[Mapping[str, Any]],
    *,
    fix: str = "give bolt.head_across_flats_mm",
) -> tuple[str, ...]:
    """The articles whose hexagon is of another size than the bolt's head, one line for each size.

    Parameters
    ----------
    bolt, articles
        The tables of the campaign file; an article without a hexagon or a measured head is left out.
    fix
        What to do where the head is not the usual one.
    """
    head = find_head(bolt)
    if head is None:
        return ()
    names: dict[float, list[str]] = {}
    for each in articles:
        size = _other_size(head, each)
        if size is not None:
            names.setdefault(size, []).append(str(each.get("name", "an article")))
    return tuple(_fit(head, size, named, fix) for size, named in names.items())


def _other_size(head: Head, article: Mapping[str, Any]) -> float | None:
    sizes = list(_hexagons(article))
    if not sizes or any(abs(size - head.flats_mm) <= _SAME * head.flats_mm for size in sizes):
        return None
    return min(sizes, key=lambda each: abs(each - head.flats_mm))


def _fit(head: Head, size: float, names: list[str], give: str) -> str:
    is_one = len(names) == 1
    goes, turns = ("it does not go", "it turns") if is_one else ("they do not go", "they turn")
    does = f"{goes} on it" if size < head.flats_mm else f"{turns} on its corners and may slip off"
    fix = "" if head.is_given else f"; where the head is another, {give}"
    listed = f"{', '.join(names[:-1])} and {names[-1]} are" if not is_one else f"{names[0]} is"
    return f"{listed} for a head of {size:.4g} mm, the bolt's head is {head}: {does}{fix}"


def _hexagons(article: Mapping[str, Any]) -> Iterator[float]:
    """Nominal sizes of the hexagon holes of an article. [mm]"""
    for part in article.get("part") or ():
        for cut in part.get("cut") or () if isinstance(part, Mapping) else ():
            size = cut.get("size_mm") if isinstance(cut, Mapping) and cut.get("kind") == "hexagon" else None
            if isinstance(size, int | float):
                yield float(size)
