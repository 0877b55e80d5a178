"""How far the engine is from a second integrator over many random chains, thirty blows each.

`python -m tests.blow_study 1000` prints median, 99 % and worst (about a minute per hundred chains and core).
"""

from __future__ import annotations

import argparse
from dataclasses import dataclass

import numpy as np
from joblib import Parallel, delayed
from tests.random_chains import draw_chain
from tests.reference_blow import reference_run

from strikeproof.drivetrain import simulate_run
from strikeproof.quantity import FloatArray

NAMES = ("end load", "head peak", "rebound", "pulse width", "joint peak")


@dataclass(frozen=True, slots=True)
class Misses:
    """Largest differences of a run, relative; rebounds as a share of the speed."""

    end_load: float
    head_peak: float
    rebound: float
    pulse_width: float
    joint_peak: float

    def as_row(self) -> FloatArray:
        """In the order of `NAMES`."""
        return np.array([self.end_load, self.head_peak, self.rebound, self.pulse_width, self.joint_peak])


def miss_of(seed: int, blows: int = 30) -> Misses:
    """Engine against reference on one random chain."""
    chain, tool, luck = draw_chain(seed, blows)
    run = simulate_run(chain, tool, duration=3600.0, scatter=luck)
    reference = reference_run(chain, tool, luck)
    rows = min(run.speed.size, reference.speed.size)
    scale = max(reference.clamp_load[-1], 0.01 * chain.snug_load)

    def worst(one: FloatArray, other: FloatArray, over: FloatArray | float) -> float:
        return float(np.max(np.abs(one[:rows] - other[:rows]) / over, initial=0.0))

    return Misses(
        abs(run.end_load - float(reference.clamp_load[-1])) / scale,
        worst(run.peak_torque, reference.peak_torque, reference.peak_torque[:rows].max()),
        worst(run.rebound, reference.rebound, reference.speed[:rows]),
        worst(run.pulse_width, reference.pulse_width, reference.pulse_width[:rows].max()),
        float(np.max(np.abs(run.peaks - reference.peaks) / np.maximum(reference.peaks, 1.0))),
    )


def main() -> None:
    """Print the table."""
    asked = argparse.ArgumentParser(description=__doc__)
    asked.add_argument("chains", type=int, nargs="?", default=100)
    asked.add_argument("--first", type=int, default=0, help="seed of the first chain")
    asked.add_argument("--jobs", type=int, default=1)
    given = asked.parse_args()
    seeds = range(given.first, given.first + given.chains)
    found = np.array([m.as_row() for m in Parallel(given.jobs)(delayed(miss_of)(s) for s in seeds)])
    print(f"{given.chains} chains, 30 blows each")
    for name, column in zip(NAMES, found.T, strict=True):
        order = np.argsort(column)[::-1]
        worst = ", ".join(f"{column[i]:.1e} ({seeds[i]})" for i in order[:4])
        middle, high = np.median(column), np.quantile(column, 0.99)
        print(f"{name:12s} median {middle:.1e}, 99 % {high:.1e}, worst {worst}")


if __name__ == "__main__":
    main()
