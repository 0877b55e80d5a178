"""Runs that never reached the level count as later than they were watched."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from scipy.stats import CensoredData, norm
from tests.unit.judge.campaigns import runs_of

from strikeproof.judge.censored import _solve, judge_censored, rank_fit
from strikeproof.judge.comparison import compare_runs
from strikeproof.judge.intervals import judge_runs
from strikeproof.judge.records import ArticleResult, Comparison, ScoredRun

WINDOW = 10.0


def watched(text: str) -> list[ScoredRun]:
    """Runs by hand; a time above the window was not reached."""
    runs = runs_of(text)
    return [replace(each, score=min(each.score, WINDOW), not_reached=each.score > WINDOW) for each in runs]


def compared(runs: list[ScoredRun]) -> Comparison:
    return compare_runs(
        runs, reference="ref", margin_percent=2.0, rng=np.random.default_rng(1), draws=499, timed=True
    )


def row_of(comparison: Comparison, article: str) -> ArticleResult:
    return next(row for row in comparison.results if row.article == article)


FULL = "ref=5 a=6.1 b=4.9 ref=5.1\nref=5.3 b=5.2 a=6.2 ref=5.2\nref=4.8 a=5.9 b=4.7 ref=4.9"
ONE_NEVER = "ref=5 a=99 b=4.9 ref=5.1\nref=5.3 b=5.2 a=99 ref=5.2\nref=4.8 a=99 b=4.7 ref=4.9"
ONE_HALF = """
ref=8 a=9.8 b=7.9 ref=8.2
ref=8.3 b=8.2 a=99 ref=8.2
ref=7.8 a=99 b=7.7 ref=7.9
ref=8 a=99 b=8.1 ref=8.1
"""


def test_with_every_run_there_it_is_the_t_interval() -> None:
    runs = watched(FULL)
    mine, theirs = judge_censored(runs, "ref", 0.95), judge_runs(runs, "ref", 0.95)
    for pair, interval in theirs.intervals.items():
        other = mine.intervals[pair]
        assert other.difference == pytest.approx(interval.difference, abs=1e-6)
        assert (other.low, other.high) == pytest.approx((interval.low, interval.high), abs=1e-5)
        assert other.p == pytest.approx(interval.p, abs=1e-5)
    assert mine.fit.variance == pytest.approx(theirs.fit.variance, rel=1e-6)


def test_one_sample_is_fitted_as_scipy_fits_it() -> None:
    """Outside truth: scipy.stats.norm.fit of right-censored data."""
    rng = np.random.default_rng(3)
    times = rng.normal(1.0, 0.4, 40)
    late = times > 1.1
    seen = np.minimum(times, 1.1)
    found = _solve(np.ones((40, 1)), seen, late)
    assert found is not None
    middle, spread = norm.fit(CensoredData.right_censored(seen, late))
    assert found.effects[0] / found.scale == pytest.approx(middle, abs=1e-4)
    assert 1.0 / found.scale == pytest.approx(spread, abs=1e-4)


def test_an_article_that_never_gets_there_is_later_by_at_least_so_much() -> None:
    result = compared(watched(ONE_NEVER))
    row = row_of(result, "a")
    assert (row.verdict, row.runs, row.not_reached, row.watched_s) == ("later", 3, 3, WINDOW)
    assert row.gain_percent is None and row.low_percent is None and row.median is None
    assert row.high_percent is not None and -110.0 < row.high_percent < -80.0
    assert row.p is not None and row.p < 0.01
    assert [each.article for each in result.results] == ["ref", "b", "a"]  # the worst is last, and there
    assert "3 of 3 runs of a with air did not reach the level in 10 s" in " ".join(result.warnings)
    assert "censored, not missing" in " ".join(result.method)
    assert row_of(result, "b").verdict != "later"


def test_one_that_gets_there_sometimes_has_a_gain_beyond_its_window() -> None:
    runs = watched(ONE_HALF)
    row = row_of(compared(runs), "a")
    left_out = row_of(compared([each for each in runs if not each.not_reached]), "a")
    assert row.verdict == "later" and row.not_reached == 3
    assert row.gain_percent is not None and left_out.gain_percent is not None
    assert row.gain_percent < left_out.gain_percent
    assert left_out.verdict == "cannot tell"  # what leaving such runs out said


def test_a_reference_that_never_gets_there_makes_the_others_sooner_by_at_least_so_much() -> None:
    text = ONE_NEVER.replace("ref", "x").replace("a=99", "ref=99")
    row = row_of(compared(watched(text)), "b")
    assert row.verdict == "sooner" and row.gain_percent is None and row.high_percent is None
    assert row.low_percent is not None and row.low_percent > 30.0


def test_where_nobody_gets_there_nothing_can_be_told_and_nobody_is_missing() -> None:
    result = compared(watched("ref=99 a=99 ref=99\nref=99 a=99 ref=99\nref=99 ref=99 a=99"))
    row = row_of(result, "a")
    assert (row.verdict, row.not_reached, row.low_percent, row.high_percent) == ("cannot tell", 3, None, None)


def test_ranks_put_those_that_never_got_there_last() -> None:
    runs = watched("ref=5 a=99 b=4 c=99")
    ranks = np.exp(rank_fit(runs, "ref").columns[:, 0])
    assert ranks[1] == ranks[3] == max(ranks) and min(ranks) == ranks[2]
