"""What a comparison of a simulated campaign got right and wrong."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from joblib import Parallel, delayed
from scipy.stats import t as student
from tests.validity.campaigns import Truth, simulate_campaign

from strikeproof.judge.comparison import compare_runs
from strikeproof.judge.records import Comparison

__all__ = ["DRAWS", "Counts", "run_scene"]

DRAWS = 999
MARGIN = 3.0


@dataclass(frozen=True, slots=True)
class Counts:
    """What happened in one campaign, as 0 or 1; `alone` is a share of the comparisons.

    `decided` is the share of the articles that truly differ which are called so, `decided_by_interval` that
    which the interval alone would call so; NaN where none differs.
    """

    t_error: float
    randomisation_error: float
    covered: float
    alone: float
    said_error: float
    wrong_same: float
    in_control: float
    decided: float
    decided_by_interval: float


def judge_campaign(truth: Truth, seed: np.random.SeedSequence) -> Counts:
    """Simulate, compare and count one campaign."""
    rng = np.random.default_rng(seed)
    result = compare_runs(
        simulate_campaign(truth, rng), reference="plain", margin_percent=MARGIN, rng=rng, draws=DRAWS
    )
    return count(result, truth)


def count(result: Comparison, truth: Truth) -> Counts:
    """Set a comparison against its truth."""
    rows = [row for row in result.results if row.verdict != "reference" and row.p is not None]
    gains = np.asarray([truth.gains[int(row.article.split("-")[1])] for row in rows])
    true = np.log1p(gains / 100.0)
    low, middle, high = (
        np.asarray([getattr(row, f"{part}_percent") for row in rows]) for part in ("low", "gain", "high")
    )
    middle, high = np.log1p(middle / 100.0), np.log1p(high / 100.0)
    null = gains == 0.0
    half = student.ppf(0.975, result.degrees_of_freedom) * (high - middle) / result.critical_value
    same = np.asarray([row.verdict == "same" for row in rows])
    p = np.asarray([row.p for row in rows])
    second = np.asarray([row.p_randomisation for row in rows], dtype=np.float64)
    differs = ~null
    right = [
        row.verdict == ("higher" if gain > 0.0 else "lower") for row, gain in zip(rows, gains, strict=True)
    ]
    nearly = [
        row.unconfirmed and row.gain_percent * gain > 0.0 for row, gain in zip(rows, gains, strict=True)
    ]
    decided, by_interval = np.asarray(right), np.asarray(right) | np.asarray(nearly)
    return Counts(
        t_error=float(np.any(p[null] < 0.05)),
        randomisation_error=float(np.any(second[null] < 0.05)),
        covered=float(np.all((low <= gains) & (true <= high))),
        alone=float(np.mean(np.abs(middle - true) <= half)),
        said_error=float(np.any(null & [row.verdict in ("higher", "lower") for row in rows])),
        wrong_same=float(np.any(same & (np.abs(gains) >= result.margin_percent * (1.0 - 1e-9)))),
        in_control=float(result.rig.state == "in control"),
        decided=float(np.mean(decided[differs])) if differs.any() else np.nan,
        decided_by_interval=float(np.mean(by_interval[differs])) if differs.any() else np.nan,
    )


def run_scene(truth: Truth, seed: np.random.SeedSequence, campaigns: int) -> dict[str, np.ndarray]:
    """Counts of many campaigns, by name."""
    jobs = (delayed(judge_campaign)(truth, each) for each in seed.spawn(campaigns))
    counts = Parallel(n_jobs=2, batch_size=20)(jobs)
    return {name: np.asarray([getattr(each, name) for each in counts]) for name in Counts.__slots__}
