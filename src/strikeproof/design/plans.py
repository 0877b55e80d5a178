"""A recipe: a choice of stock and joint, what it leaves open, and the article that its values make."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from typing import Any, Final, TypeAlias

import numpy as np

from strikeproof.design.bodies import STEP, TurnedBody, material_of, raw_price, to_step
from strikeproof.design.records import Brief
from strikeproof.parts import find_material
from strikeproof.quantity import FloatArray

__all__ = ["Plan", "Recipe", "Variable", "bar_price", "share", "sized", "write_size"]

_SHARE_STEP: Final = 0.05


@dataclass(frozen=True, slots=True)
class Variable:
    """One open value: `low` to `high` in steps. [m, or a share]"""

    name: str
    low: float
    high: float
    step: float

    @property
    def count(self) -> int:
        """How many values it can take."""
        return max(1, round((self.high - self.low) / self.step) + 1)

    def at(self, place: float) -> float:
        """The value so many steps up."""
        return min(self.low + min(max(round(place), 0), self.count - 1) * self.step, self.high)


@dataclass(frozen=True, slots=True)
class Plan:
    """One article on paper.

    Parameters
    ----------
    title
        What it is called.
    words
        What it is made of in a sentence.
    parts
        Its table but for the name.
    details
        What may set it apart from another of the same title, the most informative first.
    stock
        Names of the items that it is cut from.
    """

    title: str
    words: str
    parts: tuple[dict[str, Any], ...]
    details: tuple[str, ...]
    stock: tuple[str, ...] = ()


Build: TypeAlias = Callable[[Sequence[float]], Plan | None]


@dataclass(frozen=True, slots=True)
class Recipe:
    """A choice of stock and joint.

    Parameters
    ----------
    kind
        What the person would call it: two recipes of one kind differ only in what they are cut from.
    variables
        What is left open.
    build
        From their values to an article; None where no room is left for it.
    """

    kind: str
    variables: tuple[Variable, ...]
    build: Build

    @property
    def counts(self) -> tuple[int, ...]:
        """How many values every variable can take."""
        return tuple(each.count for each in self.variables)

    def values(self, places: Sequence[float] | FloatArray) -> tuple[float, ...]:
        """Values so many steps up, one for every variable."""
        return tuple(each.at(float(place)) for each, place in zip(self.variables, places, strict=True))

    def places(self, points: FloatArray) -> FloatArray:
        """Steps of points (n, d) in the unit cube, evenly over all values."""
        counts = np.array(self.counts, dtype=float)
        return np.asarray(np.minimum(np.floor(points * counts), counts - 1.0))


def sized(low: float, high: float, name: str = "diameter") -> Variable:
    """A size from `low` to `high` on the workshop's steps. [m]

    Parameters
    ----------
    low, high
        [m]
    name
        Of the variable.
    """
    return Variable(name, low, to_step(high), STEP)


def share(name: str) -> Variable:
    """A share of the room that there is."""
    return Variable(name, 0.0, 1.0, _SHARE_STEP)


def bar_price(brief: Brief, bar: TurnedBody, length: float) -> float | None:
    """What the bar of a body costs, sawn to length; None where nothing says it.

    Parameters
    ----------
    brief
        Prices and the person's own materials.
    bar
        What it is sawn from.
    length
        Sawn off. [m]

    Returns
    -------
    In the currency of the table.

    Raises
    ------
    NotFound, BadInput
        If the material is not known in this size.
    """
    size = bar.item.outer.size
    material = find_material(material_of(bar.offer, bar.item), brief.materials, diameter=size, thickness=size)
    return raw_price(brief, bar.offer, bar.item, length, material.density)


def write_size(diameter: float, length: float) -> str:
    """Both in words. [m]

    Parameters
    ----------
    diameter, length
        [m]
    """
    return f"{diameter * 1e3:.4g} mm by {length * 1e3:.4g} mm"
