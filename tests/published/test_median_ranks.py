"""Ranks of the order statistics that hold a median at 95 %.

Textbook table "Confidence intervals for the population median", exact binomial coverage in percent.
"""

import pytest

from strikeproof.judge.results import median_interval, median_ranks

TABLE = {
    6: (1, 6, 96.88),
    7: (1, 7, 98.44),
    8: (1, 8, 99.22),
    9: (2, 8, 96.09),
    10: (2, 9, 97.85),
    11: (2, 10, 98.83),
    12: (3, 10, 96.14),
    15: (4, 12, 96.48),
    16: (4, 13, 97.87),
    20: (6, 15, 95.86),
    25: (8, 18, 95.67),
    30: (10, 21, 95.72),
    50: (18, 33, 96.72),
}


@pytest.mark.parametrize(("count", "row"), TABLE.items())
def test_ranks_and_coverage(count, row):
    low, high, cover = median_ranks(count, 0.95)
    assert (low, high) == row[:2]
    assert 100 * cover == pytest.approx(row[2], abs=0.006)


def test_five_runs_cannot_hold_a_median_at_95_percent():
    assert median_ranks(5, 0.95) is None
    assert median_ranks(5, 0.93) == (1, 5, 0.9375)
    assert median_interval([1.0] * 5, 0.95) is None


def test_interval_is_two_of_the_scores():
    assert median_interval([9, 1, 8, 2, 7, 3, 6, 4, 5], 0.95) == (2.0, 8.0)
