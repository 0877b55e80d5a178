"""A plain time-stepper: an independent second implementation, and the one for Hunt-Crossley contacts.

Semi-implicit Euler (speeds first, then angles; Hairer, Lubich & Wanner, "Geometric Numerical Integration",
2006, sec. I.1.2): first order, no events, no modes. Contacts are clipped so that they never pull; friction
takes at most the momentum there is. It shares nothing with the exact engine but the chain's arrays.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

import numpy as np

from strikeproof.drivetrain.bounds import Range, require
from strikeproof.drivetrain.chain import Chain
from strikeproof.drivetrain.system import (
    BOND,
    CLAMP_RATE,
    DAMPING,
    DRAG,
    FIRST,
    FIT,
    GAP,
    GRIP,
    INERTIA,
    KIND,
    LEAK,
    PATH,
    PITCH,
    SECOND,
    SEIZED,
    SLIP,
    STATIC_RATIO,
    STIFFNESS,
    THREAD,
    System,
)
from strikeproof.kernels import kernel
from strikeproof.quantity import FloatArray

__all__ = ["Stepped", "hunt_crossley", "step_blow"]


@dataclass(frozen=True, slots=True)
class Stepped:
    """End of a stepped blow: angles and speeds (n,), clamp load, largest joint torques (m,)."""

    angles: FloatArray
    speeds: FloatArray
    clamp_load: float
    peaks: FloatArray


@kernel(nogil=True, error_model="numpy")
def hunt_crossley(depth: float, rate: float, stiffness: float, loss: float, exponent: float) -> float:
    """F = K δ^n (1 + 1.5 α δ̇), never pulling (Hunt & Crossley, J. Appl. Mech. 42, 1975, 440-445). [N·m]

    `loss` is α [s/rad]: a slow impact at speed v returns e = 1 − α v.

    Parameters
    ----------
    depth
        δ of the contact. [rad]
    rate
        δ̇. [rad/s]
    stiffness
        K. [N·m/rad^n]
    loss
        α. [s/rad]
    exponent
        n, > 0.
    """
    if depth <= 0.0:
        return 0.0
    return float(max(stiffness * depth**exponent * (1.0 + 1.5 * loss * rate), 0.0))


@kernel(nogil=True, error_model="numpy")
def _contact(depth: float, rate: float, spring: FloatArray, crossley: bool, exponent: float) -> float:
    if crossley:
        return hunt_crossley(depth, rate, spring[STIFFNESS], spring[DAMPING], exponent)
    return float(max(spring[STIFFNESS] * depth + spring[DAMPING] * rate, 0.0)) if depth > 0.0 else 0.0


@kernel(nogil=True, error_model="numpy")
def step_blow_arrays(  # noqa: PLR0912 - one plain loop on purpose
    system: System,
    angles: FloatArray,
    speeds: FloatArray,
    load: float,
    step: float,
    steps: int,
    exponent: float,
) -> tuple[float, FloatArray]:
    """March `steps` steps; angles and speeds are changed in place. Clamp load and peak torques after.

    `exponent` 0 takes Kelvin-Voigt contacts, any other Hunt-Crossley ones, whose damping column holds α.

    Parameters
    ----------
    system
        The chain; not changed.
    angles, speeds : (n,)
        Of the bodies. [rad, rad/s]
    load
        Clamp load before. [N]
    step
        [s]
    steps
        How many.
    exponent
        0 or n of Hunt and Crossley.

    References
    ----------
    As at the top of this file.
    """
    bodies, links, springs, clamp = system.bodies, system.links, system.springs, system.clamp
    n, m = bodies.shape[0], links.shape[0]
    offsets, net, peaks = np.zeros(m), np.zeros(n), np.zeros(m)
    seized = bodies[:, SEIZED].copy()
    crossley, thread = exponent > 0.0, int(clamp[THREAD])
    for _ in range(steps):
        for body in range(n):
            net[body] = -bodies[body, PITCH] * load
        for joint in range(m):
            first, second = links[joint, FIRST], links[joint, SECOND]
            spring = springs[joint]
            twist = angles[first] - angles[second] - offsets[joint]
            rate = speeds[first] - speeds[second]
            if links[joint, KIND] == BOND:
                torque = spring[STIFFNESS] * twist + spring[DAMPING] * rate
                if spring[SLIP] > 0.0 and abs(torque) > spring[SLIP]:
                    torque = spring[SLIP] if torque > 0.0 else -spring[SLIP]
                    offsets[joint] += twist - (torque - spring[DAMPING] * rate) / spring[STIFFNESS]
            else:
                torque = _contact(twist, rate, spring, crossley, exponent)
                if torque > 0.0 and spring[LEAK] > 0.0:
                    offsets[joint] += step * spring[LEAK] * twist
                if links[joint, KIND] == FIT:
                    torque -= _contact(-twist - spring[GAP], -rate, spring, crossley, exponent)
            peaks[joint] = max(peaks[joint], torque)
            net[first] -= torque
            net[second] += torque
        for body in range(n):
            sliding = bodies[body, GRIP] * load + bodies[body, DRAG]
            push = net[body] * step
            if speeds[body] == 0.0 and sliding > 0.0:
                if abs(net[body]) <= clamp[STATIC_RATIO] * sliding + seized[body]:
                    continue
                seized[body] = 0.0
            momentum = bodies[body, INERTIA] * speeds[body] + push
            if abs(momentum) <= sliding * step:
                speeds[body] = 0.0
            else:
                lost = sliding * step if momentum > 0.0 else -sliding * step
                speeds[body] = (momentum - lost) / bodies[body, INERTIA]
        for body in range(n):
            angles[body] += step * speeds[body]
        if thread >= 0:
            load = max(load + step * clamp[CLAMP_RATE] * speeds[thread], 0.0)
    return load, peaks


def step_blow(
    chain: Chain,
    *,
    speed: float,
    load: float,
    step: float,
    duration: float,
    openness: float = 0.0,
    law: Literal["kelvin-voigt", "hunt-crossley"] = "kelvin-voigt",
) -> Stepped:
    """One blow from the same start as `simulate_blow`, marched with a fixed step for `duration` seconds.

    Parameters
    ----------
    chain
        As `build_chain` or `locked_chain` gives it; not changed.
    speed
        Of the hammer. [rad/s]
    load
        Clamp load before. [N]
    step, duration
        [s]
    openness
        How far the gaps stand open, 0 to 1.
    law
        Of the contacts; that of Hunt and Crossley takes 1.5 for n and the damping column for α.

    Raises
    ------
    BadInput
        If the step does not fit into the duration, or asks for more than a hundred million steps.
    """
    require(duration, Range(1e-9, 10.0, "s"), where="duration")
    require(step, Range(duration / 1e8, duration, "s"), where="step")
    system = chain.system
    n, path = len(chain.bodies), int(system.clamp[PATH])
    angles, speeds = np.zeros(n), np.zeros(n)
    speeds[0] = speed
    for joint in range(path - 1, -1, -1):
        gap = system.springs[joint, GAP] if system.links[joint, KIND] == FIT else 0.0
        angles[joint] = angles[joint + 1] - openness * gap
    for joint in range(path, len(chain.joints)):
        angles[system.links[joint, SECOND]] = angles[system.links[joint, FIRST]]
    exponent = 1.5 if law == "hunt-crossley" else 0.0
    end, peaks = step_blow_arrays(system, angles, speeds, load, step, round(duration / step), exponent)
    return Stepped(angles, speeds, end, peaks)


__all__ += ["step_blow_arrays"]
