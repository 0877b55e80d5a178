import numpy as np
import pytest
from tests.unit.explain.bench import BASE, measured, named

from strikeproof.drivetrain import with_ring
from strikeproof.errors import BadInput, NotFound, TooFewRuns
from strikeproof.explain import (
    ArticleFacts,
    Change,
    explain_campaign,
    predict_article,
    rank_next,
    split_gain,
    what_if,
)


@pytest.fixture
def rng() -> np.random.Generator:
    return np.random.default_rng(7)


def test_an_article_between_two_others_is_foretold_between_them(explanation, rng):
    between = ArticleFacts("ring 4", named(with_ring(BASE, 3e-4), "ring 4"), 0.8)
    told = predict_article(explanation, between, rng=rng)
    assert told.low < told.gain_percent < told.high
    assert told.low_run < told.low and told.high_run > told.high
    rings = {each.article: each.measured_percent for each in explanation.articles}
    low, high = sorted((rings["ring 2.5"], rings["ring 6"]))
    assert low - 8.0 < told.gain_percent < high + 8.0


def test_a_second_specimen_of_the_reference_gains_only_what_articles_differ_by(explanation, rng):
    told = predict_article(explanation, ArticleFacts("again", BASE, 0.4, 0.0, 0.0, 0.0), rng=rng)
    assert told.gain_percent == pytest.approx(0.0, abs=0.6)
    assert -12.0 < told.low < -1.0 and 1.0 < told.high < 12.0


def test_an_article_without_inertia_cannot_be_foretold(explanation, rng):
    with pytest.raises(BadInput, match="inertia"):
        predict_article(explanation, ArticleFacts("x", None), rng=rng)


def test_a_longer_run_scores_more(explanation, rng):
    told = what_if(explanation, "ring 6", Change("duration", 30.0), rng=rng)
    assert told.low > 0.0


def test_less_air_scores_less(explanation, rng):
    told = what_if(explanation, "ring 6", Change("supply", 0.7), rng=rng)
    assert told.high < 0.0


def test_a_change_that_changes_nothing_changes_nothing(explanation, rng):
    told = what_if(explanation, "ring 6", Change("scale stiffness", 1.0), rng=rng)
    assert told.change_percent == pytest.approx(0.0, abs=1e-6)


def test_without_its_ring_an_article_is_the_reference(explanation, rng):
    told = what_if(explanation, "soft ring", Change("remove rider", "ring"), rng=rng)
    assert told.after_percent == pytest.approx(0.0, abs=1.0)


@pytest.mark.parametrize(
    "change", [Change("remove rider", "sleeve"), Change("tool", "none such")], ids=["rider", "tool"]
)
def test_what_is_not_there_is_named(explanation, rng, change):
    with pytest.raises(NotFound):
        what_if(explanation, "soft ring", change, rng=rng)


def test_an_absurd_factor_is_refused(explanation, rng):
    with pytest.raises(BadInput):
        what_if(explanation, "ring 6", Change("scale gap", -1.0), rng=rng)


def test_a_split_by_more_draws_is_near_that_of_the_explanation(explanation, rng):
    told = split_gain(explanation, "ring 6", rng=rng)
    first = next(each.split for each in explanation.articles if each.article == "ring 6")
    assert first is not None
    assert told.inertia == pytest.approx(first.inertia, abs=8.0)


def test_an_unknown_article_is_named(explanation, rng):
    with pytest.raises(NotFound):
        split_gain(explanation, "ring 9", rng=rng)


def test_next_tests_can_be_asked_again(explanation, rng):
    told = rank_next(explanation, rng=rng, draws=8)
    assert {each.setup for each in told} == {each.setup for each in explanation.next}


def test_where_nothing_was_fitted_nothing_can_be_asked(rng):
    from dataclasses import replace

    evidence = measured()
    little = replace(evidence, gains=evidence.gains[:1], covariance=evidence.covariance[:1, :1])
    told = explain_campaign(little, rng=rng, quick=True)
    with pytest.raises(TooFewRuns, match=r"known inertia: 2 articles, 3 needed; .*polar_inertia_kg_m2"):
        rank_next(told, rng=rng)


@pytest.mark.parametrize(
    ("known", "says"),
    [
        ((), "known inertia: 0 articles, 3 needed"),
        (("ring 2.5", "ring 6", "soft ring"), "known inertia of the reference plain"),
    ],
)
def test_only_articles_whose_inertia_is_known_are_counted(rng, known, says):
    from dataclasses import replace

    evidence = measured()
    articles = tuple(each if each.name in known else replace(each, model=None) for each in evidence.articles)
    told = explain_campaign(replace(evidence, articles=articles), rng=rng, quick=True)
    with pytest.raises(TooFewRuns, match=says):
        rank_next(told, rng=rng)
