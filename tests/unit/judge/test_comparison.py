import numpy as np
import pytest
from scipy.stats import dunnett
from tests.unit.judge.campaigns import ORDINARY, SHUFFLED, runs_of
from tests.validity import Truth, simulate_campaign

from strikeproof.errors import BadInput, NotFound, TooFewRuns
from strikeproof.judge.comparison import compare_runs
from strikeproof.judge.records import ScoredRun


def compared(runs, **settings):
    given = {"reference": "ref", "margin_percent": 3.0, "rng": np.random.default_rng(1), "draws": 499}
    return compare_runs(runs, **(given | settings))


def rows(comparison):
    return {row.article: row for row in comparison.results}


def test_rows_come_reference_first_then_by_gain():
    result = compared(runs_of(ORDINARY))
    assert result.results[0].verdict == "reference"
    assert [row.article for row in result.results] == ["ref", "a", "b"]
    assert rows(result)["ref"].gain_percent == 0.0 and rows(result)["ref"].p is None


def test_a_clear_gain_is_higher_and_a_clear_loss_lower():
    runs = runs_of("ref=100 a=111 b=90 ref=101\nref=102 b=91 a=113 ref=101\nref=99 a=110 b=89 ref=100")
    found = rows(compared(runs))
    assert (found["a"].verdict, found["b"].verdict) == ("higher", "lower")
    assert found["a"].gain_percent == pytest.approx(10.8, abs=0.5)
    assert found["a"].more_runs is None


def test_half_the_time_is_sooner_and_a_gain_of_a_half():
    runs = runs_of("ref=4 a=2.01 b=6\nref=4.1 a=2.03 b=6.2\nref=3.9 b=5.8 a=1.98\nref=4 a=2 b=6.1")
    result = compared(runs, timed=True)
    found = rows(result)
    assert (found["a"].verdict, found["b"].verdict) == ("sooner", "later")
    assert found["a"].gain_percent == pytest.approx(50.0, abs=1.0)
    assert found["b"].gain_percent == pytest.approx(-50.0, abs=2.0)
    for row in (found["a"], found["b"]):
        assert row.low_percent < row.gain_percent < row.high_percent
    assert [row.article for row in result.results] == ["ref", "a", "b"]  # the best first
    plain = rows(compared(runs))
    assert found["a"].p == plain["a"].p  # the same test, read the other way round


def test_differences_inside_the_margin_are_the_same():
    runs = runs_of(
        "\n".join(["ref=100 a=100.4 ref=100.2", "ref=101 a=100.9 ref=100.8", "ref=99 a=99.3 ref=99.2"] * 2)
    )
    assert rows(compared(runs))["a"].verdict == "same"


def test_noise_cannot_tell_and_says_how_many_more_runs():
    runs = runs_of("ref=100 a=107 ref=95\nref=101 a=98 ref=106\nref=99 a=110 ref=104")
    row = rows(compared(runs))["a"]
    assert row.verdict == "cannot tell"
    assert row.more_runs >= 1


def test_one_block_is_dunnetts_test_of_scipy():
    rng = np.random.default_rng(7)
    groups = {
        name: np.exp(5.0 + 0.03 * rng.standard_normal(n))
        for name, n in {"ref": 9, "a": 5, "b": 7, "c": 4}.items()
    }
    runs = [
        ScoredRun(f"{name}{i}", name, "t", "1", 0, float(score))
        for name, scores in groups.items()
        for i, score in enumerate(scores)
    ]
    found = rows(compared(runs))
    logs = {name: np.log(scores) for name, scores in groups.items()}
    theirs = dunnett(logs["a"], logs["b"], logs["c"], control=logs["ref"], rng=np.random.default_rng(1))
    interval = theirs.confidence_interval(0.95)
    for i, name in enumerate("abc"):
        assert found[name].p == pytest.approx(theirs.pvalue[i], abs=1e-3)
        assert found[name].low_percent == pytest.approx(100 * np.expm1(interval.low[i]), abs=0.02)
        assert found[name].high_percent == pytest.approx(100 * np.expm1(interval.high[i]), abs=0.02)


def test_interval_leaves_out_zero_exactly_when_p_is_below_the_level():
    rng = np.random.default_rng(5)
    for _ in range(20):
        result = compared(simulate_campaign(Truth(gains=(0.0, 3.0, 5.0)), rng), reference="plain", draws=0)
        for row in result.results:
            if row.verdict != "reference":
                assert (row.p < 0.05) == (row.low_percent > 0 or row.high_percent < 0)


def test_scores_in_another_unit_give_the_same_answer():
    runs = runs_of(ORDINARY)
    pounds = [ScoredRun(r.run, r.article, r.tool, r.block, r.order, r.score * 0.7376) for r in runs]
    for one, other in zip(compared(runs).results, compared(pounds).results, strict=True):
        assert one.gain_percent == pytest.approx(other.gain_percent, abs=1e-9)
        assert (one.verdict, one.p_randomisation) == (other.verdict, other.p_randomisation)


def test_order_of_the_list_does_not_matter():
    runs = runs_of(ORDINARY)
    assert compared(runs) == compared(runs[::-1])


def test_tools_are_compared_each_with_its_own_reference():
    faster = ORDINARY.replace("ref=1", "ref=2").replace("ref=98", "ref=198").replace("ref=99", "ref=199")
    result = compared(runs_of(ORDINARY) + runs_of(faster, tool="battery"))
    gains = {(row.article, row.tool): row.gain_percent for row in result.results}
    assert gains["a", "air"] > 8 and gains["a", "battery"] < -40


def test_set_aside_runs_do_not_count_but_are_shown():
    runs = runs_of(ORDINARY + "ref=100 !a=40 b=99 ref=101\n")
    row = rows(compared(runs))["a"]
    assert (row.runs, row.set_aside) == (3, 1)
    assert row.gain_percent > 8 > row.gain_percent_with_set_aside
    assert row.low_percent_with_set_aside < row.gain_percent_with_set_aside < row.high_percent_with_set_aside
    assert any("rests on the excluded runs" in text for text in compared(runs).warnings)


def test_nothing_set_aside_gives_no_second_result():
    assert rows(compared(runs_of(ORDINARY)))["a"].gain_percent_with_set_aside is None


def test_set_aside_run_without_a_score_is_named():
    result = compared(runs_of(ORDINARY + "ref=100 !a=0 ref=101\n"))
    assert any("air-14" in text and "left out" in text for text in result.warnings)


def test_gain_for_the_money_is_per_unit_of_price():
    row = rows(compared(runs_of(ORDINARY), prices={"a": 20.0}))["a"]
    assert row.gain_per_price == pytest.approx(row.gain_percent / 20.0)
    assert rows(compared(runs_of(ORDINARY)))["a"].gain_per_price is None


def test_medians_stand_beside():
    row = rows(compared(runs_of(ORDINARY)))["ref"]
    assert row.median == pytest.approx(101.0)
    assert (row.median_low, row.median_high) == (98.0, 105.0)


def test_randomisation_is_reported_and_its_progress():
    seen = []
    result = compared(runs_of(SHUFFLED), draws=700, progress=lambda done, total: seen.append((done, total)))
    assert seen == [(500, 700), (700, 700)]
    assert 1 / 701 <= rows(result)["a"].p_randomisation < 0.05


def test_without_draws_there_is_no_second_opinion():
    assert rows(compared(runs_of(ORDINARY), draws=0))["a"].p_randomisation is None


def test_method_is_said_in_sentences():
    text = " ".join(compared(runs_of(SHUFFLED)).method)
    assert "multivariate t" in text and "were shuffled 499 times" in text and "whole price" in text


@pytest.mark.parametrize("score", [0.0, -3.0, np.nan, np.inf])
def test_a_score_that_cannot_be_logged_is_refused_by_name(score):
    runs = [*runs_of(ORDINARY), ScoredRun("late-7", "a", "air", "1", 99, score)]
    with pytest.raises(BadInput, match="late-7"):
        compared(runs)


@pytest.mark.parametrize(
    "settings", [{"margin_percent": -1.0}, {"margin_percent": 100.0}, {"confidence": 1.0}, {"draws": -1}]
)
def test_settings_out_of_range_are_refused(settings):
    with pytest.raises(BadInput):
        compared(runs_of(ORDINARY), **settings)


def test_a_run_named_twice_is_refused():
    runs = runs_of(ORDINARY)
    with pytest.raises(BadInput, match="air-1 is there twice"):
        compared([*runs, runs[0]])


def test_an_unknown_reference_names_the_nearest():
    with pytest.raises(NotFound, match="did you mean 'ref'"):
        compared(runs_of(ORDINARY), reference="reff")


def test_no_runs_at_all():
    with pytest.raises(TooFewRuns):
        compared([])


def test_reference_that_is_all_set_aside():
    with pytest.raises(TooFewRuns):
        compared(runs_of("!ref=100 a=99 a=101"))
