"""Multiple comparisons with the best against their definition and published critical values."""

import numpy as np
import pytest
from scipy.stats import multivariate_t
from scipy.stats import t as student
from tests.unit.judge.campaigns import SHUFFLED, runs_of
from tests.unit.judge.test_questions_differences import GROUPS, in_one_block

from strikeproof.judge.questions.best import find_best
from strikeproof.judge.questions.effects import fit_effects
from strikeproof.judge.questions.joint import joint_of


def best(runs, *, reference="ref", confidence=0.95, **more):
    return find_best(fit_effects(runs, reference), "air", confidence=confidence, **more)


@pytest.mark.parametrize(
    ("free", "bounds"),
    [
        (10, (1.81, 2.15, 2.34, 2.47, 2.56)),
        (20, (1.72, 2.03, 2.19, 2.30, 2.39)),
        (60, (1.67, 1.95, 2.10, 2.21, 2.28)),
    ],
)
def test_one_sided_critical_values_of_1955(free, bounds):
    """C. W. Dunnett, J. Am. Stat. Assoc. 50 (1955) 1096, table 1a, printed to 0.01 (from memory)."""
    for others, bound in enumerate(bounds, 1):
        joint = joint_of(np.full((others, others), 0.5) + 0.5 * np.eye(others), two_sided=False)
        assert joint.critical_value(0.95, free) == pytest.approx(bound, abs=0.0065)


def test_one_sided_level_agrees_with_scipy():
    rng = np.random.default_rng(5)
    root = rng.standard_normal((4, 4))
    covariance = root @ root.T + np.eye(4)
    size = np.sqrt(np.diag(covariance))
    theirs = multivariate_t.cdf(
        np.full(4, 2.2), shape=covariance / np.outer(size, size), df=9, random_state=1, maxpts=100_000
    )
    assert joint_of(covariance, two_sided=False).p_beyond(2.2, 9) == pytest.approx(1 - theirs, abs=3e-4)


def test_intervals_of_four_equal_groups_are_those_of_hsu():
    """Balanced: each ends at its difference from the best of the others, give or take d s sqrt(2 / n).

    Data of NIST/SEMATECH e-Handbook 7.4.3.1; d(0.05; 3, 16) = 2.23 of Dunnett's table 1a (from memory).
    """
    found = best(in_one_block(GROUPS), reference="a")
    means = {name: np.mean(values) for name, values in GROUPS.items()}
    spread = np.sqrt(np.mean([np.var(values, ddof=1) for values in GROUPS.values()]))
    reach = 2.23 * spread * np.sqrt(2 / 5)
    assert [each.article for each in found.contenders] == sorted(means, key=means.get, reverse=True)
    for each in found.contenders:
        apart = means[each.article] - max(mean for name, mean in means.items() if name != each.article)
        assert np.log1p(each.behind_percent / 100) == pytest.approx(min(apart - reach, 0.0), abs=0.01)
        assert np.log1p(each.ahead_percent / 100) == pytest.approx(max(apart + reach, 0.0), abs=0.01)
    assert [each.article for each in found.possible] == ["c", "b"]


def test_ranks_follow_from_the_pairs_that_differ():
    """Of the handbook's pairs a–c, b–d, c–d and a–b differ by Tukey's method at 95 %, all but a–d and b–c."""
    found = best(in_one_block(GROUPS), reference="a")
    assert {each.article: each.ranks for each in found.contenders} == {
        "c": (1, 2),
        "b": (1, 2),
        "d": (3, 4),
        "a": (3, 4),
    }


def test_chances_add_up_and_agree_with_a_single_t():
    found = best(runs_of(SHUFFLED))
    assert sum(each.chance for each in found.contenders) == pytest.approx(1.0)
    effects = fit_effects(runs_of("ref=100 a=101\na=102 ref=100\nref=99 a=101\na=99 ref=101"), "ref")
    (chance,) = (
        each.chance for each in find_best(effects, "air", confidence=0.95).contenders if each.article == "a"
    )
    ratio = float(effects.fit.difference[0] / effects.fit.standard_error[0])
    assert chance == pytest.approx(student.cdf(ratio, effects.fit.degrees_of_freedom), abs=0.01)


def test_the_best_alone_leaves_nothing_behind():
    found = best(runs_of(SHUFFLED), prices={"a": 30.0})
    (winner,) = found.possible
    assert (winner.article, winner.behind_percent, winner.ranks, winner.price) == ("a", 0.0, (1, 1), 30.0)
    assert all(each.ahead_percent == 0.0 for each in found.contenders[1:])


def test_of_times_the_shortest_is_best():
    found = best(runs_of(SHUFFLED), timed=True)
    assert found.contenders[-1].article == "a"
    assert found.contenders[-1].against_best_percent < 0 < found.contenders[0].against_best_percent


def test_runs_are_counted_one_by_one():
    """Where an article repeats in its blocks, the means are what is judged; the count is that of the runs."""
    found = best(runs_of("a=111 ref=100 a=112 ref=101\nref=98 a=109 ref=99 a=108\nref=99 a=110"))
    assert {each.article: each.runs for each in found.contenders} == {"a": 5, "ref": 5}


def test_a_doubtful_pair_rules_nobody_out():
    """The others still do: b lies behind a, which it is surely apart from."""
    plain = best(runs_of(SHUFFLED))
    assert [each.article for each in plain.possible] == ["a"]
    held = best(runs_of(SHUFFLED), doubtful={frozenset(("a", "ref"))})
    assert [(each.article, each.held) for each in held.possible] == [("a", False), ("ref", True)]
    assert {each.article: each.ranks[0] for each in held.contenders} == {"a": 1, "ref": 1, "b": 2}


@pytest.mark.parametrize(
    ("text", "unknown", "left_out"),
    [
        ("ref=100 a=103\na=104 ref=101 b=130", None, (("b", "one run"),)),
        ("ref=100 ref=101", "alone", ()),
        ("ref=100 a=103", "none", (("a", "one run"), ("ref", "one run"))),
        ("ref=100 a=103\nref=100 a=103\na=103 ref=100", "no scatter", ()),
        (
            "ref=100 a=103\nref=101 a=105\nref=100 a=104\nref=101 a=103\nref=99 a=103\nref=100 a=102",
            "order",
            (),
        ),
        (
            "ref=100 a=103\na=104 ref=101\nref=101 a=104\nb=130 c=133\nc=131 b=129",
            None,
            (("c", "apart"), ("b", "apart")),
        ),
    ],
)
def test_who_is_no_contender(text, unknown, left_out):
    found = best(runs_of(text))
    assert (found.unknown, found.left_out) == (unknown, left_out)
