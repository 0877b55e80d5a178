"""Further questions to an explanation: an article not seen, a change to one, the shares of its gain."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import Literal

import numpy as np

from strikeproof.drivetrain import ArticleModel
from strikeproof.errors import BadInput, NotFound
from strikeproof.explain.explanation import Explanation, leading_chain
from strikeproof.explain.fits import Fits
from strikeproof.explain.following import propose, rank_tests
from strikeproof.explain.kinds import KEPT
from strikeproof.explain.obstacles import too_few_known
from strikeproof.explain.outlook import Item, look_ahead, run_ahead
from strikeproof.explain.physical import Physical
from strikeproof.explain.records import ArticleFacts, Candidate, RivalName, Setting
from strikeproof.explain.results import NextTest, Prediction, Split, WhatIf
from strikeproof.explain.splits import split_gains
from strikeproof.explain.variants import Spread, spread_article
from strikeproof.quantity import FloatArray

__all__ = ["Change", "predict_article", "rank_next", "split_gain", "split_gain_of", "what_if"]

DRAWS = 64
MIXED = 4000
LEAST_WEIGHT = 0.01

ChangeKind = Literal[
    "remove rider", "scale stiffness", "scale inertia", "scale gap", "supply", "duration", "tool"
]


@dataclass(frozen=True, slots=True)
class Change:
    """One thing done differently.

    Parameters
    ----------
    kind
        `remove rider`: the ring or fill of that name is left out. `scale ...`: stiffness (also by another
        material), inertia or gaps times `value`; a gap times 0 is closed. `supply`: share of the rated
        supply. `duration`: [s]. `tool`: the tool of that name.
    """

    kind: ChangeKind
    value: float | str


def predict_article(
    explanation: Explanation,
    article: ArticleFacts,
    *,
    rng: np.random.Generator,
    setting: Setting | None = None,
    draws: int = DRAWS,
) -> Prediction:
    """Gain over the reference of an article that was not run, by all explanations with their stacking
    weights.

    Parameters
    ----------
    explanation
        Of a campaign that could be fitted.
    article
        Not one of the campaign's.
    rng
        The only source of chance.
    setting
        How it would be run; None for the first of the campaign.
    draws
        Of each explanation.

    Raises
    ------
    TooFewRuns
        If the campaign had too little for any explanation to be fitted.
    BadInput
        If the article's inertia is not known.
    NotFound
        If the setting's tool is not the campaign's.
    """
    fits, at = _ready(explanation, setting)
    _require_model(article)
    names, share = _weights(explanation)
    found = look_ahead(fits, [Item(article, at)], names, draws, rng)
    rows = _mix([np.column_stack([found[name][0][:, 0], found[name][1]]) for name in names], share, rng)
    mixed = rows[:, 0] + rows[:, 1] * rng.standard_normal(len(rows))
    noisy = mixed + fits.evidence.run_scatter * rng.standard_normal(len(mixed))
    low, middle, high = _percent(np.quantile(mixed, [0.05, 0.5, 0.95])).tolist()
    low_run, high_run = _percent(np.quantile(noisy, [0.05, 0.95])).tolist()
    by_rival = {name: float(_percent(float(np.median(found[name][0][:, 0])))) for name in names}
    return Prediction(article.name, at, middle, low, high, low_run, high_run, by_rival)


def what_if(
    explanation: Explanation,
    article: str,
    change: Change,
    *,
    rng: np.random.Generator,
    setting: Setting | None = None,
    draws: int = DRAWS,
) -> WhatIf:
    """What a change to an article of the campaign, or to how it is run, would do to its score.

    Explanations without physics say nothing of supply, duration and tool; there the physical ones answer
    alone.

    Parameters
    ----------
    explanation
        Of a campaign that could be fitted.
    article
        Of the campaign.
    change
        What would be done differently.
    rng
        The only source of chance.
    setting
        How it is run before the change; None for the first of the campaign.
    draws
        Of each explanation.

    Raises
    ------
    TooFewRuns, BadInput, NotFound
        As `predict_article`; also if there is no such article or rider.
    """
    fits, at = _ready(explanation, setting)
    if article not in {each.name for each in fits.evidence.articles}:
        raise NotFound("article", article, [each.name for each in fits.evidence.articles])
    facts = fits.evidence.article(article)
    _require_model(facts)
    changed, then = _apply(fits, facts, at, change)
    items = [Item(facts, at, kin=True), Item(changed, then, kin=True)]
    before, after, scores = _compare(explanation, fits, items, then != at, draws, rng)
    low, middle, high = _percent(np.quantile(scores, [0.05, 0.5, 0.95])).tolist()
    return WhatIf(
        article,
        f"{change.kind} {change.value}",
        float(_percent(float(np.median(before)))),
        float(_percent(float(np.median(after)))),
        middle,
        low,
        high,
    )


def _compare(
    explanation: Explanation,
    fits: Fits,
    items: Sequence[Item],
    elsewhere: bool,
    draws: int,
    rng: np.random.Generator,
) -> tuple[FloatArray, FloatArray, FloatArray]:
    """Mixed draws of the gain before, the gain after, and the change in log score."""
    names, share = _weights(explanation, physical_only=elsewhere)
    sides = []
    for name in names:
        if name in KEPT:
            view = run_ahead(fits, fits.chain(name), items, draws, rng)
            scores = view.gains + view.reference
            sides.append(np.column_stack([view.gains, scores[:, 1] - scores[:, 0]]))
        else:
            gains, _own = look_ahead(fits, items, [name], draws, rng)[name]
            sides.append(np.column_stack([gains, gains[:, 1] - gains[:, 0]]))
    mixed = _mix(sides, share, rng)
    return mixed[:, 0], mixed[:, 1], mixed[:, 2]


def split_gain(
    explanation: Explanation,
    article: str,
    *,
    rng: np.random.Generator,
    setting: Setting | None = None,
    draws: int = 8,
) -> Split:
    """Shapley shares of one article's gain by the most probable explanation with physics.

    Parameters
    ----------
    explanation
        Of a campaign that could be fitted.
    article
        Of the campaign, not the reference.
    rng
        The only source of chance.
    setting
        How it is run; None for the first of the campaign.
    draws
        Of the explanation's posterior.

    Raises
    ------
    TooFewRuns, NotFound
        As `what_if`.

    References
    ----------
    docs/explain.md; Shapley as in `shapley`.
    """
    fits, at = _ready(explanation, setting)
    if article not in {each.article for each in fits.evidence.gains}:
        raise NotFound("article", article, [each.article for each in fits.evidence.gains])
    return split_gains(fits, _leading(explanation), [(article, at)], draws, rng)[0]


def split_gain_of(
    explanation: Explanation,
    article: ArticleFacts,
    *,
    rng: np.random.Generator,
    setting: Setting | None = None,
    draws: int = 8,
) -> Split | None:
    """Shapley shares of the gain that any article would have, by the most probable explanation with physics.

    None where no such explanation was fitted or the article's inertia is not known.

    Parameters
    ----------
    explanation
        Of a campaign.
    article
        Run or not.
    rng
        The only source of chance.
    setting
        How it is run; None for the first of the campaign.
    draws
        Of the explanation's posterior.

    Raises
    ------
    NotFound
        If the setting's tool is not the campaign's.

    References
    ----------
    docs/explain.md; Shapley as in `shapley`.
    """
    fits, fit = explanation.fits, leading_chain(explanation)
    if fits is None or fit is None or article.model is None:
        return None
    at = setting or fits.evidence.settings[0]
    tools = [each.name for each in fits.evidence.tools]
    if at.tool not in tools:
        raise NotFound("tool", at.tool, tools)
    # A name of its own: the campaign may have an article of the same name.
    unseen = replace(article, name=f"unseen {article.name}")
    evidence = replace(fits.evidence, articles=(*fits.evidence.articles, unseen))
    return split_gains(replace(fits, evidence=evidence), fit, [(unseen.name, at)], draws, rng)[0]


def rank_next(
    explanation: Explanation,
    candidates: Sequence[Candidate] = (),
    *,
    rng: np.random.Generator,
    draws: int = DRAWS,
) -> tuple[NextTest, ...]:
    """Next tests by falling expected information; without candidates simple ones are proposed.

    Parameters
    ----------
    explanation
        Of a campaign that could be fitted.
    candidates
        Tests to choose from; empty: those of `following.propose`.
    rng
        The only source of chance.
    draws
        Of each explanation.

    Raises
    ------
    TooFewRuns
        If no explanation could be fitted.
    """
    fits, _at = _ready(explanation, None)
    chances = {each.name: each.probability for each in explanation.rivals}
    return rank_tests(fits, chances, tuple(candidates) or propose(fits), draws, rng)


def _ready(explanation: Explanation, setting: Setting | None) -> tuple[Fits, Setting]:
    fits = explanation.fits
    if fits is None:
        raise too_few_known(explanation.evidence)
    at = setting or fits.evidence.settings[0]
    tools = [each.name for each in fits.evidence.tools]
    if at.tool not in tools:
        raise NotFound("tool", at.tool, tools)
    return fits, at


def _require_model(article: ArticleFacts) -> None:
    if article.model is None:
        raise BadInput(
            "not known",
            where=f"inertia of article {article.name}",
            allowed="parts, or polar_inertia_kg_m2",
            fix="describe the article's parts or measure its inertia by a swing",
        )


def _leading(explanation: Explanation) -> Physical:
    found = leading_chain(explanation)
    assert found is not None  # a usable campaign has explanations with physics
    return found


def _weights(explanation: Explanation, *, physical_only: bool = False) -> tuple[list[RivalName], FloatArray]:
    """Explanations that have a say and their shares."""
    kept = {
        each.name: each.weight
        for each in explanation.rivals
        if each.weight > LEAST_WEIGHT and (each.name in KEPT or not physical_only)
    }
    if not kept:
        kept = {_leading(explanation).name: 1.0}
    share = np.array(list(kept.values()))
    return list(kept), share / share.sum()


def _mix(draws: Sequence[FloatArray], share: FloatArray, rng: np.random.Generator) -> FloatArray:
    """Draws from a mixture, row by row."""
    counts = rng.multinomial(MIXED, share)
    return np.concatenate(
        [each[rng.integers(len(each), size=count)] for each, count in zip(draws, counts, strict=True)]
    )


def _apply(fits: Fits, facts: ArticleFacts, at: Setting, change: Change) -> tuple[ArticleFacts, Setting]:
    """Article and setting after a change."""
    model = facts.model
    assert model is not None
    if change.kind == "remove rider":
        return replace(facts, model=_without(model, str(change.value))), at
    if change.kind == "tool":
        tools = [each.name for each in fits.evidence.tools]
        if change.value not in tools:
            raise NotFound("tool", str(change.value), tools)
        return facts, replace(at, tool=str(change.value))
    value = float(change.value)
    if change.kind == "supply":
        return facts, replace(at, supply=value)
    if change.kind == "duration":
        return facts, replace(at, duration=value)
    word = change.kind.removeprefix("scale ")
    return replace(facts, model=spread_article(model, _factors(word, value))), at


def _factors(word: str, value: float) -> Spread:
    if not 0.0 <= value <= 100.0:
        raise BadInput(f"{value:g}", where=f"change of {word}", allowed="0 to 100 times")
    known = {"stiffness": Spread(stiffness=value), "inertia": Spread(inertia=value), "gap": Spread(gap=value)}
    return known[word]


def _without(model: ArticleModel, rider: str) -> ArticleModel:
    """The article without one rider and all that it carries."""
    names = [each.name for each in model.riders]
    if rider not in names:
        raise NotFound("ring, sleeve or fill", rider, names)
    gone = {names.index(rider)}
    for i, each in enumerate(model.riders):
        if each.carrier_rider in gone:
            gone.add(i)
    left = [i for i in range(len(names)) if i not in gone]
    new_place = {old: new for new, old in enumerate(left)}
    riders = tuple(
        replace(
            model.riders[i],
            carrier_rider=None if (on := model.riders[i].carrier_rider) is None else new_place[on],
        )
        for i in left
    )
    return replace(model, riders=riders)


def _percent(log_gain: FloatArray | float) -> FloatArray:
    return np.asarray(100.0 * np.expm1(log_gain))
