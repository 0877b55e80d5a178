"""Where blows are delivered one after another: chain, exponentials and mechanism in one place."""

from __future__ import annotations

from typing import NamedTuple

import numpy as np

from strikeproof.drivetrain.blow import deliver_blow
from strikeproof.drivetrain.exact import (
    BACKWARD,
    ENDING,
    PEAK,
    Outcome,
    Pace,
    Room,
    make_outcome,
    make_room,
    pulse_width,
)
from strikeproof.drivetrain.propagate import Memory, make_memory
from strikeproof.drivetrain.system import THREAD, System
from strikeproof.kernels import kernel
from strikeproof.quantity import FloatArray, IntArray

__all__ = [
    "BACK",
    "HEAD_PEAK",
    "LOAD",
    "PULSE",
    "SPEED",
    "TIME",
    "Bench",
    "deliver",
    "log_blow",
    "make_bench",
]

# columns of a log of blows; LOAD is the clamp load after the blow
TIME, LOAD, SPEED, BACK, HEAD_PEAK, PULSE = range(6)


class Bench(NamedTuple):
    """Chain, memory, pace, mechanism, joint that drives the bolt's head, and scratch arrays."""

    system: System
    memory: Memory
    pace: Pace
    drive: FloatArray
    head: int
    outcome: Outcome
    room: Room
    joints: IntArray
    brakes: IntArray
    state: FloatArray
    windup: FloatArray


@kernel(nogil=True, error_model="numpy")
def make_bench(system: System, pace: Pace, size: int, drive: FloatArray, head: int, pieces: int) -> Bench:
    """Scratch room for one chain; its seized thread may break loose without touching the original.

    Parameters
    ----------
    system
        Copied.
    pace
        Step and window.
    size
        Length of the state vector.
    drive : (6,)
        As `pack_mechanism` gives it.
    head
        Joint that drives the bolt's head.
    pieces
        Room for the pulse at the head, in steps.
    """
    n, m = system.bodies.shape[0], system.links.shape[0]
    return Bench(
        System(system.bodies.copy(), system.links, system.springs, system.clamp),
        make_memory(size),
        pace,
        drive,
        head,
        make_outcome(n, m, pieces, 0, size),
        make_room(n, m, size),
        np.empty(m, np.int64),
        np.empty(n, np.int64),
        np.empty(size),
        np.zeros(m),
    )


@kernel(nogil=True, error_model="numpy")
def deliver(bench: Bench, openness: float, load: float, speed: float, peaks: FloatArray) -> int:
    """One blow; raises `peaks`, of torque either way, to its own where they are larger; how it ended.

    Parameters
    ----------
    bench
        Its state and windup are changed.
    openness
        How far the gaps stand open, 0 to 1.
    load
        Clamp load before. [N]
    speed
        Of the hammer. [rad/s]
    peaks : (m,)
        Raised. [N·m]

    Returns
    -------
    An ending of `exact`.
    """
    deliver_blow(
        bench.system,
        bench.memory,
        bench.pace,
        bench.head,
        openness,
        bench.windup,
        load,
        speed,
        bench.joints,
        bench.brakes,
        bench.state,
        bench.outcome,
        bench.room,
    )
    for joint in range(peaks.size):
        forward, backward = bench.outcome.joints[PEAK, joint], bench.outcome.joints[BACKWARD, joint]
        peaks[joint] = max(peaks[joint], forward, backward)
    return int(bench.outcome.facts[ENDING])


@kernel(nogil=True, error_model="numpy")
def log_blow(bench: Bench, time: float, speed: float, row: FloatArray) -> None:
    """Write the blow just delivered into a row of the log.

    Parameters
    ----------
    bench
        After `deliver`.
    time
        Of the blow. [s]
    speed
        Of the hammer before. [rad/s]
    row : (6,)
        Time, load after, speed, rebound, peak and pulse width at the head. [s, N, rad/s, rad/s, N·m, s]
    """
    n = bench.brakes.size
    peak = bench.outcome.joints[PEAK, bench.head]
    row[TIME], row[LOAD], row[SPEED] = time, bench.state[2 * n], speed
    row[BACK], row[HEAD_PEAK] = -bench.state[n], peak
    row[PULSE] = pulse_width(bench.outcome, bench.head)


@kernel(nogil=True, error_model="numpy")
def kept_twist(bench: Bench, load: float) -> float:
    """Twist that the bolt's shank holds, per clamp load. [rad/N]"""
    shank = int(bench.system.clamp[THREAD]) - 1
    return bench.windup[shank] / load if shank >= 0 and load > 0.0 else 0.0


@kernel(nogil=True, error_model="numpy")
def set_twist(bench: Bench, twist_per_load: float, load: float) -> None:
    """Wind the bolt's shank as the blow before left it.

    Parameters
    ----------
    bench
        Its windup is changed.
    twist_per_load
        As `kept_twist` gives it. [rad/N]
    load
        Clamp load. [N]
    """
    bench.windup[:] = 0.0
    shank = int(bench.system.clamp[THREAD]) - 1
    if shank >= 0:
        bench.windup[shank] = twist_per_load * load


__all__ += ["kept_twist", "set_twist"]
