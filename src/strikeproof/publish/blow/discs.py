"""The discs of the film: one a body, seen from the tool, each holding the tooth of the body that drives it.

A driven body is a ring with two lugs; the driver's tooth turns between them. At the front lug it drives,
between the lugs the contact is open, at the rear lug it pulls backward; where tooth and lug overlap, the
joint is wound up so far. Angles are clockwise from the top.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

import numpy as np

from strikeproof.publish.blow.layout import Layout
from strikeproof.publish.blow.story import Contact, Story
from strikeproof.publish.blow.strokes import Stroke, strokes_of_bodies
from strikeproof.quantity import FloatArray

__all__ = ["Station", "outline_points", "place_stations", "sector"]

_TOOTH: Final = 34.0  # degrees on the picture
_LUG: Final = 44.0
_HOLE: Final = 0.74  # of the ring, in radii


@dataclass(frozen=True, slots=True)
class Station:
    """A body on the stage.

    Attributes
    ----------
    name, body
        Its name and its index.
    centre, radius
        Where its disc is; area as the square root of its inertia, within bounds.
    contact
        Index of the contact that drives it, None for the hammer.
    ring, lugs, tooth, notch
        Outlines about the centre at angle 0: (points, 2) each. `ring` is two circles, outer and inner.
    stroke, driver
        How the body and its driver are separated.
    braked
        Whether the bolt's state is shown here.
    """

    name: str
    body: int
    centre: tuple[float, float]
    radius: float
    contact: int | None
    ring: tuple[FloatArray, FloatArray]
    lugs: tuple[FloatArray, ...]
    tooth: FloatArray
    notch: FloatArray
    stroke: Stroke
    driver: Stroke
    braked: bool


def place_stations(story: Story, layout: Layout, factor: int) -> tuple[Station, ...]:
    """A disc for every body, in the places of a layout."""
    sizes = np.clip((story.inertias / story.inertias.max()) ** 0.25, 0.76, 1.0)
    strokes = strokes_of_bodies(story.bodies)
    driven = {each.second: place for place, each in enumerate(story.contacts)}
    stations = []
    for body, name in enumerate(story.bodies):
        radius = layout.largest * float(sizes[body])
        place = driven.get(body)
        contact = story.contacts[place] if place is not None else None
        stations.append(
            Station(
                name=name,
                body=body,
                centre=layout.centres[body],
                radius=radius,
                contact=place,
                ring=(circle(radius), circle(_HOLE * radius)),
                lugs=_lugs(contact, radius, factor, -1 if story.loosens else 1),
                tooth=_tooth(contact, radius, -1 if story.loosens else 1),
                notch=sector(-2.5, 2.5, _HOLE * radius, radius),
                stroke=strokes[body],
                driver=strokes[contact.first] if contact is not None else strokes[body],
                braked=name in ("bolt", "thread"),
            )
        )
    return tuple(stations)


def _lugs(contact: Contact | None, radius: float, factor: int, sense: int) -> tuple[FloatArray, ...]:
    """Front lug, and a rear one where the contact can pull backward; the front lug's face is the zero."""
    if contact is None:
        return ()
    front = sector(0.0, sense * _LUG, 0.36 * radius, _HOLE * radius)
    if contact.one_sided:
        return (front,)
    back = _TOOTH + factor * contact.gap
    return (front, sector(-sense * back, -sense * (back + _LUG), 0.36 * radius, _HOLE * radius))


def _tooth(contact: Contact | None, radius: float, sense: int) -> FloatArray:
    """The driver's tooth; in the hammer's own disc the tooth that it brings to the anvil."""
    outer = 0.70 if contact is not None else _HOLE
    return sector(-sense * _TOOTH, 0.0, 0.08 * radius, outer * radius)


def circle(radius: float) -> FloatArray:
    """A full turn of points, the last one the first again."""
    turn = np.linspace(0.0, 2.0 * np.pi, 73)
    return radius * np.column_stack([np.sin(turn), -np.cos(turn)])


def sector(start: float, end: float, inner: float, outer: float) -> FloatArray:
    """Outline of a piece of a ring between two angles [°], clockwise from the top."""
    turn = np.radians(np.linspace(start, end, max(int(abs(end - start) / 3.0), 2)))
    rim = np.column_stack([np.sin(turn), -np.cos(turn)])
    return np.concatenate((outer * rim, inner * rim[::-1]))


def outline_points(outline: FloatArray, centre: tuple[float, float], turn: float) -> FloatArray:
    """The outline turned clockwise by an angle [°] about its centre, where it is on the frame."""
    angle = np.radians(turn)
    x, y = outline[:, 0], outline[:, 1]
    return np.column_stack(
        [centre[0] + x * np.cos(angle) - y * np.sin(angle), centre[1] + x * np.sin(angle) + y * np.cos(angle)]
    )
