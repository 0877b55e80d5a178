"""How far the engine is from a second integrator over many random chains, thirty blows each.

`python -m tests.blow_study 300` prints median, 99 % and worst (two minutes per hundred chains and core).

Riders that rattle make some chains chaotic: a difference in the last digit grows from contact to contact. The
second integrator says which: a chain is chaotic if its first blow, faster or slower by 1e-12, changes one of
the results by more than may be missed there. Nothing can be checked of such a run but its beginning. Figures
are printed of all chains and of those that are not chaotic; only chains that miss a goal are tried for it.
"""

from __future__ import annotations

import argparse
from dataclasses import dataclass

import numpy as np
from joblib import Parallel, delayed
from tests.random_chains import draw_chain
from tests.reference_blow import ReferenceRun, reference_run

from strikeproof.drivetrain import Run, simulate_run
from strikeproof.quantity import FloatArray

NAMES = ("end load", "head peak", "rebound", "pulse width", "joint peak")
GOALS = np.array([1e-4, 1e-3, 1e-3])  # of the first three
FINE = (
    0.008  # radians of the fastest vibration, where the usual step of the second integrator may be too long
)
NUDGE = 1e-12


@dataclass(frozen=True, slots=True)
class Misses:
    """Largest differences of a run, relative; rebounds as a share of the speed."""

    end_load: float
    head_peak: float
    rebound: float
    pulse_width: float
    joint_peak: float
    chaotic: bool = False

    def as_row(self) -> FloatArray:
        """In the order of `NAMES`."""
        return np.array([self.end_load, self.head_peak, self.rebound, self.pulse_width, self.joint_peak])


def _compare(run: Run | ReferenceRun, reference: ReferenceRun, least_load: float) -> FloatArray:
    """Largest differences in the order of `NAMES`."""
    rows = min(run.speed.size, reference.speed.size)
    scale = max(reference.clamp_load[-1], least_load)

    def worst(one: FloatArray, other: FloatArray, over: FloatArray | float) -> float:
        return float(np.max(np.abs(one[:rows] - other[:rows]) / over, initial=0.0))

    return np.array(
        [
            abs(run.clamp_load[-1] - reference.clamp_load[-1]) / scale,
            worst(run.peak_torque, reference.peak_torque, reference.peak_torque[:rows].max()),
            worst(run.rebound, reference.rebound, reference.speed[:rows]),
            worst(run.pulse_width, reference.pulse_width, reference.pulse_width[:rows].max()),
            float(np.max(np.abs(run.peaks - reference.peaks) / np.maximum(reference.peaks, 1.0))),
        ]
    )


def miss_of(seed: int, blows: int = 30) -> Misses:
    """Engine against reference on one random chain; in finer steps where that may matter."""
    chain, tool, luck = draw_chain(seed, blows)
    run = simulate_run(chain, tool, duration=3600.0, scatter=luck)
    least = 0.01 * chain.snug_load
    found, chaotic = _compare(run, reference_run(chain, tool, luck), least), False
    if np.any(found[:3] > 0.1 * GOALS):
        fine = reference_run(chain, tool, luck, step=FINE)
        found = _compare(run, fine, least)
        if np.any(found[:3] > GOALS):
            for nudge in (NUDGE, -NUDGE):
                nudged = reference_run(chain, tool, luck, step=FINE, nudge=nudge)
                chaotic = chaotic or bool(np.any(_compare(nudged, fine, least)[:3] > GOALS))
    return Misses(*(float(value) for value in found), chaotic)


def _print(rows: FloatArray, seeds: FloatArray) -> None:
    for name, column in zip(NAMES, rows.T, strict=True):
        order = np.argsort(column)[::-1]
        worst = ", ".join(f"{column[i]:.1e} ({seeds[i]})" for i in order[:4])
        middle, high = np.median(column), np.quantile(column, 0.99)
        print(f"{name:12s} median {middle:.1e}, 99 % {high:.1e}, worst {worst}")


def main() -> None:
    """Print the tables."""
    asked = argparse.ArgumentParser(description=__doc__)
    asked.add_argument("chains", type=int, nargs="?", default=100)
    asked.add_argument("--first", type=int, default=0, help="seed of the first chain")
    asked.add_argument("--jobs", type=int, default=1)
    given = asked.parse_args()
    seeds = np.arange(given.first, given.first + given.chains)
    found = Parallel(given.jobs)(delayed(miss_of)(int(seed)) for seed in seeds)
    rows, chaotic = np.array([m.as_row() for m in found]), np.array([m.chaotic for m in found])
    print(f"{given.chains} chains, 30 blows each")
    _print(rows, seeds)
    print(f"without {chaotic.sum()} that are chaotic: {', '.join(map(str, seeds[chaotic]))}")
    _print(rows[~chaotic], seeds[~chaotic])


if __name__ == "__main__":
    main()
