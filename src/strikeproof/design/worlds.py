"""Draws of what is believed of a bench: by what a campaign taught, or by the priors of its tools' classes.

Every article meets the same draws, and in each of them the reference is run too, so that a gain is a
difference within one draw.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import Final

import numpy as np
from scipy.special import ndtri

from strikeproof.design.records import World, Worlds
from strikeproof.drivetrain import ArticleModel, BoltModel, RigModel
from strikeproof.errors import BadInput
from strikeproof.explain import ArticleFacts, Evidence, Explanation, Gain, Setting, ToolFacts
from strikeproof.explain.explanation import leading_chain
from strikeproof.explain.kinds import KEPT
from strikeproof.explain.obstacles import too_few_known
from strikeproof.explain.parameters import (
    Parameter,
    build_bench,
    build_tool,
    list_parameters,
    read_spread,
    read_values,
)
from strikeproof.explain.physical import Physical
from strikeproof.explain.variants import BONDED, Properties, Spread, spread_article, vary_article
from strikeproof.quantity import FloatArray

__all__ = ["Believed", "worlds_from_explanation", "worlds_from_fit", "worlds_from_priors"]

_OWN: Final = np.array([0.03, 0.10, 0.15])
"""Log standard uncertainty of inertia, stiffness and gap of an article that is known by its dimensions."""
_FAR: Final = 2.5


@dataclass(frozen=True, slots=True)
class Believed:
    """An article's record in one draw, with the given properties its own and the others those of `base`.

    Parameters
    ----------
    kept
        None keeps all of it as it is.
    """

    kept: Properties | None
    base: ArticleModel
    spread: Spread

    def __call__(self, article: ArticleModel) -> ArticleModel:
        """The article as believed."""
        kept = self.kept
        varied = article if kept is None else vary_article(article, self.base, kept)
        return spread_article(varied, self.spread)


def worlds_from_explanation(
    explanation: Explanation, settings: Sequence[Setting], size: int, rng: np.random.Generator
) -> Worlds:
    """Draws from the posterior of the likeliest explanation with physics.

    Parameters
    ----------
    explanation
        Of a campaign.
    settings
        One for every tool that counts.
    size
        How many draws.
    rng
        The only source of chance.

    Raises
    ------
    TooFewRuns
        If the campaign had too little for an explanation with physics to be fitted.
    BadInput
        If there is no setting.
    """
    fits, fit = explanation.fits, leading_chain(explanation)
    if fits is None or fit is None:
        raise too_few_known(explanation.evidence)
    return worlds_from_fit(fits.evidence, fit, settings, size, rng)


def worlds_from_fit(
    evidence: Evidence, fit: Physical, settings: Sequence[Setting], size: int, rng: np.random.Generator
) -> Worlds:
    """Draws from the posterior of one explanation with physics, fitted to the evidence.

    What belongs to a tool that the campaign did not run keeps its prior.

    Parameters
    ----------
    evidence
        What the fit was made from.
    fit
        An explanation with physics.
    settings
        One for every tool that counts.
    size
        How many draws.
    rng
        The only source of chance.

    Raises
    ------
    BadInput
        If there is no setting.

    References
    ----------
    docs/design.md; the posterior is that of `fit_physical`.
    """
    run = evidence.settings
    evidence = _for_settings(evidence, settings)
    kept = KEPT[fit.name]
    parameters = list_parameters(evidence, bonds=kept.bond)
    flat = fit.chains.flat
    place = {(each.tool, each.name): i for i, each in enumerate(fit.parameters)}
    drawn = rng.integers(len(flat), size=size)
    chosen = flat[drawn]
    points, middle = rng.standard_normal((size, len(parameters))), np.zeros(len(parameters))
    for column, each in enumerate(parameters):
        if (each.tool, each.name) in place:
            points[:, column] = chosen[:, place[each.tool, each.name]]
            middle[column] = np.median(flat[:, place[each.tool, each.name]])
    (parting,) = rng.spawn(1)
    own = _draw_own(run, fit.own[drawn], settings, parting)
    return _make_worlds(evidence, settings, (parameters, kept), middle, points, rng, own)


def _draw_own(
    run: Sequence[Setting], parts: FloatArray, settings: Sequence[Setting], rng: np.random.Generator
) -> FloatArray:
    """A new article's own part less the reference's (draws, settings), from parts as of `Physical`.

    All proposals meet the same draws, so a lopsided set would lift or lower all of them alike: the normal
    numbers are its quantiles, in random order.
    """
    count = len(parts)
    new = parts[:, 0] * ndtri((rng.permutation(count) + 0.5) / count)
    places = [[i for i, each in enumerate(run) if each.tool == at.tool] for at in settings]
    every = list(range(len(run)))
    return np.column_stack([new - parts[:, [1 + i for i in some or every]].mean(axis=1) for some in places])


def worlds_from_priors(
    tools: Sequence[ToolFacts],
    reference: ArticleModel,
    bolt: BoltModel,
    rig: RigModel,
    settings: Sequence[Setting],
    size: int,
    rng: np.random.Generator,
) -> Worlds:
    """Draws from the priors of the tools' classes, for a bench without a campaign.

    Parameters
    ----------
    tools
        As declared.
    reference
        What gains are counted from.
    bolt, rig
        As declared.
    settings
        One for every tool that counts.
    size
        How many draws.
    rng
        The only source of chance.

    Raises
    ------
    BadInput
        If there is no setting.

    References
    ----------
    docs/design.md; the priors are those of `list_parameters`.
    """
    known = ArticleFacts(reference.name, reference)
    blank = Evidence((known,), reference.name, tuple(tools), bolt, rig, (), np.eye(0), 0.02)
    evidence = _for_settings(blank, settings)
    parameters = list_parameters(evidence, bonds=True)
    points = np.clip(rng.standard_normal((size, len(parameters))), -_FAR, _FAR)
    return _make_worlds(evidence, settings, (parameters, BONDED), np.zeros(len(parameters)), points, rng)


def _for_settings(evidence: Evidence, settings: Sequence[Setting]) -> Evidence:
    """The evidence with the settings in place of what was run."""
    if not settings:
        raise BadInput("no tool", where="settings", allowed="one or more", fix="name a tool of the bench")
    gains = tuple(Gain(evidence.reference, each, 0.0, 1) for each in settings)
    return replace(evidence, gains=gains, covariance=np.eye(len(gains)), levels=())


def _make_worlds(
    evidence: Evidence,
    settings: Sequence[Setting],
    model: tuple[Sequence[Parameter], Properties],
    middle: FloatArray,
    points: FloatArray,
    rng: np.random.Generator,
    parts: FloatArray | None = None,
) -> Worlds:
    own = np.clip(rng.standard_normal((len(points), 3)), -_FAR, _FAR)
    misfits = rng.standard_normal(len(points))
    beside = [()] * len(points) if parts is None else [tuple(each) for each in parts.tolist()]
    draws = zip(points, own, misfits.tolist(), beside, strict=True)
    return Worlds(
        _make_world(evidence, settings, model, middle, np.zeros(3), 0.0, ()),
        tuple(_make_world(evidence, settings, model, *each) for each in draws),
    )


def _make_world(
    evidence: Evidence,
    settings: Sequence[Setting],
    model: tuple[Sequence[Parameter], Properties],
    point: FloatArray,
    own: FloatArray,
    misfit: float,
    beside: tuple[float, ...],
) -> World:
    parameters, kept = model
    values = read_values(parameters, point)
    bolt, rig = build_bench(evidence, values)
    facts = {each.name: each for each in evidence.tools}
    base = evidence.article(evidence.reference).model
    assert base is not None  # explanations and priors start from a known reference
    flags = np.array([kept.inertia, kept.stiffness, kept.gap])
    return World(
        tuple(build_tool(facts[each.tool], each, values) for each in settings),
        tuple(settings),
        bolt,
        rig,
        Believed(kept, base, read_spread(evidence, values, np.zeros(3)))(base),
        Believed(kept, base, read_spread(evidence, values, own * _OWN * flags)),
        Believed(None, base, read_spread(evidence, values, own * _OWN)),
        evidence.direction,
        misfit,
        beside,
    )
