import json
from dataclasses import replace

import numpy as np
import pytest
from tests.unit.explain.bench import AIR, BRISK, blank, measured

from strikeproof.errors import BadInput, DidNotConverge, NotFound
from strikeproof.explain import (
    RIVALS,
    ArticleFacts,
    Evidence,
    Explanation,
    Gain,
    Level,
    Setting,
    ToolFacts,
    explain_campaign,
)
from strikeproof.explain.explaining import explain_within, weigh_rivals
from strikeproof.explain.fits import QUICK, fit_rivals, make_table, usable
from strikeproof.explain.obstacles import drop_contradictions, find_missing
from strikeproof.explain.own_part import UNSEEN
from strikeproof.explain.physical import _log_levels
from strikeproof.explain.sampling import Effort
from strikeproof.plain_json import to_json


def quickly(evidence: Evidence) -> Explanation:
    return explain_campaign(evidence, rng=np.random.default_rng(2), quick=True)


def only(evidence: Evidence, count: int) -> Evidence:
    return replace(evidence, gains=evidence.gains[:count], covariance=evidence.covariance[:count, :count])


def test_evidence_names_only_what_is_there():
    with pytest.raises(NotFound, match="ring 6"):
        replace(blank(), gains=(*blank().gains[:3], Gain("ring 7", AIR, 0.1, 3)))
    with pytest.raises(NotFound, match="tool"):
        replace(blank(), tools=())
    with pytest.raises(BadInput, match="covariance"):
        replace(blank(), covariance=np.eye(3))


def test_all_seven_rivals_are_judged(explanation):
    assert tuple(each.name for each in explanation.rivals) == RIVALS
    assert sum(each.weight for each in explanation.rivals) == pytest.approx(1.0)
    assert sum(each.probability for each in explanation.rivals) == pytest.approx(1.0)


def test_nothing_and_mass_do_not_explain_a_chain(explanation):
    by_name = {each.name: each for each in explanation.rivals}
    assert by_name["nothing"].probability < 0.01
    assert by_name["mass"].probability < 0.01
    assert explanation.verdict in ("chain", "chain-bonds", "inertia", "cannot tell")


def test_every_gain_is_foretold_without_its_article(explanation):
    assert len(explanation.articles) == 4
    assert all(
        each.left_out and each.low < each.predicted_percent < each.high for each in explanation.articles
    )


def test_splits_add_up_to_a_gain_near_the_measured_one(explanation):
    for each in explanation.articles:
        assert each.split is not None
        assert each.split.total == pytest.approx(each.measured_percent, abs=12.0)


def test_a_ring_gains_by_inertia_and_an_extension_loses_by_stiffness(explanation):
    split = {each.article: each.split for each in explanation.articles}
    ring, extension = split["ring 6"], split["extension"]
    assert ring is not None and abs(ring.inertia) > 3.0 * abs(ring.stiffness)
    assert extension is not None and extension.stiffness < -5.0


def test_the_json_form_is_json_and_has_the_agreed_keys(explanation):
    told = json.loads(json.dumps(to_json(explanation)))
    assert set(told) == {
        "rivals", "verdict", "because", "parameters", "articles", "next", "diagnostics", "unexplained",
    }  # fmt: skip
    assert {"name", "weight", "log_density", "error_percent"} <= set(told["rivals"][0])
    assert {"name", "median", "low", "high", "prior_low", "prior_high", "learned"} <= set(
        told["parameters"][0]
    )
    assert {"setup", "bits"} <= set(told["next"][0])


def test_parameters_that_learned_nothing_are_named(explanation):
    unlearned = explanation.diagnostics.unlearned
    assert "friction" in unlearned or "blow_speed of air-a" in unlearned
    assert any("show nothing about" in line for line in explanation.because)


def test_next_tests_come_by_falling_information(explanation):
    bits = [each.bits for each in explanation.next]
    assert bits == sorted(bits, reverse=True)
    assert bits[0] > 0.1


def test_convergence_is_told(explanation):
    assert {each.rival for each in explanation.diagnostics.convergence} == {
        "stiffness", "inertia", "chain", "chain-bonds",
    }  # fmt: skip
    assert all(each.r_hat >= 0.99 for each in explanation.diagnostics.convergence)
    likely = {each.name for each in explanation.rivals if each.probability > 0.01}
    leading = [each for each in explanation.diagnostics.convergence if each.rival in likely]
    assert leading and all(each.particle_size > 100.0 for each in leading)


def test_one_article_gives_no_verdict_and_says_what_to_add():
    told = quickly(only(measured(), 1))
    assert told.verdict == "cannot tell"
    assert told.rivals == ()
    assert any("add 2" in line for line in told.because)


def test_without_the_references_inertia_nothing_can_be_said():
    evidence = measured()
    articles = (replace(evidence.articles[0], model=None), *evidence.articles[1:])
    told = quickly(replace(evidence, articles=articles))
    assert told.verdict == "cannot tell"
    assert any("inertia of the reference" in line for line in told.because)


def test_an_article_without_inertia_is_left_aside_by_name():
    evidence = measured()
    articles = tuple(
        replace(each, model=None) if each.name == "ring 6" else each for each in evidence.articles
    )
    reduced, left = usable(replace(evidence, articles=articles))
    assert left == ("ring 6",)
    assert len(reduced.gains) == 3
    assert reduced.covariance.shape == (3, 3)


def test_an_article_left_aside_is_said_though_another_has_a_longer_name():
    evidence = replace(blank(), caveats=("ring 60 is left out: weigh it again",))
    gone = {evidence.reference, "ring 6"}
    articles = tuple(replace(each, model=None) if each.name in gone else each for each in evidence.articles)
    told = quickly(replace(evidence, articles=articles))
    assert "ring 6 is left out: its inertia is not known" in told.diagnostics.caveats


def test_mass_and_inertia_that_contradict_each_other_are_left_aside_with_a_fix():
    evidence = measured()
    articles = tuple(
        replace(each, mass=9e-4) if each.name == "ring 6" else each for each in evidence.articles
    )
    reduced, said = drop_contradictions(replace(evidence, articles=articles))
    assert reduced.article("ring 6").model is None
    assert len(said) == 1 and "weigh it again" in said[0]


@pytest.mark.parametrize(
    ("change", "word"),
    [
        ({"scatter_measured": False}, "second block"),
        ({"gains": blank().gains[:2], "covariance": np.eye(2)}, "add 1 with known inertia"),
    ],
)
def test_what_is_missing_is_said_with_its_fix(change, word):
    (missing,) = find_missing(replace(blank(), **change))
    assert word in missing


def test_a_doubtful_campaign_is_judged_but_nothing_is_named():
    """Never weighed, and no article was run twice."""
    evidence = measured()
    articles = tuple(replace(each, mass=None) for each in evidence.articles)
    told = explain_within(
        replace(evidence, articles=articles, scatter_measured=False), BRISK, np.random.default_rng(2)
    )
    assert told.verdict == "cannot tell"
    assert any("second block" in line for line in told.because)
    names = [each.name for each in told.rivals]
    assert "mass" not in names and "inertia" in names


def test_a_fit_that_has_not_converged_is_refused():
    evidence = measured()
    hasty = replace(QUICK, first=32, second=0, effort=Effort(24, 8, 12, 50, rounds=0), workers=1)
    fits = fit_rivals(evidence, hasty, np.random.default_rng(1))
    with pytest.raises(DidNotConverge) as refusal:
        weigh_rivals(fits, np.random.default_rng(1))
    assert refusal.value.best


def test_two_tools_and_a_level_are_fitted_together():
    tools = (ToolFacts("air-a", "air"), ToolFacts("cordless-b", "spring-and-cam"))
    evidence = replace(blank(tools), levels=(Level(AIR, 420.0, 5.0),))
    rough = replace(QUICK, first=32, second=0, effort=Effort(40, 20, 20, 50, rounds=0), workers=1)
    fits = fit_rivals(evidence, rough, np.random.default_rng(1))
    chain = fits.chain("chain")
    assert chain.surrogate.outputs == 9
    assert len(chain.parameters) == 15
    assert chain.particles.mean.shape[1] == 8


def test_a_level_far_from_what_was_expected_pulls_but_does_not_decide():
    """A factor of three is 3 of its spreads of 37 %: less than 5 in log density."""
    evidence = replace(blank(), levels=(Level(AIR, 100.0, 10.0),))
    near, far = _log_levels(evidence, np.log([[100.0], [300.0]]), np.zeros((2, 1)))
    assert 4.0 < near - far < 5.0


def test_a_setting_that_was_not_run_stands_with_its_tool():
    evidence = blank()
    table = make_table(evidence, ((Setting("air-a", 3.0), 6e-4, 1.0, UNSEEN),))
    assert table.setting[-1] == table.setting[0]
    longer = replace(
        evidence, gains=(*evidence.gains[:3], replace(evidence.gains[3], setting=Setting("air-a", 3.0)))
    )
    assert len(set(make_table(longer).setting)) == 2


def test_facts_refuse_what_cannot_be():
    with pytest.raises(BadInput):
        ArticleFacts("x", None, mass=-1.0)
    with pytest.raises(BadInput):
        Setting("air-a", duration=0.0)
    assert Gain("x", AIR, 0.1, 3).runs == 3
