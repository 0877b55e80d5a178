"""Comparison of 1 000 runs in less than 1 s, randomisation test included; beside SciPy and statsmodels."""

import time

import numpy as np
import pytest
import statsmodels.formula.api as smf
from pandas import DataFrame
from scipy.stats import dunnett
from tests.benchmarks.yardstick import within
from tests.validity import Truth, simulate_campaign

from strikeproof.judge.comparison import compare_runs

THOUSAND = Truth(gains=(0.0,) * 8, tools=("air", "battery"), blocks=(50, 50), missing=0.0)


def best_of(work, times=5):
    """Shortest of a few wall times. [s]"""
    spent = []
    for _ in range(times):
        start = time.perf_counter()
        work()
        spent.append(time.perf_counter() - start)
    return min(spent)


@pytest.mark.benchmark
def test_thousand_runs_are_compared_in_a_second():
    runs = simulate_campaign(THOUSAND, np.random.default_rng(1))
    assert len(runs) == 1000
    frame = DataFrame({"y": np.log([r.score for r in runs]), "cell": [r.tool + r.block for r in runs]})
    frame["article"] = ["" if r.article == "plain" else r.article + r.tool for r in runs]
    frame["order"] = [r.order for r in runs]
    air = [r for r in runs if r.tool == "air"]
    groups = [[np.log(r.score) for r in air if r.article == f"article-{i}"] for i in range(8)]
    control = [np.log(r.score) for r in air if r.article == "plain"]

    def ours(draws):
        rng = np.random.default_rng(2)
        return compare_runs(runs, reference="plain", margin_percent=3.0, rng=rng, draws=draws)

    whole, intervals = best_of(lambda: ours(4999)), best_of(lambda: ours(0))
    least_squares = best_of(lambda: smf.ols("y ~ article + cell + order", frame).fit(), times=2)
    theirs = best_of(
        lambda: dunnett(*groups, control=control, rng=np.random.default_rng(3)).confidence_interval(), times=2
    )
    print(f"\n1000 runs, 16 comparisons, 4999 dealings: {whole:.3f} s; without dealings {intervals:.3f} s")
    for what, spent in (
        ("least squares alone in statsmodels", least_squares),
        ("scipy.stats.dunnett, half", theirs),
    ):
        print(f"{what}: {spent:.3f} s, {spent / intervals:.1f} times as long")
    assert whole < within(1.0)
