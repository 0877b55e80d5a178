"""From tool, article, bolt and rig to a chain of inertias and joints."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Literal

import numpy as np

from strikeproof.drivetrain.exact import Pace
from strikeproof.drivetrain.records import ArticleModel, BoltModel, Lump, OilPulse, Rider, RigModel, ToolModel
from strikeproof.drivetrain.system import BOND, FIT, JAW, System, find_fastest_rate
from strikeproof.errors import BadInput
from strikeproof.quantity import FloatArray

__all__ = [
    "Body",
    "Chain",
    "Joint",
    "build_chain",
    "find_pace",
    "link_chain",
    "locked_chain",
    "static_torque",
]

STEP_ANGLE = 1.0  # radians of the fastest vibration per march step, a sixth of its period
MOST_STEPS = 3.0e4  # of one window; beyond it stiffness and inertia lie too far apart


@dataclass(frozen=True, slots=True)
class Body:
    """An inertia [kg·m²], friction per clamp load [m], constant and to break loose [N·m], pitch [m]."""

    name: str
    inertia: float
    grip: float = 0.0
    drag: float = 0.0
    seized: float = 0.0
    pitch: float = 0.0


@dataclass(frozen=True, slots=True)
class Joint:
    """A joint: which body drives which, kind, stiffness, damping ratio, gap, slip torque, leak rate.

    `beside` marks a rider's bond, which is not on the torque path.
    """

    first: int
    second: int
    kind: Literal["bond", "jaw", "fit"]
    stiffness: float
    ratio: float = 0.0
    gap: float = 0.0
    slip: float = 0.0
    leak: float = 0.0
    beside: bool = False


@dataclass(frozen=True, slots=True)
class Chain:
    """A chain ready for the kernels.

    Attributes
    ----------
    system
        Its arrays.
    bodies, joints
        Names, in the order of the arrays; the first body is the hammer.
    size
        Length of the state vector.
    pace
        March step and window.
    torque_per_load
        Torque of slow turning per clamp load, in the direction of the run. [m]
    snug_load, proof_load
        Where the run starts and what the bolt withstands. [N]
    head_share
        Share of the last braked body's friction that is under the head: 0 when head and thread are apart.
    own
        Which joints are the article's: square drive to hexagon, then the bonds of its riders.
    """

    system: System
    bodies: tuple[str, ...]
    joints: tuple[str, ...]
    size: int
    pace: Pace
    torque_per_load: float
    snug_load: float
    proof_load: float
    head_share: float
    own: tuple[int, ...] = ()


_KINDS = {"bond": BOND, "jaw": JAW, "fit": FIT}


def link_chain(
    bodies: Sequence[Body],
    joints: Sequence[Joint],
    *,
    clamp_rate: float = 0.0,
    static_ratio: float = 1.0,
    thread: int = -1,
) -> System:
    """Arrays of any chain; path joints first, each between neighbours, then one joint per rider.

    c = 2 ζ √(k J_red), J_red the two inertias in series.

    Parameters
    ----------
    bodies
        Hammer first, then along the path, then the riders.
    joints
        First those of the path.
    clamp_rate
        Clamp load per turn of the thread; negative when loosening. [N/rad]
    static_ratio
        Static over kinetic friction, 1 or more.
    thread
        Index of the body with the pitch; -1 for none.

    References
    ----------
    docs/drivetrain.md, Equations.
    """
    size = 2 * len(bodies) + 2
    links = np.empty((len(joints), 4), dtype=np.int64)
    springs = np.empty((len(joints), 5))
    path = 0
    for row, joint in enumerate(joints):
        path += not joint.beside
        offset = size if joint.slip > 0.0 or joint.leak > 0.0 else -1
        size += offset >= 0
        first, second = bodies[joint.first].inertia, bodies[joint.second].inertia
        reduced = first * second / (first + second)
        damping = 2.0 * joint.ratio * math.sqrt(joint.stiffness * reduced)
        links[row] = joint.first, joint.second, _KINDS[joint.kind], offset
        springs[row] = joint.stiffness, damping, joint.gap, joint.slip, joint.leak
    table = np.array([[b.inertia, b.grip, b.drag, b.seized, b.pitch] for b in bodies])
    return System(table, links, springs, np.array([clamp_rate, static_ratio, float(thread), float(path)]))


def find_pace(system: System, window: float, *, fineness: float = 1.0, may_settle: bool = True) -> Pace:
    """March step from the fastest vibration; `fineness` 2 halves it.

    Parameters
    ----------
    system
        The chain.
    window
        Longest time of a blow. [s]
    fineness
        Divides the step.
    may_settle
        Whether a blow may end as soon as nothing can slip or be loaded more than it was.

    Raises
    ------
    BadInput
        If inertias and stiffnesses lie so far apart that no march can resolve both.

    References
    ----------
    docs/drivetrain.md, Numerics.
    """
    rate = find_fastest_rate(system)
    most = MOST_STEPS * STEP_ANGLE / window
    if not rate < most:
        raise BadInput(
            f"fastest vibration {rate:.3g} rad/s cannot be resolved over a blow of {window:g} s",
            where="article and bolt stiffness over inertia",
            allowed=f"√(2k/J) below {most:.3g} rad/s",
            fix="merge the smallest inertia with its neighbour or lower the largest stiffness",
        )
    return Pace(min(STEP_ANGLE / rate / fineness, window / 20.0), window, may_settle)


def _series(*stiffnesses: float) -> float:
    return 1.0 / sum(1.0 / each for each in stiffnesses)


def _tool_end(tool: ToolModel) -> tuple[list[Body], list[Joint]]:
    drive = tool.mechanism
    leak = 1.0 / drive.leak_time if isinstance(drive, OilPulse) else 0.0
    bodies = [Body("hammer", tool.hammer_inertia), Body("anvil", tool.anvil_inertia)]
    return bodies, [Joint(0, 1, "jaw", tool.jaw_stiffness, tool.jaw_damping, leak=leak)]


def _add_lumps(bodies: list[Body], joints: list[Joint], lumps: Sequence[Lump], shank: float) -> None:
    """Append the lumps; the anvil's shank lies in series with the first joint."""
    for index, lump in enumerate(lumps):
        stiffness = _series(shank, lump.stiffness) if index == 0 else lump.stiffness
        here = len(bodies) - 1
        kind: Literal["bond", "fit"] = "bond" if lump.gap is None else "fit"
        joints.append(Joint(here, here + 1, kind, stiffness, lump.damping, gap=lump.gap or 0.0))
        bodies.append(Body(lump.name, lump.inertia))


def _bolt_bodies(bolt: BoltModel, sign: float) -> list[Body]:
    """Head and thread, or one body when the shank is rigid; the pitch helps when loosening."""
    if math.isinf(bolt.shank_stiffness):
        return [
            Body(
                "bolt",
                bolt.head_inertia + bolt.thread_inertia,
                bolt.head_arm + bolt.thread_arm,
                bolt.prevailing_torque,
                bolt.breakaway_torque,
                sign * bolt.pitch_arm,
            )
        ]
    return [
        Body("head", bolt.head_inertia, bolt.head_arm),
        Body(
            "thread",
            bolt.thread_inertia,
            bolt.thread_arm,
            bolt.prevailing_torque,
            bolt.breakaway_torque,
            sign * bolt.pitch_arm,
        ),
    ]


def build_chain(
    tool: ToolModel,
    article: ArticleModel,
    bolt: BoltModel,
    rig: RigModel,
    *,
    direction: Literal["tighten", "loosen"] = "tighten",
    start_load: float | None = None,
    fineness: float = 1.0,
) -> Chain:
    """The chain of one run, hammer to thread, riders last.

    Parameters
    ----------
    tool
        Hammer, jaw and anvil.
    article
        Lumps, gaps and riders.
    bolt
        Thread, head and friction.
    rig
        Clamped stiffness and torque cell.
    direction
        `loosen` turns the sense of rotation: clamp load falls with the thread's turning, the pitch helps.
    start_load
        Clamp load at the start; the rig's snug load by default. Loosening needs it. [N]
    fineness
        Divides the march step.

    Raises
    ------
    BadInput
        If the start load is missing or beyond proof, or the stiffness ratios cannot be resolved.

    References
    ----------
    docs/drivetrain.md, Equations. T/F of slow turning: ISO 16047:2005, clause 9 (from memory); loosening
    turns the sign of the pitch.
    """
    sign = 1.0 if direction == "tighten" else -1.0
    load = _check_start(start_load, bolt, rig, direction)
    bodies, joints = _tool_end(tool)
    _add_lumps(bodies, joints, (*rig.torque_cell, *article.lumps), tool.anvil_stiffness)
    first_lump = 2 + len(rig.torque_cell)
    for rider in article.riders:
        if math.isinf(rider.stiffness):
            at = first_lump + rider.carrier
            bodies[at] = Body(bodies[at].name, bodies[at].inertia + rider.inertia)
    last = len(bodies) - 1
    own = range(first_lump - 1, last + 1)
    joints.append(
        Joint(
            last, last + 1, "fit", article.hexagon_stiffness, article.hexagon_damping, gap=article.hexagon_gap
        )
    )
    bolt_end = _bolt_bodies(bolt, sign)
    bodies.extend(bolt_end)
    thread = len(bodies) - 1
    if len(bolt_end) == 2:
        joints.append(Joint(thread - 1, thread, "bond", bolt.shank_stiffness, 0.02))
    path = len(joints)
    _hang_riders(bodies, joints, article.riders, first_lump)
    rate = sign * rig.clamp_stiffness * bolt.pitch_arm
    system = link_chain(bodies, joints, clamp_rate=rate, static_ratio=bolt.static_ratio, thread=thread)
    return Chain(
        system,
        tuple(body.name for body in bodies),
        tuple(f"{bodies[j.first].name} to {bodies[j.second].name}" for j in joints),
        2 * len(bodies) + 2 + int(np.count_nonzero(system.links[:, 3] >= 0)),
        find_pace(system, tool.window, fineness=fineness),
        bolt.torque_per_load if sign > 0 else bolt.torque_per_load - 2.0 * bolt.pitch_arm,
        load,
        bolt.proof_load,
        bolt.head_arm / (bolt.head_arm + bolt.thread_arm) if len(bolt_end) == 1 else 0.0,
        (*own, *range(path, len(joints))),
    )


def _hang_riders(bodies: list[Body], joints: list[Joint], riders: Sequence[Rider], first_lump: int) -> None:
    """Append the riders that have give, each on a lump or on a rider before it."""
    places: list[int] = []
    for rider in riders:
        on = first_lump + rider.carrier if rider.carrier_rider is None else places[rider.carrier_rider]
        rigid = math.isinf(rider.stiffness)
        places.append(on if rigid else len(bodies))
        if rigid:
            continue
        kind: Literal["bond", "fit"] = "fit" if rider.gap > 0.0 else "bond"
        slip = 0.0 if rider.gap > 0.0 else rider.slip_torque
        joints.append(
            Joint(
                on, len(bodies), kind, rider.stiffness, rider.damping, gap=rider.gap, slip=slip, beside=True
            )
        )
        bodies.append(Body(rider.name, rider.inertia))


def _check_start(start: float | None, bolt: BoltModel, rig: RigModel, direction: str) -> float:
    if start is None and direction == "loosen":
        raise BadInput(
            "no clamp load to loosen",
            where="protocol.start_load",
            allowed="the clamp load of the tight bolt, N",
            fix="give start_load",
        )
    load = rig.snug_load if start is None else float(start)
    if not 0.0 <= load <= bolt.proof_load:
        raise BadInput(
            f"{load:g} N cannot be the clamp load at the start",
            where="protocol.start_load" if start is not None else "rig.snug_load",
            allowed=f"0 to the proof load, {bolt.proof_load:g} N",
            fix="lower it or take a stronger bolt",
        )
    return load


def locked_chain(
    inertias: Sequence[float], joints: Sequence[Joint], *, window: float, fineness: float = 1.0
) -> Chain:
    """A chain whose last body never turns, for closed forms: hammer first, no bolt.

    Parameters
    ----------
    inertias
        Hammer first. [kg·m²]
    joints
        One between each two bodies, and one from the last to the ground.
    window
        Longest time of a blow. [s]
    fineness
        Divides the march step.

    Raises
    ------
    BadInput
        If inertias and stiffnesses lie too far apart.
    """
    bodies = [Body(f"body {i}", value) for i, value in enumerate(inertias)]
    bodies.append(Body("ground", 1.0, drag=math.inf))
    system = link_chain(bodies, joints)
    size = 2 * len(bodies) + 2 + int(np.count_nonzero(system.links[:, 3] >= 0))
    pace = find_pace(system, window, fineness=fineness, may_settle=False)
    names = tuple(f"{bodies[j.first].name} to {bodies[j.second].name}" for j in joints)
    return Chain(system, tuple(b.name for b in bodies), names, size, pace, 0.0, 0.0, math.inf, 0.0)


def static_torque(chain: Chain, load: float) -> float:
    """Torque that slow turning needs at a clamp load, prevailing torque included. [N·m]"""
    bodies: FloatArray = chain.system.bodies
    drag = bodies[np.isfinite(bodies[:, 2]), 2].sum()
    return float(chain.torque_per_load * load + drag)
