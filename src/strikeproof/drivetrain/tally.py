"""What is counted along a blow: peaks, impulses, works, heat of friction, energy that still vibrates."""

from __future__ import annotations

import math

import numpy as np

from strikeproof.drivetrain.system import (
    BACK,
    BOND,
    DAMPING,
    DOWN,
    DRAG,
    DRIVE,
    FIRST,
    FIT,
    GAP,
    GRIP,
    INERTIA,
    KIND,
    OFFSET,
    OPEN,
    PITCH,
    SECOND,
    SEIZED,
    SLIP,
    SLIP_UP,
    STIFFNESS,
    STUCK,
    UP,
)
from strikeproof.kernels import kernel
from strikeproof.quantity import BoolArray, FloatArray, IntArray

__all__ = [
    "RATE",
    "SLOPE",
    "TORQUE",
    "TWIST",
    "count_crests",
    "count_friction",
    "count_joints",
    "energy_to_slip",
    "find_crest",
    "find_slopes",
    "find_turns",
    "keep",
    "may_graze",
    "stored_energy",
    "time_above",
    "vibration_energy",
]

# rows of what is stored of the joints at a step's end
TWIST, RATE, TORQUE, SLOPE = range(4)
PARTS = 8  # of a cubic piece, straight lines between them
NEARLY = 0.99  # of a peak: what comes so close by a cubic may pass it


@kernel(nogil=True, _nrt=False, forceinline=True, error_model="numpy")
def keep(
    old: FloatArray,
    new: FloatArray,
    pull: FloatArray,
    new_pull: FloatArray,
    net: FloatArray,
    new_net: FloatArray,
) -> None:
    """Make the end of a step the beginning of the next.

    Parameters
    ----------
    old, new : (4, m)
        Of the joints at a step's ends; the old are written to. [rad, rad/s, N·m, N·m/s]
    pull, new_pull : (n,)
        Accelerations there. [rad/s²]
    net, new_net : (n,)
        Torques on the bodies there, without friction. [N·m]
    """
    for row in range(old.shape[0]):
        for joint in range(old.shape[1]):
            old[row, joint] = new[row, joint]
    for body in range(pull.size):
        pull[body], net[body] = new_pull[body], new_net[body]


@kernel(nogil=True, _nrt=False, forceinline=True, error_model="numpy")
def find_slopes(
    links: IntArray,
    springs: FloatArray,
    joints: IntArray,
    rate: FloatArray,
    pull: FloatArray,
    slope: FloatArray,
) -> None:
    """Fill how fast the torque of every joint changes, 0 while it is open or slips. [N·m/s]

    Parameters
    ----------
    links, springs
        Arrays of the chain (`System`).
    joints : (m,)
        States.
    rate : (m,)
        Of twist. [rad/s]
    pull : (n,)
        Accelerations. [rad/s²]
    slope : (m,)
        Written to. [N·m/s]
    """
    for joint in range(joints.size):
        slope[joint] = 0.0
        if joints[joint] != OPEN and joints[joint] < SLIP_UP:
            bend = pull[links[joint, FIRST]] - pull[links[joint, SECOND]]
            slope[joint] = springs[joint, STIFFNESS] * rate[joint] + springs[joint, DAMPING] * bend


@kernel(nogil=True, _nrt=False, forceinline=True, error_model="numpy")
def count_joints(
    links: IntArray,
    springs: FloatArray,
    joints: IntArray,
    old: FloatArray,
    new: FloatArray,
    pull: FloatArray,
    new_pull: FloatArray,
    step: float,
    sums: FloatArray,
) -> int:
    """Add one smooth step to `sums` (4, m): forward peaks, impulses, works, backward peaks.

    `old` and `new` (4, m) hold twist, rate of twist, torque and its slope at the step's ends. Between them a
    torque is a cubic Hermite piece, and the corrected trapezoid h/2 (f0 + f1) + h²/12 (f0' − f1') is exact
    for cubics. The number of joints whose crest within the step may be a new peak is returned: they have to
    be looked at more closely.

    Parameters
    ----------
    links, springs
        Arrays of the chain (`System`).
    joints : (m,)
        States along the step.
    old, new : (4, m)
        Twist, rate of twist, torque and its slope at its ends. [rad, rad/s, N·m, N·m/s]
    pull, new_pull : (n,)
        Accelerations at its ends. [rad/s²]
    step
        [s]
    sums : (4, m)
        Added to, as of `Outcome.joints`.

    References
    ----------
    Euler and Maclaurin's corrected trapezoid, any text on quadrature (from memory).
    """
    crests = 0
    for joint in range(joints.size):
        state = joints[joint]
        if state == OPEN:
            continue
        t0, t1, v0, v1 = old[TORQUE, joint], new[TORQUE, joint], old[RATE, joint], new[RATE, joint]
        d0, d1 = old[SLOPE, joint], new[SLOPE, joint]
        first, second = links[joint, FIRST], links[joint, SECOND]
        a0, a1 = pull[first] - pull[second], new_pull[first] - new_pull[second]
        ends = d0 * v0 + t0 * a0 - d1 * v1 - t1 * a1
        sums[2, joint] += 0.5 * step * (t0 * v0 + t1 * v1) + step * step / 12.0 * ends
        sums[0, joint] = max(sums[0, joint], t0, t1)
        sums[3, joint] = max(sums[3, joint], -t0, -t1)
        if state != BACK:
            sums[1, joint] += 0.5 * step * (t0 + t1) + step * step / 12.0 * (d0 - d1)
        if d0 > 0.0 and d1 < 0.0 and state != BACK:
            crests += find_crest(t0, t1, d0 * step, d1 * step) > NEARLY * sums[0, joint]
        elif d0 < 0.0 and d1 > 0.0 and t0 + t1 < 0.0:
            crests += find_crest(-t0, -t1, -d0 * step, -d1 * step) > NEARLY * sums[3, joint]
    return crests


@kernel(nogil=True, _nrt=False, error_model="numpy")
def count_crests(
    joints: IntArray, old: FloatArray, new: FloatArray, taken: float, lines: FloatArray, sums: FloatArray
) -> None:
    """Raise the peaks in `sums` to the crests of the exact torques within a share `taken` of the step.

    Newton's method from where a parabola has its crest.

    Parameters
    ----------
    joints : (m,)
        States along the step.
    old, new : (4, m)
        Of the joints at its ends, as of `count_joints`.
    taken
        Share of the step that was taken, 0 to 1.
    lines : (2 m + 2, orders)
        As `expand` fills them.
    sums : (4, m)
        Peaks are raised, as of `Outcome.joints`.

    References
    ----------
    Derived here: the root of the series' slope.
    """
    m = joints.size
    for joint in range(m):
        d0, d1 = old[SLOPE, joint], new[SLOPE, joint]
        if d0 * d1 >= 0.0 or joints[joint] == OPEN or joints[joint] >= SLIP_UP:
            continue
        share, row, last = taken * d0 / (d0 - d1), m + joint, lines.shape[1] - 1
        for _ in range(3):
            slope, bend = 0.0, 0.0
            for order in range(last, 0, -1):
                bend = bend * share + slope
                slope = slope * share + order * lines[row, order]
            if bend != 0.0:
                share = min(max(share - slope / bend, 0.0), taken)
        crest = lines[row, last]
        for order in range(last - 1, -1, -1):
            crest = crest * share + lines[row, order]
        if joints[joint] != BACK:
            sums[0, joint] = max(sums[0, joint], crest)
        sums[3, joint] = max(sums[3, joint], -crest)


@kernel(nogil=True, _nrt=False, forceinline=True, error_model="numpy")
def find_turns(
    joints: IntArray,
    braked: BoolArray,
    brakes: IntArray,
    old: FloatArray,
    new: FloatArray,
    pull: FloatArray,
    new_pull: FloatArray,
) -> bool:
    """Whether anything that a law looks at turned within a step: the law may have been broken in it.

    Parameters
    ----------
    joints : (m,)
        States along the step.
    braked : (n,)
        Which bodies have friction.
    brakes : (n,)
        States along the step.
    old, new : (4, m)
        Of the joints at its ends, as of `count_joints`.
    pull, new_pull : (n,)
        Accelerations there. [rad/s²]
    """
    turned, slides, sticks = False, False, False
    for joint in range(joints.size):
        row = RATE if joints[joint] == OPEN else SLOPE
        turned = turned or old[row, joint] * new[row, joint] < 0.0 or joints[joint] >= SLIP_UP
    for body in range(brakes.size):
        if braked[body]:
            turned = turned or pull[body] * new_pull[body] < 0.0
            slides, sticks = slides or brakes[body] != STUCK, sticks or brakes[body] == STUCK
    return turned or (slides and sticks)


@kernel(nogil=True, _nrt=False, forceinline=True, error_model="numpy")
def may_graze(
    bodies: FloatArray,
    links: IntArray,
    springs: FloatArray,
    braked: BoolArray,
    static_ratio: float,
    joints: IntArray,
    brakes: IntArray,
    old: FloatArray,
    new: FloatArray,
    x: FloatArray,
    y: FloatArray,
    pull: FloatArray,
    new_pull: FloatArray,
    net: FloatArray,
    new_net: FloatArray,
    step: float,
) -> bool:
    """Whether a joint or brake, content at both ends of a step, may have wanted another state within it.

    Parameters
    ----------
    bodies, links, springs
        Arrays of the chain (`System`).
    braked : (n,)
        Which bodies have friction.
    static_ratio
        Static over kinetic friction.
    joints : (m,)
        States along the step.
    brakes : (n,)
        States along the step.
    old, new : (4, m)
        Of the joints at its ends, as of `count_joints`.
    x, y : (N,)
        State vectors there.
    pull, new_pull : (n,)
        Accelerations there. [rad/s²]
    net, new_net : (n,)
        Torques on the bodies there, without friction. [N·m]
    step
        [s]

    References
    ----------
    Derived here: the crest of a cubic (`find_crest`).
    """
    n, found = brakes.size, False
    for joint in range(joints.size):
        first, second, state = links[joint, FIRST], links[joint, SECOND], joints[joint]
        sign, limit = 1.0, 0.0
        v0, v1, d0, d1 = old[TORQUE, joint], new[TORQUE, joint], old[SLOPE, joint], new[SLOPE, joint]
        if state == OPEN:
            v0, v1, d0, d1 = old[TWIST, joint], new[TWIST, joint], old[RATE, joint], new[RATE, joint]
            if d0 < 0.0:
                sign, limit = -1.0, springs[joint, GAP] if links[joint, KIND] == FIT else np.inf
        elif state >= SLIP_UP:
            v0, v1, d0 = old[RATE, joint], new[RATE, joint], pull[first] - pull[second]
            d1, sign = new_pull[first] - new_pull[second], -1.0 if state == SLIP_UP else 1.0
        elif links[joint, KIND] == BOND:
            sign = 1.0 if d0 > 0.0 else -1.0
            limit = springs[joint, SLIP] if springs[joint, SLIP] > 0.0 else np.inf
        else:
            sign = -1.0 if state == DRIVE else 1.0
        found = found or _tops(sign * v0, sign * v1, sign * d0 * step, sign * d1 * step, limit)
    for body in range(n):
        if braked[body]:
            sign, limit = 1.0 if brakes[body] == DOWN else -1.0, 0.0
            v0, v1, d0, d1 = x[n + body], y[n + body], pull[body], new_pull[body]
            if brakes[body] == STUCK:
                v0, v1, d0, d1 = net[body], new_net[body], 0.0, 0.0
                for joint in range(joints.size):
                    way = (
                        1.0 if links[joint, SECOND] == body else -1.0 if links[joint, FIRST] == body else 0.0
                    )
                    d0, d1 = d0 + way * old[SLOPE, joint], d1 + way * new[SLOPE, joint]
                sign = 1.0 if d0 > 0.0 else -1.0
                limit = static_ratio * (bodies[body, GRIP] * x[2 * n] + bodies[body, DRAG])
                limit += bodies[body, SEIZED]
            found = found or _tops(sign * v0, sign * v1, sign * d0 * step, sign * d1 * step, limit)
    return found


@kernel(nogil=True, _nrt=False, error_model="numpy")
def _tops(t0: float, t1: float, d0: float, d1: float, limit: float) -> bool:
    """Whether a value that rises first and falls then comes near the limit between the ends of a step."""
    if d0 <= 0.0 or d1 >= 0.0:
        return False
    least = 0.01 * (d0 - d1)  # the cubic is off by less
    if max(t0, t1) + 0.15 * (d0 - d1) < limit - least:  # no such cubic rises more
        return False
    return bool(find_crest(t0, t1, d0, d1) > limit - least)


@kernel(nogil=True, _nrt=False, error_model="numpy")
def find_crest(t0: float, t1: float, d0: float, d1: float) -> float:
    """Largest value of the cubic with these end values and end slopes over a unit step, d0 > 0 > d1.

    Parameters
    ----------
    t0, t1
        Values at the ends. [N·m]
    d0, d1
        Slopes at the ends over the unit step. [N·m]

    References
    ----------
    Derived here: the root at which the slope falls.
    """
    a = 2.0 * (t0 - t1) + d0 + d1
    b = 3.0 * (t1 - t0) - 2.0 * d0 - d1
    root = math.sqrt(max(b * b - 3.0 * a * d0, 0.0))
    where = d0 / (root - b) if root > b else 0.5  # of the slope's two roots the one at which it falls
    where = min(max(where, 0.0), 1.0)
    return t0 + where * (d0 + where * (b + where * a))


@kernel(nogil=True, _nrt=False, forceinline=True, error_model="numpy")
def count_friction(
    bodies: FloatArray,
    braked: BoolArray,
    clamp: FloatArray,
    brakes: IntArray,
    before: FloatArray,
    after: FloatArray,
    net: FloatArray,
    pull: FloatArray,
    new_pull: FloatArray,
    step: float,
    rubs: FloatArray,
) -> None:
    """Add one smooth step to heat, reach and work against the pitch, rows of `rubs` (3, n).

    Parameters
    ----------
    bodies, clamp
        Arrays of the chain (`System`).
    braked : (n,)
        Which bodies have friction.
    brakes : (n,)
        States along the step.
    before, after : (N,)
        State vectors at its ends.
    net : (n,)
        Torques on the bodies without friction, after the step. [N·m]
    pull, new_pull : (n,)
        Accelerations at its ends. [rad/s²]
    step
        [s]
    rubs : (3, n)
        Added to, as of `Outcome.brakes`.
    """
    n = brakes.size
    thread = int(clamp[2])
    turn, new_turn = 0.0, 0.0
    if thread >= 0:
        v0, v1, f0, f1 = before[n + thread], after[n + thread], before[2 * n], after[2 * n]
        turn, new_turn = clamp[0] * v0, clamp[0] * v1
        ends = turn * v0 + f0 * pull[thread] - new_turn * v1 - f1 * new_pull[thread]
        work = 0.5 * step * (f0 * v0 + f1 * v1) + step * step / 12.0 * ends
        rubs[2, thread] += bodies[thread, PITCH] * work
    for body in range(n):
        if not braked[body]:
            continue
        grip, drag = bodies[body, GRIP], bodies[body, DRAG]
        if brakes[body] == STUCK:
            limit = clamp[1] * (grip * after[2 * n] + drag) + bodies[body, SEIZED]
            if limit > 0.0:
                rubs[1, body] = max(rubs[1, body], net[body] / limit)
            continue
        sign = 1.0 if brakes[body] == UP else -1.0
        f0, f1 = sign * (grip * before[2 * n] + drag), sign * (grip * after[2 * n] + drag)
        v0, v1 = before[n + body], after[n + body]
        ends = sign * grip * (turn * v0 - new_turn * v1) + f0 * pull[body] - f1 * new_pull[body]
        rubs[0, body] += 0.5 * step * (f0 * v0 + f1 * v1) + step * step / 12.0 * ends


@kernel(nogil=True, _nrt=False, error_model="numpy")
def time_above(pieces: FloatArray, level: float) -> float:
    """Time around the highest value in which cubic pieces stay above a level. [s]

    `pieces` has a row for each: duration, value and slope at either end.
    """
    top, highest, time = 0, -np.inf, 0.0
    for row in range(pieces.shape[0]):
        if max(pieces[row, 1], pieces[row, 2]) > highest:
            highest, top = max(pieces[row, 1], pieces[row, 2]), row
    if pieces.shape[0] > 0 and pieces[top, 1] > pieces[top, 2]:
        top -= 1  # the piece that the highest value ends
    for way in range(2):
        near, row = 2 - way, top + way
        while 0 <= row < pieces.shape[0]:
            step, low, far = pieces[row, 0], pieces[row, near], pieces[row, 3 - near]
            start = pieces[row, 2 + near] * step * (1.0 if way == 1 else -1.0)
            end = pieces[row, 5 - near] * step * (1.0 if way == 1 else -1.0)
            a, b = 2.0 * (low - far) + start + end, 3.0 * (far - low) - 2.0 * start - end
            part, value = 0, low
            if min(low, far, low + start / 3.0, far - end / 3.0) >= level:  # Bézier's points hold the piece
                part, time, low = PARTS, time + step, far
            while part < PARTS and low >= level:
                part += 1
                s = part / PARTS
                high = value + s * (start + s * (b + s * a))
                time += step / PARTS * (1.0 if high >= level else (low - level) / (low - high))
                low = high
            row = row + (1 if way == 1 else -1) if low >= level else -1
    return time


@kernel(nogil=True, _nrt=False, error_model="numpy")
def stored_energy(
    n: int, links: IntArray, springs: FloatArray, joint: int, state: int, x: FloatArray
) -> float:
    """Elastic energy of a joint. [J]

    Parameters
    ----------
    n
        Bodies.
    links, springs
        Arrays of the chain (`System`).
    joint, state
        Which, and its state.
    x : (N,)
        State vector.
    """
    if state == OPEN:
        return 0.0
    if state >= SLIP_UP:
        return float(0.5 * springs[joint, SLIP] ** 2 / springs[joint, STIFFNESS])
    twist = x[links[joint, FIRST]] - x[links[joint, SECOND]]
    if links[joint, OFFSET] >= 0:
        twist -= x[links[joint, OFFSET]]
    if state == BACK:
        twist += springs[joint, GAP]
    return float(0.5 * springs[joint, STIFFNESS] * twist * twist)


@kernel(nogil=True, _nrt=False, error_model="numpy")
def vibration_energy(
    bodies: FloatArray,
    links: IntArray,
    springs: FloatArray,
    braked: BoolArray,
    joints: IntArray,
    x: FloatArray,
) -> float:
    """Energy of what moves behind the hammer and of springs, but those that friction keeps wound. [J]

    Parameters
    ----------
    bodies, links, springs
        Arrays of the chain (`System`).
    braked : (n,)
        Which bodies have friction.
    joints : (m,)
        States.
    x : (N,)
        State vector.
    """
    n = braked.size
    energy = 0.0
    for body in range(1, n):
        energy += 0.5 * bodies[body, INERTIA] * x[n + body] ** 2
    for joint in range(joints.size):
        if not (braked[links[joint, FIRST]] and braked[links[joint, SECOND]]):
            energy += stored_energy(n, links, springs, joint, joints[joint], x)
    return energy


@kernel(nogil=True, _nrt=False, error_model="numpy")
def energy_to_slip(
    bodies: FloatArray,
    links: IntArray,
    springs: FloatArray,
    braked: BoolArray,
    static_ratio: float,
    brakes: IntArray,
    x: FloatArray,
    torque: FloatArray,
) -> float:
    """Least energy that could still set a brake sliding; below 0 while one slides, inf when none can. [J]

    A torque T more at a stuck body needs T²/2k in the stiffest joint that reaches it, k with c²/J on top for
    what its damping passes on.

    Parameters
    ----------
    bodies, links, springs
        Arrays of the chain (`System`).
    braked : (n,)
        Which bodies have friction.
    static_ratio
        Static over kinetic friction.
    brakes : (n,)
        States.
    x : (N,)
        State vector.
    torque : (m,)
        Of the joints. [N·m]

    References
    ----------
    Derived here.
    """
    n = brakes.size
    needed = np.inf
    for body in range(n):
        if not braked[body]:
            continue
        held, stiffest = -bodies[body, PITCH] * x[2 * n], 0.0
        for joint in range(links.shape[0]):
            first, second = links[joint, FIRST], links[joint, SECOND]
            if first == body or second == body:  # noqa: PLR1714 - a set is slow in a kernel
                if braked[first] and braked[second]:
                    held += torque[joint] if second == body else -torque[joint]
                else:
                    free = second if first == body else first
                    damping = springs[joint, DAMPING] ** 2 / bodies[free, INERTIA]
                    stiffest = max(stiffest, springs[joint, STIFFNESS] + damping)
        limit = static_ratio * (bodies[body, GRIP] * x[2 * n] + bodies[body, DRAG]) + bodies[body, SEIZED]
        margin = limit - abs(held)
        if stiffest > 0.0:
            needed = min(needed, margin * abs(margin) / (2.0 * stiffest))
        if brakes[body] != STUCK:
            needed = -1.0
    return needed
