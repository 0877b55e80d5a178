"""The motion within a step as a power series of the share of the step.

Term by term from the equations of motion: the twists' and speeds' terms of one order give the torques', these
the accelerations', and so the speeds' terms of the next. A step is one radian of the fastest vibration, so a
term of order k is about 1/k! of the motion.
"""

from __future__ import annotations

from strikeproof.drivetrain.system import (
    BACK,
    CLAMP_RATE,
    DAMPING,
    DRAG,
    DRIVE,
    FIRST,
    GAP,
    GRIP,
    LEAK,
    OFFSET,
    OPEN,
    PITCH,
    SECOND,
    SLIP,
    SLIP_UP,
    STIFFNESS,
    STUCK,
    THREAD,
    UP,
)
from strikeproof.kernels import kernel
from strikeproof.quantity import BoolArray, FloatArray, IntArray

__all__ = ["FEWER", "TERMS", "expand", "sum_series"]

TERMS = 13
FEWER = 8  # where only the height of a crest is asked for


@kernel(nogil=True, _nrt=False, error_model="numpy")
def expand(  # noqa: PLR0912 - one branch a state
    bodies: FloatArray,
    links: IntArray,
    springs: FloatArray,
    clamp: FloatArray,
    braked: BoolArray,
    lightness: FloatArray,
    joints: IntArray,
    brakes: IntArray,
    step: float,
    x: FloatArray,
    series: FloatArray,
    lines: FloatArray,
) -> None:
    """Fill the terms of the state, `series` (TERMS + 1, N), and of the joints, `lines` (2 m + 2, TERMS).

    The first m lines are the joints' twists, the next m their torques; that of an open joint is what it would
    be if the joint were closed ahead. Two more are scratch room.

    Parameters
    ----------
    bodies, links, springs, clamp
        Arrays of the chain (`System`).
    braked : (n,)
        Which bodies have friction.
    lightness : (n,)
        One over the inertias. [1/(kg·m²)]
    joints : (m,)
        States along the step.
    brakes : (n,)
        States along the step.
    step
        [s]
    x : (N,)
        State vector at its beginning.
    series : (orders + 1, N)
        Written to, in the units of the state.
    lines : (2 m + 2, orders)
        Written to. [rad; N·m]

    References
    ----------
    Derived here: the Taylor series of x' = A x (docs/drivetrain.md, Numerics).
    """
    n, m, size = brakes.size, joints.size, x.size
    load, thread = 2 * n, int(clamp[THREAD])
    for row in range(size):
        series[0, row] = x[row]
    for order in range(series.shape[0] - 1):
        scale = step / (order + 1.0)
        one = 1.0 if order == 0 else 0.0
        pressed = series[order, load]
        for body in range(n):
            series[order + 1, body] = scale * series[order, n + body]
            series[order + 1, n + body] = -bodies[body, PITCH] * pressed
        for row in range(load, size):
            series[order + 1, row] = 0.0
        if thread >= 0:
            series[order + 1, load] = scale * clamp[CLAMP_RATE] * series[order, n + thread]
        for joint in range(m):
            first, second, offset = links[joint, FIRST], links[joint, SECOND], links[joint, OFFSET]
            state = joints[joint]
            twist = series[order, first] - series[order, second]
            if offset >= 0:
                twist -= series[order, offset]
            torque = springs[joint, DAMPING] * (series[order, n + first] - series[order, n + second])
            torque += springs[joint, STIFFNESS] * (
                twist + (one * springs[joint, GAP] if state == BACK else 0.0)
            )
            lines[joint, order], lines[m + joint, order] = twist, torque
            if state == OPEN:
                continue
            if state >= SLIP_UP:
                torque = one * (springs[joint, SLIP] if state == SLIP_UP else -springs[joint, SLIP])
            series[order + 1, n + first] -= torque
            series[order + 1, n + second] += torque
            if state == DRIVE and springs[joint, LEAK] > 0.0:
                series[order + 1, offset] = scale * springs[joint, LEAK] * twist
        for body in range(n):
            value = series[order + 1, n + body]
            if braked[body]:
                if brakes[body] == STUCK:
                    value = 0.0
                else:
                    friction = bodies[body, GRIP] * pressed + one * bodies[body, DRAG]
                    value -= friction if brakes[body] == UP else -friction
            series[order + 1, n + body] = scale * value * lightness[body]


@kernel(nogil=True, _nrt=False, error_model="numpy", fastmath=True)
def sum_series(series: FloatArray, share: float, y: FloatArray) -> None:
    """The state after a share of the step.

    Parameters
    ----------
    series : (orders + 1, N)
        As `expand` fills them.
    share
        Of the step, 0 to 1.
    y : (N,)
        Written to.

    References
    ----------
    Horner's rule.
    """
    size, last = y.size, series.shape[0] - 1
    for row in range(size):
        y[row] = series[last, row]
    for order in range(last - 1, -1, -1):
        for row in range(size):
            y[row] = y[row] * share + series[order, row]
