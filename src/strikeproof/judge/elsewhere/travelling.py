"""What benches make of the same article: robust mean, E_n, repeatability and reproducibility."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final

import numpy as np

from strikeproof.errors import TooFewRuns
from strikeproof.quantity import FloatArray

__all__ = [
    "Level",
    "Precision",
    "Robust",
    "agreement_score",
    "find_precision",
    "precision_of_levels",
    "robust_mean",
]

WINSORISED_AT: Final = 1.5
CONSISTENT: Final = 1.134
"""Makes the deviation of numbers cut at 1.5 of it that of a bell curve (ISO 13528:2015, C.3.1)."""
FROM_MEDIAN: Final = 1.483
UNCERTAINTY: Final = 1.25
"""Of a robust mean against that of a plain one (ISO 13528:2015, 7.7.3, from memory)."""
ROUNDS: Final = 200


@dataclass(frozen=True, slots=True)
class Robust:
    """A mean that single odd values do not move, its standard deviation and its standard uncertainty."""

    mean: float
    deviation: float
    uncertainty: float


def robust_mean(values: FloatArray) -> Robust:
    """Algorithm A of ISO 13528:2015, C.3.1.

    Parameters
    ----------
    values : (n,)
        One of each bench, two or more.

    Raises
    ------
    TooFewRuns
        If there are fewer than two.

    References
    ----------
    ISO 13528:2015, annex C.3.1; Analytical Methods Committee, *Analyst* 114 (1989) 1693 (both from memory).
    """
    if len(values) < 2:
        raise TooFewRuns("robust mean", got=len(values), needed=2, kind="values")
    mean = float(np.median(values))
    deviation = FROM_MEDIAN * float(np.median(np.abs(values - mean)))
    if deviation == 0.0:
        deviation = float(np.std(values, ddof=1))
    for _ in range(ROUNDS):
        cut = np.clip(values, mean - WINSORISED_AT * deviation, mean + WINSORISED_AT * deviation)
        before = mean, deviation
        mean, deviation = float(cut.mean()), CONSISTENT * float(cut.std(ddof=1))
        if abs(deviation - before[1]) <= 1e-10 * deviation and abs(mean - before[0]) <= 1e-10 * deviation:
            break
    return Robust(mean, deviation, UNCERTAINTY * deviation / float(np.sqrt(len(values))))


def agreement_score(value: float, uncertainty: float, assigned: float, of_assigned: float) -> float:
    """E_n: how far a value lies from the assigned one, in expanded uncertainties (k = 2) of both.

    Beyond 1 either way the bench, or what it says of its uncertainty, is to be looked into.

    Parameters
    ----------
    value, uncertainty
        Of the bench; standard uncertainty.
    assigned, of_assigned
        What it should find, and the standard uncertainty of that, without a share of this bench.

    References
    ----------
    ISO 13528:2015, 9.7 (from memory).
    """
    return float((value - assigned) / (2.0 * np.hypot(uncertainty, of_assigned)))


@dataclass(frozen=True, slots=True)
class Level:
    """What a bench found of one article: mean and variance of its log scores, and how many there are."""

    bench: str
    mean: float
    variance: float
    runs: int


@dataclass(frozen=True, slots=True)
class Precision:
    """Mean of all; standard deviation of one bench's runs, from bench to bench, and of runs on any bench."""

    mean: float
    repeatability: float
    between: float
    reproducibility: float


def find_precision(means: FloatArray, variances: FloatArray, counts: Sequence[int]) -> Precision:
    """Repeatability and reproducibility of benches that each ran the same article.

    Parameters
    ----------
    means, variances : (benches,)
        Of each bench's runs; the variance of a single run means nothing.
    counts
        Runs of each bench.

    Raises
    ------
    TooFewRuns
        If there are fewer than two benches, or none has two runs.

    References
    ----------
    ISO 5725-2:2019, 7.4 (from memory).
    """
    runs = np.asarray(counts, dtype=np.float64)
    if len(runs) < 2:
        raise TooFewRuns("reproducibility", got=len(runs), needed=2, kind="benches")
    total, free = float(runs.sum()), float((runs - 1.0).sum())
    if free == 0.0:
        raise TooFewRuns("repeatability", got=1, needed=2)
    within = float(((runs - 1.0) * np.where(runs > 1.0, variances, 0.0)).sum()) / free
    mean = float(runs @ means) / total
    spread = float(runs @ (means - mean) ** 2) / (len(runs) - 1)
    usual = (total - float(runs @ runs) / total) / (len(runs) - 1)
    between = max((spread - within) / usual, 0.0)
    return Precision(mean, *(float(np.sqrt(each)) for each in (within, between, within + between)))


def precision_of_levels(levels: Sequence[Level]) -> tuple[Precision, int] | None:
    """The same of log scores, those of one bench taken together, and the number of benches.

    Returns
    -------
    None with fewer than two benches, or where none made two runs.
    """
    by_bench: dict[str, list[Level]] = {}
    for each in levels:
        by_bench.setdefault(each.bench, []).append(each)
    if len(by_bench) < 2 or all(sum(each.runs for each in some) < 2 for some in by_bench.values()):
        return None
    pooled = [_pool(some) for some in by_bench.values()]
    means, variances = (np.asarray([getattr(each, key) for each in pooled]) for key in ("mean", "variance"))
    return find_precision(means, variances, [each.runs for each in pooled]), len(pooled)


def _pool(levels: Sequence[Level]) -> Level:
    """The runs of several sources as if they were one's."""
    runs = sum(each.runs for each in levels)
    mean = sum(each.runs * each.mean for each in levels) / runs
    squares = sum(
        (each.runs - 1) * each.variance * (each.runs > 1) + each.runs * (each.mean - mean) ** 2
        for each in levels
    )
    return Level(levels[0].bench, mean, squares / max(runs - 1, 1), runs)
