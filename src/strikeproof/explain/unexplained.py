"""How much no property explains, and which articles carry most of it."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from strikeproof.explain.own_part import own_unknown
from strikeproof.explain.particles import Particles, posterior_weights
from strikeproof.explain.records import Evidence
from strikeproof.explain.results import OwnPart, Unexplained
from strikeproof.explain.statistical import Table
from strikeproof.quantity import FloatArray, IntArray

__all__ = ["find_unexplained"]

DRAWS = 4000


def find_unexplained(
    rival: Particles, evidence: Evidence, table: Table, rng: np.random.Generator
) -> Unexplained:
    """What an explanation leaves to the articles themselves, after all gains.

    Parameters
    ----------
    rival
        After the extra evidence.
    evidence, table
        Of the same gains.
    rng
        The only source of chance.

    References
    ----------
    Conditional normal distributions, as in `particles.foresee`; derived here.
    """
    gains = np.array([each.log_gain for each in evidence.gains])
    logs, _evidence = posterior_weights(rival, gains, evidence.covariance, range(len(gains)))
    chosen = rng.choice(len(logs), DRAWS, p=np.exp(logs) / np.exp(logs).sum())
    names, draws = _draw_parts(rival, evidence, table, chosen, gains, rng)
    low, middle, high = np.quantile(draws, [0.05, 0.5, 0.95], axis=0)
    parts = [
        OwnPart(name, *(float(_percent(each[i])) for each in (middle, low, high)))
        for i, name in enumerate(names)
    ]
    least, median, most = (
        float(_percent(each)) for each in _quantiles(rival.own, np.exp(logs), (0.05, 0.5, 0.95))
    )
    learned = float(np.clip(1.0 - np.std(own_unknown(rival.own[chosen])), 0.0, 1.0))
    ranked = tuple(sorted(parts, key=lambda each: -abs(each.percent)))
    return Unexplained(rival.name, median, least, most, learned, ranked)


def _quantiles(values: FloatArray, weight: FloatArray, levels: Sequence[float]) -> FloatArray:
    """Quantiles of values (s,) of some weight, each with half its weight below it; straight lines between."""
    distinct, place = np.unique(values, return_inverse=True)
    each = np.bincount(place, weight)
    below = np.cumsum(each) - 0.5 * each
    return np.asarray(np.interp(levels, below / each.sum(), distinct))


def _draw_parts(
    rival: Particles,
    evidence: Evidence,
    table: Table,
    chosen: IntArray,
    gains: FloatArray,
    rng: np.random.Generator,
) -> tuple[list[str], FloatArray]:
    """Names of the reference and of all articles, and draws (DRAWS, articles) of their own parts, averaged
    over settings."""
    names = [evidence.reference, *dict.fromkeys(each.article for each in evidence.gains)]
    mine, its = table.own()
    average = np.array([[each.article == name for each in evidence.gains] for name in names[1:]], dtype=float)
    average /= average.sum(axis=1, keepdims=True)
    every = np.full(len(gains), 1.0 / len(gains))
    across = np.vstack([-every @ its, average @ mine])  # with the gains, for parts of size 1
    alone = np.zeros((len(names), len(names)))
    alone[0, 0] = every @ its @ every
    alone[1:, 1:] = average @ mine @ average.T
    places, back = np.unique(chosen, return_inverse=True)
    whole = rival.covariance[places] + evidence.covariance
    squared = rival.own[places, None, None] ** 2
    right = np.concatenate([(gains - rival.mean[places])[..., None], squared * across.T], axis=2)
    solved = np.linalg.solve(whole, right)
    middle = (squared * across) @ solved[:, :, :1]
    spread = squared * alone - (squared * across) @ solved[:, :, 1:]
    factor = np.linalg.cholesky(spread + 1e-12 * np.eye(len(names)))
    normal = rng.standard_normal((len(back), len(names), 1))
    return names, (middle[back] + factor[back] @ normal)[:, :, 0]


def _percent(logs: FloatArray | float) -> FloatArray:
    return np.asarray(100.0 * np.expm1(logs))
