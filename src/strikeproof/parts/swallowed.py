"""Squares and hexagons that another hole of the same part removes, so that nothing is left to press on."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Final

from strikeproof.parts.article import Article, Cut, Part
from strikeproof.parts.shapes import fits_inside

__all__ = ["tell_swallowed"]

_BROACHED: Final = ("square drive", "hexagon", "twelve-point")


def tell_swallowed(article: Article) -> tuple[str, ...]:
    """Each square or hexagon that another hole removes where its mate presses, with the fix.

    Holes that cross, so that part of each flat is left, are no article (`solids`).
    """
    return tuple(text for part in article.parts for text in _tell_part(part))


def _tell_part(part: Part) -> Iterator[str]:
    holes = [cut for cut in part.cuts if cut.kind in (*_BROACHED, "bore")]
    if part.bore is not None:
        holes.append(Cut("bore", part.bore.size, part.length))
    for cut in part.cuts:
        if cut.kind in _BROACHED:
            over = (each for each in holes if each.size > cut.size and fits_inside(cut.outline, each.outline))
            yield from (
                _tell(part, cut, each) for each in over if _clear(part, cut, each) < cut.engaged - 1e-9
            )


def _clear(part: Part, cut: Cut, other: Cut) -> float:
    """Length of a hole that another one does not reach. [m]"""
    if other.end == cut.end:
        return max(cut.depth - other.depth, 0.0)
    return min(cut.depth, max(part.length - other.depth, 0.0))


def _tell(part: Part, cut: Cut, other: Cut) -> str:
    what = f"the {other.kind} of {other.size * 1e3:.4g} mm"
    if other.end != cut.end and part.length - cut.depth > 0 and other in part.cuts:
        fix = f"give it depth_mm = {(part.length - cut.depth) * 1e3:g} or less"
    else:
        fix = f"make it narrower than {cut.size * 1e3:.4g} mm"
    return f"{part.name!r}: {what} takes its {cut.kind} away, and nothing is left to press on: {fix}."
