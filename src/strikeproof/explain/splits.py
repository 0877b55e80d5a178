"""An article's gain in parts: inertia, stiffness, gap and bond."""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from itertools import combinations, product
from typing import TypeVar

import numpy as np

from strikeproof.explain.crew import ALONE, Crew
from strikeproof.explain.engine import Job, simulate_jobs
from strikeproof.explain.fits import Fits
from strikeproof.explain.kinds import KEPT
from strikeproof.explain.physical import Physical
from strikeproof.explain.records import Setting
from strikeproof.explain.results import Split
from strikeproof.explain.surrogate import distinct_jobs
from strikeproof.explain.variants import Properties, vary_article

__all__ = ["NAMES", "shapley", "split_gains"]

NAMES = ("inertia", "stiffness", "gap", "bond")


def split_gains(
    fits: Fits,
    fit: Physical,
    wanted: Sequence[tuple[str, Setting]],
    size: int,
    rng: np.random.Generator,
    *,
    crew: Crew = ALONE,
) -> list[Split]:
    """Shapley shares of articles' predicted gains, averaged over draws of an explanation's posterior.

    What the explanation leaves out has no share. Shares are taken of the log gain and scaled to add up to the
    gain in percent.

    Parameters
    ----------
    fits
        All explanations, fitted.
    fit
        The one whose posterior is drawn from.
    wanted
        Articles of the evidence, each in a setting.
    size
        Draws.
    rng
        The only source of chance.
    crew
        Threads, and what keeps finished pieces.

    References
    ----------
    `shapley`; the scaling to percent is derived here.
    """
    reference = fits.evidence.article(fits.evidence.reference).model
    assert reference is not None
    kept = KEPT[fit.name]
    groups = [
        frozenset(name for name, on in zip(NAMES, flags, strict=True) if on)
        for flags in product((False, True), repeat=len(NAMES))
    ]
    jobs = []
    for name, setting in wanted:
        model = fits.evidence.article(name).model
        assert model is not None
        for group in groups:
            flags = Properties(*(each in group and getattr(kept, each) for each in NAMES))
            jobs.append(Job(vary_article(model, reference, flags), setting))
    distinct, places = distinct_jobs(jobs)
    points = fit.chains.flat[rng.integers(len(fit.chains.flat), size=size)]
    scores = simulate_jobs(fits.evidence, fit.parameters, distinct, points, np.zeros((size, 3)), crew=crew)
    worth = scores.mean(axis=0)[places].reshape(len(wanted), len(groups))
    return [_share(dict(zip(groups, row, strict=True))) for row in worth]


def _share(worth: dict[frozenset[str], float]) -> Split:
    shares = shapley(NAMES, lambda group: worth[group])
    total = sum(shares.values())
    percent = 100.0 * float(np.expm1(total))
    scale = percent / total if abs(total) > 1e-9 else 100.0
    return Split(*(float(scale * shares[name]) for name in NAMES))


Player = TypeVar("Player")


def shapley(players: Sequence[Player], worth: Callable[[frozenset[Player]], float]) -> dict[Player, float]:
    """Each player's mean contribution over all orders; the shares add up to worth(all) − worth(none).

    References
    ----------
    Shapley, "A value for n-person games", Contributions to the Theory of Games II (1953) 307, eq. (13)
    (from memory).
    """
    n = len(players)
    worths = {
        group: worth(group) for size in range(n + 1) for group in map(frozenset, combinations(players, size))
    }
    shares = {}
    for player in players:
        share = 0.0
        for group, alone in worths.items():
            if player not in group:
                before = len(group)
                weight = math.factorial(before) * math.factorial(n - before - 1) / math.factorial(n)
                share += weight * (worths[group | {player}] - alone)
        shares[player] = share
    return shares
