import itertools

import numpy as np
import pytest
from tests.unit.judge.campaigns import ORDINARY, runs_of
from tests.validity import Truth, simulate_campaign

from strikeproof.judge.model import fit_scores
from strikeproof.judge.randomisation import count_arrangements, randomisation_p
from strikeproof.judge.records import ScoredRun


def relabelled(runs, places):
    """The articles dealt to the runs in another order."""
    return [
        ScoredRun(r.run, runs[i].article, r.tool, r.block, r.order, r.score, r.bolt, r.bolt_use)
        for r, i in zip(runs, places, strict=True)
    ]


def largest(fit):
    return np.max(np.abs(fit.difference) / fit.standard_error)


def test_p_is_that_of_all_arrangements_counted_one_by_one():
    """Two blocks of four: 12 x 12 different dealings, each fitted afresh."""
    runs = runs_of("ref=100 a=108 b=101 ref=103\nref=97 b=99 a=104 ref=98")
    fit = fit_scores(runs, "ref")
    first, second = (list(itertools.permutations(range(start, start + 4))) for start in (0, 4))
    all_largest = np.array(
        [largest(fit_scores(relabelled(runs, [*one, *two]), "ref")) for one in first for two in second]
    )
    observed = np.abs(fit.difference) / fit.standard_error
    exact = [(all_largest >= each * (1 - 1e-9)).mean() for each in observed]
    draws = 20_000
    found = randomisation_p(fit, draws=draws, rng=np.random.default_rng(2))
    assert found == pytest.approx(exact, abs=4 * 0.5 / np.sqrt(draws))


def test_every_dealing_is_fitted_as_least_squares_would():
    """The shortcut through products, with both covariates, against fresh fits of relabelled runs."""
    from strikeproof.judge.randomisation import _ratios, _shuffles

    runs = simulate_campaign(Truth(gains=(0.0, 4.0, -2.0), bolt_wear_percent=0.3), np.random.default_rng(8))
    fit = fit_scores(runs, "plain")
    assert fit.covariates
    places = _shuffles(fit.design.cell, 20, np.random.default_rng(3))
    for ratio, place in zip(_ratios(fit, places), places, strict=True):
        moved = [
            ScoredRun(r.run, r.article, r.tool, r.block, runs[i].order, runs[i].score, None, runs[i].bolt_use)
            for r, i in zip(runs, place, strict=True)
        ]
        again = fit_scores(moved, "plain")
        assert ratio == pytest.approx(np.abs(again.difference) / again.standard_error, rel=1e-8)


def test_runs_never_leave_their_block():
    fit = fit_scores(runs_of(ORDINARY), "ref")
    from strikeproof.judge.randomisation import _shuffles

    for places in _shuffles(fit.design.cell, 50, np.random.default_rng(1)):
        assert sorted(places) == list(range(12))
        assert (fit.design.cell[places] == fit.design.cell).all()


def test_the_same_generator_gives_the_same_p():
    fit = fit_scores(runs_of(ORDINARY), "ref")
    first, second = (randomisation_p(fit, draws=300, rng=np.random.default_rng(4)) for _ in range(2))
    assert (first == second).all()


def test_arrangements_of_a_block_are_a_multinomial():
    fit = fit_scores(runs_of("ref=100 a=111 b=99 ref=102\nref=105 b=103 a=114"), "ref")
    assert count_arrangements(fit, np.array([0, 1, 2, 0, 0, 2, 1])) == pytest.approx(12 * 6)


def test_a_dealing_that_explains_the_covariate_leaves_it_out():
    """Bolt use is 1 for one article's runs and 0 else in some dealings: no division by what is left of it."""
    runs = [
        ScoredRun(
            f"{i}", "ref" if i % 2 else "a", "t", f"{i // 4}", 0, 100.0 + (7 * i) % 11, None, float(i % 4 > 1)
        )
        for i in range(16)
    ]
    fit = fit_scores(runs, "ref")
    assert fit.covariates == ("bolt use",)
    p = randomisation_p(fit, draws=2000, rng=np.random.default_rng(1))
    assert 0.0 < p[0] <= 1.0
