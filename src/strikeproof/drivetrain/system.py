"""A chain as the kernels see it: four arrays, and the names of their columns.

State vector of a chain with n bodies: n angles, n speeds, clamp load, the constant 1, then one offset for
every joint that leaks or slips. All motion is linear between events, so x' = A x with a constant A.
"""

from __future__ import annotations

from typing import NamedTuple

import numpy as np

from strikeproof.kernels import kernel
from strikeproof.quantity import FloatArray, IntArray

__all__ = ["System", "fill_matrix", "find_fastest_rate"]

# columns of `bodies`
INERTIA, GRIP, DRAG, SEIZED, PITCH = range(5)
# columns of `links`
FIRST, SECOND, KIND, OFFSET = range(4)
# columns of `springs`
STIFFNESS, DAMPING, GAP, SLIP, LEAK = range(5)
# entries of `clamp`
CLAMP_RATE, STATIC_RATIO, THREAD, PATH = range(4)

# kinds of joint: bilateral, one-sided, two-sided with a gap
BOND, JAW, FIT = range(3)
# states of a joint
OPEN, DRIVE, BACK, SLIP_UP, SLIP_DOWN = range(5)
# states of a braked body
STUCK, UP, DOWN = range(3)


class System(NamedTuple):
    """A chain in plain arrays.

    bodies : (n, 5) inertia, friction torque per clamp load, constant friction torque, extra torque to break
        it loose once, torque per clamp load of the thread's pitch. [kg·m², m, N·m, N·m, m]
    links : (m, 4) first body, second body, kind, index of the joint's offset in the state or -1.
    springs : (m, 5) stiffness, damping, gap, slip torque (0 = none), leak rate.
        [N·m/rad, N·m·s/rad, rad, N·m, 1/s]
    clamp : (4,) clamp load per radian of thread [N/rad], static over kinetic friction, index of the thread
        or -1, number of joints on the torque path (path joint i lies between bodies i and i + 1).
    """

    bodies: FloatArray
    links: IntArray
    springs: FloatArray
    clamp: FloatArray


@kernel(nogil=True, _nrt=False, error_model="numpy")
def fill_matrix(  # noqa: PLR0912 - one branch a state
    system: System, joints: IntArray, brakes: IntArray, matrix: FloatArray
) -> None:
    """Fill A of x' = A x for the given joint and brake states.

    Parameters
    ----------
    system
        The chain, n bodies and N states.
    joints : (m,)
        States.
    brakes : (n,)
        States.
    matrix : (N, N)
        Written to.

    References
    ----------
    docs/drivetrain.md, Equations.
    """
    bodies, links, springs, clamp = system.bodies, system.links, system.springs, system.clamp
    n = bodies.shape[0]
    load, one = 2 * n, 2 * n + 1
    for row in range(matrix.shape[0]):
        for column in range(matrix.shape[0]):
            matrix[row, column] = 0.0
    for body in range(n):
        matrix[body, n + body] = 1.0
    for joint in range(joints.size):
        if joints[joint] != OPEN:
            first, second, offset = links[joint, FIRST], links[joint, SECOND], links[joint, OFFSET]
            for end in range(2):
                row = n + (first if end == 0 else second)
                share = (-1.0 if end == 0 else 1.0) / bodies[row - n, INERTIA]
                if joints[joint] >= SLIP_UP:
                    matrix[row, one] += (
                        share * springs[joint, SLIP] * (1.0 if joints[joint] == SLIP_UP else -1.0)
                    )
                    continue
                stiff, damp = share * springs[joint, STIFFNESS], share * springs[joint, DAMPING]
                matrix[row, first] += stiff
                matrix[row, second] -= stiff
                matrix[row, n + first] += damp
                matrix[row, n + second] -= damp
                if joints[joint] == BACK:
                    matrix[row, one] += stiff * springs[joint, GAP]
                if offset >= 0:
                    matrix[row, offset] -= stiff
            if offset >= 0 and joints[joint] == DRIVE and springs[joint, LEAK] > 0.0:
                matrix[offset, first] += springs[joint, LEAK]
                matrix[offset, second] -= springs[joint, LEAK]
                matrix[offset, offset] -= springs[joint, LEAK]
    for body in range(n):
        row = n + body
        if brakes[body] == STUCK:
            for column in range(matrix.shape[0]):
                matrix[row, column] = 0.0
        else:
            matrix[row, load] -= bodies[body, PITCH] / bodies[body, INERTIA]
            if bodies[body, GRIP] > 0.0 or bodies[body, DRAG] > 0.0:
                sign = 1.0 if brakes[body] == UP else -1.0
                matrix[row, load] -= sign * bodies[body, GRIP] / bodies[body, INERTIA]
                matrix[row, one] -= sign * bodies[body, DRAG] / bodies[body, INERTIA]
    thread = int(clamp[THREAD])
    if thread >= 0:
        matrix[load, n + thread] = clamp[CLAMP_RATE]


def find_fastest_rate(system: System) -> float:
    """Bound on the fastest rate of the chain with every joint closed and every brake free. [rad/s]

    Largest eigenfrequency of J^-1 K, and half the largest row sum of J^-1 C on top.

    References
    ----------
    Derived here; half a row sum bounds the damping by Gershgorin's circles.
    """
    inertia = system.bodies[:, INERTIA]
    free = np.flatnonzero(np.isfinite(system.bodies[:, DRAG]))
    shape = (inertia.size, inertia.size)
    stiffness, damping = np.zeros(shape), np.zeros(inertia.size)
    for link, spring in zip(system.links, system.springs, strict=True):
        a, b, k = link[FIRST], link[SECOND], spring[STIFFNESS]
        stiffness[a, a] += k
        stiffness[b, b] += k
        stiffness[a, b] -= k
        stiffness[b, a] -= k
        damping[a] += spring[DAMPING]
        damping[b] += spring[DAMPING]
    scale = 1.0 / np.sqrt(inertia[free])
    fastest = np.linalg.eigvalsh(stiffness[np.ix_(free, free)] * scale[:, None] * scale[None, :])[-1]
    return float(np.sqrt(max(fastest, 0.0)) + np.max(damping[free] / inertia[free]))
