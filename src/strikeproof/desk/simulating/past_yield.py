"""From which blow on a simulated bolt would have yielded; the bolt of the model itself stays elastic."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Any

import numpy as np

from strikeproof.drivetrain import BoltModel, Run
from strikeproof.joint import BoltYield

__all__ = ["PastYield", "find_past_yield", "load_at_yield", "scattered_yield_words"]

_SHANK = "head to thread"  # the joint that a shank with a twist of its own is


@dataclass(frozen=True, slots=True)
class PastYield:
    """Of a run.

    Attributes
    ----------
    blow, time
        The first one after which the load is past yield, and when it is. [-, s]
    load
        Clamp load at which tension and torsion together make the bolt yield. [N]
    most
        Largest clamp load of the run, too high by `excess` of itself at most. [N]
    """

    blow: int
    time: float
    load: float
    most: float

    @property
    def excess(self) -> float:
        """By which share of itself the largest load may be too high."""
        return 1.0 - self.load / self.most

    def as_json(self) -> dict[str, Any]:
        """All of it under keys that carry their unit."""
        return {"blow": self.blow, "t": self.time, "load_n": self.load, "too_high_at_most": self.excess}

    @property
    def words(self) -> str:
        """What it means, as a caution."""
        return (
            f"From blow {self.blow} on, at {self.time:.3g} s, tension and torsion together make a bolt of "
            f"its class yield, at {self.load / 1e3:.4g} kN. The simulated bolt stays elastic, so clamp loads "
            f"beyond that are too high: instead of {self.most / 1e3:.4g} kN it may be as little as "
            f"{self.load / 1e3:.4g} kN (too high by {100 * self.excess:.2g} % at most). A bolt that has "
            "yielded is not used again: shorten the run, lower the supply or take a stronger bolt."
        )


def load_at_yield(run: Run, bolt: BoltModel, yields: BoltYield | None) -> float:
    """Clamp load at which tension and torsion make a run's bolt yield; inf where that is not known. [N]

    The shank carries what the thread takes when it turns slowly, or in proportion more where the run's
    largest torque in the shank is more than that at its largest clamp load.

    Parameters
    ----------
    run
        As simulated.
    bolt
        Gives thread and friction.
    yields
        Of its class.

    References
    ----------
    VDI 2230-1:2015, step R8 (from memory).
    """
    most = float(run.clamp_load.max(initial=0.0))
    if yields is None or most <= 0.0:
        return math.inf
    lever = bolt.pitch / (2.0 * np.pi) + bolt.thread_friction * bolt.thread_radius / np.cos(bolt.flank_angle)
    lever += bolt.prevailing_torque / most
    if _SHANK in run.joints:
        lever = max(lever, float(run.peaks[run.joints.index(_SHANK)]) / most)
    return yields.load(float(lever))


def find_past_yield(run: Run, bolt: BoltModel, yields: BoltYield | None) -> PastYield | None:
    """Where a run goes beyond the yield of its bolt; None where it does not or the class is not known.

    The load is that of `load_at_yield`. Once it yields, a bolt of the class holds at least the load at which
    it began, so the excess over that is the most that a figure can be too high; a bolt that is stronger than
    its class asks for, or hardens, carries more.

    Parameters
    ----------
    run
        As simulated.
    bolt
        Gives thread and friction.
    yields
        Of its class.
    """
    load = load_at_yield(run, bolt, yields)
    past = np.flatnonzero(run.clamp_load > load)
    if not past.size:
        return None
    first = int(past[0])
    return PastYield(first + 1, float(run.time[first]), load, float(run.clamp_load.max()))


def scattered_yield_words(run: Run, bolt: BoltModel, yields: BoltYield | None, largest: float) -> str:
    """That a run with scatter takes the bolt beyond its yield where the run without does not; "" else.

    Parameters
    ----------
    largest
        Clamp load of the largest run that scatters. [N]
    """
    load, most = load_at_yield(run, bolt, yields), float(run.clamp_load.max(initial=0.0))
    if not most <= load < largest:
        return ""
    return (
        f"With the tool's scatter the clamp load reaches {largest / 1e3:.4g} kN, {largest / most:.2g} times "
        f"that of the run without; tension and torsion together make a bolt of its class yield at "
        f"{load / 1e3:.4g} kN. Shorten the run, lower the supply or take a stronger bolt."
    )
