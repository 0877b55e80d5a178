"""Any two, all pairs and combinations, beside general statistics libraries."""

import numpy as np
import pytest
import statsmodels.api as sm
from scipy.stats import t as student
from scipy.stats import tukey_hsd
from tests.unit.judge.campaigns import ORDINARY, SHUFFLED, runs_of

from strikeproof.errors import BadInput
from strikeproof.judge.comparison import compare_runs
from strikeproof.judge.questions.differences import all_pairs, find_differences
from strikeproof.judge.questions.effects import fit_effects
from strikeproof.judge.questions.written import ask_pair, read_asked
from strikeproof.judge.records import ScoredRun

GROUPS = {
    "a": (6.9, 5.4, 5.8, 4.6, 4.0),
    "b": (8.3, 6.8, 7.8, 9.2, 6.5),
    "c": (8.0, 10.5, 8.1, 6.9, 9.3),
    "d": (5.8, 3.8, 6.1, 5.6, 6.2),
}
"""NIST/SEMATECH e-Handbook of Statistical Methods, 7.4.3.1: four groups of five."""


def in_one_block(groups):
    """Runs whose log scores are the values, in one block: the layout of one factor."""
    values = [(name, value) for name, each in groups.items() for value in each]
    return [
        ScoredRun(f"{i}", name, "air", "1", 0, float(np.exp(value))) for i, (name, value) in enumerate(values)
    ]


def differences(runs, asked, *, reference="ref", tool="air", margin=1.0, confidence=0.95, **more):
    effects = fit_effects(runs, reference)
    return find_differences(
        effects, [(each, tool) for each in asked], margin_percent=margin, confidence=confidence, **more
    )


def logs(found):
    return [
        np.log1p(np.asarray([each.percent, each.low_percent, each.high_percent]) / 100)
        for each in found.found
    ]


def test_all_pairs_of_the_handbook():
    """NIST/SEMATECH e-Handbook, 7.4.7.1: q(0.05; 4, 16) = 4.05 and the intervals of Tukey's method.

    The handbook prints to 0.01 and lists six intervals; SciPy gives the same to more digits.
    """
    found = differences(in_one_block(GROUPS), all_pairs("abcd"), reference="a")
    assert found.degrees_of_freedom == 16
    assert np.sqrt(2) * found.critical_value == pytest.approx(4.05, abs=0.005)
    theirs = tukey_hsd(*GROUPS.values())
    ends = theirs.confidence_interval(0.95)
    for each, (value, low, high) in zip(found.found, logs(found), strict=True):
        first, second = ("abcd".index(name) for name in each.asked.pair)
        assert value == pytest.approx(theirs.statistic[first, second])
        assert (low, high) == pytest.approx((ends.low[first, second], ends.high[first, second]), abs=2e-3)
        assert each.p == pytest.approx(theirs.pvalue[first, second], abs=5e-4)


def test_unequal_groups_are_a_little_surer_than_kramer():
    """Kramer's form of Tukey's method is safe for unequal groups, so the exact intervals lie inside it."""
    groups = {"a": GROUPS["a"], "b": GROUPS["b"][:2], "c": GROUPS["c"][:3]}
    found = differences(in_one_block(groups), all_pairs("abc"), reference="a")
    ends = tukey_hsd(*groups.values()).confidence_interval(0.95)
    for each, (_, low, high) in zip(found.found, logs(found), strict=True):
        first, second = ("abc".index(name) for name in each.asked.pair)
        wide = ends.high[first, second] - ends.low[first, second]
        assert 0.97 * wide < high - low < 1.001 * wide


def test_a_combination_agrees_with_statsmodels():
    runs = runs_of(ORDINARY)
    text = "mean(a, b) - ref"
    found = differences(runs, [read_asked(text, ["a", "b", "ref"])])
    marks = [
        [each.article == name for name in ("a", "b")] + [each.block == block for block in "123"]
        for each in runs
    ]
    fit = sm.OLS(np.log([each.score for each in runs]), np.asarray(marks, dtype=float)).fit()
    test = fit.t_test([0.5, 0.5, 0, 0, 0])
    assert logs(found)[0] == pytest.approx([float(test.effect[0]), *test.conf_int()[0]], abs=1e-6)
    assert found.found[0].p == pytest.approx(float(test.pvalue), rel=1e-6)


def test_one_pair_alone_is_the_plain_t():
    found = differences(runs_of(ORDINARY), [ask_pair("a", "b")])
    assert found.critical_value == pytest.approx(student.ppf(0.975, found.degrees_of_freedom))


def test_pairs_with_the_reference_are_those_of_the_comparison():
    runs = runs_of(SHUFFLED)
    found = differences(runs, [ask_pair("a", "ref"), ask_pair("b", "ref")])
    compared = compare_runs(runs, reference="ref", margin_percent=1.0, rng=np.random.default_rng(1), draws=0)
    for each, row in zip(found.found, compared.results[1:], strict=True):
        assert each.asked.pair[0] == row.article
        assert (each.percent, each.low_percent, each.high_percent) == pytest.approx(
            (row.gain_percent, row.low_percent, row.high_percent), abs=2e-3
        )


def test_the_order_of_a_pair_only_turns_the_sign():
    runs = runs_of(SHUFFLED)
    (one,), (other,) = (differences(runs, [ask_pair(*pair)]).found for pair in (("a", "b"), ("b", "a")))
    assert np.log1p(one.low_percent / 100) == pytest.approx(-np.log1p(other.high_percent / 100))
    assert {one.verdict, other.verdict} == {"higher", "lower"}


def test_a_time_is_better_when_it_is_shorter():
    (found,) = differences(runs_of(SHUFFLED), [ask_pair("a", "b")], timed=True).found
    assert found.verdict == "later"
    assert found.high_percent < 0


def test_two_articles_that_share_blocks_need_no_reference():
    runs = runs_of("a=100 b=103 a=101 b=104\nb=103 a=99 b=102 a=100\nref=100 c=105\nc=104 ref=101")
    found = differences(runs, [ask_pair("b", "a"), ask_pair("a", "ref"), ask_pair("c", "ref")]).found
    assert [each.why_not for each in found] == [None, "apart", None]
    assert found[1].percent is None
    assert found[0].percent == pytest.approx(3.0, abs=1.0)


@pytest.mark.parametrize(
    ("text", "why"),
    [
        ("ref=100 a=103 ref=101 b=104", "one run"),
        ("ref=100 a=103\nref=101", "no scatter"),
        ("ref=100 b=103\nref=101 b=102", "not run"),
    ],
)
def test_what_gives_no_verdict(text, why):
    (found,) = differences(runs_of(text), [ask_pair("a", "ref")]).found
    assert (found.verdict, found.why_not) == ("cannot tell", why)


def test_a_wide_article_widens_what_it_is_in():
    rng = np.random.default_rng(4)
    lines = []
    for _ in range(10):
        scatter = {"ref": 1.0, "a": 12.0, "b": 1.0, "c": 1.0}
        words = [f"{name}={100 + size * rng.normal():.3f}" for name, size in scatter.items()]
        lines.append(" ".join(rng.permutation(words)))
    wide, plain = differences(runs_of("\n".join(lines)), [ask_pair("a", "b"), ask_pair("c", "b")]).found
    assert wide.high_percent - wide.low_percent > 1.3 * (plain.high_percent - plain.low_percent)


def test_runs_that_never_got_there_are_refused():
    runs = [*runs_of(ORDINARY), ScoredRun("late", "a", "air", "1", 99, 10.0, not_reached=True)]
    with pytest.raises(BadInput, match="1 of 13 runs never reached"):
        fit_effects(runs, "ref")


def test_a_reference_that_scatters_more_widens_what_is_set_against_it_alone():
    rng = np.random.default_rng(3)
    lines = []
    for _ in range(6):
        calm = " ".join(f"{name}={100 + 0.5 * rng.normal():.3f}" for name in "abcdef")
        lines.append(f"ref={100 + 5 * rng.normal():.2f} {calm}")
    runs = runs_of("\n".join(lines))
    assert ("ref", "air") in fit_effects(runs, "ref").wide
    found = differences(runs, [ask_pair("a", "ref"), ask_pair("a", "b")])
    against, between = (each.high_percent - each.low_percent for each in found.found)
    assert against > 1.2 * between
    compared = compare_runs(runs, reference="ref", margin_percent=3.0, rng=rng, draws=99)
    of_a = next(each for each in compared.results if each.article == "a")
    assert of_a.high_percent - of_a.low_percent > 1.2 * between
