"""The parts of a gain for an article that was never run."""

from __future__ import annotations

from dataclasses import replace

import numpy as np

from strikeproof.errors import NotFound
from strikeproof.explain.explanation import Explanation
from strikeproof.explain.records import ArticleFacts, Setting
from strikeproof.explain.results import Split
from strikeproof.explain.splits import split_gains

__all__ = ["split_gain_of"]


def split_gain_of(
    explanation: Explanation,
    article: ArticleFacts,
    *,
    rng: np.random.Generator,
    setting: Setting | None = None,
    draws: int = 8,
) -> Split | None:
    """Shapley shares of the gain that any article would have, by the most probable rival with physics.

    None where no such rival was fitted or the article's inertia is not known.

    Raises
    ------
    NotFound
        If the setting's tool is not the campaign's.
    """
    fits = explanation.fits
    if fits is None or not fits.physical or article.model is None:
        return None
    at = setting or fits.evidence.settings[0]
    tools = [each.name for each in fits.evidence.tools]
    if at.tool not in tools:
        raise NotFound("tool", at.tool, tools)
    chances = {each.name: (each.probability, each.elpd) for each in explanation.rivals}
    fit = max(fits.physical, key=lambda each: chances[each.name])
    # A name of its own: the campaign may have an article of the same name.
    unseen = replace(article, name=f"unseen {article.name}")
    evidence = replace(fits.evidence, articles=(*fits.evidence.articles, unseen))
    return split_gains(replace(fits, evidence=evidence), fit, [(unseen.name, at)], draws, rng)[0]
