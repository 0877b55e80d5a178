"""One bench against another: En scores by hand, expected ranges against Welch's test, drawn campaigns."""

from __future__ import annotations

import numpy as np
import pytest
from scipy import stats

from strikeproof.judge.questions.effects import Effects, fit_effects
from strikeproof.judge.records import ScoredRun
from strikeproof.judge.replication import Estimate, compare_effects, en_score, expected_range


def test_an_en_score_is_the_difference_by_the_root_of_both_squares() -> None:
    """ISO 13528, En score (from memory), by hand: (10.2 - 9.8) / sqrt(0.3² + 0.4²) = 0.8."""
    lab, assigned = Estimate(10.2, 0.3 / 1.959964), Estimate(9.8, 0.4 / 1.959964)
    assert en_score(lab, assigned) == pytest.approx(0.8, abs=1e-6)
    assert en_score(assigned, lab) == pytest.approx(-0.8, abs=1e-6)


def test_an_expanded_uncertainty_has_the_factor_of_its_freedom() -> None:
    """GUM, table G.2 (from memory): for 95 % the factor is 2.57 with 5 degrees of freedom, 2.23 with 10."""
    assert Estimate(0.0, 1.0, 5).expanded() == pytest.approx(2.57, abs=0.005)
    assert Estimate(0.0, 1.0, 10).expanded() == pytest.approx(2.23, abs=0.005)


@pytest.mark.parametrize("seed", range(6))
def test_a_value_is_in_the_expected_range_where_welchs_test_sees_no_difference(seed: int) -> None:
    """Ends against scipy.stats.ttest_ind(equal_var=False), which knows nothing of this program."""
    rng = np.random.default_rng(seed)
    one, two = rng.normal(0.0, 1.0, 4 + seed), rng.normal(1.0, 3.0, 9 - seed)
    first, second = (Estimate(x.mean(), x.std(ddof=1) / np.sqrt(x.size), x.size - 1) for x in (one, two))
    low, high = expected_range(first, second.error, second.freedom)
    welch = stats.ttest_ind(two, one, equal_var=False).confidence_interval(0.95)
    assert (second.value - high, second.value - low) == pytest.approx((welch.low, welch.high), rel=1e-9)


def test_with_known_errors_the_range_is_that_of_the_paper() -> None:
    """Patil, Peng, Leek 2016 (from memory): first ± 1.96 times the root of both squared errors."""
    low, high = expected_range(Estimate(0.4, 0.03), 0.04)
    assert (low, high) == pytest.approx((0.4 - 1.96 * 0.05, 0.4 + 1.96 * 0.05), abs=1e-5)


def drawn(gains: dict[str, float], seed: int, scatter: float = 0.01, order: bool = True) -> Effects:
    """A campaign of eight blocks whose log scores are drawn around true gains."""
    rng = np.random.default_rng(seed)
    runs = []
    for block in range(8):
        names = ["plain", *gains]
        names = [names[i] for i in rng.permutation(len(names))] if order else names
        for name in names:
            score = 100.0 * float(np.exp(gains.get(name, 0.0) + rng.normal(0.0, scatter)))
            runs.append(ScoredRun(f"{block}{name}", name, "air", str(block), len(runs), score))
    return fit_effects(runs, "plain")


def test_what_agrees_and_what_differs_is_told_apart() -> None:
    theirs = drawn({"ring": 0.10, "sleeve": 0.05, "stub": 0.0}, seed=1)
    ours = drawn({"ring": 0.10, "sleeve": 0.12, "other": 0.0}, seed=2)
    ring, sleeve = sorted(compare_effects(theirs, ours), key=lambda each: each.article)
    assert (ring.article, ring.verdict) == ("ring", "agrees") and abs(ring.en) < 1.0
    assert ring.expected_low_percent < ring.ours[0] < ring.expected_high_percent
    assert (sleeve.article, sleeve.verdict) == ("sleeve", "differs") and sleeve.en > 1.0
    assert 1.0 < sleeve.noticed_percent < 5.0  # both scatter by 1 %, so 7 % more is seen and 1 % is not


def test_of_a_time_less_is_better_and_the_sign_turns() -> None:
    theirs, ours = drawn({"ring": -0.20}, seed=1), drawn({"ring": -0.30}, seed=2)
    (less,) = compare_effects(theirs, ours, timed=True)
    assert less.ours[0] > less.theirs[0] > 0.0 and less.en > 1.0
    assert less.expected_low_percent < less.theirs[0] < less.expected_high_percent < less.ours[0]


def test_what_agrees_in_truth_agrees_as_often_as_stated() -> None:
    """95 of 100; the share of 150 drawn pairs lies within 3.5 standard errors of it."""
    agree = 0
    for seed in range(150):
        gains = {"ring": 0.1, "sleeve": 0.0}
        found, _ = compare_effects(drawn(gains, 2 * seed), drawn(gains, 2 * seed + 1, scatter=0.03))
        agree += found.expected_low_percent < found.ours[0] < found.expected_high_percent
    assert abs(agree / 150 - 0.95) < 3.5 * np.sqrt(0.95 * 0.05 / 150)


def test_what_the_runs_do_not_show_is_left_out() -> None:
    theirs = drawn({"ring": 0.1}, seed=1)
    assert compare_effects(theirs, drawn({"ring": 0.1}, seed=2, order=False)) == ()
    assert compare_effects(theirs, drawn({"sleeve": 0.1}, seed=2)) == ()
