"""Second opinion: shuffle the articles again inside the blocks and see how often chance does as well."""

from __future__ import annotations

import numpy as np
from scipy.special import gammaln

from strikeproof.judge.model import Fit, solve_columns
from strikeproof.judge.records import Progress
from strikeproof.quantity import FloatArray, IntArray

__all__ = ["count_arrangements", "randomisation_p"]

BATCH = 500
"""Relabellings held in memory at once."""


def randomisation_p(
    fit: Fit, *, draws: int, rng: np.random.Generator, progress: Progress | None = None
) -> FloatArray:
    """Single-step max-T p of every estimable comparison; (e,).

    Every draw shuffles the articles (the reference among them) among the runs of each block of each tool,
    bolt use and order staying with their runs; the observed arrangement counts as one draw.

    Parameters
    ----------
    fit
        Of the runs, or of ranks.
    draws
        Relabellings, 0 or more.
    rng
        Shuffles them.
    progress
        Called with (done, total) relabellings.

    References
    ----------
    Westfall, Young, *Resampling-Based Multiple Testing*, 1993, section 2.3 (from memory).
    """
    keep = fit.design.estimable
    observed = _ratios(fit, np.arange(len(fit.residual))[None])[0, keep]
    at_least = np.ones(len(observed))
    for start in range(0, draws, BATCH):
        count = min(BATCH, draws - start)
        largest = _ratios(fit, _shuffles(fit.design.cell, count, rng))[:, keep].max(axis=1)
        at_least += np.sum(largest[:, None] >= observed * (1.0 - 1e-9), axis=0)
        if progress is not None:
            progress(start + count, draws)
    return np.asarray(at_least / (draws + 1.0))


def count_arrangements(fit: Fit, labels: IntArray) -> float:
    """How many different dealings of the articles over the blocks there are.

    Parameters
    ----------
    labels : (n,)
        Article of each run, as numbers.

    References
    ----------
    Multinomial coefficients, multiplied over blocks.
    """
    ways = 0.0
    for cell in np.unique(fit.design.cell):
        counts = np.unique(labels[fit.design.cell == cell], return_counts=True)[1]
        ways += gammaln(counts.sum() + 1.0) - gammaln(counts + 1.0).sum()
    return float(np.exp(min(ways, 700.0)))


def _ratios(fit: Fit, places: IntArray) -> FloatArray:
    """|t| of all comparisons for each arrangement in `places` (d, n); (d, m)."""
    total = fit.columns.T @ fit.columns
    dealt = np.take(np.ascontiguousarray(fit.columns.T), places, axis=1)  # (1 + k, d, n)
    products = np.moveaxis(dealt @ fit.design.basis, 0, 2)
    solution = solve_columns(fit.design, products, total)
    floor = 1e-24 * total[0, 0]
    variance = np.maximum(solution.residual_squares, floor) / max(fit.degrees_of_freedom, 1)
    return np.asarray(np.abs(solution.difference) / np.sqrt(variance[:, None] * solution.variance_factor))


def _shuffles(cell: IntArray, count: int, rng: np.random.Generator) -> IntArray:
    """Run numbers shuffled inside the cells; (count, n)."""
    places = np.tile(np.arange(len(cell)), (count, 1))
    ends = np.cumsum(np.bincount(cell))[:-1]
    for where in np.split(np.argsort(cell, kind="stable"), ends):
        places[:, where] = rng.permuted(places[:, where], axis=1)
    return places
