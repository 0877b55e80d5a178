"""A whole run: blow after blow, by the blow map or each one simulated."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Literal

import numpy as np

from strikeproof.drivetrain.bench import (
    BACK,
    HEAD_PEAK,
    LOAD,
    PULSE,
    SPEED,
    TIME,
    Bench,
    deliver,
    log_blow,
    make_bench,
)
from strikeproof.drivetrain.blow import head_joint
from strikeproof.drivetrain.bounds import Range, require
from strikeproof.drivetrain.chain import Chain
from strikeproof.drivetrain.exact import RAN_FREE, TOO_MANY_EVENTS, Pace, most_pieces
from strikeproof.drivetrain.leap import GAVE_UP, hammer_by_map
from strikeproof.drivetrain.mechanism import pack_mechanism, recover
from strikeproof.drivetrain.records import SpringCam, ToolModel
from strikeproof.drivetrain.system import CLAMP_RATE, SEIZED, System
from strikeproof.errors import BadInput, DidNotConverge
from strikeproof.kernels import kernel
from strikeproof.quantity import FloatArray, IntArray

__all__ = ["Run", "Scatter", "draw_scatter", "simulate_run"]

TOLERANCE = 7e-4


@dataclass(frozen=True, slots=True)
class Scatter:
    """What differs from blow to blow; the same for every article compared (common random numbers).

    Attributes
    ----------
    speed_factors : (blows,)
        Speed over what the mechanism would give.
    openings : (blows,)
        Index into the tool's gap openness.
    """

    speed_factors: FloatArray
    openings: IntArray


@dataclass(frozen=True, slots=True)
class Run:
    """One run.

    Attributes
    ----------
    time, clamp_load, speed, rebound, peak_torque, pulse_width : (blows,)
        Of each blow: when it ended, clamp load after it, hammer speed before and back after it, peak torque
        and pulse width at the bolt's head. [s, N, rad/s, rad/s, N·m, s]
    opening : (blows,)
        Index into the tool's gap openness.
    start_load
        Clamp load before the first blow. [N]
    torque_equivalent
        Torque that slow tightening to the last clamp load takes. [N·m]
    peaks : (joints,)
        Largest torque of the run at every joint, either way. [N·m]
    joints
        Names of the joints.
    own : (joints of the article,)
        Of `peaks`, those at the article's joints, as `list_joints` names them. [N·m]
    blow_rate
        Blows per second.
    simulated
        Blows that were simulated one by one to make it.
    ran_free
        The bolt came loose.
    """

    time: FloatArray
    clamp_load: FloatArray
    speed: FloatArray
    rebound: FloatArray
    peak_torque: FloatArray
    pulse_width: FloatArray
    opening: IntArray
    start_load: float
    torque_equivalent: float
    peaks: FloatArray
    joints: tuple[str, ...]
    own: FloatArray
    blow_rate: float
    simulated: int
    ran_free: bool

    @property
    def end_load(self) -> float:
        """Clamp load after the last blow. [N]"""
        return float(self.clamp_load[-1]) if self.clamp_load.size else self.start_load


@kernel(nogil=True, error_model="numpy")
def _hammer_each(
    bench: Bench,
    openness: FloatArray,
    speed: float,
    load: float,
    duration: float,
    factors: FloatArray,
    openings: IntArray,
    log: FloatArray,
    peaks: FloatArray,
) -> tuple[int, int, int]:
    """Every blow simulated, into `log`; number of blows, twice, and how the last one ended."""
    bench.windup[:] = 0.0
    row, ending = 0, 0
    _speed, pause = recover(bench.drive, 0.0)
    time = pause
    while row < log.shape[0] and time <= duration and ending < RAN_FREE:
        omega = speed * factors[row]
        ending = deliver(bench, openness[openings[row]], load, omega, peaks)
        log_blow(bench, time, omega, log[row])
        load = log[row, LOAD]
        speed, pause = recover(bench.drive, log[row, BACK])
        time += pause
        row += 1
    return row, row, ending


@kernel(nogil=True, error_model="numpy")
def _hammer(
    system: System,
    pace: Pace,
    size: int,
    drive: FloatArray,
    head: int,
    pieces: int,
    mapped: bool,
    openness: FloatArray,
    speed: float,
    load: float,
    tolerance: float,
    duration: float,
    factors: FloatArray,
    openings: IntArray,
    log: FloatArray,
    peaks: FloatArray,
) -> tuple[int, int, int]:
    """Set up the bench and hammer."""
    bench = make_bench(system, pace, size, drive, head, pieces)
    lost = 0
    if mapped:
        rows, simulated, ending = hammer_by_map(
            bench, openness[openings[0]], speed, load, duration, tolerance, log, peaks
        )
        if rows != GAVE_UP:
            return rows, simulated, ending
        lost = simulated
        peaks[:] = 0.0
    rows, simulated, ending = _hammer_each(
        bench, openness, speed, load, duration, factors, openings, log, peaks
    )
    return rows, simulated + lost, ending


def most_blows(tool: ToolModel, duration: float) -> int:
    """Most blows that a tool can strike in a time, for arrays that hold them all.

    Parameters
    ----------
    tool
        Its mechanism.
    duration
        [s]
    """
    drive = tool.mechanism
    if isinstance(drive, SpringCam):
        return int(duration / drive.interval) + 2
    return int(duration / (drive.travel / drive.free_speed + drive.dwell)) + 2


def draw_scatter(tool: ToolModel, duration: float, rng: np.random.Generator | None) -> Scatter:
    """The blow-to-blow scatter of a run, or none at all without a generator.

    Speeds are normal with the tool's coefficient of variation, cut at 3.5 standard deviations; gap states are
    equally likely.

    Parameters
    ----------
    tool
        Its scatter and gap states.
    duration
        Of the run. [s]
    rng
        The only source of chance; None for none.
    """
    blows = most_blows(tool, duration)
    middle = len(tool.gap_openness) // 2
    if rng is None:
        return Scatter(np.ones(blows), np.full(blows, middle, dtype=np.int64))
    normal = np.clip(rng.standard_normal(blows), -3.5, 3.5)
    openings = rng.integers(len(tool.gap_openness), size=blows)
    return Scatter(1.0 + tool.speed_scatter * normal, openings.astype(np.int64))


def simulate_run(
    chain: Chain,
    tool: ToolModel,
    *,
    duration: float = 10.0,
    scatter: Scatter | None = None,
    method: Literal["map", "every"] = "map",
    tolerance: float = TOLERANCE,
) -> Run:
    """One run of `duration` seconds.

    Parameters
    ----------
    chain
        As `build_chain` gives it; not changed.
    tool
        The one that the chain was built with.
    duration
        1 ms to 1 h. [s]
    scatter
        From `draw_scatter`; None: every blow as the mechanism gives it.
    method
        `map` carries the run on from a few simulated blows, `every` simulates each blow. Runs that scatter,
        loosen, or whose thread is seized are always simulated blow by blow.
    tolerance
        Of F² in one leap of the map, relative.

    Raises
    ------
    BadInput
        If the duration is out of range or the tool has no energy.
    DidNotConverge
        If a blow's contacts switch without end.

    References
    ----------
    docs/drivetrain.md.
    """
    require(duration, Range(1e-3, 3600.0, "s"), where="protocol.duration")
    require(tolerance, Range(1e-6, 0.1, ""), where="tolerance")
    if tool.blow_energy < 0.01:
        raise BadInput(
            f"{tool.blow_energy:.3g} J a blow",
            where="tool.blow_energy",
            allowed="0.01 J and more",
            fix="raise the hammer's inertia, its speed or the supply",
        )
    special = chain.system.clamp[CLAMP_RATE] <= 0.0 or bool(np.any(chain.system.bodies[:, SEIZED] > 0.0))
    mapped = method == "map" and scatter is None and not special
    scatter = scatter or draw_scatter(tool, duration, None)
    log = np.empty((scatter.speed_factors.size, 6))
    peaks = np.zeros(len(chain.joints))
    rows, simulated, ending = _hammer(
        chain.system,
        chain.pace,
        chain.size,
        pack_mechanism(tool),
        head_joint(chain.system),
        most_pieces(chain.pace),
        mapped,
        np.array(tool.gap_openness),
        tool.first_speed,
        chain.snug_load,
        tolerance,
        duration,
        scatter.speed_factors,
        scatter.openings,
        log,
        peaks,
    )
    if ending == TOO_MANY_EVENTS:
        raise DidNotConverge("the run", best=log[:rows], fix="add damping to the contacts or widen the gaps")
    return _as_run(chain, log[:rows], scatter.openings[:rows], peaks, simulated, ending == RAN_FREE)


def _as_run(
    chain: Chain, log: FloatArray, openings: IntArray, peaks: FloatArray, simulated: int, free: bool
) -> Run:
    rows = log.shape[0]
    end = float(log[-1, LOAD]) if rows else chain.snug_load
    span = float(log[-1, TIME] - log[0, TIME]) if rows > 1 else math.inf
    return Run(
        time=log[:, TIME].copy(),
        clamp_load=log[:, LOAD].copy(),
        speed=log[:, SPEED].copy(),
        rebound=log[:, BACK].copy(),
        peak_torque=log[:, HEAD_PEAK].copy(),
        pulse_width=log[:, PULSE].copy(),
        opening=openings,
        start_load=chain.snug_load,
        torque_equivalent=chain.torque_per_load * end,
        peaks=peaks,
        joints=chain.joints,
        own=peaks[list(chain.own)],
        blow_rate=(rows - 1) / span if rows > 1 else 0.0,
        simulated=simulated,
        ran_free=free,
    )
