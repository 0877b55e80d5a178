"""One blow of a chain: what it leaves behind, and its full motion if wanted."""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np

from strikeproof.drivetrain.bounds import Range, require
from strikeproof.drivetrain.chain import Chain
from strikeproof.drivetrain.exact import (
    DURATION,
    ENDING,
    EVENTS,
    HEAT,
    PEAK,
    RAN_FREE,
    REACH,
    ROWS,
    TOO_MANY_EVENTS,
    VIBRATION,
    WORK,
    Outcome,
    Pace,
    Room,
    make_outcome,
    make_room,
    most_pieces,
    pulse_width,
    strike,
)
from strikeproof.drivetrain.propagate import Memory, make_memory
from strikeproof.drivetrain.system import (
    BOND,
    DRAG,
    DRIVE,
    FIRST,
    FIT,
    GAP,
    GRIP,
    KIND,
    OPEN,
    PATH,
    SECOND,
    STUCK,
    THREAD,
    UP,
    System,
)
from strikeproof.drivetrain.tally import stored_energy
from strikeproof.errors import DidNotConverge
from strikeproof.kernels import kernel
from strikeproof.quantity import FloatArray, IntArray

__all__ = ["Blow", "Motion", "find_windup", "simulate_blow", "start_blow"]


@dataclass(frozen=True, slots=True)
class Motion:
    """Every step of a blow.

    Attributes
    ----------
    time : (rows,)
        From first contact. [s]
    angles, speeds : (rows, n)
        Of every body; the thread starts at 0. [rad, rad/s]
    clamp_load : (rows,)
        [N]
    torques : (rows, m)
        Of every joint, 0 while open. [N·m]
    """

    time: FloatArray
    angles: FloatArray
    speeds: FloatArray
    clamp_load: FloatArray
    torques: FloatArray


@dataclass(frozen=True, slots=True)
class Blow:
    """What one blow did; see `Outcome` for the arrays' meaning.

    Attributes
    ----------
    speed, rebound
        Of the hammer before, and backward after. [rad/s]
    load_before, load_after
        Clamp load. [N]
    windup : (m,)
        Twist that friction keeps in the joints between braked bodies. [rad]
    pulse_width
        Time around its peak in which the torque at the bolt's head stays above half of it. [s]
    ran_free
        The clamp load came down to nothing.
    """

    speed: float
    rebound: float
    load_before: float
    load_after: float
    windup: FloatArray
    peaks: FloatArray
    pulse_width: float
    duration: float
    events: int
    ran_free: bool
    works: FloatArray
    heats: FloatArray
    stored_before: FloatArray
    stored_after: FloatArray
    vibration: float
    reach: FloatArray
    motion: Motion


@kernel(nogil=True, error_model="numpy")
def start_blow(
    system: System,
    openness: float,
    windup: FloatArray,
    load: float,
    speed: float,
    joints: IntArray,
    brakes: IntArray,
    x: FloatArray,
) -> None:
    """Fill the state at first contact: all but the hammer at rest, jaw just closed, gaps open.

    Parameters
    ----------
    system
        The chain.
    openness
        How far the gaps stand open, 0 to 1.
    windup : (m,)
        Twist left in the joints. [rad]
    load
        Clamp load. [N]
    speed
        Of the hammer. [rad/s]
    joints : (m,)
        States, written to.
    brakes : (n,)
        States, written to.
    x : (N,)
        State vector (`system`), written to.
    """
    n, path = brakes.size, int(system.clamp[PATH])
    x[:] = 0.0
    x[n] = speed
    x[2 * n] = load
    x[2 * n + 1] = 1.0
    for joint in range(joints.size):
        joints[joint] = DRIVE if system.links[joint, KIND] == BOND else OPEN
    for body in range(n):
        braked = system.bodies[body, GRIP] > 0.0 or system.bodies[body, DRAG] > 0.0
        brakes[body] = STUCK if braked else UP
    for joint in range(path - 1, -1, -1):
        twist = -openness * system.springs[joint, GAP] if system.links[joint, KIND] == FIT else windup[joint]
        x[joint] = x[joint + 1] + twist
    for joint in range(path, joints.size):
        x[system.links[joint, SECOND]] = x[system.links[joint, FIRST]]


@kernel(nogil=True, error_model="numpy")
def find_windup(system: System, brakes: IntArray, x: FloatArray, windup: FloatArray) -> None:
    """Fill the twist that friction keeps in bonds between braked bodies; all else springs back. [rad]

    Parameters
    ----------
    system
        The chain.
    brakes : (n,)
        States after the blow.
    x : (N,)
        State vector after the blow.
    windup : (m,)
        Written to. [rad]
    """
    for joint in range(windup.size):
        first, second = system.links[joint, FIRST], system.links[joint, SECOND]
        windup[joint] = 0.0
        if system.links[joint, KIND] == BOND and joint < int(system.clamp[PATH]):
            both = True
            for body in (first, second):
                if not (system.bodies[body, GRIP] > 0.0 or system.bodies[body, DRAG] > 0.0):
                    both = False
            if both:
                windup[joint] = x[first] - x[second]


@kernel(nogil=True, error_model="numpy")
def deliver_blow(
    system: System,
    memory: Memory,
    pace: Pace,
    head: int,
    openness: float,
    windup: FloatArray,
    load: float,
    speed: float,
    joints: IntArray,
    brakes: IntArray,
    x: FloatArray,
    outcome: Outcome,
    room: Room,
) -> None:
    """One blow from rest; `windup` is changed into what stays afterwards.

    Parameters
    ----------
    system
        The chain; a seized thread that moves is free afterwards.
    memory
        Exponentials of the contact states met so far; grows.
    pace
        Step and window.
    head
        Joint that drives the bolt's head.
    openness
        How far the gaps stand open, 0 to 1.
    windup : (m,)
        Twist left before, and after. [rad]
    load
        Clamp load before. [N]
    speed
        Of the hammer. [rad/s]
    joints : (m,)
        States, written to.
    brakes : (n,)
        States, written to.
    x : (N,)
        State vector, written to.
    outcome
        Written to.
    room
        Scratch arrays.

    References
    ----------
    docs/drivetrain.md, Equations and Numerics.
    """
    outcome.facts[:] = 0.0
    outcome.joints[:] = 0.0
    outcome.brakes[:] = 0.0
    start_blow(system, openness, windup, load, speed, joints, brakes, x)
    strike(system, memory, pace, head, joints, brakes, x, outcome, room)
    find_windup(system, brakes, x, windup)


def copy_system(system: System) -> System:
    """A chain whose seized thread may break loose without touching the original."""
    return system._replace(bodies=system.bodies.copy())


def _stored(chain: Chain, joints: IntArray, x: FloatArray) -> FloatArray:
    system = chain.system
    return np.array(
        [
            stored_energy(len(chain.bodies), system.links, system.springs, joint, int(state), x)
            for joint, state in enumerate(joints)
        ]
    )


def simulate_blow(
    chain: Chain,
    *,
    speed: float,
    load: float,
    openness: float = 0.0,
    windup: FloatArray | None = None,
    keep_motion: bool = False,
    fineness: int = 1,
) -> Blow:
    """One blow of `chain`.

    Parameters
    ----------
    chain
        As `build_chain` or `locked_chain` gives it; not changed.
    speed
        Of the hammer at first contact. [rad/s]
    load
        Clamp load before. [N]
    openness
        How far the gaps stand open, 0 to 1.
    windup : (m,)
        Twist left from the blow before. [rad]
    keep_motion
        Whether every step is stored.
    fineness
        Divides the march step; the energy ledger closes with its fourth power.

    Raises
    ------
    BadInput
        If speed, load or openness are out of range.
    DidNotConverge
        If contacts switch without end; `best` is the outcome so far.

    References
    ----------
    docs/drivetrain.md, Equations and Numerics.
    """
    require(speed, Range(0.1, 1e4, "rad/s"), where="tool.speed", fix="a tool with no speed gives no blow")
    require(load, Range(0.0, 1e9, "N"), where="clamp load")
    require(openness, Range(0.0, 1.0, ""), where="gap openness")
    n, m = len(chain.bodies), len(chain.joints)
    pace = chain.pace._replace(step=chain.pace.step / fineness)
    rows = min(int(6.0 * pace.window / pace.step) + 4000, 2_000_000) if keep_motion else 0
    outcome = make_outcome(n, m, most_pieces(pace), rows, chain.size)
    joints, brakes, x = np.empty(m, np.int64), np.empty(n, np.int64), np.empty(chain.size)
    twist = np.zeros(m) if windup is None else np.array(windup, dtype=np.float64)
    system = copy_system(chain.system)
    start_blow(system, openness, twist, load, speed, joints, brakes, x)
    before = _stored(chain, joints, x)
    memory = make_memory(chain.size)
    head = head_joint(system)
    room = make_room(n, m, chain.size)
    deliver_blow(system, memory, pace, head, openness, twist, load, speed, joints, brakes, x, outcome, room)
    if outcome.facts[ENDING] == TOO_MANY_EVENTS:
        raise DidNotConverge("the blow", best=outcome, fix="add damping to the contacts or widen the gaps")
    return _as_blow(chain, speed, load, twist, joints, x, before, outcome)


def _as_blow(
    chain: Chain,
    speed: float,
    load: float,
    windup: FloatArray,
    joints: IntArray,
    x: FloatArray,
    before: FloatArray,
    outcome: Outcome,
) -> Blow:
    n = len(chain.bodies)
    kept = outcome.motion[: int(outcome.facts[ROWS])]
    return Blow(
        speed=speed,
        rebound=-float(x[n]),
        load_before=load,
        load_after=float(x[2 * n]),
        windup=windup,
        peaks=outcome.joints[PEAK],
        pulse_width=pulse_width(outcome, head_joint(chain.system)),
        duration=float(outcome.facts[DURATION]),
        events=int(outcome.facts[EVENTS]),
        ran_free=bool(outcome.facts[ENDING] == RAN_FREE),
        works=outcome.joints[WORK],
        heats=outcome.brakes[HEAT],
        stored_before=before,
        stored_after=_stored(chain, joints, x),
        vibration=float(outcome.facts[VIBRATION]),
        reach=outcome.brakes[REACH],
        motion=Motion(
            kept[:, 0],
            kept[:, 1 : 1 + n],
            kept[:, 1 + n : 1 + 2 * n],
            kept[:, 1 + 2 * n],
            kept[:, 1 + chain.size :],
        ),
    )


def head_joint(system: System) -> int:
    """Index of the joint that drives the bolt's head: the last contact of the path, or its last joint."""
    path = int(system.clamp[PATH])
    for joint in range(path - 1, -1, -1):
        if system.links[joint, KIND] != BOND:
            return joint
    return path - 1


def relax(blow: Blow) -> Blow:
    """The blow without its motion, to keep many."""
    empty = np.zeros(0)
    flat = np.zeros((0, 0))
    return replace(blow, motion=Motion(empty, flat, flat, empty, flat))


__all__ += ["copy_system", "deliver_blow", "head_joint", "relax"]
_ = THREAD
