"""When joints open, close and slip, when brakes stick and slide: the laws and the survey of a chain.

- An open contact closes when its gap is closed **and** its torque would push; it opens when the torque
  would pull by more than `HAIR` of twist gives: less is rounding, and parts at rest would rattle with it.
- A bond with slip torque slips when its torque passes that while its twist grows, and grips again when its
  relative speed turns. One instant can so never ask for both, whatever the last digit of the torque says.
- A sliding brake whose speed passes zero sticks if the torque on it is within the static limit, otherwise it
  slides the way it is pushed; a stuck one slides when the torque on it exceeds the static limit.

The laws take numbers only and the survey bare arrays, for these lines run at every step of every blow.
"""

from __future__ import annotations

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
    KIND,
    OFFSET,
    OPEN,
    PITCH,
    SECOND,
    SEIZED,
    SLIP,
    SLIP_DOWN,
    SLIP_UP,
    STIFFNESS,
    STUCK,
    UP,
)
from strikeproof.kernels import kernel
from strikeproof.quantity import BoolArray, FloatArray, IntArray

__all__ = ["HAIR", "brake_law", "find_rates", "joint_law", "joint_torque", "survey", "switch"]

HAIR = 1e-14  # rad of twist, some hundred times what the angles' last digit is


@kernel(nogil=True, _nrt=False, error_model="numpy")
def joint_torque(
    state: int, twist: float, rate: float, stiffness: float, damping: float, gap: float, slip: float
) -> float:
    """Torque with which a joint drives its second body in this state. [N·m]

    Parameters
    ----------
    state
        Of the joint (`system`).
    twist
        [rad]
    rate
        Of twist. [rad/s]
    stiffness
        [N·m/rad]
    damping
        [N·m·s/rad]
    gap
        [rad]
    slip
        Slip torque. [N·m]

    References
    ----------
    Kelvin and Voigt's spring and damper; docs/drivetrain.md, Equations.
    """
    if state == OPEN:
        return 0.0
    if state == SLIP_UP:
        return slip
    if state == SLIP_DOWN:
        return -slip
    if state == BACK:
        twist += gap
    return stiffness * twist + damping * rate


@kernel(nogil=True, _nrt=False, error_model="numpy")
def joint_law(  # noqa: PLR0911 - one return a state
    kind: int,
    state: int,
    twist: float,
    rate: float,
    stiffness: float,
    damping: float,
    gap: float,
    slip: float,
) -> int:
    """State that a joint takes.

    Parameters
    ----------
    kind, state
        Of the joint (`system`).
    twist
        [rad]
    rate
        Of twist. [rad/s]
    stiffness
        [N·m/rad]
    damping
        [N·m·s/rad]
    gap
        [rad]
    slip
        Slip torque, 0 for none. [N·m]

    References
    ----------
    docs/drivetrain.md, Equations: the column "rule".
    """
    push = stiffness * twist + damping * rate
    if kind == BOND:
        if state == DRIVE:
            if slip <= 0.0:
                return DRIVE
            if push > slip and rate >= 0.0:
                return SLIP_UP
            return SLIP_DOWN if push < -slip and rate <= 0.0 else DRIVE
        turned = rate < 0.0 if state == SLIP_UP else rate > 0.0
        return DRIVE if turned else state
    pull = push + stiffness * gap
    if state == DRIVE:
        return DRIVE if push >= -HAIR * stiffness else OPEN
    if state == BACK:
        return BACK if pull <= HAIR * stiffness else OPEN
    if twist >= 0.0 and push > 0.0:
        return DRIVE
    if kind == FIT and twist <= -gap and pull < 0.0:
        return BACK
    return OPEN


@kernel(nogil=True, _nrt=False, error_model="numpy")
def brake_law(state: int, speed: float, net: float, limit: float) -> int:
    """State that a braked body takes.

    Parameters
    ----------
    state
        It has now (`system`).
    speed
        [rad/s]
    net
        Torque on it without its own friction. [N·m]
    limit
        Of static friction, 0 or more. [N·m]

    References
    ----------
    Coulomb friction with a static limit; docs/drivetrain.md, Equations.
    """
    if (state == UP and speed >= 0.0) or (state == DOWN and speed <= 0.0):
        return state
    return UP if net > limit else DOWN if net < -limit else STUCK


@kernel(nogil=True, _nrt=False, forceinline=True, error_model="numpy")
def survey(
    bodies: FloatArray,
    links: IntArray,
    springs: FloatArray,
    braked: BoolArray,
    static_ratio: float,
    joints: IntArray,
    brakes: IntArray,
    x: FloatArray,
    twist: FloatArray,
    rate: FloatArray,
    torque: FloatArray,
    net: FloatArray,
) -> bool:
    """Whether every joint and brake is content with its state.

    Fills the joints' twists [rad], rates of twist [rad/s] and torques, and the bodies' net torques [N·m].

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
    twist, rate, torque : (m,)
        Of the joints, written to. [rad, rad/s, N·m]
    net : (n,)
        Torques on the bodies without friction, written to. [N·m]
    """
    n = brakes.size
    load = x[2 * n]
    content = load >= 0.0
    for body in range(n):
        net[body] = -bodies[body, PITCH] * load
    for joint in range(joints.size):
        first, second, offset = links[joint, FIRST], links[joint, SECOND], links[joint, OFFSET]
        state = joints[joint]
        turned = x[first] - x[second]
        if offset >= 0:
            turned -= x[offset]
        speed = x[n + first] - x[n + second]
        k, c, gap = springs[joint, STIFFNESS], springs[joint, DAMPING], springs[joint, GAP]
        slip = springs[joint, SLIP]
        content = content and joint_law(links[joint, KIND], state, turned, speed, k, c, gap, slip) == state
        value = joint_torque(state, turned, speed, k, c, gap, slip)
        twist[joint], rate[joint], torque[joint] = turned, speed, value
        net[first] -= value
        net[second] += value
    for body in range(n):
        if braked[body]:
            limit = static_ratio * (bodies[body, GRIP] * load + bodies[body, DRAG]) + bodies[body, SEIZED]
            content = content and brake_law(brakes[body], x[n + body], net[body], limit) == brakes[body]
    return bool(content)


@kernel(nogil=True, _nrt=False, forceinline=True, error_model="numpy")
def find_rates(
    bodies: FloatArray,
    braked: BoolArray,
    lightness: FloatArray,
    brakes: IntArray,
    load: float,
    net: FloatArray,
    pull: FloatArray,
) -> None:
    """Fill the acceleration of every body from the torque on it. [rad/s²]

    Parameters
    ----------
    bodies : (n, 5)
        As of `System`.
    braked : (n,)
        Which bodies have friction.
    lightness : (n,)
        1 over the inertias. [1/(kg·m²)]
    brakes : (n,)
        States.
    load
        Clamp load. [N]
    net : (n,)
        Torques on the bodies without friction. [N·m]
    pull : (n,)
        Written to. [rad/s²]
    """
    for body in range(brakes.size):
        value = net[body]
        if braked[body]:
            if brakes[body] == STUCK:
                pull[body] = 0.0
                continue
            friction = bodies[body, GRIP] * load + bodies[body, DRAG]
            value -= friction if brakes[body] == UP else -friction
        pull[body] = value * lightness[body]


@kernel(nogil=True, _nrt=False, error_model="numpy")
def switch(
    bodies: FloatArray,
    links: IntArray,
    springs: FloatArray,
    braked: BoolArray,
    static_ratio: float,
    joints: IntArray,
    brakes: IntArray,
    x: FloatArray,
    twist: FloatArray,
    rate: FloatArray,
    torque: FloatArray,
    net: FloatArray,
) -> bool:
    """Bring every joint and brake into the state it wants; False if they cannot agree.

    A brake that slips for the first time loses its extra breakaway torque in `bodies`.

    Parameters
    ----------
    bodies, links, springs
        Arrays of the chain (`System`).
    braked : (n,)
        Which bodies have friction.
    static_ratio
        Static over kinetic friction.
    joints : (m,)
        States, changed.
    brakes : (n,)
        States, changed.
    x : (N,)
        State vector: offsets and the speeds of brakes that switch are changed.
    twist, rate, torque : (m,)
        Of the joints, as `survey` has filled them; written to. [rad, rad/s, N·m]
    net : (n,)
        Likewise, torques on the bodies without friction. [N·m]
    """
    n = brakes.size
    for _ in range(4 * (joints.size + n)):
        for joint in range(joints.size):
            k, slip, state = springs[joint, STIFFNESS], springs[joint, SLIP], joints[joint]
            joints[joint] = joint_law(
                links[joint, KIND],
                state,
                twist[joint],
                rate[joint],
                k,
                springs[joint, DAMPING],
                springs[joint, GAP],
                slip,
            )
            if state >= SLIP_UP and joints[joint] == DRIVE:
                turned = x[links[joint, FIRST]] - x[links[joint, SECOND]]
                x[links[joint, OFFSET]] = turned - (slip / k if state == SLIP_UP else -slip / k)
        if survey(bodies, links, springs, braked, static_ratio, joints, brakes, x, twist, rate, torque, net):
            return True
        for body in range(n):
            if braked[body]:
                limit = (
                    static_ratio * (bodies[body, GRIP] * x[2 * n] + bodies[body, DRAG]) + bodies[body, SEIZED]
                )
                new = brake_law(brakes[body], x[n + body], net[body], limit)
                if new != brakes[body]:
                    x[n + body] = 0.0
                    if brakes[body] == STUCK:
                        bodies[body, SEIZED] = 0.0
                    brakes[body] = new
        if survey(bodies, links, springs, braked, static_ratio, joints, brakes, x, twist, rate, torque, net):
            return True
    return False
