"""An article with some of its properties and the rest of the reference's."""

from __future__ import annotations

import math
from dataclasses import dataclass, replace

from strikeproof.drivetrain import ArticleModel, Lump, Rider

__all__ = [
    "BONDED",
    "CHAIN",
    "INERTIA",
    "STIFFNESS",
    "Properties",
    "Spread",
    "spread_article",
    "vary_article",
]


@dataclass(frozen=True, slots=True)
class Properties:
    """Which properties an article keeps; the others are the reference's.

    Without its bonds every rider holds rigidly and only adds its inertia.
    """

    inertia: bool
    stiffness: bool
    gap: bool
    bond: bool


INERTIA = Properties(inertia=True, stiffness=False, gap=False, bond=False)
STIFFNESS = Properties(inertia=False, stiffness=True, gap=False, bond=False)
CHAIN = Properties(inertia=True, stiffness=True, gap=True, bond=False)
BONDED = Properties(inertia=True, stiffness=True, gap=True, bond=True)


def vary_article(article: ArticleModel, reference: ArticleModel, kept: Properties) -> ArticleModel:
    """The article with the named properties its own and the others the reference's.

    Parameters
    ----------
    article
        Its own values where they are stored.
    reference
        Gives the rest.
    kept
        Which properties those are.

    References
    ----------
    docs/explain.md.
    """
    source = article if kept.stiffness else reference
    riders = _fit_riders(article, len(source.lumps)) if kept.bond else ()
    total = (article if kept.inertia else reference).polar_inertia
    share = total / article.polar_inertia
    riders = tuple(replace(each, inertia=each.inertia * share) for each in riders)
    lumps = _weigh(source if kept.bond else _weld(source), total - sum(each.inertia for each in riders))
    gaps = article if kept.gap else reference
    return ArticleModel(
        article.name,
        _open(lumps, gaps),
        source.hexagon_stiffness,
        gaps.hexagon_gap,
        source.hexagon_damping,
        riders,
    )


def _fit_riders(article: ArticleModel, lumps: int) -> tuple[Rider, ...]:
    return tuple(replace(each, carrier=min(each.carrier, lumps - 1)) for each in article.riders)


def _weld(article: ArticleModel) -> ArticleModel:
    """Every rider's inertia on the lump that carries it."""
    added = [0.0] * len(article.lumps)
    for each in article.riders:
        added[_carrier(article, each)] += each.inertia
    lumps = [
        replace(lump, inertia=lump.inertia + more) for lump, more in zip(article.lumps, added, strict=True)
    ]
    return replace(article, lumps=tuple(lumps), riders=())


def _carrier(article: ArticleModel, rider: Rider) -> int:
    while rider.carrier_rider is not None:
        rider = article.riders[rider.carrier_rider]
    return rider.carrier


def _weigh(article: ArticleModel, inertia: float) -> tuple[Lump, ...]:
    """Lumps in the same proportions with that inertia in all."""
    share = inertia / sum(lump.inertia for lump in article.lumps)
    return tuple(replace(lump, inertia=lump.inertia * share) for lump in article.lumps)


def _open(lumps: tuple[Lump, ...], gaps: ArticleModel) -> tuple[Lump, ...]:
    """The play of another article, at the same joints where both have as many, else all at the square."""
    if len(lumps) == len(gaps.lumps):
        return tuple(replace(own, gap=other.gap) for own, other in zip(lumps, gaps.lumps, strict=True))
    play = sum(lump.gap or 0.0 for lump in gaps.lumps)
    return (replace(lumps[0], gap=play), *(replace(lump, gap=None) for lump in lumps[1:]))


@dataclass(frozen=True, slots=True)
class Spread:
    """Factors on what an article's record says: all its inertia, stiffness, gaps, and its bonds."""

    inertia: float = 1.0
    stiffness: float = 1.0
    gap: float = 1.0
    hexagon: float = 1.0
    damping: float = 1.0
    bond_stiffness: float = 1.0
    bond_slip: float = 1.0


def spread_article(article: ArticleModel, by: Spread) -> ArticleModel:
    """The article with its numbers changed by factors.

    Parameters
    ----------
    article
        As recorded.
    by
        Factors, 0 or more; damping ends at 1.
    """
    lumps = tuple(
        replace(
            lump,
            inertia=lump.inertia * by.inertia,
            stiffness=lump.stiffness * by.stiffness,
            gap=None if lump.gap is None else lump.gap * by.gap,
            damping=lump.damping if lump.gap is None else min(lump.damping * by.damping, 1.0),
        )
        for lump in article.lumps
    )
    return ArticleModel(
        article.name,
        lumps,
        article.hexagon_stiffness * by.stiffness * by.hexagon,
        article.hexagon_gap * by.gap,
        min(article.hexagon_damping * by.damping, 1.0),
        tuple(_spread_rider(each, by) for each in article.riders),
    )


def _spread_rider(rider: Rider, by: Spread) -> Rider:
    if math.isinf(rider.stiffness):
        return replace(rider, inertia=rider.inertia * by.inertia)
    return replace(
        rider,
        inertia=rider.inertia * by.inertia,
        stiffness=rider.stiffness * by.bond_stiffness,
        slip_torque=rider.slip_torque * by.bond_slip,
    )
