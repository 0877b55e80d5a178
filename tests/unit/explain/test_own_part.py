"""What articles have of their own: prior, covariance, and who carries it.

Quantiles against `scipy.stats.halfnorm`, covariances against `scipy.stats.multivariate_normal` and a large
sample that is drawn as the words say; the posterior of one normal part by its closed form.
"""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from scipy.stats import halfnorm, multivariate_normal, norm
from tests.unit.explain.bench import blank

from strikeproof.explain import Evidence, OwnPart, Setting, ToolFacts, Unexplained
from strikeproof.explain.deciding import Decision
from strikeproof.explain.fits import make_table
from strikeproof.explain.own_part import KIN, SCALE, UNSEEN, own_patterns, own_size, own_unknown, pattern_at
from strikeproof.explain.particles import posterior_weights
from strikeproof.explain.results import RivalRow
from strikeproof.explain.sentences import say_because
from strikeproof.explain.statistical import nothing_rival
from strikeproof.explain.unexplained import find_unexplained
from strikeproof.quantity import FloatArray


def test_its_size_is_half_normal_where_the_unknown_is_normal() -> None:
    unknown = np.array([-2.0, 0.0, 1.0, 3.0])
    assert own_size(unknown) == pytest.approx(halfnorm.ppf(norm.cdf(unknown), scale=SCALE))
    assert own_unknown(own_size(unknown)) == pytest.approx(unknown)
    assert np.isfinite(own_size(np.array([-6.0, 6.0]))).all()


def test_gains_share_the_reference_and_an_article_shares_with_itself() -> None:
    """Articles 0, 0 with two tools, 1, a new one, and the reference changed; drawn as the words say."""
    article = np.array([0, 0, 1, UNSEEN, KIN])
    setting = np.array([0.0, 1.0, 0.0, 0.0, 0.0])
    rng, half = np.random.default_rng(1), np.sqrt(0.5)
    size = 200_000
    common, single = half * rng.standard_normal((size, 3)), half * rng.standard_normal((size, 3, 2))
    part = common[:, :, None] + single  # of article 0, of article 1, of the reference; by setting
    base = part[:, 2]
    gains = np.column_stack(
        [
            part[:, 0, 0] - base[:, 0],
            part[:, 0, 1] - base[:, 1],
            part[:, 1, 0] - base[:, 0],
            -base[:, 0],
            np.zeros(size),
        ]
    )
    found = pattern_at(own_patterns(article, setting), np.ones(1))[0]
    assert found == pytest.approx(np.cov(gains.T), abs=0.02)


def scored(values: list[float], scatter: float = 0.005) -> Evidence:
    gains = tuple(replace(each, log_gain=value) for each, value in zip(blank().gains, values, strict=True))
    return replace(blank(), gains=gains, covariance=scatter**2 * (np.eye(4) + 1.0))


def unexplained(evidence: Evidence) -> Unexplained:
    table = make_table(evidence)
    return find_unexplained(nothing_rival(table), evidence, table, np.random.default_rng(1))


def test_equal_articles_leave_little_and_nobody_stands_out() -> None:
    found = unexplained(scored([0.002, -0.003, 0.001, 0.0]))
    assert found.percent < 1.0 and found.high < 2.5
    assert found.learned > 0.1
    assert not any(each.stands_out for each in found.parts)


def test_the_one_that_lies_off_is_named_with_its_size() -> None:
    """The reference is an article too, so that of 8 % a fifth goes to the mean of all five."""
    found = unexplained(scored([0.002, 0.08, -0.003, 0.001]))
    assert 2.0 < found.percent < 8.0
    assert found.parts[0].article == "ring 6" and found.parts[0].percent == pytest.approx(6.4, abs=0.5)
    assert [each.article for each in found.parts if each.stands_out] == ["ring 6"]


def test_where_all_lie_off_alike_it_is_the_reference() -> None:
    found = unexplained(scored([0.08, 0.082, 0.079, 0.081]))
    assert found.parts[0].article == "plain" and found.parts[0].percent < -4.0
    assert found.parts[0].stands_out


def test_a_part_that_is_surely_sized_follows_the_closed_form() -> None:
    """One size alone: the part given a gain is the normal regression on it, here with all four gains."""
    evidence = scored([0.05, -0.02, 0.01, 0.0], scatter=0.02)
    table = make_table(evidence)
    rival = nothing_rival(table)
    kept = [len(rival.own) // 2]
    only = replace(
        rival,
        log_weight=np.zeros(1),
        mean=rival.mean[kept],
        covariance=rival.covariance[kept],
        points=rival.points[kept],
        own=rival.own[kept],
    )
    found = find_unexplained(only, evidence, table, np.random.default_rng(1))
    squared = float(rival.own[kept[0]]) ** 2
    gains = np.array([each.log_gain for each in evidence.gains])
    whole = rival.covariance[kept[0]] + evidence.covariance
    expected = squared * np.linalg.solve(whole, gains)
    by_name = {each.article: each.percent for each in found.parts}
    for gain, value in zip(evidence.gains, expected, strict=True):
        assert by_name[gain.article] == pytest.approx(100.0 * np.expm1(value), abs=0.25)
    assert posterior_weights(only, gains, evidence.covariance, range(4))[0] == pytest.approx(0.0)


def sentence(low: float, learned: float = 0.5) -> str:
    parts = (OwnPart("ring 6", 7.0, low, 9.0), OwnPart("plain", -0.4, -2.0, 1.0))
    row = RivalRow("inertia", 0.9, 20.0, 0.0, 1.2, 0.95, "")
    told = Unexplained("inertia", 4.04, 2.0, 6.96, learned, parts)
    lines = say_because(Decision("inertia", "named", row, row), (row,), (), (), (), (), told)
    return next(line for line in lines if line.startswith("What no property explains"))


def test_it_is_said_with_its_interval_and_its_carriers() -> None:
    assert sentence(5.0) == (
        "What no property explains: about 4.0 % of the score from article to article "
        "(90 % interval 2.0 to 7.0 %). Most of it lies in ring 6 (+7.0 %)."
    )
    assert sentence(-1.0).endswith("No article stands out.")
    assert "hardly more is known of it than before the runs" in sentence(5.0, learned=0.02)


def test_two_tools_share_half_of_it() -> None:
    evidence = blank((ToolFacts("air-a", "air"), ToolFacts("cordless-b", "spring-and-cam")))
    patterns: tuple[FloatArray, FloatArray] = make_table(evidence).own()
    names = [each.article for each in evidence.gains]
    assert evidence.gains[4].setting == Setting("cordless-b")
    assert patterns[0][0, names.index(names[0], 1)] == 0.5 and patterns[1][0, 4] == 0.5


@pytest.mark.parametrize("spread", [0.01, 0.05, 0.4])
def test_its_interval_is_that_of_a_fine_sum_over_sizes(spread: float) -> None:
    """Where nothing else explains; 0.4 lies beyond what 3.5 scales would reach. Sums over
    `scipy.stats.halfnorm` and `scipy.stats.multivariate_normal`."""
    evidence = scored([each * spread for each in (0.6, -1.2, 0.9, 0.1)])
    gains = np.array([each.log_gain for each in evidence.gains])
    sizes = np.linspace(5e-5, 0.5, 2000)
    pattern = sum(make_table(evidence).own())
    zero = np.zeros(len(gains))
    logs = halfnorm.logpdf(sizes, scale=SCALE) + [
        multivariate_normal.logpdf(gains, zero, evidence.covariance + each**2 * pattern) for each in sizes
    ]
    below = np.cumsum(np.exp(logs - logs.max()))
    ends = np.interp([0.05, 0.5, 0.95], below / below[-1], sizes)
    found = unexplained(evidence)
    exact = 100.0 * np.expm1(ends)
    assert [found.low, found.percent, found.high] == pytest.approx(exact, rel=0.03, abs=0.03)
