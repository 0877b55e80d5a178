"""Where an article touches what is around it.

The article sits with its bolt end on the seat and turns, so a part takes up the circle that its widest
point sweeps. It is lowered along the axis of the bolt: what sits deep has passed all above, and a pocket is
as wide at a depth as it is narrowest from its mouth down to there. The clearance is free all round, above
ledges too, but not under the bolt end, which sits, nor over the drive end, where the anvil meets it.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, field
from itertools import pairwise
from typing import Final, Literal, TypeAlias

import numpy as np

from strikeproof.design.records import Envelope, Step
from strikeproof.errors import BadInput
from strikeproof.parts import Article, ArticleProperties
from strikeproof.parts.layout import Placed, place
from strikeproof.parts.materials import MaterialBook
from strikeproof.plain_json import UNSHOWN, shown_as
from strikeproof.quantity import BoolArray, FloatArray

__all__ = [
    "Body",
    "Limit",
    "Touch",
    "find_touches",
    "fits_envelope",
    "free_radius",
    "keeps_envelope",
    "swept_bodies",
    "widened",
]

Limit: TypeAlias = Literal["pocket", "wall", "free length", "seat"]

_TIGHT: Final = 1e-9
"""What is equal on paper fits. [m]"""


@dataclass(frozen=True, slots=True)
class Touch:
    """One part where it goes beyond the room that there is.

    Parameters
    ----------
    part
        Its name.
    limit
        What it touches.
    low, high
        From where to where, above the seat. [m]
    excess
        How much too wide on the radius, or too long, clearance counted. [m]
    allowed
        The widest diameter that would do there, or the greatest length; 0 when nothing would. [m]
    depth
        To which depth from its mouth the step of the pocket reaches that is touched; 0 of other limits. [m]
    """

    part: str
    limit: Limit
    low: float = field(metadata=shown_as("from_m"))
    high: float = field(metadata=shown_as("to_m"))
    excess: float = field(metadata=shown_as("excess_m"))
    allowed: float = field(metadata=shown_as("allowed_m"))
    depth: float = field(default=0.0, metadata=UNSHOWN)


@dataclass(frozen=True, slots=True)
class Body:
    """What a part sweeps between two heights: a cone frustum, or a ring of round stock.

    Parameters
    ----------
    part
        Its name.
    low, high
        Heights above the seat. [m]
    at_low, at_high
        Swept radius there. [m]
    stock
        Radius of the round stock of a ring, whose centre runs at the swept radius less this; else 0. [m]
    """

    part: str
    low: float
    high: float
    at_low: float
    at_high: float
    stock: float = 0.0

    def reach(self, low: float, high: float) -> float:
        """Largest swept radius between two heights that lie within the body. [m]"""
        if self.stock > 0:
            middle = (self.low + self.high) / 2
            away = max(low - middle, middle - high, 0.0)
            return self.at_low - self.stock + math.sqrt(max(self.stock**2 - away**2, 0.0))
        return max(self._radius(low), self._radius(high))

    def _radius(self, height: float) -> float:
        share = (height - self.low) / (self.high - self.low)
        return self.at_low + share * (self.at_high - self.at_low)


@dataclass(frozen=True, slots=True)
class _Storey:
    """A stretch of height with one free radius, the clearance taken off; it widens upwards. [m]"""

    low: float
    high: float
    radius: float
    limit: Limit
    depth: float


def _storeys(envelope: Envelope) -> tuple[_Storey, ...]:
    """From the seat up: every stretch with the radius that is free in it."""
    narrowest, limit = (math.inf if envelope.wall is None else envelope.wall), "wall"
    depth = 0.0
    down: list[tuple[float, float, str, float]] = [(math.inf, narrowest, limit, depth)]
    top = 0.0
    for step in envelope.pocket:
        if step.diameter / 2 < narrowest:
            narrowest, limit, depth = step.diameter / 2, "pocket", step.depth
        down.append((envelope.depth - top, narrowest, limit, depth))
        top = step.depth
    # A ledge keeps its clearance above it too, so each wider stretch begins that much higher.
    edges = [0.0, *(high + envelope.clearance for high, *_ in reversed(down[1:])), math.inf]
    return tuple(
        _Storey(low, high, radius - envelope.clearance, limit, depth)  # type: ignore[arg-type]  # limits are those above
        for (low, high), (_, radius, limit, depth) in zip(pairwise(edges), reversed(down), strict=True)
    )


def free_radius(envelope: Envelope, height: FloatArray) -> FloatArray:
    """Radius that is free for what reaches down to a height above the seat; infinite where nothing limits it.

    Parameters
    ----------
    height : (...)
        Below 0 it is under the seat, where nothing is free. [m]

    References
    ----------
    Derived here: the top of this file.
    """
    storeys = _storeys(envelope)
    tops = np.array([each.high for each in storeys[:-1]])
    radii = np.array([each.radius for each in storeys])
    found: FloatArray = radii[np.searchsorted(tops, np.asarray(height) + _TIGHT, side="right")]
    return np.where(np.asarray(height) < -_TIGHT, 0.0, found)


def keeps_envelope(envelope: Envelope, low: FloatArray, high: FloatArray, radius: FloatArray) -> BoolArray:
    """Whether cylinders keep within the envelope; those of one article along the last axis.

    A cone counts as the cylinder around it, which is on the safe side.

    Parameters
    ----------
    envelope
        The room that there is.
    low, high : (..., bodies)
        Heights above the seat. [m]
    radius : (..., bodies)
        Swept. [m]

    Returns
    -------
    (...)
        True where all of its cylinders do. NaN keeps nothing.
    """
    longest = math.inf if envelope.free_length is None else envelope.free_length
    fits = (radius <= free_radius(envelope, low) + _TIGHT) & (high <= longest + _TIGHT) & (low >= -_TIGHT)
    kept: BoolArray = np.all(fits, axis=-1)
    return kept


def fits_envelope(properties: ArticleProperties, envelope: Envelope) -> bool:
    """The same for an article that was worked out: never true where `find_touches` finds any.

    False without dimensions.
    """
    parts = properties.parts
    if not parts:
        return False
    bolt_end = max(each.end for each in parts if each.carrier is None)
    ends = np.array([(bolt_end - each.end, bolt_end - each.start, each.outer_diameter) for each in parts])
    return bool(keeps_envelope(envelope, ends[:, 0], ends[:, 1], ends[:, 2] / 2))


def swept_bodies(placed: tuple[Placed, ...]) -> tuple[Body, ...]:
    """What the parts of an article sweep as it turns, with its bolt end on the seat.

    Chamfers, cones, corners and eccentric parts count as they are, cuts inside not at all.
    """
    bolt_end = max(each.end for each in placed if each.part.on_path)
    return tuple(body for each in placed for body in _bodies(each, bolt_end))


def _bodies(placed: Placed, bolt_end: float) -> Iterator[Body]:
    part, low = placed.part, bolt_end - placed.end
    off = part.eccentric
    if part.shape == "ring":
        radius = part.outer.size / 2 + off
        yield Body(part.name, low, low + part.length, radius, radius, part.length / 2)
        return
    corners = part.outer.corners / part.outer.size / 2
    for piece in placed.solid.slices:
        start, end = bolt_end - placed.start - piece.start, bolt_end - placed.start - piece.end
        yield Body(part.name, end, start, piece.outer_end * corners + off, piece.outer.size * corners + off)


def find_touches(
    article: Article, envelope: Envelope, materials: MaterialBook | None = None
) -> tuple[Touch, ...]:
    """Every place where an article goes beyond the envelope; none when it fits.

    The bolt end is taken to sit on the seat. One that rides on the bolt's head sits higher, where there is
    never less room, but needs as much more free length.

    Parameters
    ----------
    article
        Its bolt end sits on the seat.
    envelope
        The room that there is.
    materials
        The person's own.

    Returns
    -------
    tuple
        One touch a part and limit, the largest excess first.

    Raises
    ------
    BadInput
        If the article has no dimensions.
    NotFound
        If a material or a carrier is not there.
    """
    placed = place(article, materials)
    if not any(each.part.on_path for each in placed):
        raise BadInput(
            "it has no dimensions",
            where=f"article {article.name!r}",
            allowed="[[article.part]] tables",
            fix="give its parts; values alone do not say where it touches",
        )
    worst: dict[tuple[str, Limit, float], Touch] = {}
    for body in swept_bodies(placed):
        for touch in _touches(body, envelope):
            key = touch.part, touch.limit, touch.depth
            worst[key] = _merged(worst[key], touch) if key in worst else touch
    return tuple(sorted(worst.values(), key=lambda touch: -touch.excess))


def _merged(one: Touch, other: Touch) -> Touch:
    return Touch(
        one.part,
        one.limit,
        min(one.low, other.low),
        max(one.high, other.high),
        max(one.excess, other.excess),
        min(one.allowed, other.allowed),
        one.depth,
    )


def widened(envelope: Envelope, bodies: Sequence[Body]) -> Envelope:
    """The nearest envelope that holds the bodies: every limit that they break moved just as far as need be.

    A body below the seat is out of reach of any.

    Parameters
    ----------
    envelope
        The room that there is.
    bodies
        Of one article, at least one.

    References
    ----------
    Derived here: the inverse of `free_radius`.
    """
    free, top = envelope.clearance, 0.0
    steps = []
    for step in envelope.pocket:
        # What reaches below the mouth of a step passes it, and keeps its clearance from the ledge above.
        least = 2 * (_widest(bodies, envelope.depth - top + free) + free)
        steps.append(Step(step.depth, _enough(step.diameter, least)))
        top = step.depth
    wall, length = envelope.wall, envelope.free_length
    if wall is not None:
        wall = _enough(wall, _widest(bodies, math.inf) + free)
    if length is not None:
        length = _enough(length, max(body.high for body in bodies))
    return Envelope(tuple(steps), length, wall, free)


def _enough(limit: float, needed: float) -> float:
    """The limit itself where it does already."""
    return needed if needed > limit + 2 * _TIGHT else limit


def _widest(bodies: Sequence[Body], below: float) -> float:
    return max(
        (body.reach(body.low, min(body.high, below)) for body in bodies if body.low < below - _TIGHT),
        default=0.0,
    )


def _touches(body: Body, envelope: Envelope) -> Iterator[Touch]:
    for storey in _storeys(envelope):
        low, high = max(body.low, storey.low), min(body.high, storey.high)
        if high - low <= _TIGHT:
            continue
        excess = body.reach(low, high) - storey.radius
        if excess > _TIGHT:
            allowed = max(2 * storey.radius, 0.0)
            yield Touch(body.part, storey.limit, low, high, excess, allowed, storey.depth)
    if body.low < -_TIGHT:
        yield Touch(body.part, "seat", body.low, min(body.high, 0.0), -body.low, 0.0)
    if envelope.free_length is not None and body.high > envelope.free_length + _TIGHT:
        over = body.high - envelope.free_length
        low = max(envelope.free_length, body.low)
        yield Touch(body.part, "free length", low, body.high, over, envelope.free_length)
