"""What a tool, an article and a bolt are like when little is known of them: engineering estimates by class.

Every number here is a prior, from memory or engineering estimate unless marked otherwise; no published
table of hammer inertias and blow energies was found. Whatever is filled in from here is listed by name
beside the result.
"""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass, replace
from typing import Literal

from strikeproof.drivetrain.bounds import Range, require
from strikeproof.drivetrain.duty import Duty, find_mechanism
from strikeproof.drivetrain.mechanism import pack_mechanism, recover
from strikeproof.drivetrain.records import ArticleModel, Lump, ToolModel, TorqueLimit
from strikeproof.errors import BadInput, NotFound

__all__ = [
    "MECHANISMS",
    "PRIOR_SOURCES",
    "CompletedTool",
    "ToolClass",
    "complete_tool",
    "find_class",
    "plain_article",
    "with_extension",
    "with_ring",
]

MechanismName = Literal["air", "spring-and-cam", "oil-pulse"]
MECHANISMS: tuple[MechanismName, ...] = ("air", "spring-and-cam", "oil-pulse")


@dataclass(frozen=True, slots=True)
class ToolClass:
    """Priors of one class of tool.

    Parameters
    ----------
    hammer_inertia, anvil_inertia
        [kg·m²]
    speed
        At the blow. [rad/s]
    rate
        [Hz]
    anvil_stiffness, jaw_stiffness
        [N·m/rad]
    scatter
        Coefficient of variation of the speed.
    openness
        Gap states met at the blow's beginning.
    """

    name: str
    hammer_inertia: float
    speed: float
    rate: float
    anvil_inertia: float
    anvil_stiffness: float
    jaw_stiffness: float
    scatter: float
    openness: tuple[float, ...]


# Middles of the ranges: hammer 2-6e-4 (1/2 in, air), 1-2.5e-3 (3/4 in, air), 1.5-3e-4, 5e-4-1e-3 and compact
# 4-7e-5 (spring and cam); speed 350-500, 300-450, 200-300; rate 15-30, 12-25, 30-60 (42 seen), 15-35
# (oil pulse); anvil 1-5e-5, 0.5-2e-4; shank with square and fit 6-12e3, 20-40e3.
_CLASSES: dict[tuple[str, str], ToolClass] = {
    ("air", "half"): ToolClass(
        "air, 1/2 in", 4.5e-4, 420.0, 22.0, 2.5e-5, 9.0e3, 6.0e4, 0.04, (0.0, 0.25, 0.5)
    ),
    ("air", "three-quarter"): ToolClass(
        "air, 3/4 in", 1.6e-3, 370.0, 18.0, 1.0e-4, 2.8e4, 2.0e5, 0.04, (0.0, 0.25, 0.5)
    ),
    ("spring-and-cam", "compact"): ToolClass(
        "spring and cam, compact", 5.5e-5, 270.0, 50.0, 8.0e-6, 5.0e3, 4.0e4, 0.03, (0.0,)
    ),
    ("spring-and-cam", "half"): ToolClass(
        "spring and cam, 1/2 in", 2.2e-4, 250.0, 42.0, 2.5e-5, 9.0e3, 6.0e4, 0.03, (0.0,)
    ),
    ("spring-and-cam", "three-quarter"): ToolClass(
        "spring and cam, 3/4 in", 7.0e-4, 370.0, 25.0, 1.0e-4, 2.8e4, 2.0e5, 0.03, (0.0,)
    ),
    ("oil-pulse", "half"): ToolClass(
        "oil pulse, 1/2 in", 3.0e-4, 300.0, 25.0, 2.5e-5, 9.0e3, 3.0e4, 0.03, (0.0,)
    ),
    ("oil-pulse", "three-quarter"): ToolClass(
        "oil pulse, 3/4 in", 1.0e-3, 280.0, 18.0, 1.0e-4, 2.8e4, 1.0e5, 0.03, (0.0,)
    ),
}
PRIOR_SOURCES: Mapping[str, str] = {
    "hammer_inertia": "estimate",
    "blow_speed": "estimate",
    "blow_rate": "estimate; 42 a second seen for spring and cam in Preprints 202601.0315",
    "anvil_inertia": "estimate",
    "anvil_stiffness": "estimate, from the torsion of a square bar and its fit",
    "jaw_stiffness": "estimate",
    "jaw_damping": "estimate, restitution 0.5 to 0.8",
    "rebound_share": "estimate, 0.2 to 0.8",
    "speed_scatter": "estimate, 2 to 7 %",
}
"""Where each value comes from that a tool may take from its class."""
REBOUND_SHARE = 0.4  # of the rebound's energy, geometric middle of 0.2-0.8 (estimate)
JAW_ZETA = 0.16  # restitution 0.6: clutch, oil and jaw clearances lie within it
FIT_ZETA = 0.07  # restitution 0.8

_KNOWN = {
    "hammer_inertia": Range(1e-6, 1.0, "kg·m²"),
    "blow_speed": Range(1.0, 5000.0, "rad/s"),
    "blow_energy": Range(0.05, 1e4, "J"),
    "blow_rate": Range(1.0, 200.0, "Hz"),
    "anvil_stiffness": Range(100.0, 1e7, "N·m/rad"),
    "anvil_inertia": Range(1e-7, 0.1, "kg·m²"),
    "restitution": Range(0.05, 1.0, ""),
    "rebound_share": Range(0.0, 1.0, ""),
}


@dataclass(frozen=True, slots=True)
class CompletedTool:
    """A tool ready to hammer.

    Attributes
    ----------
    priors
        What was taken from the priors of its class: (name, value, SI unit).
    speed
        Of late blows on a tight bolt. [rad/s]
    most_rate
        Blows a second that this speed leaves time for. [Hz]
    """

    tool: ToolModel
    class_name: str
    priors: tuple[tuple[str, float, str], ...]
    speed: float
    most_rate: float


def find_class(mechanism: str, drive: float) -> ToolClass:
    """Class of a tool by mechanism and drive [m]: compact below 11 mm (spring and cam), 1/2 in below 16 mm.

    Raises
    ------
    NotFound
        If the mechanism is unknown.
    BadInput
        If the drive is not 5 to 100 mm.
    """
    if mechanism not in MECHANISMS:
        raise NotFound("mechanism", mechanism, MECHANISMS)
    require(drive, Range(5e-3, 0.1, "m"), where="tool.drive", fix="give the square's width across flats")
    size = "compact" if drive < 0.011 else "half" if drive < 0.016 else "three-quarter"
    return _CLASSES[mechanism, size] if (mechanism, size) in _CLASSES else _CLASSES[mechanism, "half"]


def _find_speed(known: Mapping[str, float], prior: ToolClass) -> tuple[float, float]:
    """Hammer inertia and speed from any two of inertia, speed and energy, the rest from the class."""
    inertia, speed, energy = (known.get(key) for key in ("hammer_inertia", "blow_speed", "blow_energy"))
    if energy is not None and inertia is not None and speed is not None:
        held = 0.5 * inertia * speed**2
        if abs(energy / held - 1.0) > 0.05:
            raise BadInput(
                f"{energy:g} J with {inertia:g} kg·m² at {speed:g} rad/s",
                where="tool.blow_energy",
                allowed=f"½ J ω² = {held:.3g} J within 5 %",
                fix="leave one of inertia, speed and energy out",
            )
    if energy is not None and speed is not None and inertia is None:
        inertia = 2.0 * energy / speed**2
    inertia = prior.hammer_inertia if inertia is None else inertia
    if speed is None:
        speed = prior.speed if energy is None else math.sqrt(2.0 * energy / inertia)
    return inertia, speed


def complete_tool(
    name: str, mechanism: str, drive: float, known: Mapping[str, float | None] | None = None
) -> CompletedTool:
    """A tool from what is known of it, completed from the priors of its class.

    Parameters
    ----------
    name
        As it is called.
    mechanism
        One of `MECHANISMS`.
    drive
        Width of the drive square. [m]
    known
        Any of hammer_inertia, blow_speed, blow_energy, blow_rate, anvil_stiffness, anvil_inertia,
        restitution and rebound_share, in SI. Speed, energy and rate are understood as those of late blows on
        a tight bolt, which send the hammer back at `USUAL_REBOUND` of its speed.

    Raises
    ------
    NotFound
        If the mechanism or a key is unknown.
    BadInput
        If a value is out of range or inertia, speed and energy contradict each other.
    """
    given = {key: value for key, value in (known or {}).items() if value is not None}
    for key, value in given.items():
        if key not in _KNOWN:
            raise NotFound("value of a tool", key, _KNOWN)
        require(value, _KNOWN[key], where=f"tool.{key}")
    prior = find_class(mechanism, drive)
    inertia, speed = _find_speed(given, prior)
    duty = Duty(inertia, speed, given.get("blow_rate", prior.rate), given.get("rebound_share", REBOUND_SHARE))
    drives, most_rate = find_mechanism(mechanism, duty)
    zeta = find_damping_ratio(given["restitution"]) if "restitution" in given else JAW_ZETA
    tool = ToolModel(
        name=name,
        mechanism=drives,
        hammer_inertia=inertia,
        first_speed=speed,
        anvil_inertia=given.get("anvil_inertia", prior.anvil_inertia),
        anvil_stiffness=given.get("anvil_stiffness", prior.anvil_stiffness),
        jaw_stiffness=prior.jaw_stiffness,
        jaw_damping=zeta,
        speed_scatter=prior.scatter,
        gap_openness=prior.openness,
    )
    first, _time = recover(pack_mechanism(tool), 0.0)
    tool = replace(tool, first_speed=first)
    return CompletedTool(tool, prior.name, tuple(_list_priors(tool, given, duty)), speed, most_rate)


def _list_priors(tool: ToolModel, given: Mapping[str, float], duty: Duty) -> list[tuple[str, float, str]]:
    """What did not come from the person."""
    two_known = len({"hammer_inertia", "blow_speed", "blow_energy"} & set(given)) >= 2
    rows = [
        ("hammer_inertia", tool.hammer_inertia, "kg·m²", two_known or "hammer_inertia" in given),
        ("blow_speed", duty.speed, "rad/s", two_known or "blow_speed" in given),
        ("blow_rate", duty.rate, "Hz", "blow_rate" in given),
        ("anvil_inertia", tool.anvil_inertia, "kg·m²", "anvil_inertia" in given),
        ("anvil_stiffness", tool.anvil_stiffness, "N·m/rad", "anvil_stiffness" in given),
        ("jaw_stiffness", tool.jaw_stiffness, "N·m/rad", False),
        ("jaw_damping", tool.jaw_damping, "", "restitution" in given),
        ("rebound_share", duty.share, "", "rebound_share" in given),
        ("speed_scatter", tool.speed_scatter, "", False),
    ]
    return [(name, value, unit) for name, value, unit, known in rows if not known]


def find_damping_ratio(restitution: float) -> float:
    """ζ = −ln e/√(π² + ln² e) of a half swing of a damped spring. For e = 0.8, 0.7, 0.5: 0.07, 0.11, 0.22.

    Raises
    ------
    BadInput
        If e is not 0.001 to 1.

    References
    ----------
    Logarithmic decrement of half a swing, any text, e.g. Rao, *Mechanical Vibrations*, ch. 2 (from memory).
    """
    log = math.log(require(restitution, Range(1e-3, 1.0, ""), where="restitution"))
    return -log / math.hypot(math.pi, log)


def plain_article(
    name: str,
    polar_inertia: float,
    *,
    stiffness: float = 1.0e5,
    square_gap: float = math.radians(2.0),
    hexagon_gap: float = math.radians(2.0),
    head_stiffness: float = 5.0e4,
    damping: float = FIT_ZETA,
) -> ArticleModel:
    """A socket as one inertia in the middle of its own stiffness.

    Parameters
    ----------
    name
        As it is called.
    polar_inertia
        [kg·m²]
    stiffness
        Of the article from square to hexagon; half of its twist lies on either side. [N·m/rad]
    square_gap, hexagon_gap
        Free play. [rad]
    head_stiffness
        Hexagon with the bolt's head, in series on that side. [N·m/rad]
    damping
        Ratio of both fits.

    Raises
    ------
    BadInput
        If inertia or a stiffness is out of range.
    """
    require(polar_inertia, Range(1e-8, 10.0, "kg·m²"), where="article.polar_inertia")
    require(stiffness, Range(10.0, 1e8, "N·m/rad"), where="article.stiffness")
    require(head_stiffness, Range(10.0, 1e8, "N·m/rad"), where="article.head_stiffness")
    half = 2.0 * stiffness
    lump = Lump("article", polar_inertia, half, square_gap, damping)
    return ArticleModel(name, (lump,), half * head_stiffness / (half + head_stiffness), hexagon_gap, damping)


def with_extension(
    article: ArticleModel,
    inertia: float,
    stiffness: float,
    *,
    lumps: int = 2,
    square_gap: float = math.radians(2.0),
    square_stiffness: float = 3.0e4,
) -> ArticleModel:
    """The article behind an extension of so many lumps (2-3 per 250 mm).

    Lumps of equal inertia in the middles of equal lengths, so half a length of twist at either end.

    Parameters
    ----------
    article
        What is on it.
    inertia
        Of the whole extension. [kg·m²]
    stiffness
        Of the whole extension. [N·m/rad]
    lumps
        1 or more.
    square_gap
        Free play at the tool's square. [rad]
    square_stiffness
        Of the square between extension and article. [N·m/rad]
    """
    piece = stiffness * lumps
    first = Lump("extension 1", inertia / lumps, 2.0 * piece, square_gap, FIT_ZETA)
    others = tuple(Lump(f"extension {i + 1}", inertia / lumps, piece) for i in range(1, lumps))
    drive = article.lumps[0]
    joined = 1.0 / (0.5 / piece + 1.0 / square_stiffness + 1.0 / drive.stiffness)
    socket = replace(drive, stiffness=joined)
    riders = tuple(replace(rider, carrier=rider.carrier + lumps) for rider in article.riders)
    return replace(
        article,
        name=f"{article.name} on an extension",
        lumps=(first, *others, socket, *article.lumps[1:]),
        riders=riders,
        torque_limits=tuple(_moved(each, lumps) for each in article.torque_limits),
    )


def _moved(limit: TorqueLimit, lumps: int) -> TorqueLimit:
    """The same place so many lumps farther from the tool."""
    if isinstance(limit.joints, str):
        return limit
    return replace(limit, joints=tuple(joint + lumps for joint in limit.joints))


def with_ring(article: ArticleModel, inertia: float) -> ArticleModel:
    """The article with a rigid ring on its last lump.

    Parameters
    ----------
    article
        Its limits hold.
    inertia
        Of the ring. [kg·m²]
    """
    last = article.lumps[-1]
    grown = replace(last, inertia=last.inertia + inertia)
    return replace(article, name=f"{article.name} with a ring", lumps=(*article.lumps[:-1], grown))
