"""Where the joules of a blow go."""

from __future__ import annotations

from dataclasses import dataclass, fields, replace

import numpy as np

from strikeproof.drivetrain.bench import Bench, deliver, make_bench
from strikeproof.drivetrain.blow import Blow, head_joint, simulate_blow
from strikeproof.drivetrain.bounds import Range, require
from strikeproof.drivetrain.chain import Chain
from strikeproof.drivetrain.exact import CLAMPED, HEAT, RAN_FREE, TOO_MANY_EVENTS, VIBRATION, WORK
from strikeproof.drivetrain.records import ToolModel
from strikeproof.drivetrain.run import Run
from strikeproof.drivetrain.system import (
    CLAMP_RATE,
    DRAG,
    FIRST,
    GRIP,
    INERTIA,
    PITCH,
    SECOND,
    SEIZED,
    STIFFNESS,
    THREAD,
)
from strikeproof.drivetrain.tally import stored_energy
from strikeproof.errors import DidNotConverge
from strikeproof.kernels import kernel
from strikeproof.quantity import BoolArray, FloatArray

__all__ = ["Ledger", "RunLedger", "account_blow", "account_run"]

LEDGER_FINENESS = 2
OPEN_SHARE = 1e-3  # of the clamp work, by which it may differ from what the joint has stored
# columns of the record of a run's blows, then the joints' losses and the bodies' heats
LOAD, BACK, LEFT, CLAMP, KEPT, LOST = range(6)


@dataclass(frozen=True, slots=True)
class Ledger:
    """Energy of one blow [J]; `hammer_in` equals the sum of all others but for `unaccounted`.

    Attributes
    ----------
    hammer_in, rebound
        Kinetic energy of the hammer before and after.
    joints : (name, J)
        Lost in each joint: damping, leak, slip, and what a contact springs back after it opened.
    head_friction, thread_friction
        Heat under the head and in the thread.
    clamp_work
        Work against the pitch: what stays in the clamped joint.
    windup
        Twist that friction keeps in the bolt's shank.
    vibration
        Left in moving parts and tight contacts; it dies out before the next blow.
    """

    hammer_in: float
    rebound: float
    joints: tuple[tuple[str, float], ...]
    head_friction: float
    thread_friction: float
    clamp_work: float
    windup: float
    vibration: float

    @property
    def unaccounted(self) -> float:
        """What the entries leave open. [J]"""
        out = sum(getattr(self, f.name) for f in fields(self)[3:]) + self.rebound
        return float(self.hammer_in - out - sum(value for _name, value in self.joints))

    def as_json(self) -> dict[str, object]:
        """Entries in joules."""
        plain = {f"{f.name}_j": getattr(self, f.name) for f in fields(self) if f.name != "joints"}
        joints = [{"joint": name, "lost_j": value} for name, value in self.joints]
        return {**plain, "joints": joints, "unaccounted_j": self.unaccounted}


@dataclass(frozen=True, slots=True)
class RunLedger:
    """Energy of a whole run.

    Attributes
    ----------
    total
        Sum over every blow; `clamp_work` is the torque of the pitch, integrated along the thread's turning.
    blows, ledgers
        Some of the blows [1-based], spread from the first to the last, and their ledgers.
    clamp_energy
        ½ (F² after the run − F² before)/K, what the clamped joint has stored: equals `total.clamp_work`. [J]
    """

    total: Ledger
    blows: tuple[int, ...]
    ledgers: tuple[Ledger, ...]
    clamp_energy: float


def account_blow(chain: Chain, blow: Blow) -> Ledger:
    """The ledger of a blow; simulate it with `fineness=2` or more to close it within 0.1 %.

    Parameters
    ----------
    chain
        The blow's own.
    blow
        Its motion is not needed.

    References
    ----------
    Derived here: kinetic energy of the hammer less works, heats and what is stored (docs/drivetrain.md,
    Numerics).
    """
    bodies, thread = chain.system.bodies, int(chain.system.clamp[THREAD])
    lost = blow.works - (blow.stored_after - blow.stored_before)
    kept = _kept_joints(chain)
    windup = float(np.sum((blow.stored_after - blow.stored_before)[kept]))
    inertia = bodies[0, INERTIA]
    shares = _head_share(chain, thread)
    return Ledger(
        hammer_in=0.5 * inertia * blow.speed**2,
        rebound=0.5 * inertia * blow.rebound**2,
        joints=tuple(zip(chain.joints, lost.tolist(), strict=True)),
        head_friction=float(blow.heats @ shares),
        thread_friction=float(blow.heats @ (1.0 - shares)),
        clamp_work=_stored_in_clamp(chain, blow.load_before, blow.load_after),
        windup=windup,
        vibration=blow.vibration,
    )


def _kept_joints(chain: Chain) -> BoolArray:
    """Which joints lie between two braked bodies."""
    braked = (chain.system.bodies[:, GRIP] > 0.0) | (chain.system.bodies[:, DRAG] > 0.0)
    links = chain.system.links
    found: BoolArray = braked[links[:, FIRST]] & braked[links[:, SECOND]]
    return found


def _head_share(chain: Chain, thread: int) -> FloatArray:
    """Share of each body's friction heat that is under the head: by arm when the bolt is one body."""
    shares = np.ones(len(chain.bodies))
    if thread >= 0:
        shares[thread] = chain.head_share
    return shares


@kernel(nogil=True, error_model="numpy")
def _record(bench: Bench, openness: FloatArray, speeds: FloatArray, load: float, table: FloatArray) -> int:
    """Every blow of a run once more, each from what the one before left; rows of `table`, how it ended.

    A row: clamp load after, rebound, vibration left, work against the pitch, energy of the
    remaining twist, then what each joint lost and the heat of each body. [N, rad/s, J]
    """
    system, n, m = bench.system, bench.brakes.size, bench.joints.size
    scratch, before, ending, row = np.zeros(m), np.zeros(m), 0, 0
    bench.windup[:] = 0.0
    while row < speeds.size and ending < RAN_FREE:
        for joint in range(m):
            before[joint] = 0.5 * system.springs[joint, STIFFNESS] * bench.windup[joint] ** 2
        ending = deliver(bench, openness[row], load, speeds[row], scratch)
        found, load = table[row], bench.state[2 * n]
        found[LOAD], found[BACK], found[LEFT] = load, -bench.state[n], bench.outcome.facts[VIBRATION]
        found[CLAMP], found[KEPT] = bench.outcome.brakes[CLAMPED].sum(), 0.0
        for joint in range(m):
            state, x = bench.joints[joint], bench.state
            gained = stored_energy(n, system.links, system.springs, joint, state, x) - before[joint]
            found[LOST + joint] = bench.outcome.joints[WORK, joint] - gained
            first, second = system.links[joint, FIRST], system.links[joint, SECOND]
            if bench.room.braked[first] and bench.room.braked[second]:
                found[KEPT] += gained
        found[LOST + m :] = bench.outcome.brakes[HEAT]
        row += 1
    return ending


def account_run(chain: Chain, tool: ToolModel, run: Run, *, blows: int = 12) -> RunLedger:
    """Ledger of a run, recorded along all its blows: each from the clamp load and twist the one before left.

    A run whose blows were carried on by the blow map is recorded blow by blow at the same speeds.

    Parameters
    ----------
    chain, tool
        The run's own.
    run
        As `simulate_run` gives it.
    blows
        How many are listed by themselves, at the most.

    Raises
    ------
    DidNotConverge
        If the contacts of a blow switch without end, or the work against the pitch is not what the clamped
        joint has stored; `best` is the ledger.
    """
    count, n, m = run.speed.size, len(chain.bodies), len(chain.joints)
    pace = chain.pace._replace(step=chain.pace.step / LEDGER_FINENESS)
    bench = make_bench(chain.system, pace, chain.size, np.zeros(6), head_joint(chain.system), 0)
    table = np.zeros((count, LOST + m + n))
    openness = np.array(tool.gap_openness)[run.opening]
    if _record(bench, openness, run.speed, run.start_load, table) == TOO_MANY_EVENTS:
        raise DidNotConverge(
            "the run's ledger", best=run, fix="add damping to the contacts or widen the gaps"
        )
    chosen: list[int] = (
        [] if count == 0 else sorted({round(i) for i in np.geomspace(1, count, min(blows, count))})
    )
    ledgers = tuple(_read_row(chain, table[[i - 1]], run.speed[[i - 1]]) for i in chosen)
    end = float(table[-1, LOAD]) if count else run.start_load
    stored = _stored_in_clamp(chain, run.start_load, end)
    ledger = RunLedger(_read_row(chain, table, run.speed), tuple(chosen), ledgers, stored)
    if abs(ledger.total.clamp_work - stored) > OPEN_SHARE * (
        abs(stored) + OPEN_SHARE * ledger.total.hammer_in
    ):
        raise DidNotConverge("the run's clamp work", best=ledger, fix="simulate every blow in finer steps")
    return ledger


def _read_row(chain: Chain, rows: FloatArray, speeds: FloatArray) -> Ledger:
    """Ledger of rows of the record, added up."""
    inertia, shares = chain.system.bodies[0, INERTIA], _head_share(chain, int(chain.system.clamp[THREAD]))
    total, m = rows.sum(axis=0), len(chain.joints)
    heats = total[LOST + m :]
    return Ledger(
        hammer_in=float(0.5 * inertia * np.sum(speeds**2)),
        rebound=float(0.5 * inertia * np.sum(rows[:, BACK] ** 2)),
        joints=tuple(zip(chain.joints, total[LOST : LOST + m].tolist(), strict=True)),
        head_friction=float(heats @ shares),
        thread_friction=float(heats @ (1.0 - shares)),
        clamp_work=float(total[CLAMP]),
        windup=float(total[KEPT]),
        vibration=float(total[LEFT]),
    )


def _stored_in_clamp(chain: Chain, before: float, after: float) -> float:
    """½ (F² after − F² before)/K, the joint being linear. [J]"""
    bodies, clamp = chain.system.bodies, chain.system.clamp
    thread = int(clamp[THREAD])
    if thread < 0 or clamp[CLAMP_RATE] == 0.0:
        return 0.0
    return float(0.5 * (after**2 - before**2) * bodies[thread, PITCH] / clamp[CLAMP_RATE])


def blow_of_run(
    chain: Chain,
    tool: ToolModel,
    run: Run,
    number: int,
    *,
    keep_motion: bool = False,
    fineness: int = LEDGER_FINENESS,
) -> Blow:
    """Blow `number` of a run again, 1-based, with the twist that the blow before it left in the shank.

    Parameters
    ----------
    chain, tool
        The run's own.
    run
        As `simulate_run` gives it.
    number
        From 1.
    keep_motion
        Whether every step is stored.
    fineness
        Divides the march step.

    Raises
    ------
    BadInput
        If the run has no such blow.
    DidNotConverge
        If the contacts of the blow switch without end.
    """
    require(number, Range(1, run.clamp_load.size, ""), where="blow", fix="name a blow of the run")
    if number == 1:
        load, windup = run.start_load, np.zeros(len(chain.joints))
    else:
        load = float(run.clamp_load[number - 2])
        before = run.start_load if number == 2 else float(run.clamp_load[number - 3])
        earlier = simulate_blow(
            _found_at(chain, run, before),
            speed=float(run.speed[number - 2]),
            load=before,
            openness=tool.gap_openness[int(run.opening[number - 2])],
        )
        windup = earlier.windup
    return simulate_blow(
        _found_at(chain, run, load),
        speed=float(run.speed[number - 1]),
        load=load,
        openness=tool.gap_openness[int(run.opening[number - 1])],
        windup=windup,
        keep_motion=keep_motion,
        fineness=fineness,
    )


def _found_at(chain: Chain, run: Run, load: float) -> Chain:
    """The chain as a blow finds it: a seized thread has moved once the load is not that of the start."""
    if load == run.start_load or not np.any(chain.system.bodies[:, SEIZED] > 0.0):
        return chain
    bodies = chain.system.bodies.copy()
    bodies[:, SEIZED] = 0.0
    return replace(chain, system=chain.system._replace(bodies=bodies))


__all__ += ["blow_of_run"]
