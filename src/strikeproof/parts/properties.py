"""What follows from an article's parts, all plain SI, complete when made."""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import Literal, TypeAlias

from strikeproof.parts.bonds import BondKind
from strikeproof.parts.life import LifeCurve
from strikeproof.parts.measured import Difference
from strikeproof.plain_json import UNSHOWN, shown_as

__all__ = [
    "ArticleProperties",
    "Check",
    "CutLine",
    "Joints",
    "Link",
    "Lump",
    "Mode",
    "PartProperties",
    "RiderProperties",
    "Section",
    "WeldLine",
]

Mode: TypeAlias = Literal["shear", "wall", "weld", "press fit"]
Joints: TypeAlias = tuple[int, ...] | str
"""Which joints load a place: of the path, counted from the square drive, 0, to the hexagon, with every link
between lumps; or the name of the rider whose bond it is."""


@dataclass(frozen=True, slots=True)
class Lump:
    """Inertia on the torque path, riders that hold rigidly included. [kg·m²]"""

    inertia: float = field(metadata=shown_as("polar_inertia_kg_m2"))
    parts: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class Link:
    """What joins two neighbouring lumps.

    Parameters
    ----------
    stiffness
        [N·m/rad]
    damping
        [N·m·s/rad]
    gap
        Free play, 0 in one piece. [rad]
    slip_torque
        Infinite where it cannot slide. [N·m]
    damping_ratio
        Share of critical damping of the two inertias on the spring.
    """

    stiffness: float
    damping: float
    gap: float
    slip_torque: float
    damping_ratio: float


@dataclass(frozen=True, slots=True)
class RiderProperties:
    """A part that hangs on its carrier by a bond with give; a rigid one is part of its lump instead.

    Parameters
    ----------
    name, bond
        As described.
    inertia
        Its own, with what holds rigidly to it. [kg·m²]
    stiffness, damping
        Of its bond. [N·m/rad, N·m·s/rad]
    slip_torque
        At which the bond slides; infinite if it cannot. [N·m]
    gap
        Free play. [rad]
    carrier_lump
        Index of the lump it hangs on; None when it hangs on another rider.
    carrier_rider
        Index of the rider it hangs on; None when it hangs on a lump.
    frequency
        √(k/J)/2π with its carrier held. [Hz]
    damping_ratio
        Share of critical damping of rider and carrier on the bond.
    """

    name: str
    bond: BondKind
    inertia: float
    stiffness: float
    damping: float
    slip_torque: float
    gap: float
    carrier_lump: int | None
    carrier_rider: int | None
    frequency: float
    damping_ratio: float


@dataclass(frozen=True, slots=True)
class PartProperties:
    """One part: where it sits and what it adds. SI; positions from the drive end of the article."""

    name: str
    carrier: str | None
    material: str
    mass: float = field(metadata=shown_as("mass_kg"))
    polar_inertia: float = field(metadata=shown_as("polar_inertia_kg_m2"))
    start: float = field(metadata=shown_as("start_m"))
    end: float = field(metadata=shown_as("end_m"))
    outer_diameter: float = field(metadata=UNSHOWN)
    bond: BondKind = field(metadata=UNSHOWN)
    stiffness: float = field(metadata=UNSHOWN)
    price: float | None


@dataclass(frozen=True, slots=True)
class Section:
    """A stretch of the torque path and what one newton metre in it does to it.

    Parameters
    ----------
    part
        Name.
    start, end
        From the drive end of the article. [m]
    torsion_constant
        [m⁴]
    shear
        Largest shear stress away from notches. [Pa per N·m]
    notch_shear
        The same in the corner of a broach or at a cross hole. [Pa per N·m]
    wall
        Mean hoop stress where a broached hole is pressed open, 0 elsewhere. [Pa per N·m]
    wall_notch
        Largest tension in the corners of that hole. [Pa per N·m]
    contact
        Mean pressure on the strips that the corners of its mate flatten. [Pa per N·m]
    """

    part: str
    start: float = field(metadata=shown_as("start_m"))
    end: float = field(metadata=shown_as("end_m"))
    torsion_constant: float = field(metadata=shown_as("torsion_constant_m4"))
    shear: float = field(metadata=shown_as("shear_pa_per_n_m"))
    notch_shear: float = field(metadata=shown_as("notch_shear_pa_per_n_m"))
    wall: float = field(metadata=shown_as("wall_pa_per_n_m"))
    wall_notch: float = field(metadata=shown_as("wall_notch_pa_per_n_m"))
    contact: float = field(metadata=shown_as("contact_pa_per_n_m"))


@dataclass(frozen=True, slots=True)
class Check:
    """The peak torque in its own joint that one place withstands.

    Parameters
    ----------
    part, mode
        The place, and what gives there.
    joints
        Whose peak loads it: the greatest of them.
    share
        Of the article's inertia, what hangs on a rider's bond; 1 on the path.
    holds_to
        The whole section or wall flows, the weld yields or the fit slips. [N·m]
    endures_to
        Pulsating torque without a fatigue limit being passed; None where there is no estimate. [N·m]
    lives
        Lives at larger torques, of which the shortest counts; empty where there is no estimate.
    """

    part: str
    mode: Mode
    joints: Joints = field(metadata=UNSHOWN)
    holds_to: float = field(metadata=shown_as("holds_to_n_m"))
    endures_to: float | None = field(metadata=shown_as("endures_to_n_m"))
    share: float = field(default=1.0, metadata=UNSHOWN)
    lives: tuple[LifeCurve, ...] = field(default=(), metadata=UNSHOWN)


@dataclass(frozen=True, slots=True)
class WeldLine:
    """One weld of the list: what it joins, and its bead. [m]"""

    part: str
    to: str
    throat: float = field(metadata=shown_as("throat_mm", 1e3))
    length: float = field(metadata=shown_as("length_mm", 1e3))
    preheat: bool


@dataclass(frozen=True, slots=True)
class CutLine:
    """One line of the cut list: what to take and how long to cut it. [m]"""

    part: str
    stock: str
    material: str
    length: float = field(metadata=shown_as("length_mm", 1e3))


@dataclass(frozen=True, slots=True)
class ArticleProperties:
    """All that an article's geometry, or its measured values, say about it. SI

    Parameters
    ----------
    mass, polar_inertia
        Whole article. [kg, kg·m²]
    stiffness
        Of the torque path from the drive to the hexagon, inner joints included. [N·m/rad]
    drive_stiffness, hexagon_stiffness
        From the drive to the first lump, and from the last lump to the hexagon; infinite when a lump sits
        right at the end. [N·m/rad]
    drive_gap, hexagon_gap
        Free play at the two ends. [rad]
    outer_diameter, length
        Overall; None when only values were given. [m]
    price
        None when something in it has no price.
    lumps, links
        Inertias along the path, and the springs and gaps between them (one fewer).
    riders
        What hangs on the lumps with give. Their inertia is not in the lumps.
    parts, sections, checks
        Part by part; stretch by stretch; place by place.
    welds, cuts
        For the workshop.
    off_balance
        Mass times distance of its centre from the axis. [kg·m]
    differences
        Measured or given values beside those of the geometry.
    hardenable
        Whether a steel that hardens beside a weld is in it.
    notes
        What was assumed, in words.
    """

    name: str
    mass: float
    polar_inertia: float
    stiffness: float
    drive_stiffness: float
    hexagon_stiffness: float
    drive_gap: float
    hexagon_gap: float
    outer_diameter: float | None
    length: float | None
    price: float | None
    lumps: tuple[Lump, ...]
    links: tuple[Link, ...]
    riders: tuple[RiderProperties, ...]
    parts: tuple[PartProperties, ...]
    sections: tuple[Section, ...]
    checks: tuple[Check, ...]
    welds: tuple[WeldLine, ...]
    cuts: tuple[CutLine, ...]
    off_balance: float
    differences: tuple[Difference, ...]
    hardenable: bool
    notes: tuple[str, ...]

    @property
    def weakest(self) -> Check | None:
        """The place that gives at the lowest torque; None without geometry."""
        return min(self.checks, key=lambda check: check.holds_to, default=None)
