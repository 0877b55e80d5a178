import numpy as np
import pytest

from strikeproof.judge.control import (
    BEYOND,
    LEAST_TO_JUDGE,
    ONE_SIDE,
    chart_reference,
    find_patterns,
    pool_charts,
    say_unjudged,
)
from strikeproof.judge.records import ScoredRun


def reference_runs(scores, tool="air", aside=(), step=1):
    return [
        ScoredRun(f"{tool}{i}", "ref", tool, "1", i * step, score, set_aside=i in aside)
        for i, score in enumerate(scores)
    ]


STEADY = (100.0, 101.0, 99.5, 100.5, 99.0, 100.2, 101.1, 99.4)


def test_limits_are_three_sigma_of_the_mean_moving_range():
    chart = chart_reference(reference_runs(STEADY), "air")
    logs = np.log(STEADY)
    sigma = np.abs(np.diff(logs)).mean() / 1.128
    assert chart.centre == pytest.approx(np.exp(logs.mean()))
    assert np.log(chart.limits) == pytest.approx((logs.mean() - 3 * sigma, logs.mean() + 3 * sigma))
    assert chart.state == "in control" and chart.signals == ()


def test_a_run_far_out_is_named():
    chart = chart_reference(reference_runs((*STEADY, 120.0, *STEADY)), "air")
    assert chart.state == "not in control"
    assert chart.signals[0].rule == BEYOND
    assert chart.signals[0].runs == ("air8",)
    assert chart.signals[0].text == "air8 lies beyond the control limits"


def test_a_step_of_the_rig_shows_as_nine_on_one_side():
    rng = np.random.default_rng(1)
    scores = 100 + rng.normal(0, 1, 24) + np.repeat([0, 2.0], 12)
    chart = chart_reference(reference_runs(scores), "air")
    assert ONE_SIDE in {each.rule for each in chart.signals}


def test_eight_on_one_side_are_not_nine():
    marks = [find_patterns(np.array([-1.0] + [1.0] * n), 0.0, 10.0)[ONE_SIDE].any() for n in (8, 9)]
    assert marks == [False, True]


def test_a_point_on_the_centre_breaks_the_row():
    values = np.array([1.0] * 5 + [0.0] + [1.0] * 5)
    assert not find_patterns(values, 0.0, 10.0)[ONE_SIDE].any()


def test_runs_set_aside_are_drawn_but_not_counted():
    chart = chart_reference(reference_runs((*STEADY, 40.0), aside={8}), "air")
    assert chart.state == "in control"
    assert [point.set_aside for point in chart.points] == [False] * 8 + [True]


@pytest.mark.parametrize("count", [0, 1])
def test_too_few_runs_have_no_limits(count):
    chart = chart_reference(reference_runs(STEADY[:count]), "air")
    assert chart.limits is None and chart.drift_percent_per_run is None
    assert chart.state == "cannot be judged"
    assert chart.unjudged == (("air", count),)


@pytest.mark.parametrize("count", range(2, 7))
def test_a_rig_is_in_control_only_when_enough_runs_say_so(count):
    chart = chart_reference(reference_runs(STEADY[:count]), "air")
    assert chart.state == ("in control" if count >= LEAST_TO_JUDGE else "cannot be judged")
    assert bool(say_unjudged(chart)) == (count < LEAST_TO_JUDGE)


def test_fewer_runs_than_that_could_never_show_a_rig_out_of_control():
    """The farthest a run can lie is a last one off all the others that agree."""
    far = [
        chart_reference(reference_runs([100.0] * (count - 1) + [200.0]), "air")
        for count in (LEAST_TO_JUDGE - 1, LEAST_TO_JUDGE)
    ]
    assert [bool(chart.signals) for chart in far] == [False, True]


def test_one_tool_with_too_few_runs_leaves_the_rig_unjudged():
    charts = [
        chart_reference(reference_runs(STEADY), "air"),
        chart_reference(reference_runs(STEADY[:1], tool="battery"), "battery"),
    ]
    rig = pool_charts(charts)
    assert rig.state == "cannot be judged"
    assert say_unjudged(rig) == "too few runs of the reference count (1 with battery; 5 are needed)"


def test_a_signal_beats_too_few_runs():
    charts = [
        chart_reference(reference_runs((*STEADY, 130.0, *STEADY)), "air"),
        chart_reference(reference_runs(STEADY[:1], tool="battery"), "battery"),
    ]
    assert pool_charts(charts).state == "not in control"


def test_drift_is_recovered_with_its_uncertainty():
    rng = np.random.default_rng(5)
    slopes, errors = [], []
    for _ in range(300):
        scores = np.exp(5 - 0.002 * 5 * np.arange(12) + 0.01 * rng.standard_normal(12))
        chart = chart_reference(reference_runs(scores, step=5), "air")
        slopes.append(chart.drift_percent_per_run)
        errors.append(chart.drift_uncertainty)
    assert np.mean(slopes) == pytest.approx(100 * np.expm1(-0.002), abs=4 * np.std(slopes) / np.sqrt(300))
    assert np.sqrt(np.mean(np.square(errors))) == pytest.approx(np.std(slopes), rel=0.15)


def test_tools_are_pooled_as_ratios_to_their_centres():
    charts = [
        chart_reference(reference_runs(STEADY), "air"),
        chart_reference(reference_runs([5 * each for each in STEADY], tool="battery"), "battery"),
    ]
    rig = pool_charts(charts)
    assert rig.tool is None and rig.centre == 1.0
    assert {round(point.value, 1) for point in rig.points} == {1.0}
    assert rig.drift_percent_per_run == pytest.approx(charts[0].drift_percent_per_run)
    assert rig.limits[1] == pytest.approx(charts[0].limits[1] / charts[0].centre)


def test_one_tool_out_of_control_is_a_rig_out_of_control():
    charts = [
        chart_reference(reference_runs(STEADY), "air"),
        chart_reference(reference_runs((*STEADY, 130.0, *STEADY), tool="battery"), "battery"),
    ]
    rig = pool_charts(charts)
    assert rig.state == "not in control"
    assert rig.signals[0].text.startswith("battery: ")


@pytest.mark.parametrize("score", [100.0, 110.1, 0.3, 87.12345678901234, 12345.0])
@pytest.mark.parametrize("count", [6, 12])
def test_identical_scores_are_in_control_and_show_no_drift(score, count):
    """A spread within the rounding of the numbers is no signal."""
    chart = chart_reference(reference_runs([score] * count), "air")
    assert (chart.state, chart.signals) == ("in control", ())
    assert chart.drift_percent_per_run == 0.0
    assert chart.drift_uncertainty == 0.0 or chart.drift_uncertainty > 1e-6
    assert chart.centre == pytest.approx(score, rel=1e-12)
    rig = pool_charts(
        [chart, chart_reference(reference_runs([5 * score] * count, tool="battery"), "battery")]
    )
    assert rig.state == "in control" and rig.drift_percent_per_run == 0.0


def test_identical_scores_are_known_to_the_last_place_of_a_reading():
    """Limits one and a half steps off the centre; GUM F.2.2.1: a step of 1 kN leaves 1 / sqrt(12)."""
    chart = chart_reference(reference_runs([100.0] * 6), "air")
    assert np.log(chart.limits[1] / chart.centre) == pytest.approx(0.015)
    error = 100 * 0.01 / np.sqrt(12) / np.sqrt(17.5)
    assert chart.drift_uncertainty == pytest.approx(error, rel=1e-6)


def test_one_step_of_the_display_is_no_signal_and_many_are():
    one, many = (chart_reference(reference_runs([100.0] * 9 + [100.0 + off]), "air") for off in (1, 5))
    assert one.state == "in control" and many.state == "not in control"


@pytest.mark.parametrize(
    ("blocks", "block_spread", "step"),
    [(12, 0.0, 0.0), (12, 0.05, 0.0), (12, 0.0, 10.0), (6, 0.0, 10.0), (6, 0.05, 5.0)],
)
def test_blocks_and_coarse_readings_raise_few_false_alarms(blocks, block_spread, step):
    """16 to 89 % of steady rigs before, runs repeating to 2 % about 150; at most 10 % is wanted.

    A step of more than three deviations shows in one odd run only, so it must be known.
    """
    rng = np.random.default_rng(1)
    alarms = 0
    for _ in range(150):
        levels = np.repeat(block_spread * rng.standard_normal(blocks), 2)
        scores = 150 * np.exp(levels + 0.02 * rng.standard_normal(2 * blocks))
        scores = np.round(scores / step) * step if step else scores
        runs = [
            ScoredRun(f"r{i}", "ref", "air", f"{i // 2}", i, float(score)) for i, score in enumerate(scores)
        ]
        alarms += chart_reference(runs, "air", step).state == "not in control"
    assert alarms <= 26  # 10 % of 150, and three Monte Carlo errors


def test_nine_blocks_on_one_side_are_a_signal_and_nine_runs_of_five_blocks_are_none():
    def charted(levels):
        runs = [
            ScoredRun(f"r{i}", "ref", "air", f"{i // 2}", i, 100.0 + level + 0.3 * (i % 3))
            for i, level in enumerate(np.repeat(levels, 2))
        ]
        return {each.rule for each in chart_reference(runs, "air").signals}

    assert ONE_SIDE in charted([0.0] * 9 + [2.0] * 9)
    assert ONE_SIDE not in charted([0.0] * 5 + [2.0] * 5)
