"""Whether all that counts of a blow is over: no brake slips, no anvil meets the hammer.

With the energy E left, a body of inertia J moves at √(2E/J) at most, so an anvil slower than the hammer flies
back never meets it again; nor does one that the bolt, at rest, holds within the gaps of the path and what E
can wind its springs, once the hammer is farther back.

A piece is what bonds hold together between contacts. In its free vibration with the energy E of all that
moves, its contacts press it with √(2 E K) at most, K their stiffnesses together; a section of it passes that
on, a rider's bond the share of what it carries in the piece's inertia. What the piece vibrates in itself
comes on top: √(2 k E') in a bond of stiffness k, E' being the energy about the piece's mean motion. Whatever
happens, no joint goes beyond √(2 k E), nor a bond beyond its slip torque.
"""

from __future__ import annotations

import math

from strikeproof.drivetrain.system import (
    BOND,
    DAMPING,
    FIRST,
    FIT,
    GAP,
    INERTIA,
    KIND,
    OPEN,
    PATH,
    SECOND,
    SLIP,
    STIFFNESS,
)
from strikeproof.drivetrain.tally import energy_to_slip, stored_energy, vibration_energy
from strikeproof.kernels import kernel
from strikeproof.quantity import BoolArray, FloatArray, IntArray

__all__ = ["can_top", "find_pieces", "is_settled"]


@kernel(nogil=True, _nrt=False, error_model="numpy")
def find_pieces(
    bodies: FloatArray,
    links: IntArray,
    clamp: FloatArray,
    braked: BoolArray,
    pieces: IntArray,
    shares: FloatArray,
) -> None:
    """Fill the first body of every body's piece, -1 for one that friction holds, and every joint's share.

    Parameters
    ----------
    bodies, links, clamp
        Arrays of the chain (`System`).
    braked : (n,)
        Which bodies have friction.
    pieces : (n,)
        Written to.
    shares : (m,)
        Written to: 1 on the path.
    """
    n, m = pieces.size, links.shape[0]
    for body in range(n):
        pieces[body] = -1 if braked[body] else body
    changed = True
    while changed:
        changed = False
        for joint in range(m):
            one, other = pieces[links[joint, FIRST]], pieces[links[joint, SECOND]]
            if links[joint, KIND] == BOND and one >= 0 and other >= 0 and one != other:
                low = min(one, other)
                pieces[links[joint, FIRST]] = pieces[links[joint, SECOND]] = low
                changed = True
    for joint in range(m):
        shares[joint] = 1.0
    for joint in range(m - 1, int(clamp[PATH]) - 1, -1):  # carriers come first
        rider = links[joint, SECOND]
        shares[joint] = bodies[rider, INERTIA]
        for above in range(joint + 1, m):
            if links[above, FIRST] == rider:
                shares[joint] += shares[above]
    for joint in range(int(clamp[PATH]), m):
        total = 0.0
        for body in range(n):
            if pieces[body] == pieces[links[joint, SECOND]]:
                total += bodies[body, INERTIA]
        shares[joint] = min(shares[joint] / total, 1.0)


@kernel(nogil=True, _nrt=False, error_model="numpy")
def is_settled(
    bodies: FloatArray,
    links: IntArray,
    springs: FloatArray,
    braked: BoolArray,
    static_ratio: float,
    joints: IntArray,
    brakes: IntArray,
    x: FloatArray,
    twist: FloatArray,
    torque: FloatArray,
    pieces: IntArray,
    shares: FloatArray,
    forward: FloatArray,
    backward: FloatArray,
    head: int,
) -> bool:
    """Whether nothing can change any more clamp load, hammer speed or peaks; the jaw is open.

    Parameters
    ----------
    bodies, links, springs
        Arrays of the chain (`System`).
    braked : (n,)
        Which bodies have friction.
    static_ratio
        Static over kinetic friction.
    joints : (m,)
        States.
    brakes : (n,)
        States.
    x : (N,)
        State vector.
    twist, torque : (m,)
        Of the joints. [rad, N·m]
    pieces, shares : (n,), (m,)
        As `find_pieces` fills them.
    forward, backward : (m,)
        Peaks of the blow either way. [N·m]
    head
        Joint that drives the bolt's head: of its peaks, the forward one is a result by itself.

    References
    ----------
    Derived here: the bounds at the top of this file.
    """
    n = braked.size
    needed = energy_to_slip(bodies, links, springs, braked, static_ratio, brakes, x, torque)
    settled = needed > 0.0 and twist[0] < 0.0
    if settled:
        left = vibration_energy(bodies, links, springs, braked, joints, x)
        for joint in range(
            1, joints.size
        ):  # an open contact that is still pressed in may find its torque again
            if joints[joint] == OPEN:
                pressed = max(twist[joint], 0.0)
                if links[joint, KIND] == FIT:
                    pressed = max(pressed, -twist[joint] - springs[joint, GAP])
                left += 0.5 * springs[joint, STIFFNESS] * pressed * pressed
        settled = left < needed
        if settled and 2.0 * left >= bodies[1, INERTIA] * x[n] * x[n]:
            body, reach, give = 1, 0.0, 0.0
            while not braked[body]:
                reach += springs[body, GAP]
                give += 1.0 / springs[body, STIFFNESS]
                body += 1
            settled = twist[0] + x[1] < x[body] - reach - math.sqrt(2.0 * left * give)
        settled = settled and not can_top(
            bodies, links, springs, joints, x, pieces, shares, left, forward, backward, head
        )
    return settled


@kernel(nogil=True, _nrt=False, error_model="numpy")
def can_top(  # noqa: PLR0912 - two loops over joints, split it allocates at every look
    bodies: FloatArray,
    links: IntArray,
    springs: FloatArray,
    joints: IntArray,
    x: FloatArray,
    pieces: IntArray,
    shares: FloatArray,
    energy: float,
    forward: FloatArray,
    backward: FloatArray,
    head: int,
) -> bool:
    """Whether vibration of this energy [J] could pass the peaks that a blow left in a joint. [N·m]

    Parameters
    ----------
    bodies, links, springs
        Arrays of the chain (`System`).
    joints : (m,)
        States.
    x : (N,)
        State vector.
    pieces, shares : (n,), (m,)
        As `find_pieces` fills them.
    energy
        Of all that vibrates. [J]
    forward, backward : (m,)
        Peaks of the blow either way. [N·m]
    head
        Joint that drives the bolt's head: of its peaks, the forward one is a result by itself.

    References
    ----------
    Derived here: the bounds at the top of this file.
    """
    n, m, tops = pieces.size, joints.size, False
    for joint in range(1, m):
        one, other = pieces[links[joint, FIRST]], pieces[links[joint, SECOND]]
        if one == other:
            continue
        one, other = links[joint, FIRST], links[joint, SECOND]
        lightness = 1.0 / bodies[one, INERTIA] + 1.0 / bodies[other, INERTIA]
        stiffness = springs[joint, STIFFNESS] + springs[joint, DAMPING] ** 2 * lightness
        peak = forward[joint] if joint == head else max(forward[joint], backward[joint])
        if 2.0 * stiffness * energy > peak**2:
            tops = True
    for piece in range(1, n):
        if pieces[piece] != piece or tops:
            continue
        inertia, momentum, own, outside, bonds = 0.0, 0.0, 0.0, 0.0, 0
        for body in range(piece, n):
            if pieces[body] == piece:
                inertia += bodies[body, INERTIA]
                momentum += bodies[body, INERTIA] * x[n + body]
                own += 0.5 * bodies[body, INERTIA] * x[n + body] ** 2
        for joint in range(1, m):
            one, other = pieces[links[joint, FIRST]] == piece, pieces[links[joint, SECOND]] == piece
            if one and other:
                bonds += 1
                own += stored_energy(n, links, springs, joint, joints[joint], x)
            elif one or other:
                outside += springs[joint, STIFFNESS]
        if bonds == 0:
            continue
        own = max(own - 0.5 * momentum**2 / inertia, 0.0)
        pressed = math.sqrt(2.0 * energy * outside)
        for joint in range(1, m):
            if pieces[links[joint, FIRST]] != piece or pieces[links[joint, SECOND]] != piece:
                continue
            stiffness, slip = springs[joint, STIFFNESS], springs[joint, SLIP]
            bound = shares[joint] * pressed + math.sqrt(2.0 * stiffness * own)
            bound = min(bound, math.sqrt(2.0 * stiffness * energy))
            if slip > 0.0:
                bound = min(bound, slip)
            tops = tops or bound > max(forward[joint], backward[joint])
    return tops
