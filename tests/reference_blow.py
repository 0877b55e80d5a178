"""A run of blows a second way: Runge-Kutta in small steps, corners bisected, every blow followed to its end.

It shares no line with the engine: no exponentials, no settling, no map, laws of contact and friction written
again from docs/drivetrain.md. Only the chain's table of numbers is read from there.

A state is n angles, n speeds, the clamp load, and one offset for each joint (leaked or slipped twist).
"""

from __future__ import annotations

import math
from typing import NamedTuple

import numpy as np
from numba import njit

from strikeproof.drivetrain import AirHammer, OilPulse, Scatter, SpringCam
from strikeproof.drivetrain.chain import Chain
from strikeproof.drivetrain.records import ToolModel
from strikeproof.quantity import FloatArray

__all__ = ["ReferenceRun", "reference_run"]

STEP = 0.06  # radians of the fastest vibration
EXACT = 3e-16  # s, to which a corner is bisected
BOND, JAW, FIT = 0, 1, 2
FREE, AHEAD, BACK, GIVING_AHEAD, GIVING_BACK = 0, 1, 2, 3, 4
SLIDES_AHEAD, HELD, SLIDES_BACK, SMOOTH = 1, 0, -1, 9


class ReferenceRun(NamedTuple):
    """Of each blow: clamp load, speed before and back, peak at the head, time around it above half of it."""

    clamp_load: FloatArray
    speed: FloatArray
    rebound: FloatArray
    peak_torque: FloatArray
    pulse_width: FloatArray
    peaks: FloatArray


@njit(cache=True, error_model="numpy")
def _torque(mode, twist, rate, springs, joint):
    if mode == FREE:
        return 0.0
    if mode >= GIVING_AHEAD:
        return springs[joint, 3] if mode == GIVING_AHEAD else -springs[joint, 3]
    return (
        springs[joint, 0] * (twist + (springs[joint, 2] if mode == BACK else 0.0)) + springs[joint, 1] * rate
    )


@njit(cache=True, error_model="numpy")
def _joint_wants(kind, mode, twist, rate, springs, joint):  # noqa: PLR0911 - one return a mode
    """The mode that a joint's law asks for."""
    stiffness, damping = springs[joint, 0], springs[joint, 1]
    gap, slip = springs[joint, 2], springs[joint, 3]
    ahead = stiffness * twist + damping * rate
    if kind == BOND:
        if mode == GIVING_AHEAD:
            return AHEAD if rate < 0.0 else mode
        if mode == GIVING_BACK:
            return AHEAD if rate > 0.0 else mode
        if slip > 0.0 and abs(ahead) > slip and ahead * rate >= 0.0:  # by rounding also as it grips
            return GIVING_AHEAD if ahead > 0.0 else GIVING_BACK
        return AHEAD
    back = stiffness * (twist + gap) + damping * rate
    if mode == AHEAD:
        return AHEAD if ahead >= 0.0 else FREE
    if mode == BACK:
        return BACK if back <= 0.0 else FREE
    if twist >= 0.0 and ahead > 0.0:
        return AHEAD
    return BACK if kind == FIT and twist <= -gap and back < 0.0 else FREE


@njit(cache=True, error_model="numpy")
def _slopes(chain, modes, holds, y, slope, torque, net):
    """Time derivative of the state; fills the joints' torques and each body's torque without friction."""
    bodies, links, springs, clamp = chain
    n = len(holds)
    load, thread = y[2 * n], int(clamp[2])
    for body in range(n):
        net[body] = -bodies[body, 4] * load
    for joint in range(len(modes)):
        one, other, place = links[joint, 0], links[joint, 1], 2 * n + 1 + joint
        twist, rate = y[one] - y[other] - y[place], y[n + one] - y[n + other]
        torque[joint] = _torque(modes[joint], twist, rate, springs, joint)
        net[one] -= torque[joint]
        net[other] += torque[joint]
        slope[place] = springs[joint, 4] * twist if modes[joint] == AHEAD else 0.0
    for body in range(n):
        slope[body] = y[n + body]
        friction = bodies[body, 1] * load + bodies[body, 2]
        if holds[body] == HELD:
            slope[n + body] = 0.0
        else:
            sign = 0.0 if holds[body] == SMOOTH else holds[body]
            slope[n + body] = (net[body] - (sign * friction if sign != 0.0 else 0.0)) / bodies[body, 0]
    slope[2 * n] = clamp[0] * y[n + thread]


@njit(cache=True, error_model="numpy")
def _hold_wants(chain, body, hold, y, net):
    """The way a body that rubs slides, or 0."""
    if hold == SMOOTH:
        return hold
    speed = y[len(chain[0]) + body]
    if (hold == SLIDES_AHEAD and speed >= 0.0) or (hold == SLIDES_BACK and speed <= 0.0):
        return hold
    load = y[2 * len(chain[0])]
    limit = chain[3][1] * (chain[0][body, 1] * load + chain[0][body, 2]) + chain[0][body, 3]
    return SLIDES_AHEAD if net[body] > limit else SLIDES_BACK if net[body] < -limit else HELD


@njit(cache=True, error_model="numpy")
def _is_lawful(chain, modes, holds, y, net):
    """Whether every joint and every body that rubs is in the mode that its law asks for."""
    _bodies, links, springs, _clamp = chain
    n = len(holds)
    for joint in range(len(modes)):
        one, other = links[joint, 0], links[joint, 1]
        twist, rate = y[one] - y[other] - y[2 * n + 1 + joint], y[n + one] - y[n + other]
        if _joint_wants(links[joint, 2], modes[joint], twist, rate, springs, joint) != modes[joint]:
            return False
    for body in range(n):
        if _hold_wants(chain, body, holds[body], y, net) != holds[body]:
            return False
    return y[2 * n] >= 0.0


@njit(cache=True, error_model="numpy")
def _obey(chain, modes, holds, y, slope, torque, net):
    """Put joints and bodies into the modes that their laws ask for, again and again until all agree."""
    bodies, links, springs, _clamp = chain
    n = len(holds)
    for _ in range(100):
        _slopes(chain, modes, holds, y, slope, torque, net)
        if _is_lawful(chain, modes, holds, y, net):
            return
        for joint in range(len(modes)):
            one, other, place = links[joint, 0], links[joint, 1], 2 * n + 1 + joint
            twist, rate, was = y[one] - y[other], y[n + one] - y[n + other], modes[joint]
            modes[joint] = _joint_wants(links[joint, 2], was, twist - y[place], rate, springs, joint)
            if was >= GIVING_AHEAD and modes[joint] == AHEAD:  # it grips with the twist of its slip torque
                give = springs[joint, 3] / springs[joint, 0]
                y[place] = twist - (give if was == GIVING_AHEAD else -give)
        _slopes(chain, modes, holds, y, slope, torque, net)
        for body in range(n):
            wanted = _hold_wants(chain, body, holds[body], y, net)
            if wanted != holds[body]:
                y[n + body] = 0.0
                if holds[body] == HELD:
                    bodies[body, 3] = 0.0  # a seized thread breaks loose once
                holds[body] = wanted


@njit(cache=True, error_model="numpy")
def _step(chain, modes, holds, y, first, step, scratch, z):
    """Classical Runge-Kutta: z after `step` from y, whose slope is `first`."""
    slope, torque, net, total = scratch
    size = len(y)
    for i in range(size):
        z[i], total[i] = y[i] + 0.5 * step * first[i], first[i]
    for share in (0.5, 1.0):
        _slopes(chain, modes, holds, z, slope, torque, net)
        for i in range(size):
            z[i] = y[i] + share * step * slope[i]
            total[i] += 2.0 * slope[i]
    _slopes(chain, modes, holds, z, slope, torque, net)
    for i in range(size):
        z[i] = y[i] + step / 6.0 * (total[i] + slope[i])
    _slopes(chain, modes, holds, z, slope, torque, net)


@njit(cache=True, error_model="numpy")
def _blow(chain, head, step, window, modes, holds, y, peaks, history):
    """Follow one blow for the whole window; number of rows of `history`: time and torque at the head."""
    links, springs = chain[1], chain[2]
    n, m = len(holds), len(modes)
    first, slope, z = np.zeros_like(y), np.zeros_like(y), np.empty_like(y)
    torque, before, net = np.zeros(m), np.zeros(m), np.zeros(n)
    scratch = (slope, torque, net, np.empty_like(y))
    _obey(chain, modes, holds, y, first, torque, net)
    time, rows = 0.0, 0
    while time < window and rows < len(history) - 1:
        before[:] = torque
        taken = min(step, window - time)
        _step(chain, modes, holds, y, first, taken, scratch, z)
        corner = not _is_lawful(chain, modes, holds, z, net)
        if corner:
            low = 0.0
            while taken - low > EXACT:
                middle = 0.5 * (low + taken)
                _step(chain, modes, holds, y, first, middle, scratch, z)
                if _is_lawful(chain, modes, holds, z, net):
                    low = middle
                else:
                    taken = middle
            _step(chain, modes, holds, y, first, taken, scratch, z)
        for joint in range(m):
            one, other = links[joint, 0], links[joint, 1]
            k, c = springs[joint, 0], springs[joint, 1]
            rise = k * (y[n + one] - y[n + other]) + c * (first[n + one] - first[n + other])
            fall = k * (z[n + one] - z[n + other]) + c * (slope[n + one] - slope[n + other])
            crest = 0.0
            if rise * fall < 0.0 and modes[joint] != FREE and modes[joint] < GIVING_AHEAD:
                crest = before[joint] + 0.5 * rise * rise * taken / (rise - fall)
            for way in range(2):
                sign = 1.0 if way == 0 else -1.0
                highest = max(sign * before[joint], sign * torque[joint], sign * crest)
                peaks[way, joint] = max(peaks[way, joint], highest)
        history[rows, 0], history[rows, 1], history[rows, 2] = taken, before[head], torque[head]
        rows += 1
        time += taken
        y[:] = z
        if corner:
            if y[2 * n] < 0.0:
                y[2 * n] = 0.0
                break
            _obey(chain, modes, holds, y, first, torque, net)
        else:
            first[:] = slope
    return rows


@njit(cache=True, error_model="numpy")
def _width(history, level):
    """Time around the highest torque in which straight lines through the torques stay above a level. [s]"""
    top = np.argmax(history[:, 2])
    time = 0.0
    for row in range(top, -1, -1):
        taken, far, near = history[row, 0], history[row, 1], history[row, 2]
        if near < level:
            break
        time += taken if far >= level else taken * (near - level) / (near - far)
        if far < level:
            break
    for row in range(top + 1, len(history)):
        taken, near, far = history[row, 0], history[row, 1], history[row, 2]
        if near < level:
            break
        time += taken if far >= level else taken * (near - level) / (near - far)
        if far < level:
            break
    return time


@njit(cache=True, error_model="numpy")
def _start(chain, openness, kept, speed, load, modes, holds, y):
    """All but the hammer at rest; fits open by a share of their gap; what friction keeps wound stays so."""
    bodies, links, springs, clamp = chain
    n, path = len(holds), int(clamp[3])
    y[:] = 0.0
    y[n], y[2 * n] = speed, load
    for body in range(n):
        holds[body] = HELD if bodies[body, 1] > 0.0 or bodies[body, 2] > 0.0 else SMOOTH
    for joint in range(path - 1, -1, -1):
        open_by = openness * springs[joint, 2] if links[joint, 2] == FIT else 0.0
        y[joint] = y[joint + 1] - open_by + (kept if joint == path - 1 else 0.0)
    for joint in range(len(modes)):
        modes[joint] = AHEAD if links[joint, 2] == BOND else FREE
        if joint >= path:
            y[links[joint, 1]] = y[links[joint, 0]]


@njit(cache=True, error_model="numpy")
def _hammer(chain, head, step, window, recover, speed, load, factors, openness, found, peaks):
    bodies, links, _springs, clamp = chain
    n, m = len(bodies), len(links)
    modes, holds, y = np.zeros(m, np.int64), np.zeros(n, np.int64), np.zeros(2 * n + 1 + m)
    history = np.empty((2 * int(window / step) + 20000, 3))
    thread, kept, own = int(clamp[2]), 0.0, np.zeros((2, m))
    winds = links[thread - 1, 2] == BOND and bodies[thread - 1, 1] > 0.0
    for blow in range(len(factors)):
        omega = speed * factors[blow]
        _start(chain, openness[blow], kept, omega, load, modes, holds, y)
        own[:] = 0.0
        rows = _blow(chain, head, step, window, modes, holds, y, own, history)
        load, back = y[2 * n], math.sqrt(recover[5]) * max(-y[n], 0.0)
        kept = y[thread - 1] - y[thread] if winds else 0.0
        top = own[0, head]
        found[blow] = load, omega, -y[n], top, _width(history[:rows], 0.5 * top)
        for joint in range(m):
            peaks[joint] = max(peaks[joint], own[0, joint], own[1, joint])
        if load == 0.0 and clamp[0] < 0.0:
            return blow + 1
        inertia = bodies[0, 0]
        if recover[0] > 0.0:  # spring and cam
            most = max(recover[1], recover[0])
            speed = math.sqrt(min(2.0 * recover[0] / inertia + back * back, 2.0 * most / inertia))
        else:  # a motor that pushes with T (1 - w/w_free) over its travel, in small steps of Runge-Kutta
            speed = _run_up(recover[2] / inertia, recover[3], recover[4], recover[1], -back)
    return len(factors)


@njit(cache=True, error_model="numpy")
def _speed_at(push, free, begun, rear):
    """Speed backward at the angle `rear`, by w dw = push (1 - w/free) d angle integrated and bisected."""
    low, high = begun, 0.0
    for _ in range(100):
        middle = 0.5 * (low + high)
        at = -free / push * (middle - begun + free * math.log((free - middle) / (free - begun)))
        low, high = (middle, high) if at > -rear else (low, middle)
    return low


@njit(cache=True, error_model="numpy")
def _run_up(push, free, travel, rear, speed):
    """Speed after the travel: dw/dt = push (1 - w/free), fourth order, the last step cut to the angle.

    A hammer that gets back to the angle `rear` comes off it with 0.6 of the speed that its energy says there.
    """
    angle, step = 0.0, 2e-3 * free / push
    begun = speed
    while True:
        a = push * (1.0 - speed / free)
        b = push * (1.0 - (speed + 0.5 * step * a) / free)
        c = push * (1.0 - (speed + 0.5 * step * b) / free)
        d = push * (1.0 - (speed + step * c) / free)
        gone = step * speed + step * step / 6.0 * (a + b + c)
        if angle + gone < -rear and speed < 0.0:
            speed = -0.6 * _speed_at(push, free, begun, rear)
            angle = -rear
            continue
        if angle + gone > travel:
            rest = (travel - angle) / speed
            for _ in range(20):  # by small steps the angle is nearly a parabola of time
                a = push * (1.0 - speed / free)
                gone = speed * rest + 0.5 * a * rest**2 - a * push / free * rest**3 / 6.0
                rest -= (angle + gone - travel) / (speed + a * rest)
            return free - (free - speed) * math.exp(-push / free * rest)
        angle += gone
        speed += step / 6.0 * (a + 2.0 * b + 2.0 * c + d)


def reference_run(
    chain: Chain, tool: ToolModel, scatter: Scatter, *, step: float = STEP, nudge: float = 0.0
) -> ReferenceRun:
    """So many blows as `scatter` has, with its speed factors and gaps.

    Parameters
    ----------
    step
        In radians of the fastest vibration.
    nudge
        By which share the first blow is faster.
    """
    bodies, links, springs, clamp = (np.array(each) for each in chain.system)
    drive = tool.mechanism
    if isinstance(drive, SpringCam):
        recover = np.array([drive.spring_energy, drive.most_energy, 0.0, 0.0, 0.0, drive.rebound_share])
    else:
        assert isinstance(drive, AirHammer | OilPulse)
        motor = drive.stall_torque, drive.free_speed, drive.travel
        recover = np.array([0.0, drive.back_travel, *motor, drive.rebound_share])
    path = int(clamp[3])
    head = max(joint for joint in range(path) if links[joint, 2] != BOND)
    found, peaks = np.zeros((scatter.speed_factors.size, 5)), np.zeros(len(links))
    rows = _hammer(
        (bodies, links, springs, clamp),
        head,
        step * _period(bodies, links, springs),
        tool.window,
        recover,
        tool.first_speed * (1.0 + nudge),
        chain.snug_load,
        scatter.speed_factors,
        np.array(tool.gap_openness)[scatter.openings],
        found,
        peaks,
    )
    return ReferenceRun(*found[:rows].T, peaks)


def _period(bodies: FloatArray, links: FloatArray, springs: FloatArray) -> float:
    """Time of one radian of the fastest vibration, every joint closed; damping makes it shorter. [s]"""
    matrix = np.zeros((len(bodies), len(bodies)))
    damping = np.zeros(len(bodies))
    for (one, other), spring in zip(links[:, :2], springs, strict=True):
        ends = np.zeros(len(bodies))
        ends[one], ends[other] = 1.0 / math.sqrt(bodies[one, 0]), -1.0 / math.sqrt(bodies[other, 0])
        matrix += spring[0] * np.outer(ends, ends)
        damping += spring[1] * ends**2
    return float(1.0 / (math.sqrt(np.linalg.norm(matrix, 2)) + 0.5 * damping.max()))
