"""Known truth, small: the whole study is `python -m tests.validity`."""

import numpy as np
import pytest
from tests.validity import Truth, simulate_campaign

from strikeproof.judge.comparison import compare_runs
from strikeproof.judge.repeats import repeats_for
from strikeproof.judge.verdict import Margin, Standing, find_more_runs


def verdicts(truth, count, seed, margin_percent=1.0):
    rng = np.random.default_rng(seed)
    for _ in range(count):
        runs = simulate_campaign(truth, rng)
        yield compare_runs(runs, reference="plain", margin_percent=margin_percent, rng=rng, draws=0)


def test_gains_are_recovered_without_bias_under_drift_and_wear():
    truth = Truth(gains=(5.0, -4.0, 0.0, 12.0), largest_drift_percent=0.4, bolt_wear_percent=0.3)
    found = {f"article-{i}": [] for i in range(4)}
    for result in verdicts(truth, 50, seed=1):
        for row in result.results[1:]:
            found[row.article].append(np.log1p(row.gain_percent / 100))
    for i, gain in enumerate(truth.gains):
        logs = np.asarray(found[f"article-{i}"])
        error = logs.std() / np.sqrt(len(logs))
        assert logs.mean() == pytest.approx(np.log1p(gain / 100), abs=4 * error)


def test_intervals_cover_together_in_about_19_of_20_campaigns():
    truth = Truth(gains=(5.0, -4.0, 0.0, 12.0))
    true = {f"article-{i}": gain for i, gain in enumerate(truth.gains)}
    covered = [
        all(row.low_percent <= true[row.article] <= row.high_percent for row in result.results[1:])
        for result in verdicts(truth, 120, seed=2)
    ]
    # 0.95 give or take three binomial standard errors
    assert np.mean(covered) == pytest.approx(0.95, abs=3 * np.sqrt(0.95 * 0.05 / 120))


def test_planned_repeats_show_the_smallest_difference_as_often_as_promised():
    repeats = repeats_for(4.0, 2.5, 3)
    truth = Truth(gains=(4.0, 0.0, 0.0), blocks=(repeats, repeats), missing=0.0, largest_drift_percent=0.0)
    shown = [
        row.verdict == "higher"
        for result in verdicts(truth, 120, seed=3)
        for row in result.results
        if row.article == "article-0"
    ]
    # 80 %, a little more as repeats are rounded up, give or take three binomial standard errors
    assert 0.80 - 3 * 0.037 <= np.mean(shown) <= 0.82 + 3 * 0.037


def test_more_runs_reach_a_verdict_as_often_as_promised():
    """Five blocks, a gain of 4 %, the true scatter: the further blocks decide in 80 % of campaigns."""
    scatter, blocks, free, critical = 0.025, 5, 13, 2.63
    error = scatter * np.sqrt(1 / blocks + 1 / (2 * blocks))
    more = find_more_runs(
        Standing(np.log(1.04), error, critical, free, blocks, 2 * blocks), Margin.of_percent(1.0)
    )
    # it counts one more reference run for each run of the article, a block brings two: 3/4 as many do
    total = blocks + round(0.75 * more)
    truth = Truth(gains=(4.0, 0.0, 0.0), blocks=(total, total), missing=0.0, largest_drift_percent=0.0)
    decided = [
        row.verdict != "cannot tell"
        for result in verdicts(truth, 120, seed=4)
        for row in result.results
        if row.article == "article-0"
    ]
    assert np.mean(decided) == pytest.approx(0.8, abs=3 * 0.037)
