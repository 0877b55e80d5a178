import json

import numpy as np
import pytest
from hypothesis import event, given, settings
from hypothesis import strategies as st
from scipy import optimize, stats

from strikeproof.errors import BadInput, DidNotConverge
from strikeproof.judge.budget import calibration_budget
from strikeproof.judge.calibration import fit_calibration
from strikeproof.judge.readout import applied_values, read_out
from strikeproof.plain_json import to_json

APPLIED = np.arange(0.0, 501.0, 50.0)


def loops(rng, *, series=3, noise=0.02, bend=0.0, gap=0.0):
    """Up and down readings in kN against N·m; `gap` is how far the loop opens in the middle."""
    applied = np.tile(np.concatenate([APPLIED, APPLIED[::-1]]), series)
    rising = np.tile(np.repeat([True, False], APPLIED.size), series)
    repeat = np.repeat(np.arange(series), 2 * APPLIED.size)
    loop = gap * 4 * applied * (500 - applied) / 500**2
    reading = 0.3 + 0.2 * applied + bend * applied**2 + np.where(rising, -loop / 2, loop / 2)
    return applied, reading + rng.normal(0, noise, applied.size), rising, repeat


@pytest.fixture
def rng():
    return np.random.default_rng(20)


def test_straight_readings_are_left_straight(rng):
    applied, reading, rising, repeat = loops(rng)
    fit = fit_calibration(applied, reading, rising=rising, repeat=repeat)
    assert fit.degree == 1
    assert fit.lack_of_fit.degrees_of_freedom == (9, 22)
    assert fit.coefficients == pytest.approx([0.3, 0.2], abs=0.02)
    assert fit.notes == ()


def test_bent_readings_get_the_degree_they_need(rng):
    applied, reading, rising, _ = loops(rng, bend=-2e-5)
    fit = fit_calibration(applied, reading, rising=rising)
    assert fit.degree == 2
    assert fit.degree_chosen_by.startswith("lowest degree without significant lack of fit")
    assert fit_calibration(applied, reading, rising=rising, degree=1).lack_of_fit.significant


def test_hysteresis_is_neither_scatter_nor_lack_of_fit(rng):
    applied, reading, rising, repeat = loops(rng, gap=0.8)
    fit = fit_calibration(applied, reading, rising=rising, repeat=repeat, climbing=False)
    assert fit.degree == 1
    assert fit.repeatability.standard_deviation == pytest.approx(0.02, rel=0.25)
    assert fit.hysteresis.reading == pytest.approx(0.8, abs=0.05)
    assert fit.hysteresis.applied == pytest.approx(250, abs=50)
    assert fit.hysteresis.percent_of_span == pytest.approx(0.8, abs=0.05)


def test_readings_that_only_climb_are_read_off_the_rising_branch(rng):
    applied, reading, rising, repeat = loops(rng, gap=0.8)
    fit = fit_calibration(applied, reading, rising=rising, repeat=repeat)
    pooled = fit_calibration(applied, reading, rising=rising, repeat=repeat, climbing=False)
    assert (fit.branch, pooled.branch) == ("rising", "all")
    middle = np.isclose(applied, 250.0) & rising
    assert fit.curve.reading(np.asarray(250.0)) == pytest.approx(reading[middle].mean(), abs=0.03)
    one, other = (read_out(each, reading[middle].mean()) for each in (fit, pooled))
    assert one.low < 250.0 < one.high
    assert other.high - other.low > 2.0 * (one.high - one.low)
    assert fit.residuals.size == applied.size
    assert fit.residuals[~rising].mean() > 0.2  # the loop, seen from the curve


def test_too_few_rising_points_leave_all_in_the_fit(rng):
    applied, reading, rising, _ = loops(rng, series=1)
    fit = fit_calibration(applied, reading, rising=rising & (applied < 100))
    assert fit.branch == "all"


def test_a_shift_between_series_does_not_look_like_hysteresis(rng):
    applied, reading, rising, repeat = loops(rng, series=2)
    only_up = (repeat == 1) & ~rising & (applied != 250)
    reading = (reading + 1.0 * (repeat == 1))[~only_up]
    fit = fit_calibration(applied[~only_up], reading, rising=rising[~only_up], repeat=repeat[~only_up])
    assert abs(fit.hysteresis.reading) < 0.1


def test_one_loop_counts_up_and_down_as_repeats(rng):
    applied, reading, rising, _ = loops(rng, series=1)
    fit = fit_calibration(applied, reading, rising=rising, climbing=False)
    assert fit.lack_of_fit.degrees_of_freedom == (9, 11)
    assert fit.repeatability is None


def test_without_repeats_the_degree_comes_from_nested_tests_and_says_so(rng):
    bent = 0.3 + 0.2 * APPLIED - 3e-5 * APPLIED**2
    fits = [fit_calibration(APPLIED, bent + rng.normal(0, 0.02, APPLIED.size)) for _ in range(60)]
    assert {fit.degree_chosen_by for fit in fits} == {
        "nested F test at 5 %, as no applied value was repeated"
    }
    assert (fits[0].lack_of_fit.p, fits[0].lack_of_fit.reason) == (None, "no applied value was repeated")
    degrees = [fit.degree for fit in fits]
    assert degrees.count(1) == 0
    assert degrees.count(3) <= 10  # 3 are expected at 5 %; more than 10 of 60 have odds of 1 in 3 000


def test_lack_of_fit_is_the_f_test_of_level_means_against_the_curve(rng):
    """The full model of free level means against the line, by scipy."""
    applied, reading, _, _ = loops(rng, bend=-1e-6)
    test = fit_calibration(applied, reading, degree=1).lack_of_fit
    line = stats.linregress(applied, reading)
    left = np.sum((reading - line.intercept - line.slope * applied) ** 2)
    pure = sum(np.sum((reading[applied == a] - reading[applied == a].mean()) ** 2) for a in APPLIED)
    f = (left - pure) / 9 / (pure / 55)
    assert test.f == pytest.approx(f, rel=1e-9)
    assert test.p == pytest.approx(stats.f.sf(f, 9, 55), rel=1e-9)


def test_identical_repeats_on_a_coarse_display_do_not_prove_a_bend():
    applied = np.tile(APPLIED, 3)
    fit = fit_calibration(applied, np.round(0.037 * applied), resolution=1.0)
    assert fit.degree == 1
    assert not fit.lack_of_fit.significant
    assert fit.scatter >= 1 / np.sqrt(12)


def test_resolution_is_the_decimal_place_the_readings_share(rng):
    _, reading, _, _ = loops(rng)
    applied = np.tile(np.concatenate([APPLIED, APPLIED[::-1]]), 3)
    assert fit_calibration(applied, np.round(reading, 1)).resolution == pytest.approx(0.1)
    assert fit_calibration(applied, reading).resolution is None


def test_uncertain_applied_values_give_the_least_distance_of_both_axes(rng):
    """Minimum of Σ (y − a − b x)² / (σ² + b² u²), York et al. 2004, by scipy.optimize."""
    u = np.repeat([4.0, 12.0], 22)
    truth = np.tile(np.linspace(0, 500, 22), 2)
    x, y = truth + rng.normal(0, u), 0.3 + 0.2 * truth + rng.normal(0, 0.3, 44)
    fit = fit_calibration(x, y, applied_uncertainty=u, degree=1)

    def distance(p):
        return np.sum((y - p[0] - p[1] * x) ** 2 / (fit.scatter**2 + p[1] ** 2 * u**2))

    best = optimize.minimize(
        distance, [0.0, 0.21], method="Nelder-Mead", options={"xatol": 1e-9, "fatol": 1e-12}
    )
    assert fit.coefficients == pytest.approx(best.x, rel=1e-5)
    assert distance(fit.coefficients) == pytest.approx(fit.degrees_of_freedom, rel=1e-6)


def test_points_unsure_over_a_good_part_of_the_range_are_refused_for_a_bent_curve_only():
    rng = np.random.default_rng(1)
    truth = np.tile(APPLIED, 2)
    applied = truth + rng.normal(0, 120, truth.size)
    reading = 0.2 * truth - 8e-5 * truth**2 + rng.normal(0, 0.3, truth.size)
    with pytest.raises(DidNotConverge, match="take a lower degree") as refused:
        fit_calibration(applied, reading, applied_uncertainty=120.0, degree=2)
    assert refused.value.best.degree == 2
    assert fit_calibration(applied, reading, applied_uncertainty=120.0).degree == 1


@settings(max_examples=60, deadline=None)
@given(
    number=st.integers(0, 10**6),
    levels=st.integers(2, 9),
    series=st.integers(1, 3),
    noise=st.sampled_from([0.0, 1e-9, 0.1, 5.0]),
    unit=st.sampled_from([1e-9, 1.0, -1.0, 1e9]),
    u=st.sampled_from([None, 1e-6, 0.1, 20.0]),
)
def test_any_sheet_is_fitted_and_budgeted_or_refused_in_words(number, levels, series, noise, unit, u):
    rng = np.random.default_rng(number)
    applied = np.tile(np.round(np.sort(rng.uniform(0, 500, levels))), series)
    reading = unit * (rng.normal() + 0.2 * applied * (1 + rng.normal(0, 1e-3) * applied))
    reading += unit * rng.normal(0, noise, applied.size) if noise else 0.0
    try:
        fit = fit_calibration(applied, reading, applied_uncertainty=u, rising=rng.random(applied.size) < 0.5)
    except (BadInput, DidNotConverge) as refused:
        event(f"refused: {refused.problem}")
        return
    json.dumps(to_json(calibration_budget(fit, at=250.0, reference_uncertainty_percent=1.0)), allow_nan=False)
    json.dumps(to_json(fit), allow_nan=False)
    found = read_out(fit, reading - fit.zero.reading, net=True)
    assert np.all(found.low <= found.value) and np.all(found.value <= found.high)


def test_scatter_is_what_the_applied_values_do_not_explain(rng):
    truth = np.tile(APPLIED, 20)
    reading = 0.2 * truth + rng.normal(0, 0.5, truth.size)
    fit = fit_calibration(truth + rng.normal(0, 5, truth.size), reading, applied_uncertainty=5.0, degree=1)
    assert fit.scatter == pytest.approx(0.5, rel=0.2)
    assert fit.residual_sd == pytest.approx(np.hypot(0.5, 0.2 * 5), rel=0.1)


def test_scatter_is_never_below_the_resolution_when_applied_values_explain_all(rng):
    truth = np.tile(APPLIED, 5)
    fit = fit_calibration(
        truth, 0.2 * truth + rng.normal(0, 0.01, 55), applied_uncertainty=50.0, resolution=0.5
    )
    assert fit.scatter == pytest.approx(0.5 / np.sqrt(12))


def test_zero_is_the_mean_reading_at_nothing_applied(rng):
    applied, reading, _, _ = loops(rng)
    zero = fit_calibration(applied, reading).zero
    assert zero.reading == pytest.approx(reading[applied == 0].mean())
    assert zero.measured


def test_zero_that_was_not_read_is_the_intercept_and_said_so(rng):
    applied, reading, _, _ = loops(rng)
    fit = fit_calibration(applied[applied > 0], reading[applied > 0], degree=1)
    assert not fit.zero.measured
    assert fit.zero.reading == pytest.approx(fit.coefficients[0])
    assert fit.zero.standard_uncertainty == pytest.approx(fit.standard_uncertainties[0])
    assert "nothing was read at zero" in fit.notes[0]


def test_a_wild_point_is_named_and_kept(rng):
    applied, reading, _, _ = loops(rng)
    reading[17] += 5.0
    fit = fit_calibration(applied, reading, degree=1)
    assert fit.suspects == (17,)
    assert fit.applied.size == applied.size
    assert fit.residuals[17] == pytest.approx(5.0, abs=0.5)


def test_a_wild_falling_point_is_named_where_only_the_rising_are_fitted(rng):
    applied, reading, rising, repeat = loops(rng, gap=0.8)
    fit = fit_calibration(applied, reading, rising=rising, repeat=repeat)
    assert (fit.branch, fit.suspects) == ("rising", ())
    wild = int(np.flatnonzero(~rising)[4])
    reading[wild] += 5.0
    assert fit_calibration(applied, reading, rising=rising, repeat=repeat).suspects == (wild,)


def test_a_wild_point_that_bends_the_curve_over_is_named_in_the_refusal():
    reading = 0.2 * APPLIED
    reading[4] *= 10
    with pytest.raises(BadInput, match="point 5 first") as refused:
        fit_calibration(APPLIED, reading, degree=3)
    assert "turns or goes flat" in str(refused.value)
    with pytest.raises(BadInput, match="point 5"):
        fit_calibration(APPLIED, reading)


def test_good_sheets_seldom_have_a_suspect(rng):
    """At 1 % a sheet, more than 9 of 200 have odds below 1 in 10 000 (binomial)."""
    sheets = (fit_calibration(*loops(rng)[:2], degree=1) for _ in range(200))
    assert sum(bool(fit.suspects) for fit in sheets) <= 9


def test_good_sheets_of_two_branches_seldom_have_a_suspect(rng):
    """At 1 % a branch, more than 7 of 60 have odds below 1 in 10 000 (binomial)."""
    sheets = (loops(rng, gap=0.8) for _ in range(60))
    fits = (fit_calibration(*each[:2], rising=each[2], repeat=each[3]) for each in sheets)
    assert sum(bool(fit.suspects) for fit in fits) <= 7


def test_a_sensor_wired_backwards_is_taken_and_noted(rng):
    applied, reading, _, _ = loops(rng)
    fit = fit_calibration(applied, -reading)
    assert fit.coefficients[1] == pytest.approx(-0.2, abs=0.01)
    assert any("wired backwards" in note for note in fit.notes)


def test_values_of_other_units_give_the_same_judgement(rng):
    applied, reading, _, _ = loops(rng, bend=-2e-5)
    one, other = fit_calibration(applied, reading), fit_calibration(applied * 1e6, reading * 1e-9)
    assert (one.degree, one.lack_of_fit.p) == (other.degree, pytest.approx(other.lack_of_fit.p, rel=1e-6))
    assert one.curve.reading(APPLIED) == pytest.approx(other.curve.reading(APPLIED * 1e6) * 1e9, rel=1e-9)


def test_json_has_no_value_that_json_lacks(rng):
    applied, reading, rising, repeat = loops(rng)
    fit = fit_calibration(applied, reading, rising=rising, repeat=repeat)
    found = json.loads(json.dumps(to_json(fit), allow_nan=False))
    assert found["degree"] == 1
    assert found["lack_of_fit"]["dof"] == [9, 22]
    assert found["range"]["applied_high"] == 500.0
    assert found["zero"] == fit.zero.reading


@pytest.mark.parametrize(
    ("applied", "reading", "more", "said"),
    [
        ([0, 1], [0, 1], {}, "2 points"),
        ([0, 1, 2], [0, 1, 2], {"degree": 2}, "4 or more for degree 2"),
        ([5, 5, 5, 5], [1, 2, 3, 4], {}, "only 1 different applied value "),
        ([0, 1, 1, 0], [0, 1, 1, 0], {"degree": 2}, "only 2 different applied values"),
        ([0, 1, 2, 3], [0, 1, np.nan, 3], {}, "point 3: reading is not a number"),
        ([0, np.inf, 2, 3], [0, 1, 2, 3], {}, "point 2: applied value is not a number"),
        ([0, 1, 2, 3], [0, 1, 2, 3], {"applied_uncertainty": [0, 0, 0, -1]}, "point 4: applied uncertainty"),
        ([0, 1, 2, 3], [0, 1, 2, 3], {"degree": 4}, "degree 4"),
        ([0, 1, 2, 3, 4], [0, 3, 4.1, 3, 0], {}, "turns or goes flat"),
        ([0, 1, 2, 3, 4], [0, 3, 4, 3, 0.1], {"degree": 2}, "turns or goes flat"),
        ([0, 1, 2, 3, 4], [7, 7, 7, 7, 7], {}, "do not follow"),
        ([0, 1, 2, 3, 4, 5], [2, 9, 4, 3, 8, 5], {"degree": 1}, "do not follow"),
    ],
)
def test_what_cannot_be_fitted_is_refused_with_a_fix(applied, reading, more, said):
    with pytest.raises(BadInput, match=said) as refused:
        fit_calibration(np.array(applied, float), np.array(reading, float), **more)
    assert refused.value.fix


def test_values_alone_are_those_of_the_whole_read_out(rng):
    applied = np.tile(np.linspace(0.0, 400.0, 9), 2)
    fit = fit_calibration(applied, 3.0 + 2.0 * applied + 1e-4 * applied**2 + rng.normal(0, 0.5, applied.size))
    net = np.linspace(-5.0, 900.0, 23)
    assert np.array_equal(applied_values(fit, net), read_out(fit, net, net=True).value)
