"""How far the gain of the best proposal is off, by the draws that chose it and by fresh ones.

Run `python -m tests.design_bias --benches 40`. Every bench is drawn from the priors of a tool's class with a
seed that no study of the search has used, and so is the true world; nothing was tuned on them. No campaign is
fitted: what is looked at is what choosing the best of thousands does to its figure.
"""

from __future__ import annotations

import argparse
import sys

import numpy as np

from strikeproof.design.finishing import BEYOND
from strikeproof.design.fresh import gains_anew
from strikeproof.design.judging import Strain, run_worlds
from strikeproof.design.reading import read_brief
from strikeproof.design.search import QUICK, search_designs
from strikeproof.desk.explaining.belief import believe_bench
from strikeproof.errors import BadInput
from strikeproof.explain.article_model import article_model

SEED = 20_261_201
BRIEF = {
    "brief": {"name": "bias", "hexagon_mm": 27, "drive_mm": 12.7, "largest_mass_kg": 2.0, "proposals": 1},
    "envelope": {"free_length_mm": 100, "nearest_wall_mm": 70},
    "stock": [
        {"item": "bar 50 mm", "material": "42CrMo4 +QT"},
        {"item": "bar 80 mm", "material": "42CrMo4 +QT"},
    ],
}
ARTICLE = {"name": "plain", "mass_kg": 0.4, "polar_inertia_kg_m2": 8e-5, "stiffness_n_m_per_rad": 20000.0}


def run_bench(number: int) -> tuple[float, float, float, float] | None:
    """Gain of the best proposal in percent: by the draws that chose it, by fresh ones, in the true world; and
    whether the 90 % interval of the fresh ones holds that."""
    mechanism = ("air", "spring-and-cam")[number % 2]
    bench = {
        "tool": {"name": "tool", "mechanism": mechanism},
        "article": ARTICLE,
        "bolt": {"thread": "M18", "class": "10.9"},
        "protocol": {"duration": "5 s"},
    }
    belief = believe_bench(bench, (), SEED + number, quick=True)
    truth = believe_bench(bench, (), SEED + 100_000 + number, quick=True).worlds.draws[0]
    try:
        found = search_designs(
            read_brief(BRIEF), belief.worlds, rng=np.random.default_rng([SEED, number]), effort=QUICK
        )
    except BadInput:
        return None
    if not found.proposals:
        return None
    best = found.proposals[0]
    (fresh,) = gains_anew([best], belief.fresh)
    true = float(run_worlds([article_model(best.properties)], [truth], Strain()).gains[0, 0, 0])
    low, high = np.quantile(fresh.gains[:, 0], [1.0 - BEYOND, BEYOND])
    chosen, anew = (100.0 * float(np.expm1(np.median(each.gains[:, 0]))) for each in (best, fresh))
    return chosen, anew, 100.0 * float(np.expm1(true)), float(low <= true <= high)


def main() -> int:
    """Work through the benches and print what was found."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--benches", type=int, default=40)
    benches = parser.parse_args().benches
    rows = []
    for number in range(benches):
        row = run_bench(number)
        print(number, row, file=sys.stderr, flush=True)
        rows += [] if row is None else [row]
    chosen, anew, true, held = np.array(rows).T
    for name, values in (("by the draws that chose", chosen), ("by fresh draws", anew)):
        off = values - true
        print(f"{name}: bias {off.mean():+.2f} ± {off.std(ddof=1) / len(off) ** 0.5:.2f} points of gain")
    less = chosen - anew
    print(f"chosen less fresh: {less.mean():+.2f} ± {less.std(ddof=1) / len(less) ** 0.5:.2f} points of gain")
    print(f"true gain inside the 90 % interval: {100 * held.mean():.0f} % of {len(held)}")
    return 0


if __name__ == "__main__":
    sys.exit(main())
