"""Where the joules of a blow go."""

from __future__ import annotations

from dataclasses import dataclass, fields, replace

import numpy as np

from strikeproof.drivetrain.blow import Blow, simulate_blow
from strikeproof.drivetrain.bounds import Range, require
from strikeproof.drivetrain.chain import Chain
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
    THREAD,
)
from strikeproof.quantity import BoolArray, FloatArray

__all__ = ["Ledger", "RunLedger", "account_blow", "account_run"]

LEDGER_FINENESS = 2


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
    """Energy of a whole run: the total, and the blows [1-based] it was drawn from with their ledgers."""

    total: Ledger
    blows: tuple[int, ...]
    ledgers: tuple[Ledger, ...]


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
    bodies, clamp = chain.system.bodies, chain.system.clamp
    thread = int(clamp[THREAD])
    lost = blow.works - (blow.stored_after - blow.stored_before)
    kept = _kept_joints(chain)
    windup = float(np.sum((blow.stored_after - blow.stored_before)[kept]))
    clamp_work = 0.0
    if thread >= 0 and clamp[CLAMP_RATE] != 0.0:
        stiffness = clamp[CLAMP_RATE] / bodies[thread, PITCH]
        clamp_work = 0.5 * (blow.load_after**2 - blow.load_before**2) / stiffness
    inertia = bodies[0, INERTIA]
    shares = _head_share(chain, thread)
    return Ledger(
        hammer_in=0.5 * inertia * blow.speed**2,
        rebound=0.5 * inertia * blow.rebound**2,
        joints=tuple(zip(chain.joints, lost.tolist(), strict=True)),
        head_friction=float(blow.heats @ shares),
        thread_friction=float(blow.heats @ (1.0 - shares)),
        clamp_work=clamp_work,
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


def account_run(chain: Chain, tool: ToolModel, run: Run, *, blows: int = 12) -> RunLedger:
    """Ledger of a run: simulated for some blows, spread from the first to the last, and read between them.

    Each of them closes within 0.1 %, and what is linear between closed ledgers closes as well.

    Parameters
    ----------
    chain, tool
        The run's own.
    run
        As `simulate_run` gives it.
    blows
        How many are simulated again, at the most.

    Raises
    ------
    DidNotConverge
        If the contacts of a blow switch without end.
    """
    count = run.clamp_load.size
    chosen = (
        np.unique(np.geomspace(1, count, min(blows, count)).round().astype(int))
        if count
        else np.zeros(0, int)
    )
    ledgers = tuple(account_blow(chain, blow_of_run(chain, tool, run, int(n))) for n in chosen)
    numbers = np.arange(1, count + 1)
    table = np.array([_flatten(ledger) for ledger in ledgers]).reshape(len(chosen), -1)
    sums = [float(np.interp(numbers, chosen, column).sum()) for column in table.T] if count else []
    total = _unflatten(sums or [0.0] * (7 + len(chain.joints)), chain.joints)
    return RunLedger(total, tuple(int(n) for n in chosen), ledgers)


def _flatten(ledger: Ledger) -> list[float]:
    entries = [getattr(ledger, f.name) for f in fields(ledger) if f.name != "joints"]
    return entries + [value for _name, value in ledger.joints]


def _unflatten(values: list[float], names: tuple[str, ...]) -> Ledger:
    head, tail = values[:7], values[7:]
    return Ledger(head[0], head[1], tuple(zip(names, tail, strict=True)), *head[2:])


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
    require(number, Range(1, run.clamp_load.size, ""), where="blow", mend="name a blow of the run")
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
