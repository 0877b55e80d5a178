"""C. W. Dunnett, J. Am. Stat. Assoc. 50 (1955) 1096; the revised two-sided table, Biometrics 20 (1964) 482.

The first data set and its intervals stand in the paper; t and p to more digits are those SciPy tests against
(scipy/stats/tests/test_multicomp.py, values from R's multcomp). The table of 1964 is from memory.
"""

import numpy as np
import pytest

from strikeproof.judge.intervals import judge_runs
from strikeproof.judge.records import ScoredRun
from strikeproof.judge.simultaneous import largest_t

CONTROL = (7.40, 8.50, 7.20, 8.24, 9.84, 8.32)
A = (9.76, 8.80, 7.68, 9.36)
B = (12.80, 9.68, 12.16, 9.20, 10.55)


def judged():
    groups = {"control": CONTROL, "a": A, "b": B}
    flat = [(name, value) for name, values in groups.items() for value in values]
    runs = [
        ScoredRun(f"{i}", name, "t", "1", 0, float(np.exp(value))) for i, (name, value) in enumerate(flat)
    ]
    return judge_runs(runs, "control", 0.95)


@pytest.mark.parametrize(
    ("article", "t", "p", "low", "high"),
    [("a", 0.85703, 0.62010, -1.2564, 2.5564), ("b", 3.69375, 0.0058254, 0.8396, 4.4164)],
)
def test_blood_counts_of_1955(article, t, p, low, high):
    interval = judged().intervals[article, "t"]
    assert interval.difference / interval.error == pytest.approx(t, rel=2e-5)
    assert interval.p == pytest.approx(p, rel=2e-3)  # the reference's own Monte Carlo error is 1e-3
    assert (interval.low, interval.high) == pytest.approx((low, high), abs=2e-3)


@pytest.mark.parametrize(
    ("comparisons", "free", "level", "bound"),
    [
        (1, 10, 0.05, 2.23),
        (3, 10, 0.05, 2.81),
        (2, 30, 0.05, 2.32),
        (3, 20, 0.05, 2.57),
        (4, 12, 0.01, 3.76),
        (7, 12, 0.01, 4.08),
        (2, 60, 0.01, 2.90),
    ],
)
def test_two_sided_critical_values_of_1955(comparisons, free, level, bound):
    """Tables 2a, 2b rest on an approximation: SciPy holds them to 0.005 in probability, and so here."""
    correlation = np.full((comparisons, comparisons), 0.5) + 0.5 * np.eye(comparisons)
    assert largest_t(correlation, free).p_beyond(bound) == pytest.approx(level, abs=5e-3)


@pytest.mark.parametrize(
    ("free", "bounds"),
    [
        (10, (2.23, 2.57, 2.76, 2.89, 2.99)),
        (20, (2.09, 2.38, 2.54, 2.65, 2.73)),
        (30, (2.04, 2.32, 2.47, 2.58, 2.66)),
        (60, (2.00, 2.27, 2.41, 2.51, 2.58)),
    ],
)
def test_two_sided_critical_values_of_1964(free, bounds):
    """Exact table, 5 %, one to five treatments; printed to 0.01 (from memory)."""
    for comparisons, bound in enumerate(bounds, 1):
        correlation = np.full((comparisons, comparisons), 0.5) + 0.5 * np.eye(comparisons)
        assert largest_t(correlation, free).critical_value(0.95) == pytest.approx(bound, abs=0.0075)
