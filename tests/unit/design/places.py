"""Random envelopes and articles, and the plainest check of one in the other: points, lowered step by step."""

from __future__ import annotations

import math
from typing import Any

import numpy as np
from hypothesis import strategies as st

from strikeproof.design.envelope import Body
from strikeproof.design.records import Envelope, Step


@st.composite
def envelopes(draw: st.DrawFn) -> Envelope:
    depths = sorted(draw(st.sets(st.integers(5, 90), max_size=3)))
    steps = tuple(Step(depth * 1e-3, draw(st.integers(20, 110)) * 1e-3) for depth in depths)
    length = draw(st.none() | st.integers(20, 150))
    wall = draw(st.none() | st.integers(15, 70))
    return Envelope(
        steps,
        None if length is None else length * 1e-3,
        None if wall is None else wall * 1e-3,
        draw(st.integers(0, 4)) * 1e-3,
    )


def _rider(draw: st.DrawFn, carrier: dict[str, Any], number: int) -> dict[str, Any]:
    inside, length = carrier["outer_diameter_mm"], carrier["length_mm"]
    shape = draw(st.sampled_from(["disc", "ring", "hexagonal prism"]))
    table: dict[str, Any] = {
        "name": f"rider {number}",
        "shape": shape,
        "carrier": "socket",
        "material": "A36",
    }
    if shape == "ring":
        stock = draw(st.integers(3, 12))
        return table | {
            "ring_stock_mm": stock,
            "outer_diameter_mm": inside + 2 * stock,
            "at_mm": draw(st.integers(0, length)) - stock / 2,
        }
    wide = draw(st.integers(4, 40))
    table["outer_diameter_mm" if shape == "disc" else "across_flats_mm"] = inside + wide
    tall = draw(st.integers(3, 30))
    table |= {"length_mm": tall, "at_mm": draw(st.integers(0, length)) - tall / 2}
    if draw(st.booleans()):
        table |= {"eccentric_mm": draw(st.integers(1, 8))}
    return table


@st.composite
def article_tables(draw: st.DrawFn) -> dict[str, Any]:
    """A socket, straight, chamfered or tapered, with up to two riders and perhaps an extension above it."""
    socket: dict[str, Any] = {
        "name": "socket",
        "shape": "bar",
        "outer_diameter_mm": draw(st.integers(20, 50)),
        "length_mm": draw(st.integers(20, 80)),
        "material": "A36",
    }
    riders = [_rider(draw, socket, n) for n in range(draw(st.integers(0, 2)))]
    kind = draw(st.sampled_from(["straight", "chamfer", "cone"]))
    if kind == "chamfer":
        socket["cut"] = [{"kind": "chamfer", "size_mm": draw(st.integers(1, 8)), "end": "bolt"}]
    if kind == "cone":
        socket |= {"shape": "cone", "outer_diameter_end_mm": draw(st.integers(15, 60))}
    above = {"name": "top", "shape": "bar", "outer_diameter_mm": draw(st.integers(15, 60)), "material": "A36"}
    stack = [above | {"length_mm": draw(st.integers(5, 60))}] if draw(st.booleans()) else []
    return {"name": "random", "part": [*stack, socket, *([] if kind == "cone" else riders)]}


def surface(body: Body, marks: list[float]) -> list[tuple[float, float]]:
    """Points (radius, height) of the swept surface, close together and on both sides of every mark."""
    near = [mark + side for mark in marks for side in (-1e-7, 1e-7)]
    heights = [*np.linspace(body.low, body.high, 23), *(h for h in near if body.low <= h <= body.high)]
    if body.stock == 0:
        slope = (body.at_high - body.at_low) / (body.high - body.low)
        return [(body.at_low + slope * (h - body.low), h) for h in heights]
    middle = (body.low + body.high) / 2
    round_about = [middle + body.stock * math.sin(t) for t in np.linspace(-math.pi / 2, math.pi / 2, 41)]
    out = body.at_low - body.stock
    return [
        (out + math.sqrt(max(body.stock**2 - (h - middle) ** 2, 0.0)), h) for h in (*heights, *round_about)
    ]


def is_rock(envelope: Envelope, radius: float, height: float) -> bool:
    """Whether there is something at a point: seat, pocket, wall or anvil."""
    if height < 0:
        return True
    if envelope.free_length is not None and height > envelope.free_length:
        return True
    depth, top = envelope.depth - height, 0.0
    if depth <= 0:
        return envelope.wall is not None and radius > envelope.wall
    for step in envelope.pocket:
        if top < depth <= step.depth:
            return radius > step.diameter / 2
        top = step.depth
    return False


def collides(envelope: Envelope, radius: float, height: float, slack: float) -> bool:
    """Whether a point, smaller by `slack`, strikes anything with its clearance on its way to its place."""
    if height < -slack or (envelope.free_length is not None and height > envelope.free_length + slack):
        return True
    free = Envelope(envelope.pocket, None, envelope.wall, envelope.clearance)
    edges = [envelope.depth - step.depth for step in envelope.pocket] + [envelope.depth]
    lifts = [0.0, *(edge - height + side for edge in edges for side in (-1e-7, 1e-7)), 0.5]
    around = radius + envelope.clearance - slack
    return any(
        is_rock(free, around, max(height + lift + dip + slack, 1e-12))
        for lift in lifts
        if lift >= 0
        for dip in (0.0, -envelope.clearance)
    )
