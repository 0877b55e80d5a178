"""One blow, exactly: linear motion between events by exponentials, events at the roots of its series."""

from __future__ import annotations

from typing import NamedTuple

import numpy as np

from strikeproof.drivetrain.contact import find_rates, survey, switch
from strikeproof.drivetrain.events import CLOSE, NEVER, find_event
from strikeproof.drivetrain.propagate import Memory, advance, find_slot
from strikeproof.drivetrain.series import FEWER, TERMS, expand, sum_series
from strikeproof.drivetrain.settle import find_pieces, is_settled
from strikeproof.drivetrain.system import DRAG, GRIP, INERTIA, OPEN, STATIC_RATIO, System
from strikeproof.drivetrain.tally import (
    RATE,
    SLOPE,
    TORQUE,
    TWIST,
    count_crests,
    count_friction,
    count_joints,
    find_slopes,
    find_turns,
    keep,
    may_graze,
    time_above,
    vibration_energy,
)
from strikeproof.kernels import kernel
from strikeproof.quantity import BoolArray, FloatArray, IntArray

__all__ = ["Outcome", "Pace", "Room", "make_outcome", "make_room", "most_pieces", "pulse_width", "strike"]

# how a blow ended
SETTLED, WINDOW_CLOSED, RAN_FREE, TOO_MANY_EVENTS = range(4)
# entries of `Outcome.facts`
DURATION, VIBRATION, EVENTS, ENDING, ROWS, PIECES = range(6)
# rows of `Outcome.joints` and `Outcome.brakes`
PEAK, IMPULSE, WORK, BACKWARD = range(4)
HEAT, REACH, CLAMPED = range(3)
MOST_EVENTS = 20000
HALF = 0.5  # of the peak, above which a pulse counts as such
FAR = 1e-6  # share of a step beyond a root at which a law that still holds only grazed it
SETTLE_EVERY = 4  # steps from one look at what still vibrates to the next


class Pace(NamedTuple):
    """March step [s], longest window [s], and whether to stop once nothing that counts can happen."""

    step: float
    window: float
    may_settle: bool


class Outcome(NamedTuple):
    """What a blow leaves behind.

    facts : (6,) duration [s], energy of what still vibrates [J], events, ending, rows of motion, of pulse.
    joints : (4, m) largest forward torque [N·m], its integral over time [N·m·s], work that went in [J],
        largest backward torque [N·m].
    brakes : (3, n) heat of friction [J], largest torque on a stuck body as a share of its static limit, work
        against the pitch [J].
    pulse : (pieces, 5) duration, torque at the bolt's head at either end, its slopes: the steps in which it
        may have been above `HALF` of its peak. [s, N·m, N·m/s]
    motion : (rows, 1 + N + m) time, state and joint torques at every step; no rows: not recorded.
    """

    facts: FloatArray
    joints: FloatArray
    brakes: FloatArray
    pulse: FloatArray
    motion: FloatArray


@kernel(nogil=True, error_model="numpy")
def make_outcome(bodies: int, joints: int, pieces: int, rows: int, size: int) -> Outcome:
    """An empty outcome.

    Parameters
    ----------
    bodies, joints
        How many, n and m.
    pieces
        Room for the pulse at the head, in steps.
    rows
        Of the motion to keep, 0 for none.
    size
        Length N of the state vector.
    """
    return Outcome(
        np.zeros(6),
        np.zeros((4, joints)),
        np.zeros((3, bodies)),
        np.empty((pieces, 5)),
        np.zeros((rows, 1 + size + joints)),
    )


def most_pieces(pace: Pace) -> int:
    """Room for the pulse of any blow but a wild one."""
    return int(pace.window / pace.step) + 4000


@kernel(nogil=True, error_model="numpy")
def pulse_width(outcome: Outcome, head: int) -> float:
    """Time around its peak in which the torque at the bolt's head stays above half of it. [s]"""
    peak = outcome.joints[PEAK, head]
    return time_above(outcome.pulse[: int(outcome.facts[PIECES])], HALF * peak) if peak > 0.0 else 0.0


@kernel(nogil=True, _nrt=False, error_model="numpy")
def _keep_row(outcome: Outcome, time: float, x: FloatArray, torque: FloatArray) -> None:
    row = int(outcome.facts[ROWS])
    if row < outcome.motion.shape[0]:
        outcome.motion[row, 0] = time
        for place in range(x.size):
            outcome.motion[row, 1 + place] = x[place]
        for joint in range(torque.size):
            outcome.motion[row, 1 + x.size + joint] = torque[joint]
        outcome.facts[ROWS] = row + 1


class Room(NamedTuple):
    """Scratch arrays of a blow: joints and bodies at a step's ends, state, series, pieces, brakes, 1/J."""

    old: FloatArray
    new: FloatArray
    pull: FloatArray
    new_pull: FloatArray
    net: FloatArray
    new_net: FloatArray
    state: FloatArray
    series: FloatArray
    lines: FloatArray
    pieces: IntArray
    shares: FloatArray
    braked: BoolArray
    lightness: FloatArray


@kernel(nogil=True, error_model="numpy")
def make_room(bodies: int, joints: int, size: int) -> Room:
    """Scratch arrays for a chain.

    Parameters
    ----------
    bodies, joints
        How many, n and m.
    size
        Length N of the state vector.
    """
    return Room(
        np.zeros((4, joints)),
        np.zeros((4, joints)),
        np.zeros(bodies),
        np.zeros(bodies),
        np.zeros(bodies),
        np.zeros(bodies),
        np.zeros(size),
        np.zeros((TERMS + 1, size)),
        np.zeros((2 * joints + 2, TERMS)),
        np.zeros(bodies, np.int64),
        np.zeros(joints),
        np.zeros(bodies, np.bool_),
        np.zeros(bodies),
    )


@kernel(nogil=True, _nrt=False, error_model="numpy")
def strike(  # noqa: PLR0912, PLR0915 - one loop over arrays, split it costs the speed it is for
    system: System,
    memory: Memory,
    pace: Pace,
    head: int,
    joints: IntArray,
    brakes: IntArray,
    x: FloatArray,
    outcome: Outcome,
    room: Room,
) -> None:
    """Carry one blow from first contact to its end.

    `joints`, `brakes` and `x` hold the state before and are changed into the state after; `system.bodies`
    loses its extra breakaway torque when the bolt first moves.
    What runs at every step counts no references to arrays (`_nrt`): that took half of the time.

    Parameters
    ----------
    system
        The chain.
    memory
        Exponentials of the contact states met so far; grows.
    pace
        Step and window.
    head
        Joint that drives the bolt's head.
    joints : (m,)
        States.
    brakes : (n,)
        States.
    x : (N,)
        State vector.
    outcome
        Written to; all zero before.
    room
        Scratch arrays.

    References
    ----------
    docs/drivetrain.md, Numerics.
    """
    n = brakes.size
    bodies, links, springs, clamp = system.bodies, system.links, system.springs, system.clamp
    static_ratio = clamp[STATIC_RATIO]
    old, new, pull, new_pull, net, new_net, y, series, lines, groups, shares, braked, lightness = room
    for body in range(n):
        braked[body] = bodies[body, GRIP] > 0.0 or bodies[body, DRAG] > 0.0
        lightness[body] = 1.0 / bodies[body, INERTIA]
    steps = memory.steps
    facts, sums, rubs, pulse = outcome.facts, outcome.joints, outcome.brakes, outcome.pulse
    twist, rate, torque, slope = new[TWIST], new[RATE], new[TORQUE], new[SLOPE]
    time, events, ending, pieces, waits = 0.0, 0, WINDOW_CLOSED, 0, 0
    keeps = outcome.motion.shape[0] > 0
    find_pieces(bodies, links, clamp, braked, groups, shares)
    survey(bodies, links, springs, braked, static_ratio, joints, brakes, x, twist, rate, torque, new_net)
    switch(bodies, links, springs, braked, static_ratio, joints, brakes, x, twist, rate, torque, new_net)
    find_rates(bodies, braked, lightness, brakes, x[2 * n], new_net, new_pull)
    find_slopes(links, springs, joints, rate, new_pull, slope)
    slot = find_slot(memory, system, joints, brakes, pace.step)
    if keeps:
        _keep_row(outcome, time, x, torque)
    while time < pace.window:
        keep(old, new, pull, new_pull, net, new_net)
        most = (pace.window - time) / pace.step
        share, event, beyond, expanded, every = min(most, 1.0), NEVER, CLOSE, most < 1.0, False
        if expanded:
            expand(
                    bodies, links, springs, clamp, braked, lightness, joints, brakes,
                    pace.step, x, series, lines,
                )  # fmt: skip
            sum_series(series, share, y)
        else:
            advance(steps, slot, x, y)
        while True:
            content = survey(
                bodies, links, springs, braked, static_ratio, joints, brakes, y, twist, rate, torque, new_net
            )
            if event >= 0.0 and content and beyond < FAR:  # by rounding: the law is broken a hair farther on
                beyond *= 10.0
                share = min(event + beyond, 1.0)
                sum_series(series, share, y)
                continue
            find_rates(bodies, braked, lightness, brakes, y[2 * n], new_net, new_pull)
            find_slopes(links, springs, joints, rate, new_pull, slope)
            taken = share * pace.step
            if every:
                break
            every = find_turns(joints, braked, brakes, old, new, pull, new_pull) and may_graze(
                bodies, links, springs, braked, static_ratio, joints, brakes,
                old, new, x, y, pull, new_pull, net, new_net, taken,
            )  # fmt: skip
            if not every and (content or event >= 0.0):
                break
            if not expanded:
                expanded = True
                expand(
                    bodies, links, springs, clamp, braked, lightness, joints, brakes,
                    pace.step, x, series, lines,
                )  # fmt: skip
            found = find_event(
                bodies, links, springs, braked, static_ratio, joints, brakes,
                series, lines, share, every, y, new, new_net,
            )  # fmt: skip
            if found < 0.0:
                break
            event, beyond = found, CLOSE
            share = min(event + beyond, 1.0)
            sum_series(series, share, y)
        if count_joints(links, springs, joints, old, new, pull, new_pull, taken, sums) > 0:
            some = lines[:, :FEWER]
            if not expanded:
                expand(
                    bodies, links, springs, clamp, braked, lightness, joints, brakes,
                    pace.step, x, series[: FEWER + 1], some,
                )  # fmt: skip
            count_crests(joints, old, new, share, some, sums)
        count_friction(bodies, braked, clamp, brakes, x, y, new_net, pull, new_pull, taken, rubs)
        top = max(old[TORQUE, head], torque[head])
        if top > 0.5 * HALF * sums[PEAK, head] and pieces < pulse.shape[0] and joints[head] != OPEN:
            pulse[pieces, 0], pulse[pieces, 1], pulse[pieces, 2] = taken, old[TORQUE, head], torque[head]
            pulse[pieces, 3], pulse[pieces, 4] = old[SLOPE, head], slope[head]
            pieces += 1
        time = time + taken if share < most else pace.window
        for row in range(x.size):
            x[row] = y[row]
        if not content or event >= 0.0:
            events += 1
            if x[2 * n] < 0.0:
                x[2 * n] = 0.0
                ending = RAN_FREE
                break
            agreed = content or switch(
                bodies, links, springs, braked, static_ratio, joints, brakes, x, twist, rate, torque, new_net
            )
            if events > MOST_EVENTS or not agreed:
                ending = TOO_MANY_EVENTS
                break
            find_rates(bodies, braked, lightness, brakes, x[2 * n], new_net, new_pull)
            find_slopes(links, springs, joints, rate, new_pull, slope)
            slot = find_slot(memory, system, joints, brakes, pace.step)
        if keeps:
            _keep_row(outcome, time, x, torque)
        waits += 1
        if pace.may_settle and waits >= SETTLE_EVERY and joints[0] == OPEN and x[n] <= 0.0:
            waits = 0
            if torque[head] <= HALF * sums[PEAK, head] and is_settled(
                bodies, links, springs, braked, static_ratio, joints, brakes, x, twist, torque,
                groups, shares, sums[PEAK], sums[BACKWARD], head,
            ):  # fmt: skip
                ending = SETTLED
                break
    facts[DURATION], facts[EVENTS], facts[ENDING], facts[PIECES] = time, events, ending, pieces
    facts[VIBRATION] = vibration_energy(bodies, links, springs, braked, joints, x)
