"""What an article is made of: parts on the torque path from the drive to the bolt, and riders on them."""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import Final, Literal, TypeAlias

from strikeproof.parts.bonds import BondPlan
from strikeproof.parts.measured import Measured, Swing
from strikeproof.parts.shapes import Kind, Outline

__all__ = ["Article", "Cut", "CutKind", "End", "Given", "Part", "Seat", "Shape"]

Shape: TypeAlias = Literal[
    "tube", "bar", "cone", "hexagonal prism", "square prism", "disc", "ring", "fill", "sleeve"
]
CutKind: TypeAlias = Literal["bore", "square drive", "hexagon", "twelve-point", "cross hole", "chamfer"]
End: TypeAlias = Literal["drive", "bolt"]
Seat: TypeAlias = Literal["outside", "inside"]


_OUTLINES: Final[dict[CutKind, Kind]] = {
    "bore": "round",
    "square drive": "square",
    "hexagon": "hexagon",
    "twelve-point": "twelve-point",
    "cross hole": "round",
    "chamfer": "round",
}


@dataclass(frozen=True, slots=True)
class Cut:
    """What is taken out of a part.

    Parameters
    ----------
    kind
        What it is.
    size
        True diameter or width across flats; leg of a chamfer. [m]
    depth
        From the end it enters; the whole length when it goes through. [m]
    end
        The end it enters from.
    at
        Of a cross hole, from the drive end of the part. [m]
    walls
        How many walls a cross hole goes through, 1 or 2.
    male
        Width across flats of what goes into a broached hole. [m]
    corner_radius
        In its corners; None for the usual broach. [m]
    engaged
        Length over which its mate presses on it. [m]
    """

    kind: CutKind
    size: float
    depth: float
    end: End = "bolt"
    at: float = 0.0
    walls: int = 2
    male: float = 0.0
    corner_radius: float | None = None
    engaged: float = 0.0

    @property
    def outline(self) -> Outline:
        """Its outline across the axis, for a cut along the axis."""
        return Outline(_OUTLINES[self.kind], self.size)


@dataclass(frozen=True, slots=True)
class Part:
    """One body around the axis.

    Parameters
    ----------
    name, shape, material
        In words.
    length
        Along the axis; of a ring, the diameter of its stock. [m]
    outer
        Outside at the drive end. [m]
    outer_end
        Size of the outside at the bolt end. [m]
    bore
        Hole right through, or None. [m]
    cuts
        What is taken out of it.
    bond
        How it is held on the part before it, or to its carrier.
    overlap
        How far it reaches into or over the part before it. [m]
    carrier
        Name of the part it rides on; None on the torque path.
    second_carrier
        Name of another part that holds it too, such as the other cap of a drum.
    at
        Its start from the drive end of its carrier. [m]
    seat
        Outside or inside its carrier.
    eccentric, towards
        How far its centre is off the axis, and in which direction. [m, rad]
    packing
        Share of its volume that is filled, of a fill.
    stock, family
        What it is bought as, and what that is priced with.
    price
        Of the part, when the person knows it.
    """

    name: str
    shape: Shape
    material: str
    length: float
    outer: Outline
    outer_end: float
    bore: Outline | None = None
    cuts: tuple[Cut, ...] = ()
    bond: BondPlan = field(default_factory=BondPlan)
    overlap: float = 0.0
    carrier: str | None = None
    at: float = 0.0
    seat: Seat = "outside"
    eccentric: float = 0.0
    towards: float = 0.0
    packing: float = 1.0
    stock: str | None = None
    family: str | None = None
    price: float | None = None
    second_carrier: str | None = None

    @property
    def carriers(self) -> tuple[str, ...]:
        """Names of all parts that hold it; none on the torque path."""
        return tuple(name for name in (self.carrier, self.second_carrier) if name is not None)

    @property
    def on_path(self) -> bool:
        """Whether the torque to the bolt goes through it."""
        return self.carrier is None


@dataclass(frozen=True, slots=True)
class Given:
    """What a person knows better than the geometry; None where they do not. SI"""

    mass: Measured | None = None
    polar_inertia: Measured | None = None
    stiffness: Measured | None = None
    drive_gap: float | None = None
    hexagon_gap: float | None = None
    price: float | None = None
    swing: Swing | None = None


@dataclass(frozen=True, slots=True)
class Article:
    """What sits between anvil and bolt.

    Parameters
    ----------
    name
        As the campaign calls it.
    parts
        Those on the torque path in order from the drive, and the riders anywhere among them.
    given
        Known or measured values; they replace the computed ones.
    dimension_uncertainty
        Standard uncertainty of a dimension. [m]
    """

    name: str
    parts: tuple[Part, ...] = ()
    given: Given = field(default_factory=Given)
    dimension_uncertainty: float = 0.1e-3
