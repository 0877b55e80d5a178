"""When a joint or a brake wants another state: the first root of its law within a step.

What a law looks at - a twist, a torque, a speed - is a polynomial of the share of the step. Its first root is
bracketed by parts of the step and closed in on by Chandrupatla's method (T. R. Chandrupatla, Adv. Eng. Softw.
28, 1997, 145-149).
"""

from __future__ import annotations

import numpy as np

from strikeproof.drivetrain.contact import HAIR, brake_law, joint_law
from strikeproof.drivetrain.system import (
    BOND,
    DAMPING,
    DRAG,
    DRIVE,
    FIRST,
    FIT,
    GAP,
    GRIP,
    KIND,
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

__all__ = ["CLOSE", "NEVER", "find_event"]

NEVER = -1.0
CLOSE = 1e-9  # share of a step to which a root is closed in on
PARTS = 3
CLIMBS = 30  # halvings of a part, on the way to a crest in it
NEAR = 1e-7  # share of a step over which a slope is taken
# what has to rise above zero for an event: of a polynomial p, a second one q and a stiffness, gap or limit
CLOSES_AHEAD, CLOSES, SLIPS, FALLS, RISES, BREAKS = range(6)


# One return a function: with several, numba counts references to every array at every call.
@kernel(nogil=True, _nrt=False, error_model="numpy", fastmath={"contract"})
def _exceeds(
    law: int, lines: FloatArray, p: int, q: int, stiffness: float, limit: float, share: float
) -> float:
    """By how much a law is broken after a share of the step; at or below 0 while it holds."""
    last = lines.shape[1] - 1
    value, other = lines[p, last], lines[q, last]
    for order in range(last - 1, -1, -1):
        value = value * share + lines[p, order]
        other = other * share + lines[q, order]
    if law == CLOSES:
        value = max(min(value, other / stiffness), min(-value, -other / stiffness) - limit)
    elif law == CLOSES_AHEAD:
        value = min(value, other / stiffness)
    elif law == SLIPS:
        value = max(min(value - limit, other), min(-value - limit, -other))
    elif law == FALLS:
        value = -value - limit
    elif law == RISES:
        value -= limit
    elif law == BREAKS:
        value = abs(value) - other
    return float(value)


@kernel(nogil=True, _nrt=False, error_model="numpy")
def _find_crest(
    law: int,
    lines: FloatArray,
    p: int,
    q: int,
    stiffness: float,
    limit: float,
    top: float,
    most: float,
) -> float:
    """Share next to `top`, the highest end of a part, at which a law is broken between those; or nearly."""
    apart = most / PARTS
    low, high, tries = max(top - apart, 0.0), min(top + apart, most), 0
    before = _exceeds(law, lines, p, q, stiffness, limit, top - apart)
    middle = _exceeds(law, lines, p, q, stiffness, limit, top)
    after = _exceeds(law, lines, p, q, stiffness, limit, top + apart)
    bend = before - 2.0 * middle + after
    place = top + 0.5 * apart * (before - after) / bend if bend < 0.0 else top  # a parabola's crest
    while tries < CLIMBS:
        place = place if low < place < high else 0.5 * (low + high)
        value = _exceeds(law, lines, p, q, stiffness, limit, place)
        slope = (_exceeds(law, lines, p, q, stiffness, limit, place + NEAR) - value) / NEAR
        if slope > 0.0:
            low = place
        else:
            high = place
        if value > 0.0 or value + 2.0 * abs(slope) * (high - low) <= 0.0:  # twice: it may bend up
            break
        place, tries = 0.5 * (low + high), tries + 1
    return place


@kernel(nogil=True, _nrt=False, error_model="numpy")
def _find_root(
    law: int, lines: FloatArray, p: int, q: int, stiffness: float, limit: float, most: float
) -> float:
    """Least share up to `most` at which a law is broken, a hair beyond the root; `NEVER` if it is obeyed."""
    one, f_one, two, f_two, part = 0.0, 0.0, 0.0, 0.0, 0
    top, f_top = 0.0, -np.inf
    while part < PARTS and f_one <= 0.0:
        part += 1
        two, f_two = one, f_one
        one = most * part / PARTS
        f_one = _exceeds(law, lines, p, q, stiffness, limit, one)
        if f_one > f_top:
            top, f_top = one, f_one
    if f_one <= 0.0:
        two = max(top - most / PARTS, 0.0)
        one = _find_crest(law, lines, p, q, stiffness, limit, top, most)
        f_one = _exceeds(law, lines, p, q, stiffness, limit, one)
        part, f_two = 2, min(_exceeds(law, lines, p, q, stiffness, limit, two), 0.0)
    root = NEVER
    if f_one > 0.0:
        if part == 1:
            f_two = min(_exceeds(law, lines, p, q, stiffness, limit, 0.0), 0.0)
        share = f_one / (f_one - f_two)
        nearest = CLOSE
        while True:
            share = min(max(share, nearest), 1.0 - nearest)
            place = one + share * (two - one)
            found = _exceeds(law, lines, p, q, stiffness, limit, place)
            if (found > 0.0) == (f_one > 0.0):
                three, f_three = one, f_one
            else:
                three, f_three = two, f_two
                two, f_two = one, f_one
            one, f_one = place, found
            width = abs(two - one)
            if width <= CLOSE:
                break
            nearest = min(0.5 * CLOSE / width, 0.5)
            x, f, share = (one - two) / (three - two), (f_one - f_two) / (f_three - f_two), 0.5
            if f * f < x and (1.0 - f) * (1.0 - f) < 1.0 - x:
                share = f_one / (f_two - f_one) * f_three / (f_two - f_three)
                share += (three - one) / (two - one) * f_one / (f_three - f_one) * f_two / (f_three - f_two)
        root = one if f_one > 0.0 else two
    return root


@kernel(nogil=True, _nrt=False, error_model="numpy")
def _fill_brake(
    bodies: FloatArray,
    links: IntArray,
    springs: FloatArray,
    static_ratio: float,
    joints: IntArray,
    body: int,
    series: FloatArray,
    lines: FloatArray,
) -> None:
    """Fill the last two lines with the torque on a stuck body and with what holds it."""
    n, m, pull, hold = bodies.shape[0], joints.size, lines.shape[0] - 2, lines.shape[0] - 1
    for order in range(lines.shape[1]):
        lines[pull, order] = -bodies[body, PITCH] * series[order, 2 * n]
        lines[hold, order] = static_ratio * bodies[body, GRIP] * series[order, 2 * n]
    lines[hold, 0] += static_ratio * bodies[body, DRAG] + bodies[body, SEIZED]
    for joint in range(m):
        sign = 1.0 if links[joint, SECOND] == body else -1.0 if links[joint, FIRST] == body else 0.0
        if joints[joint] >= SLIP_UP:
            lines[pull, 0] += sign * (1.0 if joints[joint] == SLIP_UP else -1.0) * springs[joint, SLIP]
        elif joints[joint] != OPEN and sign != 0.0:
            for order in range(lines.shape[1]):
                lines[pull, order] += sign * lines[m + joint, order]


@kernel(nogil=True, _nrt=False, error_model="numpy")
def find_event(  # noqa: PLR0912 - one branch a law
    bodies: FloatArray,
    links: IntArray,
    springs: FloatArray,
    braked: BoolArray,
    static_ratio: float,
    joints: IntArray,
    brakes: IntArray,
    series: FloatArray,
    lines: FloatArray,
    most: float,
    every: bool,
    x: FloatArray,
    ends: FloatArray,
    net: FloatArray,
) -> float:
    """Share of the step, at most `most`, after which the first law is broken; `NEVER` when none is.

    Only laws that are broken at `most` are looked at, where the state is `x`, the joints' twists and rates
    are in `ends` and the bodies' torques in `net`; with `every` all of them are.

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
    series : (TERMS + 1, N)
        Of the state, as `expand` fills them.
    lines : (2 m + 2, TERMS)
        Of the joints; the last two are written to.
    most
        Share of the step that is looked at, 0 to 1.
    every
        Whether laws that hold at its end are looked at too.
    x : (N,)
        State vector there.
    ends : (4, m)
        Twists and rates there, in the first two rows. [rad, rad/s]
    net : (n,)
        Torques on the bodies there, without friction. [N·m]
    """
    n, m, event, load = brakes.size, joints.size, NEVER, x[2 * brakes.size]
    spare = lines.shape[0] - 1
    for joint in range(m):
        k, c, slip = springs[joint, STIFFNESS], springs[joint, DAMPING], springs[joint, SLIP]
        kind, state, gap = links[joint, KIND], joints[joint], springs[joint, GAP]
        if kind == BOND and slip <= 0.0:
            continue
        if not every and joint_law(kind, state, ends[0, joint], ends[1, joint], k, c, gap, slip) == state:
            continue
        p, q, law, limit = m + joint, m + joint, FALLS if state == DRIVE else RISES, HAIR * k
        if state == OPEN:
            p, law, limit = joint, CLOSES if kind == FIT else CLOSES_AHEAD, gap
        elif kind == BOND:
            q = spare
            first, second = n + links[joint, FIRST], n + links[joint, SECOND]
            for order in range(lines.shape[1]):
                lines[spare, order] = series[order, first] - series[order, second]
            if state == DRIVE:
                law, limit = SLIPS, slip
            else:
                p, law, limit = spare, FALLS if state == SLIP_UP else RISES, 0.0
        root = _find_root(law, lines, p, q, k, limit, most)
        if root >= 0.0:
            event = most = root
    for body in range(n):
        if not braked[body]:
            continue
        limit = static_ratio * (bodies[body, GRIP] * load + bodies[body, DRAG]) + bodies[body, SEIZED]
        if not every and brake_law(brakes[body], x[n + body], net[body], limit) == brakes[body]:
            continue
        law = BREAKS
        if brakes[body] == STUCK:
            _fill_brake(bodies, links, springs, static_ratio, joints, body, series, lines)
        else:
            law = FALLS if brakes[body] == UP else RISES
            for order in range(lines.shape[1]):
                lines[spare - 1, order] = series[order, n + body]
        root = _find_root(law, lines, spare - 1, spare, 1.0, 0.0, most)
        if root >= 0.0:
            event = most = root
    if load < 0.0:
        for order in range(lines.shape[1]):
            lines[spare, order] = series[order, 2 * n]
        root = _find_root(FALLS, lines, spare, spare, 1.0, 0.0, most)
        if root >= 0.0:
            event = root
    return event
