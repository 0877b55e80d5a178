import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from strikeproof.judge.verdict import MOST_RUNS, Margin, Standing, find_more_runs, give_verdict

MARGIN = Margin.of_percent(3.0)


@pytest.mark.parametrize(
    ("low", "high", "verdict"),
    [
        (0.01, 0.08, "higher"),
        (-0.08, -0.01, "lower"),
        (-0.02, 0.02, "same"),
        (0.005, 0.02, "same"),  # sure, and too small to matter
        (-0.02, 0.05, "cannot tell"),
        (-0.05, 0.02, "cannot tell"),
        (0.0, 0.05, "cannot tell"),
    ],
)
def test_verdict_of_an_interval(low, high, verdict):
    assert give_verdict(low, high, MARGIN) == verdict


@pytest.mark.parametrize(("low", "high", "verdict"), [(0.01, 0.08, "sooner"), (-0.08, -0.01, "later")])
def test_a_gain_of_a_time_is_sooner_and_a_loss_later(low, high, verdict):
    assert give_verdict(low, high, MARGIN, timed=True) == verdict


def test_without_a_margin_nothing_is_the_same():
    assert give_verdict(-1e-9, 1e-9, Margin.of_percent(0.0)) == "cannot tell"


def test_margin_is_in_gains():
    assert give_verdict(np.log(0.9701), np.log(1.0299), MARGIN) == "same"
    assert give_verdict(np.log(0.9699), np.log(1.0299), MARGIN) == "cannot tell"


def standing(difference, error=0.012):
    return Standing(difference, error, 2.8, 30, 5, 10)


def test_a_large_difference_needs_few_more_runs():
    counts = [find_more_runs(standing(difference), MARGIN) for difference in (0.03, 0.04, 0.06)]
    assert counts == sorted(counts, reverse=True) and counts[-1] < counts[0]


def test_no_difference_needs_runs_until_the_interval_fits_the_margin():
    more = find_more_runs(standing(0.0), MARGIN)
    error = 0.012 * np.sqrt((1 / (5 + more) + 1 / (10 + more)) / (1 / 5 + 1 / 10))
    assert 2.7 * error < 0.03 < 5.5 * error


def test_search_ends_where_no_count_would_tell():
    assert find_more_runs(standing(0.0), Margin.of_percent(0.0)) == MOST_RUNS


@given(st.floats(-0.2, 0.2), st.floats(1e-4, 0.2), st.floats(0.5, 20.0))
def test_answer_is_a_count(difference, error, percent):
    more = find_more_runs(standing(difference, error), Margin.of_percent(percent))
    assert 1 <= more <= MOST_RUNS


def test_noisier_runs_never_need_fewer_repeats():
    counts = [find_more_runs(standing(0.05, error), MARGIN) for error in (0.02, 0.03, 0.05, 0.08)]
    assert counts == sorted(counts)
