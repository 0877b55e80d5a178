from dataclasses import replace

import numpy as np
import pytest
import statsmodels.api as sm
from tests.unit.judge.campaigns import runs_of
from tests.validity import Truth, simulate_campaign

from strikeproof.judge.intervals import judge_runs
from strikeproof.judge.model import fit_scores
from strikeproof.judge.records import ScoredRun

TWO_TOOLS = Truth(gains=(0.0, 4.0, -3.0, 8.0), tools=("air", "battery"), bolt_wear_percent=0.2)


def dummies(names):
    kinds = sorted(set(names))
    return np.array([[float(name == kind) for kind in kinds] for name in names])


@pytest.mark.parametrize(
    "truth", [TWO_TOOLS, Truth(gains=(2.0,) * 5), Truth(gains=(5.0, 1.0), blocks=(3, 3))]
)
def test_differences_and_their_covariance_are_those_of_statsmodels(truth):
    runs = simulate_campaign(truth, np.random.default_rng(11))
    fit = fit_scores(runs, "plain")
    articles = np.array(
        [[float((run.article, run.tool) == pair) for pair in fit.design.pairs] for run in runs]
    )
    places = {
        run.run: sum(
            other.order < run.order and (other.block, other.tool) == (run.block, run.tool) for other in runs
        )
        for run in runs
    }
    known = {
        "order of the runs": lambda run: run.order,
        "bolt use": lambda run: run.bolt_use,
        "break-in of a new bolt": lambda run: 0.5**run.bolt_use,
        "warm-up in the block": lambda run: 0.5 ** places[run.run],
    }
    covariates = np.array([[known[name](run) for name in fit.covariates] for run in runs])
    covariates = covariates.reshape(len(runs), -1)
    cells = dummies([run.tool + run.block for run in runs])
    theirs = sm.OLS(np.log([run.score for run in runs]), np.hstack([articles, covariates, cells])).fit()
    count = len(fit.design.pairs)
    assert fit.difference == pytest.approx(theirs.params[:count], abs=1e-10)
    assert fit.standard_error == pytest.approx(theirs.bse[:count], rel=1e-9)
    assert fit.variance * fit.covariance == pytest.approx(
        theirs.cov_params()[:count, :count], rel=1e-8, abs=1e-14
    )
    assert fit.degrees_of_freedom == theirs.df_resid
    assert fit.residual == pytest.approx(theirs.resid, abs=1e-10)
    assert fit.leverage == pytest.approx(theirs.get_influence().hat_matrix_diag, abs=1e-9)


def test_bolt_use_is_a_covariate_when_bolts_wear():
    runs = simulate_campaign(TWO_TOOLS, np.random.default_rng(1))
    assert "bolt use" in fit_scores(runs, "plain").covariates


def test_warm_up_at_the_start_of_a_block_makes_no_difference():
    """The reference at both ends of every block takes the cold first run upon itself."""
    cold = Truth(order="ends", missing=0.0, scatter_percent=0.5, warm_up_percent=20.0, warm_up_runs=1.4427)
    runs = simulate_campaign(cold, np.random.default_rng(5))
    steady = simulate_campaign(replace(cold, warm_up_percent=0.0), np.random.default_rng(5))
    assert fit_scores(runs, "plain").difference == pytest.approx(
        fit_scores(steady, "plain").difference, abs=1e-6
    )


def test_the_first_runs_of_new_bolts_are_a_term_of_their_own():
    runs = simulate_campaign(
        Truth(missing=0.0, blocks=(7, 7), bolt_wear_percent=0.2), np.random.default_rng(3)
    )
    moved = [replace(run, score=run.score * (1.2 if run.bolt_use == 0 else 1.0)) for run in runs]
    fit = fit_scores(moved, "plain")
    assert "break-in of a new bolt" in fit.covariates


def test_order_is_left_out_when_bolt_use_says_the_same():
    runs = [
        ScoredRun(
            f"{i}",
            "ref" if i % 3 == 0 else f"a{i % 3}",
            "t",
            f"{i // 9}",
            i,
            100.0 + i % 4,
            bolt_use=float(i),
        )
        for i in range(45)
    ]
    assert fit_scores(runs, "ref").covariates == ("bolt use", "warm-up in the block")


def test_order_is_left_out_of_a_small_campaign():
    runs = simulate_campaign(Truth(gains=(0.0, 0.0), blocks=(3, 3), missing=0.0), np.random.default_rng(2))
    assert fit_scores(runs, "plain").covariates == ()


def test_slow_drift_between_blocks_changes_nothing():
    runs = simulate_campaign(Truth(gains=(1.0, 2.0, 3.0)), np.random.default_rng(4))
    moved = [
        ScoredRun(run.run, run.article, run.tool, run.block, run.order, run.score * 1.1 ** int(run.block))
        for run in runs
    ]
    assert fit_scores(moved, "plain").difference == pytest.approx(
        fit_scores(runs, "plain").difference, abs=1e-12
    )


def test_an_article_without_a_shared_block_is_not_estimable():
    runs = [
        *(ScoredRun(f"r{i}", "ref", "t", "1", i, 100.0 + i) for i in range(3)),
        *(ScoredRun(f"a{i}", "a", "t", "1", 3 + i, 105.0 + i) for i in range(3)),
        *(ScoredRun(f"b{i}", "b", "t", "2", 6 + i, 110.0 + i) for i in range(3)),
    ]
    design = fit_scores(runs, "ref").design
    assert dict(zip(design.pairs, design.estimable, strict=True)) == {("a", "t"): True, ("b", "t"): False}


def test_articles_are_compared_by_way_of_others():
    """ref and a share block 1, a and b block 2: b - ref is (b - a) + (a - ref)."""
    scores = {("ref", "1"): 100.0, ("a", "1"): 110.0, ("a", "2"): 55.0, ("b", "2"): 66.0}
    runs = [
        ScoredRun(f"{article}{block}{i}", article, "t", block, 0, score * factor)
        for (article, block), score in scores.items()
        for i, factor in enumerate((0.99, 1 / 0.99))
    ]
    interval = judge_runs(runs, "ref", 0.95).intervals["b", "t"]
    assert np.exp(interval.difference) == pytest.approx(1.1 * 1.2)


@pytest.mark.parametrize(
    "text", ["ref=100 a=110 ref=101", "ref=100 ref=101 ref=99", "ref=100 ref=101\na=110 a=111", "ref=100"]
)
def test_nothing_empty_goes_through_linear_algebra(text, monkeypatch):
    """Libraries have been seen to give no number, once in a process, where nothing was to be done."""

    def guard(name):
        original = getattr(np.linalg, name)

        def guarded(*arrays, **settings):
            assert all(np.size(each) for each in arrays)
            return original(*arrays, **settings)

        monkeypatch.setattr(np.linalg, name, guarded)

    for name in ("eigh", "lstsq"):
        guard(name)
    fit = fit_scores(runs_of(text), "ref")
    assert np.isfinite(fit.residual).all() and np.isfinite(fit.covariance).all()


@pytest.mark.parametrize("score", [float("nan"), float("inf")])
def test_a_fit_without_a_number_is_never_a_result(score):
    runs = runs_of("ref=100 a=110 ref=101 a=112")
    runs[1] = replace(runs[1], score=score)
    with pytest.raises(FloatingPointError, match="gave no number"), np.errstate(invalid="ignore"):
        fit_scores(runs, "ref")
