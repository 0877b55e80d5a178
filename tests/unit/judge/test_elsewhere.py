"""A network of benches: who disagrees is named, and one answer is that of simple cases by hand."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
import pytest
from scipy.stats import t as student
from statsmodels.stats.meta_analysis import combine_effects

from strikeproof.campaign.summary_file import PublishedArticle
from strikeproof.desk.comparing.elsewhere import _log_deviation
from strikeproof.errors import BadInput, TooFewRuns
from strikeproof.judge.elsewhere.answer import Elsewhere, answer_elsewhere
from strikeproof.judge.elsewhere.network import fit_network, stack_sources
from strikeproof.judge.elsewhere.sources import Arm, Source, source_of_arms
from strikeproof.publish.answers.elsewhere import Beside, elsewhere_panel


def source(
    name: str, articles: Sequence[str], ratio: Sequence[float], *, bench: str = "", error: float = 0.01
) -> Source:
    covariance = error**2 / 2 * (1.0 + np.eye(len(ratio)))
    return Source(name, bench or name, name, tuple(articles), np.asarray(ratio), covariance, 20.0)


def asked(sources: Sequence[Source], *, timed: bool = False) -> Elsewhere:
    return answer_elsewhere(sources, "plain", margin_percent=3.0, timed=timed)


def test_likelihood_is_the_iteration_of_paule_and_mandel_for_equal_errors() -> None:
    """`statsmodels.stats.meta_analysis`: with equal errors both are the variance of values less theirs."""
    values = [0.02, 0.09, 0.05, -0.01, 0.12]
    fit = fit_network(
        stack_sources([source(f"{v}", ("plain", "ring"), [v], error=0.02) for v in values], "plain")
    )
    known = combine_effects(np.array(values), np.full(5, 0.02**2), method_re="iterated")
    assert fit.between == pytest.approx(known.tau2, rel=1e-5)
    assert fit.effect[0] == pytest.approx(known.mean_effect_re)
    found = fit.measure(fit.weights("ring", "plain"))
    half = student.ppf(0.975, 4) * np.std(values, ddof=1) / np.sqrt(5)
    assert found.half(0.95) == pytest.approx(half, rel=0.05)


def test_a_bench_that_is_far_off_is_named() -> None:
    ratios = {"A": 0.10, "B": 0.102, "C": 0.098, "D": 0.101, "E": 0.30}
    found = asked([source(bench, ("plain", "ring"), [value]) for bench, value in ratios.items()])
    odd = {each.bench for each in found.benches if each.score is not None and abs(each.score) > 1.0}
    assert odd == {"E"}


def test_a_loop_that_does_not_close_is_named_and_others_are_not() -> None:
    sources = [source(f"1{i}", ("plain", "ring"), [0.10]) for i in range(3)]
    sources += [source(f"2{i}", ("ring", "arm"), [-0.10]) for i in range(3)]
    sources += [source(f"3{i}", ("plain", "arm"), [0.10 + 0.002 * i]) for i in range(3)]
    found = asked(sources)
    assert {each.p_all < 0.05 for each in found.loops} == {True}
    assert found.designs is not None and found.designs.p < 0.05
    loop = next(each for each in found.loops if {each.first, each.second} == {"plain", "arm"})
    assert (loop.direct, loop.indirect) == pytest.approx((-0.102, 0.0), abs=1e-3)
    sources[6:] = [source(f"3{i}", ("plain", "arm"), [0.002 * i]) for i in range(3)]
    assert all(each.p_all > 0.05 for each in asked(sources).loops)


def test_a_time_that_is_shorter_is_a_gain() -> None:
    sources = [source(name, ("plain", "ring"), [-0.2 + 0.001 * i]) for i, name in enumerate("ABCD")]
    (held,) = asked(sources, timed=True).articles
    assert held.verdict == "sooner"
    assert held.low_percent < held.percent < held.high_percent
    assert held.percent == pytest.approx(100.0 * -np.expm1(-0.1985), abs=0.01)
    assert held.next_low_percent is not None and held.next_low_percent <= held.low_percent + 0.5


def test_one_bench_says_nothing_of_the_next() -> None:
    sources = [source(name, ("plain", "ring"), [0.1], bench="A") for name in ("may", "june")]
    found = asked(sources)
    assert found.articles[0].next_low_percent is None
    assert [level for level, _ in found.spread_percent] == ["calibration"]


def test_articles_that_nothing_joins_are_refused() -> None:
    with pytest.raises(BadInput, match="june shares no article"):
        asked([source("may", ("plain", "ring"), [0.1]), source("june", ("old", "arm"), [0.1])])


def test_a_table_of_means_is_a_source() -> None:
    arms = [Arm("plain", 100.0, 0.01, 5), Arm("ring", 120.0, 0.02, 8), Arm("arm", 90.0, 0.03, 4)]
    found = source_of_arms(arms, "table", "C", "C")
    assert found.ratio == pytest.approx(np.log([1.2, 0.9]))
    assert found.covariance == pytest.approx(np.array([[5e-4, 1e-4], [1e-4, 1e-3]]))
    with pytest.raises(TooFewRuns):
        source_of_arms(arms[:1], "table", "C", "C")
    with pytest.raises(BadInput, match="twice"):
        source_of_arms([*arms, arms[0]], "table", "C", "C")


def test_a_spread_that_nothing_shows_is_not_taken_for_none() -> None:
    found = asked([source("A", ("plain", "ring"), [0.2]), source("B", ("ring", "arm"), [0.2])])
    assert found.freedom == 0
    assert {each.verdict for each in found.articles} == {"cannot tell"}
    said = elsewhere_panel(found, Beside((), (), (), ()))
    assert "no ratio was measured by two sources" in " ".join(said.notes)
    assert "if benches do not differ" in said.said[0][1]


def test_one_degree_of_freedom_takes_the_t_of_one() -> None:
    """`scipy.stats.t` with one degree: two benches, one ratio each."""
    stack = stack_sources([source(f"{v}", ("plain", "ring"), [v]) for v in (0.0, 0.2)], "plain")
    fit = fit_network(stack)
    found = fit.measure(fit.weights("ring", "plain"))
    assert found.freedom == 1.0
    assert found.half(0.95) == pytest.approx(student.ppf(0.975, 1) * np.sqrt(found.variance))


def test_one_loop_with_nothing_left_is_not_tested() -> None:
    pairs = {("plain", "ring"): 0.1, ("ring", "arm"): 0.1, ("plain", "arm"): 0.5}
    found = asked([source("".join(pair), pair, [value]) for pair, value in pairs.items()])
    assert found.loops == ()


def test_a_median_says_less_of_the_middle_but_not_of_the_runs() -> None:
    """2 of 100 is 2 %: the published deviation is that of the runs, whichever middle is given."""
    article = PublishedArticle(name="plain", median=100.0, runs=8, standard_deviation=2.0)
    assert _log_deviation(article) == pytest.approx(0.02)
