"""What is counted along a blow: peaks, impulses, works, heat of friction, energy that still vibrates."""

from __future__ import annotations

import math

import numpy as np

from strikeproof.drivetrain.system import (
    BACK,
    DAMPING,
    DRAG,
    FIRST,
    GAP,
    GRIP,
    INERTIA,
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
    "count_friction",
    "count_joints",
    "energy_to_slip",
    "find_crest",
    "stored_energy",
    "vibration_energy",
]


@kernel(nogil=True, error_model="numpy")
def count_joints(
    links: IntArray,
    springs: FloatArray,
    joints: IntArray,
    before: FloatArray,
    after: FloatArray,
    torque: FloatArray,
    new_torque: FloatArray,
    pull: FloatArray,
    new_pull: FloatArray,
    step: float,
    sums: FloatArray,
) -> None:
    """Add one smooth step to `sums` (4, m): forward peaks, impulses, works, backward peaks.

    Between its ends a torque is a cubic Hermite piece.

    The corrected trapezoid h/2 (f0 + f1) + h²/12 (f0' − f1') is exact for cubics.

    Parameters
    ----------
    links, springs
        Arrays of the chain (`System`).
    joints : (m,)
        States along the step.
    before, after : (N,)
        State vectors at its ends.
    torque, new_torque : (m,)
        Of the joints at its ends. [N·m]
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
    n = pull.size
    for joint in range(joints.size):
        state = joints[joint]
        if state == OPEN:
            continue
        first, second = n + links[joint, FIRST], n + links[joint, SECOND]
        slipping = state >= SLIP_UP
        k = 0.0 if slipping else springs[joint, STIFFNESS]
        c = 0.0 if slipping else springs[joint, DAMPING]
        t0, t1 = torque[joint], new_torque[joint]
        v0, v1 = before[first] - before[second], after[first] - after[second]
        a0, a1 = pull[first - n] - pull[second - n], new_pull[first - n] - new_pull[second - n]
        d0, d1 = k * v0 + c * a0, k * v1 + c * a1
        ends = d0 * v0 + t0 * a0 - d1 * v1 - t1 * a1
        sums[2, joint] += 0.5 * step * (t0 * v0 + t1 * v1) + step * step / 12.0 * ends
        if t0 + t1 < 0.0:
            trough = max(-t0, -t1)
            if d0 < 0.0 and d1 > 0.0:
                trough = max(trough, find_crest(-t0, -t1, -d0 * step, -d1 * step))
            sums[3, joint] = max(sums[3, joint], trough)
        if state != BACK:
            sums[1, joint] += 0.5 * step * (t0 + t1) + step * step / 12.0 * (d0 - d1)
            peak = max(t0, t1)
            if d0 > 0.0 and d1 < 0.0:
                peak = max(peak, find_crest(t0, t1, d0 * step, d1 * step))
            sums[0, joint] = max(sums[0, joint], peak)


@kernel(nogil=True, error_model="numpy")
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


@kernel(nogil=True, error_model="numpy")
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
    """Add one smooth step to heat and reach, rows of `rubs` (2, n).

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
    rubs : (2, n)
        Added to, as of `Outcome.brakes`.
    """
    n = brakes.size
    thread = int(clamp[2])
    turn = clamp[0] * before[n + thread] if thread >= 0 else 0.0
    new_turn = clamp[0] * after[n + thread] if thread >= 0 else 0.0
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


@kernel(nogil=True, error_model="numpy")
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


@kernel(nogil=True, error_model="numpy")
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


@kernel(nogil=True, error_model="numpy")
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

    A torque T more at a stuck body needs T²/2k in the stiffest joint that reaches it.

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
        if brakes[body] != STUCK:
            return -1.0
        held, stiffest = -bodies[body, PITCH] * x[2 * n], 0.0
        for joint in range(links.shape[0]):
            first, second = links[joint, FIRST], links[joint, SECOND]
            if first == body or second == body:  # noqa: PLR1714 - a set is slow in a kernel
                if braked[first] and braked[second]:
                    held += torque[joint] if second == body else -torque[joint]
                else:
                    stiffest = max(stiffest, springs[joint, STIFFNESS])
        limit = static_ratio * (bodies[body, GRIP] * x[2 * n] + bodies[body, DRAG]) + bodies[body, SEIZED]
        margin = limit - abs(held)
        if stiffest > 0.0:
            needed = min(needed, margin * abs(margin) / (2.0 * stiffest))
    return needed
