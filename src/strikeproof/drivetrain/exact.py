"""One blow, exactly: linear motion between events by precomputed exponentials, events found by bisection."""

from __future__ import annotations

from typing import NamedTuple

import numpy as np

from strikeproof.drivetrain.contact import find_rates, survey, switch
from strikeproof.drivetrain.propagate import Memory, advance, find_slot
from strikeproof.drivetrain.settle import can_top, find_pieces
from strikeproof.drivetrain.system import DRAG, GRIP, OPEN, STATIC_RATIO, System
from strikeproof.drivetrain.tally import count_friction, count_joints, energy_to_slip, vibration_energy
from strikeproof.kernels import kernel
from strikeproof.quantity import FloatArray, IntArray

__all__ = ["Outcome", "Pace", "make_outcome", "strike"]

# how a blow ended
SETTLED, WINDOW_CLOSED, RAN_FREE, TOO_MANY_EVENTS = range(4)
# entries of `Outcome.facts`
DURATION, VIBRATION, EVENTS, ENDING, ROWS = range(5)
# rows of `Outcome.joints` and `Outcome.brakes`
PEAK, IMPULSE, WORK, BACKWARD = range(4)
HEAT, REACH = range(2)
MOST_EVENTS = 20000
SETTLE_EVERY = 4  # steps from one look at what still vibrates to the next


class Pace(NamedTuple):
    """March step [s], halvings down to the event, longest window [s], and whether to stop once
    nothing can slip any more or be loaded more than it was."""

    step: float
    levels: int
    window: float
    may_settle: bool


class Outcome(NamedTuple):
    """What a blow leaves behind.

    facts : (5,) duration [s], energy of what still vibrates [J], events, ending, rows of motion.
    joints : (4, m) largest forward torque [N·m], its integral over time [N·m·s], work that went in [J],
        largest backward torque [N·m].
    brakes : (2, n) heat of friction [J], largest torque on a stuck body as a share of its static limit.
    motion : (rows, 1 + N + m) time, state and joint torques at every step; no rows: not recorded.
    """

    facts: FloatArray
    joints: FloatArray
    brakes: FloatArray
    motion: FloatArray


@kernel(nogil=True, error_model="numpy")
def make_outcome(bodies: int, joints: int, rows: int, size: int) -> Outcome:
    """An empty outcome.

    Parameters
    ----------
    bodies, joints
        How many, n and m.
    rows
        Of the motion to keep, 0 for none.
    size
        Length N of the state vector.
    """
    return Outcome(
        np.zeros(5), np.zeros((4, joints)), np.zeros((2, bodies)), np.zeros((rows, 1 + size + joints))
    )


@kernel(nogil=True, error_model="numpy")
def _keep_row(outcome: Outcome, time: float, x: FloatArray, torque: FloatArray) -> None:
    row = int(outcome.facts[ROWS])
    if row < outcome.motion.shape[0]:
        outcome.motion[row, 0] = time
        outcome.motion[row, 1 : 1 + x.size] = x
        outcome.motion[row, 1 + x.size :] = torque
        outcome.facts[ROWS] = row + 1


@kernel(nogil=True, error_model="numpy")
def strike(  # noqa: PLR0912, PLR0915 - one loop over arrays, split it costs the speed it is for
    system: System,
    memory: Memory,
    pace: Pace,
    joints: IntArray,
    brakes: IntArray,
    x: FloatArray,
    outcome: Outcome,
) -> None:
    """Carry one blow from first contact to its end.

    `joints`, `brakes` and `x` hold the state before and are changed into the state after; `system.bodies`
    loses its extra breakaway torque when the bolt first moves.

    Parameters
    ----------
    system
        The chain.
    memory
        Exponentials of the contact states met so far; grows.
    pace
        Step and window.
    joints : (m,)
        States.
    brakes : (n,)
        States.
    x : (N,)
        State vector.
    outcome
        Written to; all zero before.

    References
    ----------
    docs/drivetrain.md, Numerics.
    """
    n, m = brakes.size, joints.size
    bodies, links, springs, clamp = system.bodies, system.links, system.springs, system.clamp
    static_ratio = clamp[STATIC_RATIO]
    braked = (bodies[:, GRIP] > 0.0) | (bodies[:, DRAG] > 0.0)
    exponentials = memory.exponentials
    facts, sums, rubs = outcome.facts, outcome.joints, outcome.brakes
    torque, new_torque, pull, new_pull, net = np.zeros(m), np.zeros(m), np.zeros(n), np.zeros(n), np.zeros(n)
    y, z = np.empty_like(x), np.empty_like(x)
    time, steps, events, ending = 0.0, 0, 0, WINDOW_CLOSED
    keeps = outcome.motion.shape[0] > 0
    pieces, shares = np.empty(n, np.int64), np.empty(m)
    find_pieces(bodies, links, clamp, braked, pieces, shares)
    switch(bodies, links, springs, braked, static_ratio, joints, brakes, x, torque, net)
    find_rates(bodies, braked, brakes, x[2 * n], net, pull)
    slot = find_slot(memory, system, joints, brakes, pace.step)
    if keeps:
        _keep_row(outcome, time, x, torque)
    while time < pace.window:
        taken = pace.step
        advance(exponentials, slot, 0, x, y)
        smooth = survey(bodies, links, springs, braked, static_ratio, joints, brakes, y, new_torque, net)
        if not smooth:
            taken = 0.0
            z[:] = x
            for level in range(1, pace.levels + 1):
                advance(exponentials, slot, level, z, y)
                if survey(bodies, links, springs, braked, static_ratio, joints, brakes, y, new_torque, net):
                    taken += pace.step / 2.0**level
                    z[:] = y
            advance(exponentials, slot, pace.levels, z, y)
            taken += pace.step / 2.0**pace.levels
            survey(bodies, links, springs, braked, static_ratio, joints, brakes, y, new_torque, net)
        find_rates(bodies, braked, brakes, y[2 * n], net, new_pull)
        count_joints(links, springs, joints, x, y, torque, new_torque, pull, new_pull, taken, sums)
        count_friction(bodies, braked, clamp, brakes, x, y, net, pull, new_pull, taken, rubs)
        time += taken
        x[:] = y
        if smooth:
            torque[:] = new_torque
            pull[:] = new_pull
        else:
            events += 1
            if x[2 * n] < 0.0:
                x[2 * n] = 0.0
                ending = RAN_FREE
                break
            agreed = switch(bodies, links, springs, braked, static_ratio, joints, brakes, x, torque, net)
            if events > MOST_EVENTS or not agreed:
                ending = TOO_MANY_EVENTS
                break
            find_rates(bodies, braked, brakes, x[2 * n], net, pull)
            slot = find_slot(memory, system, joints, brakes, pace.step)
        if keeps:
            _keep_row(outcome, time, x, torque)
        steps += 1
        if pace.may_settle and steps % SETTLE_EVERY == 0 and joints[0] == OPEN and x[n] <= 0.0:
            needed = energy_to_slip(bodies, links, springs, braked, static_ratio, brakes, x, torque)
            if needed > 0.0:
                left = vibration_energy(bodies, links, springs, braked, joints, x)
                if needed > left and not can_top(
                    bodies, links, springs, joints, x, pieces, shares, left, sums[PEAK], sums[BACKWARD]
                ):
                    ending = SETTLED
                    break
    facts[DURATION], facts[EVENTS], facts[ENDING] = time, events, ending
    facts[VIBRATION] = vibration_energy(bodies, links, springs, braked, joints, x)
