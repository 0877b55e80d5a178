"""Runs of one article in one block are no independent witnesses."""

from collections import Counter
from dataclasses import replace

import numpy as np
import pandas as pd
import pytest
import statsmodels.formula.api as smf
from tests.unit.judge.campaigns import runs_of
from tests.validity import Truth, simulate_campaign

from strikeproof.judge.comparison import compare_runs
from strikeproof.judge.intervals import judge_runs
from strikeproof.judge.model import fit_means, fit_scores

THREE = Truth(
    gains=(0.0,) * 4,
    missing=0.0,
    blocks=(4, 4),
    each=3,
    article_by_block_percent=4.0,
    largest_drift_percent=0,
)


def test_blocks_with_repeats_are_judged_by_their_means():
    """Balanced means are the mixed model: article-by-block against statsmodels' restricted likelihood."""
    seen = Counter()
    runs = []
    for run in simulate_campaign(THREE, np.random.default_rng(1)):
        seen[run.article, run.block] += 1
        if seen[run.article, run.block] <= 3:
            runs.append(replace(run, order=0))  # no place in the block, so no slopes
    table = pd.DataFrame(
        {
            "y": [100.0 * np.log(run.score) for run in runs],
            "article": [run.article for run in runs],
            "block": [run.block for run in runs],
            "both": [run.article + run.block for run in runs],
        }
    )
    formula = "y ~ C(article, Treatment('plain')) + C(block)"
    mixed = smf.mixedlm(formula, table, groups=table["both"]).fit()
    fit, rows = fit_means(runs, "plain")
    assert rows.averaged and fit.degrees_of_freedom == 4 * 3
    assert 100.0 * fit.difference == pytest.approx(mixed.fe_params.iloc[1:5].to_numpy(), abs=1e-6)
    assert 100.0 * fit.standard_error == pytest.approx(mixed.bse_fe.iloc[1:5].to_numpy(), rel=1e-3)


def test_the_plans_own_blocks_are_judged_run_by_run():
    runs = simulate_campaign(Truth(), np.random.default_rng(1))
    fit, rows = fit_means(runs, "plain")
    assert not rows.averaged
    assert fit.difference == pytest.approx(fit_scores(runs, "plain").difference)


def test_one_block_is_judged_run_by_run_and_says_what_that_hides():
    runs = runs_of("ref=100 a=111 a=110 ref=102 a=112 ref=101")
    result = compare_runs(runs, reference="ref", margin_percent=1.0, rng=np.random.default_rng(1), draws=0)
    assert result.degrees_of_freedom == 4
    assert any("differences look too sure" in each for each in result.warnings)


def test_the_scatter_shown_is_that_of_a_run():
    runs = simulate_campaign(THREE, np.random.default_rng(3))
    result = compare_runs(runs, reference="plain", margin_percent=1.0, rng=np.random.default_rng(1), draws=0)
    alone = fit_scores(runs, "plain").variance
    assert result.residual_cv_percent == pytest.approx(100 * np.sqrt(np.expm1(alone)))
    assert any("the mean of each block counts once" in each for each in result.warnings)


def test_three_runs_a_block_make_no_more_false_differences_than_promised():
    """35 % of campaigns, were every run to count by itself; the whole study is `python -m tests.validity`."""
    rng = np.random.default_rng(5)
    wrong = 0
    for _ in range(20):
        judged = judge_runs(simulate_campaign(THREE, rng), "plain", 0.95)
        wrong += any(each.p < 0.05 for each in judged.intervals.values())
    assert wrong <= 4  # 5 % of 20, and three Monte Carlo errors
