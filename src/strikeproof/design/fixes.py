"""What would make an article fit: each way is tried before it is shown."""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass, field, replace

import numpy as np

from strikeproof.design.envelope import Body, Touch, find_touches, keeps_envelope, swept_bodies, widened
from strikeproof.design.records import Envelope
from strikeproof.errors import StrikeproofError
from strikeproof.parts import Article, Part
from strikeproof.parts.layout import Placed, place
from strikeproof.parts.materials import MaterialBook
from strikeproof.parts.shapes import Outline
from strikeproof.plain_json import shown_as

__all__ = ["Fix", "find_fixes"]

_STEP = 0.1e-3
_LEAST = 1e-3
"""What is turned or sawn to less is no part any more. [m]"""


@dataclass(frozen=True, slots=True)
class Fix:
    """One change that is enough for what it names.

    Parameters
    ----------
    part
        Which one is changed; None for the envelope.
    key, value
        In the file, and what it should be. [m]
    words
        In a sentence.
    """

    part: str | None
    key: str
    value: float = field(metadata=shown_as("value_m"))
    words: str


def find_fixes(
    article: Article, envelope: Envelope, materials: MaterialBook | None = None
) -> tuple[Fix, ...]:
    """For every part that touches: turned down or moved along, where that is enough; then the envelope.

    Parameters
    ----------
    article
        What may touch.
    envelope
        The room that there is.
    materials
        The person's own.

    Raises
    ------
    BadInput
        If the article has no dimensions.
    NotFound
        If a material or a carrier is not there.
    """
    touches = find_touches(article, envelope, materials)
    if not touches:
        return ()
    placed = place(article, materials)
    names = dict.fromkeys(touch.part for touch in touches)
    found: list[Fix] = []
    for name in names:
        own = [touch for touch in touches if touch.part == name]
        there = next(each for each in placed if each.part.name == name)
        for fix, changed in _ways(article, there, own, placed, envelope):
            if _frees(changed, name, envelope, materials):
                found.append(fix)
    return (*found, *_envelope_fixes(envelope, swept_bodies(placed)))


def _ways(
    article: Article, placed: Placed, touches: list[Touch], all_placed: tuple[Placed, ...], envelope: Envelope
) -> Iterator[tuple[Fix, Article]]:
    part = placed.part
    beside = [touch for touch in touches if touch.limit in ("pocket", "wall")]
    if beside and part.shape not in ("ring", "cone"):
        yield from _turned_down(article, part, min(touch.allowed for touch in beside))
    if not part.on_path:
        own = tuple(body for body in swept_bodies(all_placed) if body.part == part.name)
        yield from _moved(article, part, _lift(own, envelope))
    over = max((touch.excess for touch in touches if touch.limit == "free length"), default=0.0)
    if over > 0 and part.on_path and not part.cuts:
        length = _down(part.length - over)
        if length < _LEAST:
            return
        words = f"saw {part.name!r} to {length * 1e3:g} mm"
        yield Fix(part.name, "length_mm", length, words), _with(article, replace(part, length=length))


def _down(value: float) -> float:
    return round(math.floor(value / _STEP + 1e-6) * _STEP, 9)


def _up(value: float) -> float:
    return round(math.ceil(value / _STEP - 1e-6) * _STEP, 9)


def _with(article: Article, part: Part) -> Article:
    """The article with one part changed; nothing rides on a seat that is gone, which placing it shows."""
    return replace(article, parts=tuple(part if each.name == part.name else each for each in article.parts))


def _turned_down(article: Article, part: Part, allowed: float) -> Iterator[tuple[Fix, Article]]:
    swept = allowed - 2 * part.eccentric
    size = _down(swept * part.outer.size / part.outer.corners)
    if size < _LEAST:
        return
    key = "outer_diameter_mm" if part.outer.kind == "round" else "across_flats_mm"
    verb = "turn" if part.outer.kind == "round" else "mill"
    changed = replace(part, outer=Outline(part.outer.kind, size), outer_end=size)
    yield (
        Fix(part.name, key, size, f"{verb} {part.name!r} down to {size * 1e3:g} mm"),
        _with(article, changed),
    )


def _lift(bodies: tuple[Body, ...], envelope: Envelope) -> float:
    """How far a rider must go up to have room all along; infinite when there is none above. [m]"""
    open_above = replace(envelope, free_length=None)
    low = np.array([body.low for body in bodies])
    high = np.array([body.high for body in bodies])
    radius = np.array([body.reach(body.low, body.high) for body in bodies])
    ledges = [envelope.depth - step.depth for step in envelope.pocket] + [envelope.depth]
    lifts = {
        -float(low.min()),
        *(ledge + envelope.clearance - body.low for ledge in ledges for body in bodies),
    }
    able = (lift for lift in sorted(lifts) if keeps_envelope(open_above, low + lift, high + lift, radius))
    return next(able, math.inf)


def _moved(article: Article, part: Part, lift: float) -> Iterator[tuple[Fix, Article]]:
    if not 0 < lift < math.inf:
        return
    up = _up(lift)
    if up > part.at + 1e-9:  # past the drive end of what it sits on: there it would hang in the air
        return
    changed = replace(part, at=max(part.at - up, 0.0))
    words = f"move {part.name!r} {up * 1e3:g} mm towards the drive, to at_mm = {changed.at * 1e3:g}"
    yield Fix(part.name, "at_mm", round(changed.at, 9), words), _with(article, changed)


def _frees(article: Article, name: str, envelope: Envelope, materials: MaterialBook | None) -> bool:
    """Whether the part touches nothing any more, in an article that can be built."""
    try:
        return all(touch.part != name for touch in find_touches(article, envelope, materials))
    except StrikeproofError:
        return False


def _envelope_fixes(envelope: Envelope, bodies: tuple[Body, ...]) -> Iterator[Fix]:
    new, top = widened(envelope, bodies), 0.0
    for number, (before, after) in enumerate(zip(envelope.pocket, new.pocket, strict=True), start=1):
        if before != after:
            wide = _up(after.diameter)
            words = (
                f"or a pocket {wide * 1e3:g} mm wide from {top * 1e3:g} to {after.depth * 1e3:g} mm of depth"
            )
            yield Fix(None, f"pocket.{number}.diameter_mm", wide, words)
        top = before.depth
    for key, was, now, what in (
        ("nearest_wall_mm", envelope.wall, new.wall, "the nearest wall at"),
        ("free_length_mm", envelope.free_length, new.free_length, "a free length of"),
    ):
        if now is not None and was != now:
            yield Fix(None, key, _up(now), f"or {what} {_up(now) * 1e3:g} mm")
