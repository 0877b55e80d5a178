"""The score against inertia that the likeliest rival draws through a campaign, tool by tool."""

from __future__ import annotations

from dataclasses import replace

import numpy as np

from strikeproof.explain import ArticleFacts, Explanation, RivalName, Setting
from strikeproof.explain.crew import ALONE, Crew
from strikeproof.explain.fits import Fits
from strikeproof.explain.outlook import Item, look_ahead
from strikeproof.explain.variants import Spread, spread_article
from strikeproof.publish.explain import InertiaCurve

__all__ = ["draw_curves", "likeliest"]

_POINTS, _DRAWS = 15, 48
_BEYOND = 1.15  # how far the curves reach beyond the articles' inertias


def likeliest(explanation: Explanation) -> RivalName:
    """The rival that the curves follow."""
    return max(explanation.rivals, key=lambda each: (each.probability, each.elpd)).name


def draw_curves(
    explanation: Explanation, rng: np.random.Generator, crew: Crew = ALONE
) -> tuple[InertiaCurve, ...]:
    """Gain against inertia with all else the reference's, median and 90 % band, for every setting."""
    fits = explanation.fits
    if fits is None:
        return ()
    rival = likeliest(explanation)
    return tuple(
        _draw_curve(fits, rival, setting, rng, crew.at(str(place)))
        for place, setting in enumerate(fits.evidence.settings)
    )


def _draw_curve(
    fits: Fits, rival: RivalName, setting: Setting, rng: np.random.Generator, crew: Crew
) -> InertiaCurve:
    evidence = fits.evidence
    used = {gain.article for gain in evidence.gains} | {evidence.reference}
    inertias = [each.model.polar_inertia for each in evidence.articles if each.model and each.name in used]
    grid = np.geomspace(min(inertias) / _BEYOND, max(inertias) * _BEYOND, _POINTS)
    base = evidence.article(evidence.reference)
    items = [Item(_with_inertia(base, float(each)), setting) for each in grid]
    gains = 100.0 * np.expm1(look_ahead(fits, items, [rival], _DRAWS, rng, crew=crew)[rival])
    low, middle, high = np.quantile(gains, [0.05, 0.5, 0.95], axis=0)
    return InertiaCurve(setting.tool, rival, grid, middle, low, high)


def _with_inertia(base: ArticleFacts, inertia: float) -> ArticleFacts:
    """The reference with another inertia, known exactly; its mass goes with the root of it, as a ring's."""
    assert base.model is not None  # a fit needs the reference's
    factor = inertia / base.model.polar_inertia
    return replace(
        base,
        model=spread_article(base.model, Spread(inertia=factor)),
        mass=None if base.mass is None else base.mass * float(np.sqrt(factor)),
        inertia_percent=0.0,
        stiffness_percent=0.0,
        gap_percent=0.0,
    )
