"""What a drivetrain is made of: tool, article, bolt and rig as plain numbers in SI units."""

from __future__ import annotations

import math
from dataclasses import dataclass, field

from strikeproof.drivetrain.bounds import Range, check_fields, require
from strikeproof.drivetrain.hammers import AirHammer, Mechanism, OilPulse, SpringCam
from strikeproof.errors import BadInput

__all__ = [
    "AirHammer",
    "ArticleModel",
    "BoltModel",
    "Lump",
    "Mechanism",
    "OilPulse",
    "Rider",
    "RigModel",
    "SpringCam",
    "ToolModel",
    "TorqueLimit",
]

INERTIA = Range(1e-8, 10.0, "kg·m²")
STIFFNESS = Range(1.0, 1e8, "N·m/rad")
TORQUE = Range(0.0, 1e6, "N·m")
ANGLE = Range(0.0, math.pi, "rad")
SPEED = Range(1.0, 5000.0, "rad/s")
RATIO = Range(0.0, 2.0, "")
SHARE = Range(0.0, 1.0, "")
FRICTION = Range(0.0, 1.0, "")
LENGTH = Range(1e-4, 1.0, "m")


@dataclass(frozen=True, slots=True)
class ToolModel:
    """An impact wrench.

    Parameters
    ----------
    hammer_inertia, anvil_inertia
        About the axis. [kg·m²]
    first_speed
        Hammer speed at the first blow, from rest. [rad/s]
    jaw_stiffness, anvil_stiffness
        Hammer on anvil; anvil shank with its square and fit. [N·m/rad]
    jaw_damping
        Damping ratio of the jaw.
    speed_scatter
        Coefficient of variation of the blow's speed.
    gap_openness
        How far the gaps stand open when a blow begins, 0 closed to 1 open; several values are equally
        likely from blow to blow, the middle one is used when nothing scatters.
    window
        Longest time one blow may act. [s]
    """

    name: str
    mechanism: Mechanism
    hammer_inertia: float
    first_speed: float
    anvil_inertia: float
    anvil_stiffness: float
    jaw_stiffness: float = 6.0e4
    jaw_damping: float = 0.16
    speed_scatter: float = 0.0
    gap_openness: tuple[float, ...] = (0.0,)
    window: float = 8.0e-3

    def __post_init__(self) -> None:
        check_fields(
            "tool",
            self,
            hammer_inertia=INERTIA,
            first_speed=SPEED,
            anvil_inertia=INERTIA,
            anvil_stiffness=STIFFNESS,
            jaw_stiffness=STIFFNESS,
            jaw_damping=RATIO,
            speed_scatter=Range(0.0, 0.3, ""),
            window=Range(1e-4, 0.1, "s"),
        )
        if not 1 <= len(self.gap_openness) <= 9:
            raise BadInput(
                "no gap state or too many", where="tool.gap_openness", allowed="1 to 9 values, 0 to 1"
            )
        for value in self.gap_openness:
            require(value, SHARE, where="tool.gap_openness")

    @property
    def blow_energy(self) -> float:
        """Kinetic energy of the first blow. [J]"""
        return 0.5 * self.hammer_inertia * self.first_speed**2


@dataclass(frozen=True, slots=True)
class Lump:
    """An inertia on the torque path and the joint that drives it.

    Parameters
    ----------
    inertia
        About the axis. [kg·m²]
    stiffness
        Of the joint with the body before it. [N·m/rad]
    gap
        Angular gap of that joint, None when it is solid metal. [rad]
    damping
        Damping ratio of that joint.
    """

    name: str
    inertia: float
    stiffness: float
    gap: float | None = None
    damping: float = 0.02

    def __post_init__(self) -> None:
        where = f"article.{self.name}"
        check_fields(where, self, inertia=INERTIA, stiffness=STIFFNESS, damping=RATIO)
        if self.gap is not None:
            require(self.gap, ANGLE, where=f"{where}.gap")


@dataclass(frozen=True, slots=True)
class Rider:
    """A part beside the torque path: ring, sleeve or fill on its bond.

    Parameters
    ----------
    carrier
        Index of the lump that carries it.
    carrier_rider
        Index of the earlier rider that carries it instead, None for the lump.
    gap
        Free play of a loose rider. [rad]
    stiffness
        Of the bond; `inf` for a rigid bond, which adds the inertia to the carrier. [N·m/rad]
    slip_torque
        Torque at which the bond slips, 0 when it never does. [N·m]
    """

    name: str
    inertia: float
    stiffness: float = math.inf
    damping: float = 0.05
    slip_torque: float = 0.0
    carrier: int = 0
    carrier_rider: int | None = None
    gap: float = 0.0

    def __post_init__(self) -> None:
        where = f"article.{self.name}"
        check_fields(where, self, inertia=INERTIA, damping=RATIO, slip_torque=TORQUE, gap=ANGLE)
        if not math.isinf(self.stiffness):
            require(self.stiffness, STIFFNESS, where=f"{where}.stiffness")
        elif self.slip_torque > 0.0:
            raise BadInput(
                "a rigid bond that slips",
                where=f"{where}.stiffness",
                allowed=str(STIFFNESS),
                fix="give the bond a stiffness, or slip_torque = 0",
            )


@dataclass(frozen=True, slots=True)
class TorqueLimit:
    """The largest torque that a place of an article withstands, in its own joint.

    Parameters
    ----------
    torque
        [N·m]
    joints
        Which joints load it: of the path, counted from the square drive, 0, to the hexagon; or the name of
        the rider whose bond it is.
    share
        Of the article's inertia, what hangs on that bond.
    uncertainty
        Share by which the torque may be off; None where no estimate was made.
    """

    name: str
    torque: float
    joints: tuple[int, ...] | str
    share: float = 1.0
    uncertainty: float | None = None


@dataclass(frozen=True, slots=True)
class ArticleModel:
    """What sits between anvil and bolt.

    Parameters
    ----------
    lumps
        From the drive side to the hexagon; the first joint is the square drive.
    hexagon_stiffness, hexagon_gap, hexagon_damping
        The joint with the bolt head: hexagon, socket wall, head. [N·m/rad, rad, 1]
    torque_limits
        What each of its places withstands, for margins.
    """

    name: str
    lumps: tuple[Lump, ...]
    hexagon_stiffness: float
    hexagon_gap: float = math.radians(2.0)
    hexagon_damping: float = 0.07
    riders: tuple[Rider, ...] = ()
    torque_limits: tuple[TorqueLimit, ...] = ()

    def __post_init__(self) -> None:
        if not 1 <= len(self.lumps) <= 12:
            raise BadInput(
                f"{len(self.lumps)} lumps", where="article.lumps", allowed="1 to 12", fix="merge lumps"
            )
        check_fields("article", self, hexagon_stiffness=STIFFNESS, hexagon_gap=ANGLE, hexagon_damping=RATIO)
        for place, rider in enumerate(self.riders):
            if rider.carrier_rider is not None and (
                not 0 <= rider.carrier_rider < place or math.isinf(rider.stiffness)
            ):
                raise BadInput(
                    f"carrier_rider {rider.carrier_rider}",
                    where=f"article.{rider.name}.carrier_rider",
                    allowed="an earlier rider, on a bond with give",
                    fix="list carriers first and merge what is rigid",
                )
            if not 0 <= rider.carrier < len(self.lumps):
                raise BadInput(
                    f"carrier {rider.carrier}",
                    where=f"article.{rider.name}.carrier",
                    allowed=f"0 to {len(self.lumps) - 1}",
                    fix="name the lump that carries it",
                )

    @property
    def polar_inertia(self) -> float:
        """Inertia of all lumps and riders. [kg·m²]"""
        return sum(lump.inertia for lump in self.lumps) + sum(rider.inertia for rider in self.riders)


@dataclass(frozen=True, slots=True)
class BoltModel:
    """Bolt, thread and what they clamp.

    Parameters
    ----------
    pitch, thread_radius, head_radius
        Pitch; half the pitch diameter; mean friction radius under the head. [m]
    thread_friction, head_friction
        Kinetic coefficients.
    flank_angle
        Half the thread angle. [rad]
    shank_stiffness
        Torsional, between head and thread; `inf` makes them one body. [N·m/rad]
    static_ratio
        Static over kinetic friction, 1 or more.
    prevailing_torque, breakaway_torque
        Constant friction torque of the thread; what a seized thread holds on top until it first moves. [N·m]
    proof_load
        Largest clamp load allowed, `inf` when unknown. [N]
    """

    pitch: float
    thread_radius: float
    head_radius: float
    thread_friction: float = 0.12
    head_friction: float = 0.12
    flank_angle: float = math.pi / 6.0
    head_inertia: float = 1.0e-5
    thread_inertia: float = 5.0e-6
    shank_stiffness: float = math.inf
    static_ratio: float = 1.0
    prevailing_torque: float = 0.0
    breakaway_torque: float = 0.0
    proof_load: float = math.inf

    def __post_init__(self) -> None:
        check_fields(
            "bolt",
            self,
            pitch=Range(1e-4, 0.02, "m"),
            thread_radius=LENGTH,
            head_radius=LENGTH,
            thread_friction=FRICTION,
            head_friction=FRICTION,
            flank_angle=Range(0.0, math.pi / 3, "rad"),
            head_inertia=INERTIA,
            thread_inertia=INERTIA,
            static_ratio=Range(1.0, 3.0, ""),
            prevailing_torque=TORQUE,
            breakaway_torque=TORQUE,
        )
        if not math.isinf(self.shank_stiffness):
            require(self.shank_stiffness, STIFFNESS, where="bolt.shank_stiffness")
        if not self.proof_load > 0.0:
            require(self.proof_load, Range(1.0, 1e8, "N"), where="bolt.proof_load")
        if self.thread_friction + self.head_friction < 0.01:
            raise BadInput(
                f"friction {self.thread_friction:g} and {self.head_friction:g} hold no clamp load",
                where="bolt.friction",
                allowed="thread and head together 0.01 to 2",
                fix="give the coefficients of the lubricated joint, usually 0.08 to 0.2",
            )

    @property
    def pitch_arm(self) -> float:
        """Torque of the pitch per clamp load, p/2π. [m]"""
        return self.pitch / (2.0 * math.pi)

    @property
    def thread_arm(self) -> float:
        """Friction torque of the thread per clamp load, μ r / cos α. [m]"""
        return self.thread_friction * self.thread_radius / math.cos(self.flank_angle)

    @property
    def head_arm(self) -> float:
        """Friction torque under the head per clamp load. [m]"""
        return self.head_friction * self.head_radius

    @property
    def torque_per_load(self) -> float:
        """T/F of slow tightening (ISO 16047:2005 cl. 9, from memory). [m]"""
        return self.pitch_arm + self.thread_arm + self.head_arm


@dataclass(frozen=True, slots=True)
class RigModel:
    """The bench.

    Parameters
    ----------
    clamp_stiffness
        Series stiffness of bolt, joint and load cell along the axis. [N/m]
    snug_load
        Clamp load at which hammering begins. [N]
    torque_cell
        A torque cell in line with the drive adds its own inertia and compliance.
    """

    clamp_stiffness: float = 4.0e8
    snug_load: float = 1000.0
    torque_cell: tuple[Lump, ...] = field(default=())

    def __post_init__(self) -> None:
        check_fields("rig", self, clamp_stiffness=Range(1e5, 1e11, "N/m"), snug_load=Range(0.0, 1e7, "N"))
