from dataclasses import replace

import pytest
from tests.unit.publish.sample import sample_report

from strikeproof.judge.records import ArticleResult, ControlPoint, ControlSignal, RigControl
from strikeproof.publish.summary import summary
from strikeproof.publish.verdicts import alarms, gain_words, rig_sentences, verdict_sentence

HIGHER = ArticleResult("deep-24", "air-a", 6, 0, 103.0, 12.34, 8.06, 16.71, 0.001, 0.002, "higher", None)
LOWER = replace(HIGHER, gain_percent=-5.2, low_percent=-8.31, high_percent=-2.04, verdict="lower")
SAME = replace(HIGHER, gain_percent=0.6, low_percent=-1.0, high_percent=2.2, verdict="same")
UNKNOWN = replace(
    HIGHER, gain_percent=4.0, low_percent=-2.0, high_percent=10.4, verdict="cannot tell", more_runs=6
)
QUIET = RigControl(
    "air-a",
    "in control",
    (),
    -0.004,
    0.006,
    92.0,
    (88.0, 96.0),
    tuple(ControlPoint(f"r{i}", i, 92.0) for i in range(5)),
    (),
)
LOUD = replace(
    QUIET,
    state="not in control",
    signals=(ControlSignal("beyond the limits", ("r3",), "r3 lies beyond the control limits"),),
)


def said(result: ArticleResult) -> str:
    return verdict_sentence(result, sample_report().comparison)


def test_a_higher_article_is_said_to_be_higher_by_how_much() -> None:
    assert said(HIGHER) == "deep-24 is higher than plain-24 by 12.3 % (8.1 to 16.7 %) with air-a."


def test_a_lower_article_is_lower_by_a_positive_amount_small_end_first() -> None:
    assert said(LOWER) == "deep-24 is lower than plain-24 by 5.2 % (2.0 to 8.3 %) with air-a."


def test_a_time_is_sooner_or_later_by_a_positive_amount() -> None:
    sooner, later = replace(HIGHER, verdict="sooner"), replace(LOWER, verdict="later")
    assert said(sooner) == "deep-24 gets there sooner than plain-24 by 12.3 % (8.1 to 16.7 %) with air-a."
    assert said(later) == "deep-24 gets there later than plain-24 by 5.2 % (2.0 to 8.3 %) with air-a."


def test_the_same_names_its_margin() -> None:
    assert "within the margin of 3 %" in said(SAME) and "+0.6 % (−1.0 to +2.2 %)" in said(SAME)


def test_what_cannot_be_told_says_how_many_more_runs_would_tell() -> None:
    assert "cannot tell yet" in said(UNKNOWN) and "About 6 more runs" in said(UNKNOWN)
    assert "cannot say how many" in said(replace(UNKNOWN, more_runs=None))
    assert "At least 1000 more runs" in said(replace(UNKNOWN, more_runs=1000))


def test_an_unconfirmed_difference_says_which_opinion_does_not_show_it() -> None:
    doubted = replace(
        LOWER, verdict="cannot tell", unconfirmed=True, p=0.043, p_randomisation=0.054, more_runs=5
    )
    text = said(doubted)
    assert "cannot tell yet" in text and "the second opinion does not confirm it (p = 0.054)" in text
    assert "About 5 more runs" in text and "lower" not in text


def test_the_largest_gain_is_the_surest_of_the_decided_ones() -> None:
    comparison = sample_report().comparison
    doubted = replace(HIGHER, article="a", verdict="cannot tell", unconfirmed=True, low_percent=9.0)
    report = replace(sample_report(), comparison=replace(comparison, results=(doubted, HIGHER)))
    text = next(each for each in summary(report) if "air-a" in each)
    assert "1 higher than" in text and "1 not settled yet" in text
    assert text.endswith("Largest gain at the low end of its range: deep-24, +12.3 % (+8.1 to +16.7 %).")


def test_a_result_without_figures_says_so() -> None:
    bare = replace(UNKNOWN, gain_percent=None, low_percent=None, high_percent=None, more_runs=None)
    assert "no comparison" in said(bare) and gain_words(bare) == "–"
    assert "no interval: too few runs" in gain_words(replace(HIGHER, low_percent=None))


def test_a_rig_in_control_raises_no_alarm() -> None:
    comparison = replace(sample_report().comparison, rig=QUIET, controls=(QUIET,))
    assert alarms(comparison) == ()
    assert rig_sentences(QUIET)[0].startswith("The rig was in control with air-a")


def test_a_rig_out_of_control_is_an_alarm_that_names_the_run() -> None:
    comparison = replace(sample_report().comparison, rig=LOUD, controls=(LOUD,))
    assert alarms(comparison) == (
        "The rig was not in control with air-a: r3 lies beyond the control limits.",
    )


def test_of_many_runs_out_of_control_three_are_named_and_the_rest_counted() -> None:
    runs = tuple(f"r{i}" for i in range(1, 8))
    text = f"{', '.join(runs)} lie beyond the control limits"
    many = replace(LOUD, signals=(ControlSignal("beyond the limits", runs, text),))
    assert rig_sentences(many)[0].endswith(": r1, r2, r3 and 4 more lie beyond the control limits.")


@pytest.mark.parametrize(
    ("drift", "spread", "words"),
    [
        (-0.004, 0.006, "No drift that stands out"),
        (-0.2, 0.01, "The readings drifted by −0.200 % a run"),
        (None, None, "Too few reference runs"),
        (0.1, None, "uncertainty unknown"),
    ],
)
def test_drift_is_told_with_its_uncertainty(drift: float | None, spread: float | None, words: str) -> None:
    assert words in rig_sentences(replace(QUIET, drift_percent_per_run=drift, drift_uncertainty=spread))[1]


def test_too_few_reference_runs_are_not_called_in_control() -> None:
    few = replace(QUIET, state="cannot be judged", unjudged=(("air-a", 1),), points=QUIET.points[:1])
    assert rig_sentences(few)[0] == (
        "It cannot be judged whether the rig was in control with air-a: "
        "too few runs of the reference count (1 with air-a; 5 are needed)."
    )
    assert alarms(replace(sample_report().comparison, rig=few, controls=(few,))) == ()
